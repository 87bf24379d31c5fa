"""Effective stress that is lost, or grows beyond the plan, laid over the readings."""

from random import Random

import numpy as np
from alarm_cases import MIN, H, Laid, Spot, Way, ramp, spot
from alarm_pressures import DRAINED, HOLD, NOISE_KPA, level, move_back, move_cell
from alarm_stage import Rest, Stage


def shown_stress(rest: Rest) -> float:
    """Effective stress as the gauges show it where nothing moves, their zero errors in it. [kPa]"""
    stress = rest.values["cell_pressure"] - rest.values["pore_pressure"]
    return float(np.median(stress)) if len(stress) else 0.0


def crossing(
    stage: Stage, spot_: Spot, rest: Rest, less: str, limit: float, by: float, within_s: float
) -> float | None:
    """When cell pressure that creeps up is shown beyond a limit above another; None: never. [s]

    Args:
        stage, spot_, rest: where, before it creeps.
        less: "pore" or "back".
        limit: of the difference. [kPa]
        by, within_s: so far it creeps in such a time. [kPa], [s]
    """
    if not len(rest.seconds):
        return None
    trace = stage.case.run.trace

    def apart(seconds: np.ndarray) -> np.ndarray:
        at = np.minimum(seconds, spot_.stands_s)
        return trace.at("cell_kPa", at) - trace.at(f"{less}_kPa", at)

    shown = rest.values["cell_pressure"] - rest.values[f"{less}_pressure"]
    zeros = float(np.median(shown - apart(rest.seconds)))
    since = np.linspace(0.0, within_s, 4000)
    beyond = apart(spot_.onset_s + since) + zeros + by * since / within_s - limit
    found = np.flatnonzero(beyond > NOISE_KPA * max(1.0, stage.case.made.errors))
    return spot_.onset_s + float(since[found[0]]) if len(found) else None


def stress_low(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Back pressure creeps up, or cell pressure down, until they meet."""
    kind = stage.case.plan.kind
    at = spot(stage, dice, (HOLD, DRAINED, *(("shear/shear",) if kind == "CD" else ())), 3.0 * H)
    if at is None:
        return None
    if abs(level(stage, at, "back_kPa") - level(stage, at, "pore_kPa")) > 1.5:
        return None  # it goes on draining
    later = stage.case.run.trace.one("pore_kPa", at.stands_s)
    if abs(later - level(stage, at, "pore_kPa")) > 0.5:
        return None  # drainage is closed at the end of this step, and its stress is another
    within = dice.choice((20.0, 5 * MIN, 30 * MIN))
    rest = stage.rest(at.onset_s, within + 2 * H, dice, stands_s=at.stands_s)
    stress = shown_stress(rest)
    warn = min(5.0, 0.5 * stage.case.plan.excess_kPa)
    if stress < warn + 3.0:
        return None
    goal = dice.uniform(warn + 0.8, warn + 2.5)
    if not near:
        goal = dice.choice(
            (dice.uniform(2.8, warn - 0.8), dice.uniform(0.6, 1.4), dice.uniform(-4, -1))
        )
    by = ramp(rest.since, goal - stress, within)
    # In shear cell pressure that falls is what ends a test.
    if dice.random() < 0.5 and at.place.phase != "shear":
        move_cell(stage, at, rest, by)
    else:
        move_back(stage, at, rest, -by)
    limit, priority = (2.0, "urgent") if goal < 2.0 else (warn, "warning")
    crosses = at.onset_s + within * (limit - NOISE_KPA - stress) / (goal - stress)
    return Laid(
        "effective-stress-low", "back and cell pressure meet", warn / max(goal, 0.5), stage,
        at.onset_s, rest, None if near else crosses, 60.0, 0, None, priority,
    )  # fmt: skip


def stress_dips(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """For half a minute only; by readings ten seconds apart."""
    at = spot(stage, dice, (HOLD,), 1.0 * H)
    if at is None or stage.every_s != 10.0 or not near:
        return None
    rest = stage.rest(at.onset_s, 1800.0, dice, stands_s=at.stands_s)
    stress = shown_stress(rest)
    inside = rest.since < dice.uniform(15.0, 40.0)
    move_back(stage, at, rest, np.where(inside, stress - 2.6, 0.0))
    return Laid("effective-stress-low", "half a minute", 0.6, stage, at.onset_s, rest, None)


def stress_high(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Cell pressure creeps up beyond the stress to consolidate at."""
    at = spot(stage, dice, (HOLD,), 2.0 * H)
    if at is None:
        return None
    trace, when = stage.case.run.trace, min(at.onset_s, at.stands_s)
    stress = trace.one("cell_kPa", when) - trace.one("pore_kPa", when)
    limit = stage.case.plan.effective_kPa
    goal = limit * (dice.uniform(0.4, 0.9) if near else dice.uniform(1.03, 1.5))
    within = dice.choice((2 * MIN, 15 * MIN, 60 * MIN))
    rest = stage.rest(at.onset_s, within + 2 * H, dice, stands_s=at.stands_s)
    crosses = crossing(stage, at, rest, "pore", limit, goal - stress, within)
    if not near and crosses is None:
        return None
    move_cell(stage, at, rest, ramp(rest.since, goal - stress, within))
    laid = Laid(
        "effective-stress-high", "beyond the plan", goal / limit, stage, at.onset_s, rest,
        None if near else crosses, 0.0, 2, None, "urgent",
    )  # fmt: skip
    # Below the plan the difference alone may be told, as a warning: that is no false one.
    return None if near and goal - 10.0 > 2.0 * stage.case.plan.excess_kPa else laid


def stress_wide(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Cell pressure creeps away from back pressure, for more than ten minutes."""
    at = spot(stage, dice, (HOLD,), 2.0 * H)
    if at is None:
        return None
    if level(stage, at, "back_kPa") - level(stage, at, "pore_kPa") > 1.5:
        return None  # pore pressure that still rises looks like a check with a small B
    apart = level(stage, at, "cell_kPa") - level(stage, at, "back_kPa")
    limit = 3.0 * stage.case.plan.excess_kPa
    goal = limit * (dice.uniform(0.6, 0.9) if near else dice.uniform(1.05, 1.6))
    if goal > 0.95 * stage.case.plan.effective_kPa:
        return None
    within = dice.choice((10 * MIN, 30 * MIN, 60 * MIN))
    rest = stage.rest(at.onset_s, within + 2 * H, dice, stands_s=at.stands_s)
    crosses = crossing(stage, at, rest, "back", limit, goal - apart, within)
    if not near and crosses is None:
        return None
    move_cell(stage, at, rest, ramp(rest.since, goal - apart, within))
    return Laid(
        "effective-stress-high", "three times the excess", goal / limit, stage, at.onset_s, rest,
        None if near else crosses, 600.0, 0, None, "warning",
    )  # fmt: skip


WAYS = (
    Way("effective-stress-low", "meet", stress_low, weight=3),
    Way("effective-stress-low", "dip", stress_dips, only_near=True),
    Way("effective-stress-high", "plan", stress_high),
    Way("effective-stress-high", "wide", stress_wide),
)
