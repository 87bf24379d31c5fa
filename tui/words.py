"""The only formatting: values, times and states as the words that people read.

Every view (screen, `status`, reports) says the same thing in the same words. Nothing here reads a
clock. None is "–", never 0; a quantity always carries its unit.
"""

import re
import unicodedata
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Literal, NamedTuple

from reduce.units import convert
from tui.bench.picture import Cell, Phase, PhaseSpan, Projection, ScheduleCount
from tui.settings.problems import Problem

SAFETY = "Porewatch observes and advises. It moves no valve and is no safety device."
NOT_JUDGED = "alarms are not judged by this version"
NOTHING = "–"


@dataclass(frozen=True, slots=True)
class Manner:
    """How things are to be written."""

    units: Literal["SI", "US"] = "SI"
    ascii: bool = False
    """Nothing beyond ASCII leaves this module's functions."""
    colour: bool = True


PLAIN = Manner()


class State(NamedTuple):
    """A cell's state, told three ways so that none has to be seen to be understood."""

    word: str
    sign: str
    style: Literal["good", "plain", "faint", "warn", "bad"]


# Text that came from a log or a settings file.

_ESCAPES = re.compile(
    r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[\]PX^_].*?(?:\x1b\\|\x07|$)|\x1b[@-Z\\-_]|\x9b[0-?]*[ -/]*[@-~]"
)
_PLAIN_SPELLINGS = {
    "–": "-", "—": "-", "−": "-", "…": "...", "·": "-", "′": "'", "×": "x", "→": "->",
    "≥": ">=", "≤": "<=", "°": "", "³": "3", "²": "2", "√": "root ", "½": "1/2", "±": "+/-",
    "σ": "s", "ε": "e", "φ": "phi", "Δ": "d", "τ": "t", "μ": "u", "µ": "u", "°C": "degC",
    "₀": "0", "₁": "1", "₂": "2", "₃": "3", "ₐ": "a", "ᵥ": "v", "▸": ">", "●": "*", "○": "o",
    "✕": "X", "△": "!", "◌": ".", "■": "#", "‖": "=", "▪": "|", "◆": "+", "↑": "^", "↓": "v",
}  # fmt: skip


def sanitise(text: str, longest: int = 500) -> str:
    """Text from outside without escapes, control or invisible characters, on one line.

    Square brackets stay: they belong to column names. Whoever draws must not read markup.

    Example:
        >>> sanitise("Pc\\x1b[31m [kPa]\\n\\u202eabc")
        'Pc [kPa] abc'
    """
    text = unicodedata.normalize("NFC", _ESCAPES.sub("", text[: 4 * longest]))
    kept = []
    for sign in text:
        kind = unicodedata.category(sign)
        if kind in ("Zs", "Zl", "Zp") or sign in "\t\r\n\v\f":
            kept.append(" ")
        elif kind[0] != "C" and kind not in ("Mn", "Me"):
            kept.append(sign)
    clean = " ".join("".join(kept).split())
    return clean if len(clean) <= longest else clean[: longest - 1] + "…"


def plain(text: str, manner: Manner) -> str:
    """The text itself, or its ASCII spelling if the manner wants that.

    Example:
        >>> plain("σ′ ≥ 20 kPa · 24 °C", Manner(ascii=True))
        "s' >= 20 kPa - 24 C"
    """
    if not manner.ascii or text.isascii():
        return text
    spelt = "".join(_PLAIN_SPELLINGS.get(sign, sign) for sign in text)
    if spelt.isascii():
        return spelt
    bare = "".join(s for s in unicodedata.normalize("NFKD", spelt) if not unicodedata.combining(s))
    return bare.encode("ascii", "replace").decode()


# Time.


