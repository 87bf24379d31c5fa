"""The envelope of a set: Mohr's circles, the lines by three ways, how well c and φ are known."""

from collections.abc import Mapping, Sequence

from reduce.reduction.whole import Reduction
from reduce.strength.of_set import SetStrength
from reduce.strength.specimens import Criterion, FailedSpecimen
from tui.bench.failed_specimens import STATE_OF
from tui.bench.strength_json import strength_json
from tui.papers.report.circles import circle_chart, circle_of, tangent_of
from tui.papers.report.said import (
    Chart,
    Charts,
    Fact,
    Facts,
    Line,
    Mark,
    Part,
    Points,
    Remarks,
    Said,
    Section,
    Style,
    Table,
)
from tui.papers.report.thinning import line_points
from tui.papers.report.writing import Writer
from tui.papers.sets import by_set, envelope_of
from tui.papers.subject import Subject
from tui.words import NOTHING, Manner, sanitise
from tui.words.reduced import CRITERION_WORDS, LINE_WORDS

DIGITS = {"kPa": 1, "°": 1, "": 4}
"""Decimals of c, of φ and of r."""
FEW = 4
"""Of specimens whose stresses rise, so many lie near a line whatever they are: common practice."""


def strength_sections(
    subjects: Sequence[Subject], criterion: Criterion, manner: Manner, *, cohesionless: bool = False
) -> tuple[Section, ...]:
    """A section for each set that two or more of the subjects belong to."""
    if len(subjects) < 2:
        return ()
    sections = []
    for name, members in by_set(subjects).items():
        if len(members) > 1:
            sections.append(_of_set(name, members, criterion, manner, cohesionless=cohesionless))
        elif name is not None or members[0].settings is not None:
            alone = f"{sanitise(members[0].name)} is the only specimen here of the set "
            alone += sanitise(name) if name else "that is not named (specimen.set)"
            sections.append(
                Section(_title(name), (Remarks((f"{alone}: no envelope is laid through one.",)),))
            )
    return tuple(sections)


def _title(name: str | None) -> str:
    return f"Strength of the set {sanitise(name)}" if name else "Strength of the set"


def _of_set(
    name: str | None,
    members: Sequence[Subject],
    criterion: Criterion,
    manner: Manner,
    *,
    cohesionless: bool,
) -> Section:
    one = envelope_of(name, members, criterion, cohesionless=cohesionless)
    left_out = (Remarks(tuple(map(sanitise, one.left_out)), "△"),) if one.left_out else ()
    found = one.strength
    if found is None:
        why = f"no envelope: {sanitise(one.why or '')}"
        return Section(_title(name), (Remarks((why,)), *left_out))
    writer = Writer(strength_json(found), manner)
    cautions = tuple(f"{sanitise(what)} ({sanitise(clause)})" for what, clause in found.cautions)
    parts: list[Part] = [
        Facts(_facts(writer, found)),
        _specimens(writer, one.specimens),
        *left_out,
        *_methods(writer, found),
        Charts((_circles(writer, found, one.specimens),)),
        *_paths(writer, found, one.reductions, criterion),
    ]
    if cautions:
        parts.append(Remarks(cautions, "△"))
    return Section(_title(name), tuple(parts), about="strength", chapter=True)


def _facts(writer: Writer, found: SetStrength) -> tuple[Fact, ...]:
    facts = [Fact("failure by", CRITERION_WORDS[found.criterion])]
    named = {
        "c_effective_kPa": ("c′", "kPa", "c_kPa"),
        "phi_effective_deg": ("φ′", "°", "phi_deg"),
        "c_total_kPa": ("c, total", "kPa", None),
        "phi_total_deg": ("φ, total", "°", None),
        "undrained_strength_kPa": ("undrained strength", "kPa", None),
        "r": ("correlation coefficient r", "", None),
    }
    for key, (label, unit, interval) in named.items():
        said = writer.fixed(key, unit, DIGITS[unit])
        if said != NOTHING:
            remark = "" if interval is None else _between(writer, found, interval, unit)
            if key == "r" and len(found.specimens) <= FEW:
                remark = "of so few specimens r is near 1 almost always: it tells little"
            facts.append(Fact(label, said, remark))
    if found.methods.weighted is not None:
        by = "each specimen weighted by its uncertainty" if found.weighted else "not weighted"
        facts.append(Fact("fitted by", f"{LINE_WORDS['weighted']}, {by}"))
    if found.total_by:
        facts.append(Fact("total strength by", found.total_by))
    facts.append(Fact("number of specimens", str(len(found.specimens))))
    return tuple(facts)


def _between(writer: Writer, found: SetStrength, name: str, unit: str) -> str:
    if found.interval is None:
        return "how uncertain it is cannot be told from so few specimens"
    low, high = (writer.rounded(end, unit, DIGITS[unit]) for end in getattr(found.interval, name))
    return f"{low} to {high} with {found.interval.confidence:.0%} confidence, by the scatter"


