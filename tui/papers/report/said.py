"""What a report says before it is a page: facts, tables, charts and remarks, in sections.

Both renderers take this and nothing else, so that HTML and PDF say the same. All text is plain:
whoever renders it escapes it. Text from outside has been through `sanitise`.
"""

from dataclasses import dataclass
from typing import Literal

Style = Literal["readings", "fit", "construction", "second", "limit"]
Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Value:
    """A number of `reduce --json` or `strength --json`, as it is written."""

    words: str
    """With unit and uncertainty, in the reader's units."""
    key: str
    """Its dotted name in the JSON."""
    number: float
    """As the JSON has it: unrounded, in SI."""


Said = str | Value


@dataclass(frozen=True, slots=True)
class Fact:
    """A line of what is known."""

    label: str
    said: Said | None
    """None: nobody recorded it; a line is left to write on."""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """Facts under each other."""

    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of figures under heads that carry the units."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Said, ...], ...]
    remark: str = ""
    words: tuple[int, ...] = (0,)
    """Columns that hold words, not figures."""
    dense: bool = False
    """Many columns: in small type."""


@dataclass(frozen=True, slots=True)
class Remarks:
    """Sentences, each for itself."""

    lines: tuple[str, ...]
    sign: str = ""
    """Before each: △ for a caution."""
    title: str = ""


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a chart."""

    label: str
    unit: str
    """As readers see it; "" for a ratio."""
    log: bool = False
    downwards: bool = False
    """Whether values grow downwards, as settlement is drawn."""

    @property
    def words(self) -> str:
        """Label and unit."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label


@dataclass(frozen=True, slots=True)
class Line:
    """One line or cloud of a chart."""

    name: str
    """For the legend; "" for none."""
    style: Style
    points: Points
    dots: bool = False
    """Whether each point is a reading, to be seen by itself where there are few."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of a chart with its name."""

    name: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A figure in numbers, in the reader's units."""

    title: str
    x: Axis
    y: Axis
    lines: tuple[Line, ...]
    marks: tuple[Mark, ...] = ()
    square: bool = False
    """Whether a unit is as long on x as on y, so that circles are circles and angles angles."""
    source: str = ""
    """Whose construction it shows, and what it assumes."""
    from_origin: bool = False
    """Whether x begins at 0, so that a slope through the origin is seen."""


@dataclass(frozen=True, slots=True)
class Charts:
    """Charts beside each other: one over the whole width, or two."""

    charts: tuple[Chart, ...]


@dataclass(frozen=True, slots=True)
class ByHand:
    """Room for what somebody draws or glues in."""

    label: str
    height_mm: float


Part = Facts | Table | Remarks | Charts | ByHand


@dataclass(frozen=True, slots=True)
class Section:
    """Parts under one head."""

    title: str
    parts: tuple[Part, ...]
    about: str | None = None
    """The test whose numbers it has, as `reduce` names it; None: of the set, or no test's."""
    chapter: bool = False
    """Whether a new specimen begins here."""


@dataclass(frozen=True, slots=True)
class Signature:
    """A line to sign on."""

    role: str
    name: str


@dataclass(frozen=True, slots=True)
class Paper:
    """The whole report."""

    title: str
    subtitle: str
    draft: str
    """That, and until when, it is one."""
    sections: tuple[Section, ...]
    signatures: tuple[Signature, ...]
    closing: tuple[str, ...]
    """Sentences under the signatures."""
    footer: str
    """At the foot of each page: what it is of, and the fingerprint."""
