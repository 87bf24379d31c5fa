"""What a cell does, how it stands and what is wrong with it, in words."""

from collections.abc import Sequence
from datetime import tzinfo
from typing import Literal, NamedTuple

from tui.bench.alarms.spells import Alarm
from tui.bench.picture import Blind, Cell, Phase, PhaseSpan, Projection, ScheduleCount
from tui.settings.problems import Problem
from tui.words.messages import message
from tui.words.plain import NOTHING, PLAIN, Manner, plain, sanitise
from tui.words.times import clock, coarse, countdown, interval, moment


class State(NamedTuple):
    """A cell's state, told three ways so that none has to be seen to be understood."""

    word: str
    sign: str
    style: Literal["good", "plain", "faint", "warn", "bad", "alert", "alarm"]


_SHORT = {"saturation": "sat", "consolidation": "cons", "interrupted": "interr."}
_SOURCES = {"marks": "as marked", "log": "by the log", "inferred": "inferred"}


def phase_words(
    phase: Phase | PhaseSpan | None, manner: Manner = PLAIN, short: bool = False
) -> str:
    """Phase and step; a step that is called as its phase is not said twice."""
    if phase is None:
        return plain(NOTHING, manner)
    name = _SHORT.get(phase.name, phase.name) if short else phase.name
    step = sanitise(phase.step) if phase.step and phase.step != phase.name else ""
    return plain(f"{name} · {step}" if step else name, manner)


def source_words(phase: Phase | PhaseSpan) -> str:
    """Whose word the phase rests on."""
    return _SOURCES.get(phase.source, phase.source)


def no_readings(cell: Cell) -> str:
    """What to say where a cell has no values: perhaps they have only not been read yet."""
    if cell.being_read:
        return "logs are being read"
    broken = any(problem.severity == "error" for problem in cell.problems)
    return "not read until mended" if broken else "no readings yet"


def readings(
    schedule: ScheduleCount | None, at: float, manner: Manner, *, ticking: bool = False
) -> str:
    """How far the reading schedule has come: "17 of 40, next in 4 min, 1 missed".

    Args:
        ticking: count the seconds down as well: "next in 4 min 05 s".
    """
    if schedule is None:
        return "no schedule"
    text = f"{schedule.taken} of {schedule.slots}"
    if schedule.next_at is None:
        text += ", none left"
    else:
        due = (clock if ticking else countdown)(schedule.next_at - at)
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
    event = message(projection.event, manner)
    if projection.at is None:
        why = message(projection.basis, manner)
        return plain(f"{event}: {why}" if event else why, manner)
    reached = "reached " if is_reached(projection, now) else ""
    return plain(f"{event} {reached}{moment(projection.at, zone, now)}", manner)


def ahead_words(
    ahead: tuple[Projection, ...], zone: tzinfo, now: float, manner: Manner
) -> tuple[str, ...]:
    """What comes after the event of the phase, one text each; of the last its bounds as well."""
    told = [event_words(one, zone, now, manner) for one in ahead]
    if ahead and ahead[-1].at is not None:
        told[-1] += f" ({interval(ahead[-1].earliest, ahead[-1].latest, zone, now)})"
    return tuple(plain(text, manner) for text in told)


def is_reached(projection: Projection, now: float) -> bool:
    """Whether the event lies behind; one that is late is not reached."""
    done = projection.progress is not None and projection.progress >= 1.0
    return done and projection.at is not None and projection.at <= now


def event_wordings(
    projection: Projection, zone: tzinfo, now: float, manner: Manner
) -> tuple[str, ...]:
    """The event of a projection that has a time, from the fullest wording to the shortest."""
    words, when = event_words(projection, zone, now, manner), moment(projection.at, zone, now)
    if is_reached(projection, now):
        return words, plain(f"reached {when}", manner), "reached"
    wait = countdown(None if projection.at is None else projection.at - now)
    texts = (f"{words}, {wait}", words, f"{when}, {wait}", when, wait)
    return tuple(plain(text, manner) for text in texts)


def state(cell: Cell, manner: Manner = PLAIN, shared: Sequence[Alarm] = ()) -> State:
    """How a cell stands: word, sign and the name of a colour.

    An exclamation mark says that nobody has acknowledged it yet. "well" is only a cell of which
    nothing stands and every alarm can be judged; else it "runs".

    Args:
        shared: alarms of the bench that it has a part in.
    """
    standing = [alarm for alarm in (*cell.alarms, *shared) if alarm.counts]
    urgent = [alarm for alarm in standing if alarm.priority == "urgent"]
    warnings = [alarm for alarm in standing if alarm.priority == "warning"]
    found: State
    if urgent:
        is_open = _nobody_knows(urgent)
        found = State("urgent!" if is_open else "urgent", "▲", "alarm" if is_open else "bad")
    elif any(problem.severity == "error" for problem in cell.problems):
        found = State("broken", "✕", "bad")
    elif cell.idle:
        found = State("no test", "□", "faint")
    elif cell.phase is None and cell.being_read:
        found = State("reading", "◦", "faint")
    elif cell.phase is None:
        found = State("no phase", "◌", "warn")
    elif cell.phase.name == "interrupted":
        found = State("halted", "‖", "warn")
    elif cell.phase.contradiction or any(p.severity == "warning" for p in cell.problems):
        found = State("doubtful", "△", "warn")
    elif warnings:
        is_open = _nobody_knows(warnings)
        found = State("warning!" if is_open else "warning", "△", "alert" if is_open else "warn")
    elif cell.phase.name == "ended":
        found = State("ended", "■", "faint")
    elif cell.blind or standing:
        found = State("runs", "○", "plain")
    else:
        found = State("well", "●", "good")
    return State(found.word, plain(found.sign, manner), found.style)


def _nobody_knows(alarms: Sequence[Alarm]) -> bool:
    return any(alarm.state == "unacknowledged" for alarm in alarms)


def cannot_judge_words(blind: Sequence[Blind], most: int = 4) -> list[str]:
    """Which alarms cannot be judged, and why; one text a reason.

    Args:
        most: kinds that are named; more are counted.
    """
    kinds_by_reason: dict[str, list[str]] = {}
    for one in blind:
        kinds_by_reason.setdefault(sanitise(one.why), []).append(sanitise(one.kind))
    return [
        f"{', '.join(kinds) if len(kinds) <= most else f'{len(kinds)} alarms'}: {why}"
        for why, kinds in kinds_by_reason.items()
    ]


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
