"""What the name of a column says: trade words and short signs in several languages.

The words are common practice in soil laboratories, collected without a source.
"""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from reduce.units import unit
from tui.feed.channels import unit_named
from tui.feed.dialect import is_unit
from tui.feed.numbers import looks_numeric
from tui.settings.channel_names import NUMERIC_CHANNELS

Quantity = Literal["pressure", "volume", "length", "force", "temperature"]
Side = Literal["cell", "back", "pore"]

SPEAKS_FOR: dict[Quantity, str] = {
    "pressure": "cell_pressure",
    "volume": "back_volume",
    "length": "axial_displacement",
    "force": "axial_load",
    "temperature": "temperature",
}
"""A channel whose unit is of that quantity."""

_SIGNS = {
    "cell_pressure": "pc cp pcell cellp sigma3 σ3 sig3 s3 sigmac σc sc",
    "back_pressure": "pb bp ub pback backp uback",
    "pore_pressure": "u uw pw pwp pp ppt ubase utop",
    "back_volume": "vb bv vback",
    "cell_volume": "vc cv vcell",
    "axial_displacement": "dh dl δh δl lvdt",
    "axial_load": "f fax",
    "temperature": "t",
}
"""Whole names; one that counts gauges (F1, F2) is the same without its number."""
_OF_ANY_VOLUME = "v dv δv vol"

_QUANTITIES: dict[Quantity, tuple[str, ...]] = {
    "force": ("load", "force", "kraft", "fuerza", "carga", "forza", "carico"),
    "volume": ("vol", "buret", "buerette"),
    "length": (
        "disp", "travel", "verschieb", "forskyv", "deplac", "desplaz", "spostam", "settl",
        "setzung", "setning", "stroke", "lvdt", "deformation", "weg",
    ),
    "pressure": ("press", "druck", "trykk", "tryck", "presi", "pwp"),
    "temperature": ("temp", "room", "ambient", "raum"),
}  # fmt: skip
_SIDES: dict[Side, tuple[str, ...]] = {
    "cell": ("cell", "zell", "chamber", "kammer", "confin", "celda", "camara"),
    "back": ("back", "gegen", "mottrykk", "mottryck", "contre", "contra", "contro", "sattig"),
    "pore": ("pore", "poro", "pwp", "interst"),
}
_OF_THE_SPECIMEN = (*_SIDES["back"], *_SIDES["pore"], "buret", "specimen", "sample", "drain")
_WATER = ("water", "wasser", "vann", "vatten", "eau", "agua", "acqua")
_IN = ("in", "inn", "into", "inflow")
_OUT = ("out", "ut", "outflow", "expelled")
_PHASE = ("phase", "stage", "fase", "stufe", "etap", "step")
_DRAINAGE = ("drain", "valve", "ventil", "vanne", "valvula")
_TIME = (
    "time", "date", "datum", "dato", "fecha", "zeit", "tid", "stamp", "clock", "elapsed", "hora",
    "heure", "klokke", "sec", "min", "hour", "day", "timestamp",
)  # fmt: skip
_COMPUTED = (
    "deviator", "strain", "dehnung", "toyning", "ratio", "effective", "effektiv", "area", "rate",
    "sigma1", "σ1", "corrected", "target", "setpoint", "demand", "soll", "void",
)  # fmt: skip
_COUNTS = ("no", "nr", "count", "counter", "index", "row", "record", "scan", "status", "battery")
_ASIDE = ("radial", "lateral", "local", "horizontal")

_CAMEL = re.compile(r"(?<=[a-zà-ÿ])(?=[A-Z])")
_BRACKETED = re.compile(r"[\[(]\s*([^\])]*?)\s*[\])]\s*$")
_FOLDED = str.maketrans({"ø": "o", "æ": "ae", "ß": "ss", "ö": "o", "ä": "a", "ü": "u"})


def quantity_of_channel(channel: str) -> Quantity | None:
    """What a channel measures; None for words."""
    return quantity_of(NUMERIC_CHANNELS[channel]) if channel in NUMERIC_CHANNELS else None


def quantity_of(symbol: str) -> Quantity | None:
    """What is measured in a unit."""
    dimension = unit(symbol).dimension
    return next((one for one in SPEAKS_FOR if one == dimension), None)


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a name alone says."""

    channel: str | None = None
    """Where a whole name stands for one channel."""
    quantity: Quantity | None = None
    side: Side | None = None
    """Which pressure, or whose volume."""
    of_specimen: bool = False
    """Whether a volume is that of the specimen's own line."""
    word: str = ""
    """The part of the name that told."""
    flow: Literal[1, 0, -1] = 0
    """Of a volume: whether it names water that goes in (1) or out (-1)."""
    counts_down: bool = False
    """A burette is read from the top: it falls when water leaves it."""
    is_phase: bool = False
    is_drainage: bool = False
    is_time: bool = False
    not_read: str = ""
    """Why such a column is no gauge of ours; empty if it may be one."""

    @property
    def known(self) -> bool:
        """Whether the name says anything."""
        told = self.channel or self.quantity or self.side or self.not_read
        return bool(told or self.is_phase or self.is_drainage or self.is_time)