def _long(seconds: float) -> str:
    minutes = int(seconds // 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 24:
        return f"{hours} h {minutes:02d} min"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if days < 10 else f"{days} d"


def age(seconds: float | None) -> str:
    """How old something is; below a minute in steps of 5 s, so that a quiet screen stays quiet.

    Example:
        >>> age(13.0), age(200.0), age(7500.0), age(-130.0)
        ('10 s', '3 min', '2 h 05 min', '2 min ahead')
    """
    if seconds is None:
        return NOTHING
    if seconds <= -60:
        return f"{_long(-seconds)} ahead"
    if seconds < 60:
        return f"{max(0, int(seconds)) // 5 * 5} s"
    return _long(seconds)


def countdown(seconds: float | None) -> str:
    """How long until something is due: whole seconds in the last minute, else minutes.

    Example:
        >>> countdown(45.2), countdown(245.0), countdown(0.0), countdown(-700.0)
        ('45 s', '4 min', 'now', '11 min late')
    """
    if seconds is None:
        return NOTHING
    if seconds <= -60:
        return f"{_long(-seconds)} late"
    if seconds <= 0:
        return "now"
    return f"{int(seconds)} s" if seconds < 60 else _long(seconds)


def coarse(seconds: float | None) -> str:
    """A countdown for where there is hardly any room: its largest unit only.

    Example:
        >>> coarse(245.0), coarse(7_000.0), coarse(-7_000.0)
        ('4 min', '1 h', '1 h late')
    """
    if seconds is None:
        return NOTHING
    number, unit = countdown(seconds).split()[:2] if abs(seconds) >= 1 else ("now", "")
    return f"{number} {unit}".strip() + (" late" if seconds <= -60 else "")


_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def local(at: float, zone: tzinfo) -> datetime:
    """A moment on the bench's wall clock."""
    return datetime.fromtimestamp(at, zone)


def _day(then: datetime, today: datetime) -> str:
    distance = (then.date() - today.date()).days
    if distance == 0:
        return "today"
    if -6 <= distance <= 6:
        return _DAYS[then.weekday()]
    if then.year == today.year:
        return f"{then.day} {_MONTHS[then.month - 1]}"
    return f"{then:%Y-%m-%d}"


def moment(at: float | None, zone: tzinfo, now: float) -> str:
    """A moment as people say it on the day of `now`.

    Example:
        >>> from datetime import UTC
        >>> moment(90_000.0, UTC, 87_000.0), moment(90_000.0, UTC, 0.0)
        ('today 01:00', 'Fri 01:00')
    """
    if at is None:
        return NOTHING
    then = local(at, zone)
    return f"{_day(then, local(now, zone))} {then:%H:%M}"


def interval(earliest: float | None, latest: float | None, zone: tzinfo, now: float) -> str:
    """From when to when.

    Example:
        >>> from datetime import UTC
        >>> interval(90_000.0, 97_200.0, UTC, 0.0)
        'Fri 01:00–03:00'
    """
    if earliest is None and latest is None:
        return NOTHING
    if latest is None:
        return f"from {moment(earliest, zone, now)}"
    if earliest is None:
        return f"by {moment(latest, zone, now)}"
    first, last = local(earliest, zone), local(latest, zone)
    if first.date() == last.date():
        return f"{moment(earliest, zone, now)}–{last:%H:%M}"
    return f"{moment(earliest, zone, now)} – {moment(latest, zone, now)}"


def date_and_time(at: float, zone: tzinfo) -> str:
    """A moment in full, to the minute: the head of a page.

    Example:
        >>> from datetime import UTC
        >>> date_and_time(0.0, UTC)
        'Thu 1 Jan 1970 00:00'
    """
    then = local(at, zone)
    return f"{_DAYS[then.weekday()]} {then.day} {_MONTHS[then.month - 1]} {then.year} {then:%H:%M}"


# Quantities: internal unit → what is shown, with the digits that an instrument deserves.

_SHOWN: dict[str, dict[str, tuple[str, int]]] = {
    "SI": {"kPa": ("kPa", 1), "ml": ("ml", 2), "mm": ("mm", 2), "N": ("N", 1), "degC": ("°C", 1)},
    "US": {
        "kPa": ("psi", 2),
        "ml": ("in³", 3),
        "mm": ("in", 3),
        "N": ("lbf", 2),
        "degC": ("°F", 1),
    },
}


def unit_shown(unit: str, manner: Manner) -> str:
    """The unit in which values of an internal unit are shown; an unknown one is its own.

    Example:
        >>> unit_shown("kPa", Manner(units="US")), unit_shown("√min", Manner(units="US"))
        ('psi', '√min')
    """
    return _SHOWN[manner.units].get(unit, (unit, 2))[0]


def shown(value: float | None, unit: str, manner: Manner) -> tuple[str, str]:
    """A value of an internal unit as its number and the unit it is shown in.

    An unknown unit passes through as it is.

    Example:
        >>> shown(100.0, "kPa", Manner(units="US"))
        ('14.50', 'psi')
    """
    symbol, digits = _SHOWN[manner.units].get(unit, (unit, 2))
    symbol = plain(sanitise(symbol), manner)
    if value is None:
        return plain(NOTHING, manner), symbol
    if unit in _SHOWN["SI"]:
        value = convert(value, unit, _SHOWN[manner.units][unit][0])
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")  # "-0.0" says nothing that "0.0" does not
    return plain(text.replace("-", "−"), manner), symbol


def _with_unit(value: float | None, unit: str, manner: Manner) -> str:
    number, symbol = shown(value, unit, manner)
    return number if value is None else f"{number} {symbol}"


def pressure(value_kPa: float | None, manner: Manner = PLAIN) -> str:
    """A pressure or stress.

    Example:
        >>> pressure(101.34), pressure(None), pressure(100.0, Manner(units="US"))
        ('101.3 kPa', '–', '14.50 psi')
    """
    return _with_unit(value_kPa, "kPa", manner)


def pressure_short(value_kPa: float | None, manner: Manner = PLAIN) -> str:
    """A pressure without its unit, for lines that give it once: whole kPa, tenths of a psi.

    Example:
        >>> pressure_short(349.8), pressure_short(100.0, Manner(units="US"))
        ('350', '14.5')
    """
    if value_kPa is None:
        return plain(NOTHING, manner)
    if manner.units == "US":
        return f"{convert(value_kPa, 'kPa', 'psi'):.1f}"
    return f"{value_kPa:.0f}"


def volume(value_ml: float | None, manner: Manner = PLAIN) -> str:
    """A volume, such as what went into the specimen."""
    return _with_unit(value_ml, "ml", manner)


def length(value_mm: float | None, manner: Manner = PLAIN) -> str:
    """A length, such as the travel of the ram."""
    return _with_unit(value_mm, "mm", manner)


def force(value_N: float | None, manner: Manner = PLAIN) -> str:
    """A force, such as the axial load."""
    return _with_unit(value_N, "N", manner)


def temperature(value_C: float | None, manner: Manner = PLAIN) -> str:
    """A temperature."""
    return _with_unit(value_C, "degC", manner)


def ratio(value: float | None, manner: Manner = PLAIN) -> str:
    """A ratio as a bare number."""
    return plain(NOTHING, manner) if value is None else plain(f"{value:.2f}", manner)


def percent(value: float | None, manner: Manner = PLAIN, digits: int = 0) -> str:
    """A ratio in percent.

    Example:
        >>> percent(0.624), percent(0.01234, digits=2)
        ('62 %', '1.23 %')
    """
    return plain(NOTHING, manner) if value is None else f"{100 * value:.{digits}f} %"


def b_value(value: float | None, manner: Manner = PLAIN) -> str:
    """Skempton's B: three decimals, so that 0.949 is not read as a pass of 0.95."""
    return plain(NOTHING, manner) if value is None else f"{value:.3f}"


# What a cell does.

_SHORT = {"saturation": "sat", "consolidation": "cons", "interrupted": "interr."}
_SOURCES = {"marks": "as marked", "log": "by the log", "inferred": "inferred"}


def phase_words(
    phase: Phase | PhaseSpan | None, manner: Manner = PLAIN, short: bool = False
) -> str:
    """Phase and step."""
    if phase is None:
        return plain(NOTHING, manner)
    name = _SHORT.get(phase.name, phase.name) if short else phase.name
    step = sanitise(phase.step) if phase.step else ""
    return plain(f"{name} · {step}" if step else name, manner)


def source_words(phase: Phase) -> str:
    """Whose word the phase rests on."""
    return _SOURCES.get(phase.source, phase.source)


def readings(schedule: ScheduleCount | None, at: float, manner: Manner) -> str:
    """How far the reading schedule has come: "17 of 40, next in 4 min, 1 missed"."""
    if schedule is None:
        return "no schedule"
    text = f"{schedule.taken} of {schedule.slots}"
    if schedule.next_at is None:
        text += ", none left"
    else:
        due = countdown(schedule.next_at - at)
        text += f", next {due}" if due == "now" or due.endswith("late") else f", next in {due}"
    if schedule.missed:
        text += f", {schedule.missed} missed"
    return plain(text, manner)


def readings_short(schedule: ScheduleCount | None, at: float, manner: Manner, least: bool) -> str:
    """The same where room is short: "17 of 40, 4 min", or at least "17/40 4 min"."""
    if schedule is None:
        return ""
    text = (
        f"{schedule.taken}/{schedule.slots}" if least else f"{schedule.taken} of {schedule.slots}"
    )
    if schedule.next_at is not None:
        wait = schedule.next_at - at
        text += f" {coarse(wait)}" if least else f", {countdown(wait)}"
    return plain(text, manner)


def event_words(projection: Projection, zone: tzinfo, now: float, manner: Manner) -> str:
    """What comes next and when, or why that cannot be told."""
    event = sanitise(projection.event)
    if projection.at is None:
        why = sanitise(projection.basis)
        return plain(f"{event}: {why}" if event else why, manner)
    return plain(f"{event} {moment(projection.at, zone, now)}", manner)


def state(cell: Cell, manner: Manner = PLAIN) -> State:
    """How a cell stands: word, sign and the name of a colour.

    A cell whose alarms are not judged "runs"; only a cell that is judged can be "well".
    """
    found: State
    if any(problem.severity == "error" for problem in cell.problems):
        found = State("broken", "✕", "bad")
    elif cell.phase is None:
        found = State("no phase", "◌", "warn")
    elif cell.phase.name == "interrupted":
        found = State("halted", "‖", "warn")
    elif cell.phase.contradiction or any(p.severity == "warning" for p in cell.problems):
        found = State("doubtful", "△", "warn")
    elif cell.phase.name == "ended":
        found = State("ended", "■", "faint")
    elif cell.blind:
        found = State("runs", "○", "plain")
    else:
        found = State("well", "●", "good")
    return State(found.word, plain(found.sign, manner), found.style)


def place_words(problem: Problem) -> str:
    """Where a problem is: file, line and key, as far as they are known."""
    where = sanitise(problem.file or "")
    if problem.line is not None:
        where = f"{where}:{problem.line}" if where else f"line {problem.line}"
    return " ".join(part for part in (where, sanitise(problem.key or "")) if part)


def problem_words(problem: Problem, manner: Manner = PLAIN) -> str:
    """One complaint on one line: where, what, and what to do about it."""
    where = place_words(problem)
    text = f"{where}: {sanitise(problem.what)}" if where else sanitise(problem.what)
    remedy = sanitise(problem.remedy)
    return plain(f"{text} → {remedy}" if remedy else text, manner)
