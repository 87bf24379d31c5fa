"""A report put together: what is said of each specimen, of the set, and of how it was made."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from reduce.strength.specimens import Criterion
from tui.bench.failed_specimens import STATE_OF
from tui.papers.report.consolidation import consolidation
from tui.papers.report.doubts import doubts, journal, rows_not_used
from tui.papers.report.fingerprint import Fingerprint, reproduction
from tui.papers.report.identity import after_test, identification, specimen
from tui.papers.report.rebased import with_rebased
from tui.papers.report.said import Facts, Paper, Remarks, Said, Section, Signature, Table, Value
from tui.papers.report.saturation import saturation
from tui.papers.report.set_up import set_up
from tui.papers.report.shear import shear
from tui.papers.report.spelling import spelt
from tui.papers.report.strength import strength_sections
from tui.papers.report.unusable import unusable
from tui.papers.report.writing import Writer, text
from tui.papers.subject import Subject
from tui.words import NOTHING, SAFETY, Manner, date_and_time, sanitise
from tui.words.reduced import CRITERION_WORDS

DRAFT = "Draft until it is signed"


@dataclass(frozen=True, slots=True)
class Wish:
    """What somebody wants the report to go by."""

    criterion: Criterion = "peak_deviator"
    shape: str = "cylinder"
    """Of the corrected area."""
    cohesionless: bool = False
    at_s: float | None = None
    """Rows whose own time is later are ignored. [s]"""
    command: str = "porewatch report"
    """By which it can be made again."""


def paper_of(subjects: Sequence[Subject], manner: Manner, wish: Wish) -> Paper:
    """The report of one test, or of several.

    Args:
        subjects: the tests, in the order in which they are to stand.
        manner: units and signs.
        wish: criterion, shape of the area, moment.
    """
    wished, manner = manner, replace(manner, ascii=False)  # spelt as wished when all is said
    found = Fingerprint(tuple(subjects), _choices(subjects, wish))
    several = len(subjects) > 1
    envelopes = strength_sections(subjects, wish.criterion, manner, cohesionless=wish.cohesionless)
    sections: list[Section] = []
    if several:
        sections.append(_overview(subjects, manner, wish))
        sections += (_in_brief(one) for one in envelopes)
    for subject in subjects:
        sections += _chapter(subject, manner, wish, several=several)
    sections += envelopes
    sections.append(reproduction(found, wish.command))
    paper = Paper(
        title=_title(subjects),
        subtitle=_subtitle(subjects),
        draft=DRAFT,
        sections=tuple(sections),
        signatures=_signatures(subjects),
        closing=(
            "A draft until tester and checker have signed: no number here replaces the judgement "
            "of the engineer who signs.",
            "± is one standard uncertainty (k = 1), from the readings and the usual calibration. "
            "“After” a standard says whose rule was followed, from memory of it, and not that the "
            "test complies; the laboratory's own copy decides.",
            SAFETY,
        ),
        footer=f"{_subtitle(subjects, 60)} · fingerprint {found.short}",
    )
    return spelt(paper, wished)


def _chapter(subject: Subject, manner: Manner, wish: Wish, *, several: bool) -> Iterator[Section]:
    zone = subject.layout.zone
    writer = Writer(subject.results, manner)
    if subject.settings is None:
        yield from _named((unusable(subject, manner),), subject, several=several)
        return
    stages = (
        ("Saturation", saturation(subject, writer, zone)),
        ("Consolidation", consolidation(subject, writer, zone)),
        ("Shear", shear(subject, writer, wish.criterion, zone)),
    )
    sections = [
        identification(subject, zone),
        specimen(subject, writer),
        set_up(subject, writer, zone),
    ]
    sections += [
        Section(title, (Remarks((_absent(subject, title),)),))
        if section is None
        else with_rebased(section, subject, zone)
        for title, section in stages
    ]
    sections.append(after_test(subject, writer))
    sections.append(doubts(subject, _missing(sections), manner))
    if (not_used := rows_not_used(subject)) is not None:
        sections.append(not_used)
    sections.append(journal(subject, zone))
    yield from _named(sections, subject, several=several)


def _named(sections: Sequence[Section], subject: Subject, *, several: bool) -> Iterator[Section]:
    """In a report of several tests each section says whose it is."""
    for number, one in enumerate(sections):
        title = f"{sanitise(subject.name)} · {one.title}" if several else one.title
        yield Section(title, one.parts, one.about, chapter=several and number == 0)


def _absent(subject: Subject, stage: str) -> str:
    """Why a stage is not in the report."""
    settings = subject.settings
    if settings is not None and settings.test.kind == "UU" and stage != "Shear":
        return "Not part of an unconsolidated undrained test."
    record = None if subject.test is None else subject.test.record
    if record is not None and record.begin_of(stage.lower()) is None:
        return f"No {stage.lower()} is in the readings yet."
    if subject.found is None:
        why = f": {sanitise(subject.why)}" if subject.why else ""
        return f"Nothing could be reduced{why}."
    failed = [one for one in subject.found.stages.failed if stage.lower() in one]
    if failed:
        return f"{sanitise('; '.join(failed))}."
    return f"The {stage.lower()} was read, and nothing could be reduced of it; see the cautions."


def _missing(sections: Sequence[Section]) -> tuple[str, ...]:
    return tuple(
        fact.label
        for section in sections
        for part in section.parts
        if isinstance(part, Facts)
        for fact in part.facts
        if fact.said is None
    )


def _overview(subjects: Sequence[Subject], manner: Manner, wish: Wish) -> Section:
    """One row a specimen: what a reader looks for first."""
    rows: list[tuple[Said, ...]] = []
    state = STATE_OF[wish.criterion]
    plain = Writer({}, manner)
    for subject in subjects:
        writer = Writer(subject.results, manner)
        settings = subject.settings
        cautions = NOTHING if subject.found is None else str(len(subject.found.cautions))
        rows.append(
            (
                sanitise(subject.name),
                NOTHING if settings is None else sanitise(settings.specimen.label or NOTHING),
                NOTHING if settings is None else settings.test.kind,
                *(
                    _of_test(subject, writer.value(key, unit, bare=True))
                    for key, unit in (
                        ("saturation.B", ""),
                        ("consolidation.effective_stress_kPa", "kPa"),
                        ("consolidation.cv_m2_per_year", "m²/year"),
                        (f"shear.{state}.axial_strain", "%"),
                        (f"shear.{state}.deviator_kPa", "kPa"),
                    )
                ),
                cautions,
            )
        )
    heads: tuple[str, ...] = (
        "test",
        "specimen",
        "kind",
        "B",
        plain.head("σ′c", "kPa"),
        plain.head("cv", "m²/year"),
        "ε1f [%]",
        plain.head("qf", "kPa"),
        "cautions",
    )
    if all(row[2] == "UU" for row in rows):  # neither saturated nor consolidated
        heads, rows = heads[:3] + heads[6:], [row[:3] + row[6:] for row in rows]
    table = Table(
        f"At failure by the {CRITERION_WORDS[wish.criterion].removeprefix('at the ')}",
        heads,
        tuple(rows),
        words=(0, 1, 2),
    )
    return Section("Specimens of this report", (table,), about="overview")


def _in_brief(envelope: Section) -> Section:
    """What a set came to, for the first page: the facts without what they rest on."""
    parts = tuple(part for part in envelope.parts[:1] if isinstance(part, Facts | Remarks))
    return Section(envelope.title, parts, envelope.about)


def _of_test(subject: Subject, said: Said) -> Said:
    """A number whose name says of which test it is."""
    return replace(said, key=f"{subject.name}:{said.key}") if isinstance(said, Value) else said


def _title(subjects: Sequence[Subject]) -> str:
    kinds = {one.settings.test.kind for one in subjects if one.settings is not None}
    named = " and ".join(sorted(kinds))
    what = f"Triaxial compression {'tests' if len(subjects) > 1 else 'test'}"
    return f"{what}, {named}" if named else what


def _subtitle(subjects: Sequence[Subject], longest: int = 200) -> str:
    """Project and tests."""
    projects = dict.fromkeys(
        text(one.settings.identity["project"])
        for one in subjects
        if one.settings is not None and one.settings.identity.get("project")
    )
    tests = []
    for one in subjects:
        settings = one.settings
        test = sanitise(settings.test.id) if settings is not None and settings.test.id else ""
        name = sanitise(one.name)
        tests.append(name if not test or test in name else f"{name} {test}")
    whole = " · ".join((*projects, ", ".join(tests)))
    if len(whole) > longest and projects:
        whole = ", ".join(tests)
    return whole if len(whole) <= longest else whole[: longest - 1] + "…"


def _choices(subjects: Sequence[Subject], wish: Wish) -> str:
    zone = subjects[0].layout.zone
    when = "all readings" if wish.at_s is None else f"as of {date_and_time(wish.at_s, zone)}"
    origin = ", c′ = 0" if wish.cohesionless else ""
    failure = CRITERION_WORDS[wish.criterion]
    return f"{when}; failure: {failure}{origin}; corrected area: {wish.shape}"


def _signatures(subjects: Sequence[Subject]) -> tuple[Signature, ...]:
    def names(key: str) -> str:
        written = (
            text(one.settings.identity.get(key) or "")
            for one in subjects
            if one.settings is not None
        )
        return ", ".join(dict.fromkeys(one for one in written if one))

    return (Signature("Tested by", names("operator")), Signature("Checked by", names("checker")))