def _parts(name: str) -> list[str]:
    spaced = _CAMEL.sub(" ", unicodedata.normalize("NFKC", name)).casefold().translate(_FOLDED)
    bare = "".join(s for s in unicodedata.normalize("NFKD", spaced) if not unicodedata.combining(s))
    return re.findall(r"[^\W_]+", bare)


def _first(parts: list[str], stems: tuple[str, ...]) -> str:
    """The part that begins with a stem, or holds it as compound words do: Zelldruck."""
    for stem in stems:
        for part in parts:
            if part.startswith(stem) or (len(stem) > 3 and stem in part):
                return part
    return ""


def unit_in_name(name: str) -> tuple[str, str] | None:
    """The unit behind a column's name, in brackets or not, and the name without it.

    Example:
        >>> unit_in_name("Pc [KPA]"), unit_in_name("Axial in"), unit_in_name("u")
        (('kPa', 'Pc'), ('in', 'Axial'), None)
    """
    if bracket := _BRACKETED.search(name):
        symbol = unit_of_a_channel(bracket[1])
        return None if symbol is None else (symbol, name[: bracket.start()].strip())
    pieces = re.split(r"[\s_,;-]+(?=[^\s_,;-]+$)", name.strip())
    if len(pieces) < 2 or not pieces[0]:
        return None
    symbol = unit_of_a_channel(pieces[1])
    return None if symbol is None else (symbol, pieces[0])


def unit_of_a_channel(text: str) -> str | None:
    """The unit that a text means, if some channel may have it.

    Example:
        >>> unit_of_a_channel("°C"), unit_of_a_channel("KPA"), unit_of_a_channel("min")
        ('degC', 'kPa', None)
    """
    text = text.strip()
    for exactly in (True, False):
        for channel in SPEAKS_FOR.values():
            if exactly != is_unit(text):
                continue
            symbol = unit_named(text, channel)
            if symbol is not None:
                return unit(symbol).symbol
    return None


def meaning(name: str) -> Meaning:
    """What the name of a column says, its unit left aside.

    Example:
        >>> meaning("Zelldruck").side, meaning("Burette").quantity, meaning("F2").channel
        ('cell', 'volume', 'axial_load')
    """
    parts = _parts(_BRACKETED.sub("", name))
    if not parts:
        return Meaning()
    computed = parts[0] if parts in (["q"], ["p"]) else ""
    for part in parts:
        if part.startswith(_COMPUTED) or part.endswith(_COMPUTED):
            computed = part
    if computed:
        return Meaning(word=computed, not_read=f'"{computed}" is computed or set, not measured')
    if counted := next((part for part in parts if part in _COUNTS), ""):
        return Meaning(word=counted, not_read=f'"{counted}" counts and measures nothing')
    joined = "".join(parts)
    for sign in (joined, joined.rstrip("0123456789")):
        for channel, signs in _SIGNS.items():
            if sign in signs.split():
                return Meaning(channel=channel, word=sign)
        if sign in _OF_ANY_VOLUME.split():
            return Meaning(quantity="volume", word=sign)
    return _by_words(parts)


def _by_words(parts: list[str]) -> Meaning:
    told = next(((q, w) for q, stems in _QUANTITIES.items() if (w := _first(parts, stems))), None)
    side = next(((s, w) for s, stems in _SIDES.items() if (w := _first(parts, stems))), None)
    if told is None and side is None and (word := _first(parts, _WATER)):
        told = ("volume", word)
    quantity = None if told is None else told[0]
    if quantity == "length" and (word := _first(parts, _ASIDE)):
        return Meaning(quantity=quantity, word=word, not_read=f'"{word}" is not along the axis')
    named = dict.fromkeys(one[1] for one in (side, told) if one is not None)
    flow: Literal[1, 0, -1] = 0
    if any(part in _IN for part in parts):
        flow = 1
    elif any(part in _OUT for part in parts):
        flow = -1
    return Meaning(
        quantity=quantity,
        side=None if side is None else side[0],
        word=" ".join(named) or _first(parts, ("axial",)),
        of_specimen=bool(_first(parts, _OF_THE_SPECIMEN)),
        flow=flow,
        counts_down=bool(_first(parts, ("buret", "buerette"))),
        is_phase=quantity is None and bool(_first(parts, _PHASE)),
        is_drainage=quantity is None and bool(_first(parts, _DRAINAGE)),
        is_time=quantity is None and any(part in _TIME for part in parts),
    )


@lru_cache(maxsize=8192)
def _reads_like_a_name(field: str) -> bool:
    if not field or looks_numeric(field):
        return False
    if len(field) > 1 and unit_of_a_channel(field) is not None:
        return False  # of a units line
    return meaning(field).known or unit_in_name(field) is not None


def score(names: Sequence[str]) -> int:
    """How many fields of a line read like names of columns: what finds the header."""
    return sum(_reads_like_a_name(name.strip()) for name in names)
