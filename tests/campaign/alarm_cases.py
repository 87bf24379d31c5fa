"""One fault, or one thing that only looks like it, laid into a drawn test, and what came of it."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

import numpy as np
from alarm_stage import Place, Rest, Stage, fed

from tui.bench.alarms.spells import PRIORITIES, Spell

H, MIN = 3600.0, 60.0
BY_LOG = (
    "leak-membrane", "leak-cell", "leak-drainage", "drainage-state", "volume-gauge-end",
    "membrane-burst", "saturation-stalled", "consolidation-overdue", "phase-complete",
    "reading-missed", "sensor-fault", "strain-limit", "rate-too-fast", "load-not-taken",
)  # fmt: skip
"""Kinds that rest on rows of the log alone."""


@dataclass(frozen=True)
class Laid:
    """A case, ready to be judged."""

    kind: str
    way: str
    """Which of the ways to bring it about, or what only looks like it."""
    size: float
    """Over the limit; below 1 it must not be raised. [-]"""
    stage: Stage
    onset_s: float
    """Since the test began. [s]"""
    rest: Rest
    true_s: float | None
    """From when on the definition holds, without noise; None: never. [s]"""
    delay_s: float = 0.0
    rows: int = 0
    """Readings that say so until it is raised, where they are fewer than the delay takes."""
    about: str | None = None
    priority: str = "note"
    """At least."""
    excused: tuple[str, ...] = ()
    """What may hold it back, because it is in the fault as well."""
    known_s: float | None = None
    """When it must be known, where readings do not tell; None: by delay and readings. [s]"""
    words_s: np.ndarray[tuple[int], np.dtype[np.float64]] | None = None
    second: "Laid | None" = None
    """The same on another cell of the supply."""
    besides: str = ""
    """A reason of the same kind that it may really give besides, and that is not judged here."""


@dataclass(frozen=True)
class Found:
    """What came of a case."""

    kind: str
    way: str
    size: float
    where: str
    """Seed and manner."""
    onset_h: float
    is_fault: bool
    raised: bool
    """In time; of one that is no fault, at all."""
    late_s: float = math.nan
    """Raised after its on-delay had passed; nan: never. [s]"""
    why: str = ""
    """Of one that was not found, or found wrongly."""


Lay = Callable[[Stage, Random, bool], Laid | None]
"""A case on a stage; True for one that must not be raised; None: the stage does not suit."""


@dataclass(frozen=True)
class Way:
    """One way to bring about, or not quite, a kind of alarm."""

    kind: str
    name: str
    lay: Lay
    near: bool = True
    """Whether there is something that only looks like it."""
    needs: str = ""
    """"worded", "narrow", "scheduled", "steady": of the stage."""
    only_near: bool = False
    weight: int = 1


def size(dice: Random, *, near: bool, largest: float = 8.0) -> float:
    """How large, over the limit: 1.3 to large, or 0.3 to 0.7."""
    if near:
        return dice.uniform(0.3, 0.7)
    return 1.3 * math.exp(dice.uniform(0.0, math.log(largest / 1.3)))


@dataclass(frozen=True)
class Spot:
    """Where a case begins."""

    place: Place
    onset_s: float
    stands_s: float
    """From here on all stands still, if the step is to last longer than it did. [s]"""


def spot(
    stage: Stage, dice: Random, where: tuple[str, ...], lead_s: float, settle_s: float = 900.0
) -> Spot | None:
    """A moment in one of the steps; before shear a step may be made to last longer."""
    fits: list[Place] = []
    for place in stage.places:
        room = place.end_s - place.act_s - settle_s
        longer = place.phase in ("saturation", "consolidation") and room > 120.0
        if place.name in where and (room > lead_s or longer):
            fits.append(place)
    if not fits:
        return None
    place = dice.choice(fits)
    begin = place.act_s + settle_s
    last = place.end_s - lead_s
    long_enough = last > begin
    onset = dice.uniform(begin, last if long_enough else place.end_s - 60.0)
    return Spot(place, float(round(onset)) + 0.5, place.end_s - 45.0)


def ramp(since: np.ndarray[tuple[int], np.dtype[np.float64]], rise: float, within_s: float):
    """From nothing to `rise`. (n,)"""
    return rise * np.clip(since / max(within_s, 1e-6), 0.0, 1.0)


def judge(laid: Laid) -> Found | None:
    """Follow a case to its end; None: the alarm stood already before it began."""
    if laid.kind == "supply-lost":
        from alarm_shared import judge_shared  # noqa: PLC0415 (it judges by this module)

        return judge_shared(laid)
    if not len(laid.rest.seconds) and laid.known_s is None:
        return None
    standing = _mine(laid, spells_at(laid, laid.onset_s, before=True))
    if any(one.cleared_at is None for one in standing):
        return None
    known = {_key(one) for one in standing}
    where = f"{laid.stage.name}"
    made = Found(
        laid.kind, laid.way, laid.size, where, laid.onset_s / H, laid.true_s is not None, False
    )
    end_s = float(laid.rest.seconds[-1]) if len(laid.rest.seconds) else laid.onset_s
    if laid.true_s is None:
        if laid.known_s is not None:
            end_s = max(end_s, laid.known_s)
        late = _new(laid, spells_at(laid, end_s), known)
        own = [one for one in late if one.held_back is None]
        return replace(made, raised=bool(own), why=_said(own[0]) if own else "")
    due, deadline = due_of(laid)
    if deadline is None:
        return None
    spells = spells_at(laid, deadline)
    new = _new(laid, spells, known)
    hit = [one for one in new if _is_it(laid, one)]
    if hit:
        late_s = hit[0].raised_at - laid.stage.case.started - due
        return replace(made, raised=True, late_s=late_s)
    later = spells_at(laid, max(end_s, deadline))
    after = [one for one in _new(laid, later, known) if _is_it(laid, one)]
    why = "never"
    if after:
        moment = after[0].raised_at - laid.stage.case.started
        why = f"late by {moment - deadline:.0f} s"
        return replace(made, late_s=moment - due, why=why)
    if new:
        why = "held back by " + str(new[0].held_back) if new[0].held_back else _said(new[0])
    place = laid.stage.before(laid.onset_s).picture(laid.stage.case.started + laid.onset_s, ())
    told = f"{place.phase.name}/{place.phase.step}" if place.phase else "?"
    blind = "".join(f"; blind: {one.why}" for one in place.blind if one.kind == laid.kind)
    begun = laid.stage.case.started + laid.onset_s
    others = sorted({one.kind for one in later if one.raised_at > begun and one.kind != laid.kind})
    instead = f"; instead {', '.join(others)}" if others else ""
    return replace(made, why=f"{why} (told as {told}{blind}{instead})")


def due_of(laid: Laid) -> tuple[float, float | None]:
    """When its delay has passed, and by when it must be raised: one reading more. [s]"""
    assert laid.true_s is not None
    if laid.known_s is not None:
        return laid.known_s, laid.known_s + 1.0
    # A live row tells neither volume nor phase: what rests on those waits for a row of the log.
    by_log = laid.kind in BY_LOG and not (laid.kind == "membrane-burst" and "shear" in laid.way)
    times = laid.rest.seconds[~laid.rest.live] if by_log else laid.rest.seconds
    first = int(np.searchsorted(times, laid.true_s))
    if first >= len(times):
        return 0.0, None
    due = float(times[first]) + (laid.delay_s if laid.delay_s or not laid.rows else math.inf)
    if laid.rows and first + laid.rows - 1 < len(times):
        due = min(due, float(times[first + laid.rows - 1]))
    after = int(np.searchsorted(times, due, side="right"))
    if after >= len(times):
        return due, None
    return due, float(times[after])


def spells_at(laid: Laid, seconds: float, *, before: bool = False) -> tuple[Spell, ...]:
    """What had been raised at a moment of a case."""
    stage = laid.stage
    fold = stage.before(laid.onset_s)
    if not before:
        came = laid.rest.seconds <= seconds
        rest = replace(
            laid.rest,
            seconds=laid.rest.seconds[came],
            since=laid.rest.since[came],
            live=laid.rest.live[came],
            values={name: column[came] for name, column in laid.rest.values.items()},
        )
        words = None if laid.words_s is None else laid.words_s[came]
        fold = fed(stage, fold, rest, words)
    return fold.picture(stage.case.started + seconds, ()).spells


def _key(spell: Spell) -> tuple[object, ...]:
    return spell.kind, spell.about, spell.priority, spell.reason, spell.since


def _mine(laid: Laid, spells: tuple[Spell, ...]) -> list[Spell]:
    return [
        one
        for one in spells
        if one.kind == laid.kind
        and (laid.about is None or one.about in (laid.about, None))
        and (not laid.besides or one.reason != laid.besides)
    ]


def _new(laid: Laid, spells: tuple[Spell, ...], known: set[tuple[object, ...]]) -> list[Spell]:
    return [one for one in _mine(laid, spells) if _key(one) not in known]


def _is_it(laid: Laid, spell: Spell) -> bool:
    enough = PRIORITIES.index(spell.priority) >= PRIORITIES.index(laid.priority)
    return enough and (spell.held_back is None or spell.held_back in laid.excused)


def _said(spell: Spell) -> str:
    return f"{spell.priority} {spell.about or ''} {spell.reason} {spell.message}"[:140]
