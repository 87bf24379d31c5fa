"""Who a test belongs to: project, location, sample and specimen, as the keys of AGS4 rows.

Keys tell rows apart, so none that is text is ever empty: what `[identity]` does not state is
written as `NOT_STATED`, and is told. A depth that is not stated stays empty (rule 10a allows it):
a number would be taken for one. Two names that come to the same in ASCII stay two.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tui.papers.exchange.ags4_dictionary import CODES
from tui.papers.exchange.ags4_text import CONCATENATOR, Row, ascii_text
from tui.papers.subject import Subject
from tui.settings.quantities import RefusedError, read_quantity
from tui.words import sanitise

NOT_STATED = "NOT STATED"
WANTED = ("hole", "sample", "type", "top", "depth")
"""Keys of `[identity]` that the keys of every row are made of."""

_SAMPLERS = {"piston": "P", "block": "BLK", "core": "C", "bulk": "B", "liner": "L"}
"""A word for a sample → its code, where it can mean one only."""


@dataclass(frozen=True, slots=True)
class Identity:
    """One test as its rows name it."""

    location: Row
    """Its row in LOCA."""
    sample: Row
    """Its row in SAMP."""
    specimen: Row
    """The keys of its rows in the groups of tests."""
    notes: tuple[str, ...]
    """What to fill in or mend."""


def text_of(subject: Subject, key: str) -> str | None:
    """A key of `[identity]` as one line of text; None where it says nothing."""
    settings = subject.settings
    value = None if settings is None else settings.identity.get(key)
    if isinstance(value, bool) or not isinstance(value, str | int | float | date):
        return None
    return sanitise(str(value), 4000) or None


def metres_of(subject: Subject, key: str) -> float | None:
    """A length of `[identity]`; None where it is not stated or cannot be read. [m]"""
    text = text_of(subject, key)
    try:
        return None if text is None else read_quantity(text, "m")
    except RefusedError:
        return None


def test_name(subject: Subject) -> str:
    """Cell and test, by which a laboratory finds what it did."""
    test = None if subject.settings is None else subject.settings.test.id
    return "-".join(filter(None, (subject.place.name, test)))


@dataclass(slots=True)
class Codes:
    """Codes that a file uses, each with what it means."""

    used: dict[tuple[str, str], tuple[str, bool]] = field(default_factory=dict)
    """(heading, code) → what it means, and whether the published list has it."""

    def code(self, heading: str, text: str | None) -> str | None:
        """The code for a word of the settings: of the published list, else the word itself.

        Args:
            heading: of type PA.
            text: a code or a word; None stays None.
        """
        if text is None:
            return None
        known = CODES.get(heading, {})
        short = _SAMPLERS.get(text.casefold()) if heading == "SAMP_TYPE" else None
        for code, means in known.items():
            if text.casefold() in (code.casefold(), means.casefold()) or short == code:
                self.used[heading, code] = means, True
                return code
        code = ascii_text(text.replace(CONCATENATOR, " and ")).upper() or NOT_STATED
        self.used.setdefault((heading, code), (ascii_text(text) or NOT_STATED, False))
        return code


@dataclass(slots=True)
class _Distinct:
    """Gives each thing a text that no other thing has."""

    texts: dict[Hashable, str] = field(default_factory=dict)

    def text(self, thing: Hashable, wanted: str) -> str:
        if thing not in self.texts:
            text, count = wanted, 1
            while text in self.texts.values():
                count += 1
                text = f"{wanted} ({count})"
            self.texts[thing] = text
        return self.texts[thing]


def identities(subjects: Sequence[Subject], codes: Codes) -> list[Identity]:
    """Every test under keys that no other test of the file has.

    Args:
        subjects: the tests.
        codes: takes those that are used.
    """
    names = _Names()
    return [_identity(subject, names, codes) for subject in subjects]


@dataclass(slots=True)
class _Names:
    locations: _Distinct = field(default_factory=_Distinct)
    samples: _Distinct = field(default_factory=_Distinct)
    specimens: dict[str, _Distinct] = field(default_factory=dict)
    seen: dict[tuple[str | None, str], tuple[Hashable, str]] = field(default_factory=dict)
    """(hole, sample) → the sample of that name, and the test that named it first."""


def _identity(subject: Subject, names: _Names, codes: Codes) -> Identity:
    own = test_name(subject)
    hole, sample = text_of(subject, "hole"), text_of(subject, "sample")
    given_id, top = text_of(subject, "sample_id"), metres_of(subject, "top")
    kind = codes.code("SAMP_TYPE", text_of(subject, "type") or NOT_STATED)
    location = names.locations.text(hole, _known(hole))
    reference = _known(sample)
    thing: Hashable = (hole, sample, given_id, top, kind)
    if sample is None and given_id is None:
        thing, wanted = (thing, own), ascii_text(own)
    else:
        wanted = _known(given_id or " ".join(filter(None, (hole, sample))))
    sample_id = names.samples.text(thing, wanted)
    notes = [*_lacking(subject), *_unreadable(subject)]
    if sample is not None:
        first = names.seen.setdefault((hole, sample), (thing, own))
        if first[0] != thing:
            notes.append(
                f"{own}: sample {sample} has another top, type or sample_id in [identity] than in "
                f"{first[1]}: it is written as another sample, {sample_id}; mend the one that is "
                "wrong"
            )
    keys: dict[str, Any] = {
        "LOCA_ID": location,
        "SAMP_TOP": top,
        "SAMP_REF": reference,
        "SAMP_TYPE": kind,
        "SAMP_ID": sample_id,
    }
    label = None if subject.settings is None else subject.settings.specimen.label
    specimens = names.specimens.setdefault(sample_id, _Distinct())
    wanted = _known(label or own)
    specimen = specimens.text(own, wanted)
    if specimen != wanted:
        notes.append(
            f"{own}: another test of this file has the specimen {wanted} as well; it is written "
            f"as {specimen}; give each its own label in [specimen]"
        )
    return Identity(
        location={
            "LOCA_ID": location,
            "LOCA_NATE": metres_of(subject, "easting"),
            "LOCA_NATN": metres_of(subject, "northing"),
            "LOCA_GL": metres_of(subject, "ground_level"),
            "LOCA_REM": None if hole else "The settings of the tests state no hole",
        },
        sample=keys
        | {
            "SAMP_BASE": metres_of(subject, "base"),
            "SAMP_REM": None if sample else f"The settings of {own} state no sample",
            "SAMP_DESC": text_of(subject, "description"),
        },
        specimen=keys | {"SPEC_REF": specimen, "SPEC_DPTH": metres_of(subject, "depth")},
        notes=tuple(notes),
    )


def _known(text: str | None) -> str:
    """In ASCII; never empty."""
    return ascii_text(text or "") or NOT_STATED


def _lacking(subject: Subject) -> list[str]:
    lacking = [key for key in WANTED if text_of(subject, key) is None]
    if not lacking:
        return []
    return [
        f"{test_name(subject)}: [identity] states no {', '.join(lacking)}: names are written as "
        f"{NOT_STATED}, depths are left empty; fill them in before the file is handed on"
    ]


def _unreadable(subject: Subject) -> list[str]:
    lengths = ("top", "base", "depth", "specimen_base", "easting", "northing", "ground_level")
    return [
        f"{test_name(subject)}: {key} of [identity] is no length and is left out: write it with "
        f'its unit, such as {key} = "5.20 m"'
        for key in lengths
        if text_of(subject, key) is not None and metres_of(subject, key) is None
    ]


def first_of(subjects: Sequence[Subject], key: str) -> str | None:
    """A key of `[identity]` that all tests share, from the first that states it."""
    return next((text for one in subjects if (text := text_of(one, key))), None)


def projects_of(subjects: Sequence[Subject]) -> Mapping[str, str]:
    """Projects that the tests name, each with the first test that does."""
    found: dict[str, str] = {}
    for one in subjects:
        project = text_of(one, "project_id") or text_of(one, "project")
        if project is not None:
            found.setdefault(project, test_name(one))
    return found