def _specimens(writer: Writer, specimens: Sequence[FailedSpecimen]) -> Table:
    heads: tuple[str, ...] = ("specimen", "test")
    undrained = [one.kind == "CU" for one in specimens]
    less = " − u0" if all(undrained) else ""
    stresses = (f"σ1{less}", f"σ3{less}", "σ′1", "σ′3")
    heads += tuple(writer.head(name, "kPa") for name in stresses)
    rows: tuple[tuple[Said, ...], ...] = tuple(
        (
            sanitise(one.name),
            one.kind,
            writer.plain(one.sigma1_total_kPa, "kPa", bare=True),
            writer.plain(one.sigma3_total_kPa, "kPa", bare=True),
            writer.value(f"specimens.{number}.sigma1_effective_kPa", "kPa", bare=True),
            writer.value(f"specimens.{number}.sigma3_effective_kPa", "kPa", bare=True),
            writer.value(f"specimens.{number}.phi_effective_deg_c0", "°", bare=True),
        )
        for number, one in enumerate(specimens)
    )
    if all(one.kind == "UU" for one in specimens):  # total stresses alone
        heads, rows = heads[:4], tuple(row[:4] for row in rows)
    else:
        heads = (*heads, "φ′ if c′ = 0 [°]")
    return Table(
        "Specimens at failure",
        heads,
        rows,
        "Total stresses are less u0, the pore pressure at zero strain." if any(undrained) else "",
        words=(0, 1),
    )


def _methods(writer: Writer, found: SetStrength) -> tuple[Part, ...]:
    if found.methods.weighted is None:
        return ()
    of = (
        "total" if all(one.sigma1_effective_kPa is None for one in found.specimens) else "effective"
    )
    rows = tuple(
        (
            LINE_WORDS[name],
            writer.value(f"methods.{name}.c_{of}_kPa", "kPa", bare=True),
            writer.value(f"methods.{name}.phi_{of}_deg", "°", bare=True),
            writer.value(f"methods.{name}.r"),
        )
        for name in LINE_WORDS
    )
    heads = ("", writer.head("c", "kPa"), "φ [°]", "r")
    return (Table(f"By three lines, {of} stresses", heads, rows),)


def _circles(writer: Writer, found: SetStrength, specimens: Sequence[FailedSpecimen]) -> Chart:
    kPa = writer.scale("kPa")
    lines: list[Line] = []
    reach = {"effective": 0.0, "total": 0.0}
    kinds: tuple[tuple[str, Style, Style], ...] = (
        ("effective", "readings", "fit"),
        ("total", "second", "construction"),
    )
    for of, style, _ in kinds:
        for one in specimens:
            minor = getattr(one, f"sigma3_{of}_kPa")
            major = getattr(one, f"sigma1_{of}_kPa")
            if minor is None or major is None:
                continue
            # All circles of one kind have one entry of the legend
            name = "" if reach[of] else f"{of} stress at failure"
            lines.append(circle_of(name, style, minor * kPa, major * kPa))
            reach[of] = max(reach[of], major * kPa)
    for of, _, style in kinds:
        c, phi = getattr(found, f"c_{of}_kPa"), getattr(found, f"phi_{of}_deg")
        if c is not None and phi is not None and reach[of]:
            sign = "′" if of == "effective" else ""
            name = f"c{sign} = {writer.rounded(c, 'kPa', 1)}, φ{sign} = {phi:.1f}°"
            lines.append(tangent_of(name, style, c * kPa, phi, reach[of]))
    source = "Envelopes after Mohr and Coulomb"
    if found.methods.weighted is not None:
        source += f", by {LINE_WORDS['weighted']}"
    return circle_chart(
        "Mohr's circles at failure", writer, tuple(lines), f"{source}; total stresses on their own."
    )


def _paths(
    writer: Writer,
    found: SetStrength,
    reductions: Mapping[str, Reduction],
    criterion: Criterion,
) -> tuple[Part, ...]:
    """The stress paths of all specimens with the line through their tops."""
    kPa = writer.scale("kPa")
    lines: list[Line] = []
    tops: list[Mark] = []
    reach = 0.0
    for one in found.specimens:
        sheared = reductions[one.name].stages.sheared
        shear = reductions[one.name].stages.shear
        if sheared is None or shear is None or one.sigma1_effective_kPa is None:
            continue
        table = sheared.table
        points = line_points(kPa * table.centre_effective_kPa, kPa * table.shear_stress_kPa)
        lines.append(Line("" if lines else "stress paths", "readings", points))
        state = getattr(shear, STATE_OF[criterion])
        top = state.centre_effective_kPa * kPa, state.shear_stress_kPa * kPa
        tops.append(Mark(CRITERION_WORDS[criterion], *top))
        reach = max(reach, *(s for s, _ in points))
    if not lines:
        return ()
    line = found.methods.stress_points
    if line is not None:
        start = 0.0 if line.line.intercept >= 0.0 else -line.line.intercept / line.line.slope
        ends: Points = tuple(
            (s, line.line.intercept * kPa + line.line.slope * s) for s in (start * kPa, reach)
        )
        lines.append(Line(f"{LINE_WORDS['stress_points']}: φ′ = {line.phi_deg:.1f}°", "fit", ends))
    chart = Chart(
        "Stress paths of the set",
        writer.axis("s′", "kPa"),
        writer.axis("t′", "kPa"),
        tuple(lines),
        tuple(tops),
        square=True,
        from_origin=True,
    )
    return (Charts((chart,)),)
