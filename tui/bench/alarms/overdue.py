"""A consolidation that is later than was foreseen when half of it was done.

The projection that counts is found the same way whenever somebody looks: moments on a fixed grid
since drainage opened, each with a fit of the readings until then, up to the first at which half is
done. One that is refuted by the water that leaves does not count: a curve through the first few
readings may end at the water of line and bedding. What has reached the plan's degree when it could
be told is late for nothing, though a quick specimen creeps on. Each fit is made once. What
siblings of a set told is left out, because it came when it came.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf, isnan, log10, nan

import numpy as np

from reduce.errors import ReductionError
from reduce.forecast import consolidation as forecast_consolidation
from reduce.forecast import ending
from tui.bench.alarms.rules.drained_course import Course, DrainedCourse, Drop, Foreseen
from tui.bench.alarms.scene import Rule
from tui.bench.alarms.spells import Spell
from tui.bench.projections import LEAST_HEAD_KPA, consolidation_end
from tui.bench.refills import SLOWS

KIND = "consolidation-overdue"
FIRST_S, GRID, MOMENTS = 60.0, 1.3, 37
"""Moments of the grid since drainage opened; the last lies ten days later."""
HALF = 0.5
HARDLY = 0.1
"""While so little pore pressure has gone at the far end, half is not done: no fit is needed."""
REFUTED = 1.25
"""Degree by a projection's own volumes: when so much has left by when it can be judged, half was
not done when it said so, and there is nothing to be late for. Common practice, no source. [-]"""
CREEPS = 0.2
"""And so much more per log cycle of time beyond its t95: soft clay creeps. [-]"""
RATE_S = 1800.0
"""Flow is told over so long. [s]"""
JUMP = 0.01
"""Of the specimen's volume: a gauge that moves by more from one reading to the next, and faster
than it did, was refilled or has begun to leak; what flows on shows with the next reading: common
practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class _Judged:
    """What was found of one reading behind the latest end."""

    time: float
    """Since when it is so. [s]"""
    read_at: float
    flow_ml_h: float
    dissipated: float
    so: bool


def course_in(rules: tuple[Rule, ...]) -> DrainedCourse | None:
    """What a cell's rules keep of its consolidation."""
    return next((rule for rule in rules if isinstance(rule, DrainedCourse)), None)


def overdue(course: DrainedCourse, now: float) -> tuple[Spell, ...]:
    """Spells of all stages of consolidation, as of a moment.

    Args:
        course: the readings since drainage opened.
        now: not before the newest reading. [s]
    """
    if course.told[0] is course.stages and now < course.pending:
        return course.told[1]  # few readings are kept: most tell nothing new
    found: list[Spell] = []
    course.pending = inf
    for stage in course.stages:
        latest = _latest(course, stage)
        if latest is not None:
            found += _spells(course, stage, latest, now)
    course.told = course.stages, tuple(found)
    return course.told[1]


def _latest(course: DrainedCourse, stage: Course) -> float | None:
    """Latest end by the projection that stood when half was done. [s]

    The grid finds about when that was; between its moments the first reading is sought at which
    half had gone. Where none can be foreseen by then, as when a stone has just clogged, what was
    foreseen last still stands, and tells by its volume in the end when half was done.
    """
    if not stage.drops:
        return None
    before: Foreseen | None = None
    earlier = -inf
    for step in range(MOMENTS):
        moment = stage.zero.time + FIRST_S * GRID**step
        if moment > stage.drops[-1].time:
            return None
        found = _foreseen(course, stage, moment, before)
        if found is not None and found.degree >= HALF:
            between = [drop.time for drop in stage.drops if earlier < drop.time <= moment]
            while between:
                middle = len(between) // 2
                sooner = _foreseen(course, stage, between[middle], before)
                if sooner is not None and sooner.degree >= HALF:
                    found, between = sooner, between[:middle]
                else:
                    before, between = sooner or before, between[middle + 1 :]
            if not refuted(stage, found, moment):
                return found.latest
            before, earlier = None, moment
            continue
        before, earlier = found or before, moment
    return None


def refuted(stage: Course, found: Foreseen, moment: float) -> bool:
    """Whether more has left than it foresaw at all, by when it can be judged.

    That is sooner than anything is raised: the same is found whenever somebody looks.

    Args:
        stage: what left.
        found: what was foreseen.
        moment: of its newest reading. [s]
    """
    until = max(found.latest, moment) + RATE_S

    def most(drop: Drop) -> float:
        cycles = log10(max((drop.time - stage.zero.time) / found.t95_s, 1.0))
        return REFUTED + CREEPS * cycles

    out = [drop for drop in stage.drops if drop.time <= until and not isnan(drop.out_ml)]
    return any(found.degree_of(drop.out_ml) > most(drop) for drop in out)


def _foreseen(
    course: DrainedCourse, stage: Course, moment: float, before: Foreseen | None
) -> Foreseen | None:
    """What was foreseen at a moment, or still stands from before it."""
    until = [drop for drop in stage.drops if drop.time <= moment]
    if not until:
        return None
    key = stage.zero.time, moment, len(until)
    if key not in course.fits:
        course.fits[key] = _fitted(course, stage, until, moment)
    found = course.fits[key]
    if found is not None or before is None or isnan(until[-1].out_ml):
        return found
    return replace(before, degree=before.degree_of(until[-1].out_ml))


def _fitted(
    course: DrainedCourse, stage: Course, until: list[Drop], moment: float
) -> Foreseen | None:
    """The forecast at a moment; None while it says nothing."""
    settings, aims = course.scene.settings, course.scene.aims
    head = _head(course, stage)
    dissipated = np.array([_dissipated(drop, head) for drop in until])
    known = dissipated[np.isfinite(dissipated)]
    if len(known) and known.max() < HARDLY:
        return None
    try:
        fit = forecast_consolidation(
            stage.zero.time,
            [drop.time for drop in until],
            [drop.out_ml for drop in until],
            dissipation=dissipated,
            now=moment,
            drainage=settings.specimen.drainage,
            height_mm=aims.height_mm,
            diameter_mm=float(np.sqrt(4000.0 * aims.volume_ml / aims.height_mm / np.pi)),
            volume_ml=aims.volume_ml,
            end=consolidation_end(settings),
            head_kPa=head or LEAST_HEAD_KPA,
        )
    except ReductionError:
        return None
    if fit.U_now is None or fit.latest is None:
        return None
    is_met = (fit.progress or 0.0) >= 1.0
    found = Foreseen(
        fit.U_now, fit.latest, fit.v0 or 0.0, fit.v100 or nan, fit.t95_s or inf, is_met
    )
    return replace(found, degree=found.degree_of(until[-1].out_ml))


def _head(course: DrainedCourse, stage: Course) -> float | None:
    """Excess pore pressure at an undrained end when drainage opened; None: not measured. [kPa]"""
    drainage = course.scene.settings.specimen.drainage
    if drainage is None or "both ends" in drainage or course.scene.aims.one_transducer:
        return None
    head = stage.zero.pore_pressure - stage.zero.back_pressure
    return head if head > LEAST_HEAD_KPA else None


def _dissipated(drop: Drop, head: float | None) -> float:
    return float("nan") if head is None else 1.0 - drop.pore_kPa / head


def _spells(course: DrainedCourse, stage: Course, latest: float, now: float) -> list[Spell]:
    limits = course.scene.limits
    most = limits(KIND, "flow") * course.scene.aims.volume_ml
    least, on = limits(KIND, "dissipation"), limits(KIND, "on")
    found: list[Spell] = []
    begun: _Judged | None = None
    for one in (*_behind(course, stage, latest, most, least), None):
        if one is not None and one.so:
            begun = begun or one
            continue
        # It holds until a reading denies it, or the stage is over.
        over = stage.ended if one is None else one.time
        if begun is not None:
            raised = begun.time + on
            # Flow that begins anew behind a rest is told: it is none of the primary's.
            still = begun.time <= latest
            if over is None and raised > now:
                course.pending = min(course.pending, raised)
            elif raised <= (now if over is None else over) and not (
                still and _is_met(course, stage, max(raised, begun.read_at))
            ):
                said = _said(begun, latest, most, least)
                by_phase = one is None and over is not None
                found.append(
                    Spell(KIND, None, "warning", begun.time, raised, over, said, by_phase=by_phase)
                )
        begun = None
    return found


def _is_met(course: DrainedCourse, stage: Course, moment: float) -> bool:
    """Whether its degree is reached by a moment; time alone, even of t100, ends nothing clogged."""
    if ending(consolidation_end(course.scene.settings)).kind != "dissipation":
        return False
    found = _foreseen(course, stage, moment, None)
    return found is not None and found.is_met


def _behind(
    course: DrainedCourse, stage: Course, latest: float, most: float, least: float
) -> list[_Judged]:
    """Every reading that is later than foreseen, as far as it tells.

    What flowed before the latest end does not count: flow tells nothing until it was read twice
    behind it, half an hour apart. Few readings are kept: what is so at the first that tells is so
    since the latest end.
    """
    head = _head(course, stage)
    found: list[_Judged] = []
    drops, before = stage.drops, 0
    jumps = _jumps(drops, JUMP * course.scene.aims.volume_ml)
    for place, drop in enumerate(drops):
        if place in jumps:
            before = place
        while before < place and drops[before + 1].time <= drop.time - RATE_S:
            before += 1
        if drop.time <= latest:
            continue
        earlier, gone = drops[before], _dissipated(drop, head)
        passed = drop.time - earlier.time
        flow = nan
        if earlier.time >= latest and passed >= RATE_S:
            flow = abs(drop.out_ml - earlier.out_ml) / passed * 3600.0
        so = flow > most or gone < least
        if so or not isnan(flow):
            found.append(_Judged(drop.time if found else latest, drop.time, flow, gone, so))
    return found


def _jumps(drops: tuple[Drop, ...], least_ml: float) -> set[int]:
    """Places of readings before which the gauge moved at once: what flowed there is not known."""
    found, pace = set(), inf
    for place, (earlier, drop) in enumerate(pairwise(drops), start=1):
        moved = abs(drop.out_ml - earlier.out_ml)
        if isnan(moved):
            continue
        now = moved / max(drop.time - earlier.time, 1.0)
        if moved > least_ml and now > SLOWS * pace:
            found.add(place)
        pace = now
    return found


def _said(one: _Judged, latest: float, most: float, least: float) -> str:
    late = (one.read_at - latest) / 3600.0
    parts = []
    if one.flow_ml_h > most:
        parts.append(f"{one.flow_ml_h:.2f} ml/h still flow, limit {most:.2f} ml/h")
    if one.dissipated < least:
        parts.append(f"dissipation {one.dissipated:.0%}, limit {least:.0%}")
    return f"{late:.1f} h behind the latest end that was foreseen when half was done: " + "; ".join(
        parts
    )
