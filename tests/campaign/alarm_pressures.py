"""Faults of pressures, laid over the readings as a cell would show them."""

from dataclasses import replace
from random import Random

import numpy as np
from alarm_cases import MIN, H, Laid, Spot, Way, ramp, size, spot
from alarm_stage import Rest, Stage

HOLD, DRAINED, SHEAR = "saturation/hold", "consolidation/drained", "shear/shear"
STANDING = (HOLD, DRAINED, SHEAR)
NOISE_KPA = 0.4
"""A slow ramp is beyond a limit in every reading when it is by this much: three times the noise."""


def level(stage: Stage, spot_: Spot, column: str) -> float:
    """What is true at the onset."""
    return stage.case.run.trace.one(column, min(spot_.onset_s, spot_.stands_s))


def move_cell(stage: Stage, spot_: Spot, rest: Rest, by: np.ndarray) -> None:
    """Cell pressure moves; where nothing drains pore pressure goes with it."""
    rest.values["cell_pressure"] = rest.values["cell_pressure"] + by
    if spot_.place.phase == "shear" and stage.case.plan.kind == "CU":
        rest.values["pore_pressure"] = rest.values["pore_pressure"] + 0.97 * by


def move_back(stage: Stage, spot_: Spot, rest: Rest, by: np.ndarray) -> None:
    """Back pressure moves; where drainage is open pore pressure follows."""
    rest.values["back_pressure"] = rest.values["back_pressure"] + by
    if not (spot_.place.phase == "shear" and stage.case.plan.kind == "CU"):
        rest.values["pore_pressure"] = rest.values["pore_pressure"] + by


def over_rating(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Cell pressure creeps up to the rating."""
    at = spot(stage, dice, (*STANDING, "saturation/raise"), 3.0 * H)
    if at is None:
        return None
    limit = 0.95 * stage.case.plan.rating_kPa
    goal = limit * (dice.uniform(0.80, 0.985) if near else dice.uniform(1.006, 1.08))
    begins = level(stage, at, "cell_kPa")
    within = dice.choice((5.0, 10 * MIN, 60 * MIN))
    rest = stage.rest(at.onset_s, within + 2 * H, dice, stands_s=at.stands_s)
    move_cell(stage, at, rest, ramp(rest.since, goal - begins, within))
    crosses = at.onset_s + within * (limit - begins) / (goal - begins)
    return Laid(
        "over-pressure", "rating", goal / limit, stage, at.onset_s, rest,
        None if near else crosses, 10.0, 2, "cell_pressure", "urgent",
    )  # fmt: skip


def over_range(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Back pressure comes to the end of its gauge's range."""
    at = spot(stage, dice, STANDING, 3.0 * H)
    if at is None:
        return None
    limit = 0.98 * 1500.0
    goal = limit * (dice.uniform(0.8, 0.99) if near else dice.uniform(1.003, 1.015))
    begins = level(stage, at, "back_kPa")
    within = dice.choice((5.0, 10 * MIN, 60 * MIN))
    rest = stage.rest(at.onset_s, within + 2 * H, dice, stands_s=at.stands_s)
    move_back(stage, at, rest, ramp(rest.since, goal - begins, within))
    crosses = at.onset_s + within * (limit - begins) / (goal - begins)
    return Laid(
        "over-pressure", "range", goal / limit, stage, at.onset_s, rest,
        None if near else crosses, 10.0, 2, "back_pressure", "urgent",
    )  # fmt: skip


def drift(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """A regulator that creeps, either way, cell or back."""
    at = spot(stage, dice, STANDING, 4.0 * H, settle_s=1500.0)
    if at is None:
        return None
    cell = dice.random() < 0.6
    column = "cell_kPa" if cell else "back_kPa"
    set_at = level(stage, at, column)
    limit = max(2.0, 0.01 * set_at)
    share = size(dice, near=near)
    if not near:
        share = max(share, 1.0 + 1.5 * NOISE_KPA / limit)
    sign = dice.choice((-1.0, 1.0))
    rise = sign * share * limit
    follows = level(stage, at, "back_kPa") - level(stage, at, "pore_kPa")
    if not near and cell and sign > 0.0 and at.place.name == HOLD and follows > 1.5:
        return None  # pore pressure that still rises looks like a check with a small B
    if (
        not near
        and at.place.name == HOLD
        and sign * (1 if cell else -1) < 0
        and share * limit > 8.0
    ):
        return None  # there effective stress is gone first
    within = dice.choice((20 * MIN, 60 * MIN, 150 * MIN))
    rest = stage.rest(at.onset_s, within + 1.5 * H, dice, stands_s=at.stands_s)
    (move_cell if cell else move_back)(stage, at, rest, ramp(rest.since, rise, within))
    lost = (sign < 0) == cell
    crosses = at.onset_s + within * (limit + NOISE_KPA) / (share * limit)
    return Laid(
        "pressure-drift", f"{'cell' if cell else 'back'} {'falls' if sign < 0 else 'rises'}", share,
        stage, at.onset_s, rest, None if near else crosses, 300.0, 0,
        "cell_pressure" if cell else "back_pressure", "urgent" if lost else "warning",
        # What is beyond the plan or three times the excess says more of the same.
        excused=() if lost else ("effective-stress-high",),
    )  # fmt: skip


def drift_in_between(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Beyond the limit, but not for as long as the delay."""
    at = spot(stage, dice, STANDING, 2.0 * H, settle_s=1500.0)
    if at is None or stage.every_s is None or not near:
        return None
    rest = stage.rest(at.onset_s, H, dice, stands_s=at.stands_s)
    inside = rest.since < dice.uniform(60.0, 200.0)
    limit = max(2.0, 0.01 * level(stage, at, "cell_kPa"))
    move_cell(stage, at, rest, np.where(inside, -1.4 * limit, 0.0))
    return Laid("pressure-drift", "shorter than its delay", 0.6, stage, at.onset_s, rest, None)


def hunts(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """A regulator that hunts; near: half as much, or one step of a technician who trims."""
    at = spot(stage, dice, STANDING, 3.0 * H, settle_s=1500.0)
    if at is None:
        return None
    share = size(dice, near=near, largest=5.0)
    period = dice.uniform(25.0, 180.0)
    rest = stage.rest(at.onset_s, 2.5 * H, dice, stands_s=at.stands_s)
    phase = dice.uniform(0.0, 6.28)
    swing = share * np.sqrt(2.0) * np.sin(2.0 * np.pi * rest.since / period + phase)
    cell = dice.random() < 0.6
    (move_cell if cell else move_back)(stage, at, rest, swing)
    # Scatter is told by several readings: where they are rare, by the eighth.
    if len(rest.seconds) < 10:
        return None
    holds = max(at.onset_s + 600.0, float(rest.seconds[7]))
    if not near and not _to_and_fro(rest, swing, holds):
        return None
    return Laid(
        "pressure-unsteady", "hunts", share, stage, at.onset_s, rest, None if near else holds,
        600.0, 0, "cell_pressure" if cell else "back_pressure", "warning",
        excused=("pressure-drift", "effective-stress-high"),
    )  # fmt: skip


def _to_and_fro(rest: Rest, swing: np.ndarray, until_s: float) -> bool:
    """Whether readings show it: as far apart as it swings they show a slow wave, and no scatter.

    At the moment, and at the next two readings: once is chance.
    """
    last = int(np.searchsorted(rest.seconds, until_s, side="right"))
    for end in range(last, min(last + 3, len(swing) + 1)):
        first = min(int(np.searchsorted(rest.seconds, until_s - 600.0)), max(end - 8, 0))
        since, part = rest.since[first:end], swing[first:end]
        away = part - np.polyval(np.polyfit(since, part, 1), since)
        if float(np.std(away)) < 1.2 or int(np.count_nonzero(np.diff(away > 0.0))) < 4:
            return False
    return True


def burst(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Pore pressure is cell pressure within seconds; load or volume gives way.

    Near: pore pressure meets cell pressure, and nothing gives way.
    """
    at = spot(stage, dice, (HOLD, DRAINED, SHEAR, SHEAR), 1.0 * H)
    if at is None:
        return None
    trace, sheared = stage.case.run.trace, at.place.phase == "shear"
    if sheared and trace.one("load_N", at.onset_s) < 40.0:
        return None
    rest = stage.rest(at.onset_s, 2.0 * H, dice, stands_s=at.stands_s)
    if len(rest.seconds) < 6:
        return None
    gap = rest.values["cell_pressure"] - rest.values["pore_pressure"]
    lag = dice.uniform(3.0, 15.0)
    joined = 1.0 - np.exp(-rest.since / lag)
    rest.values["pore_pressure"] = rest.values["pore_pressure"] + gap * joined
    meets = lag * np.log(max(float(gap[0]), 2.1) / 2.0)
    volume_ml = stage.case.plan.volume_ml
    if near:
        way = "pressures meet, nothing gives way"
        if sheared:  # a liquid specimen keeps at least its load here
            rest.values["axial_load"] = rest.values["axial_load"] * dice.uniform(0.75, 0.95)
    else:
        way = f"in {at.place.step}"
        if not sheared or stage.case.plan.kind == "CD":
            share = dice.uniform(0.012, 0.10)  # of the specimen a minute, through the torn membrane
            came = volume_ml * share * rest.since / 60.0
            came = np.minimum(came, 0.6 * volume_ml)
            rest.values["back_volume"] = rest.values["back_volume"] - came
            rest.values["cell_volume"] = rest.values["cell_volume"] + came
            meets = max(meets, 60.0 * 0.05 / share)
        if sheared:
            falls = dice.uniform(10.0, 90.0)
            left = dice.uniform(0.0, 0.3)
            gone = (1.0 - left) * (1.0 - np.exp(-rest.since / falls))
            rest.values["axial_load"] = rest.values["axial_load"] * (1.0 - gone)
            if stage.case.plan.kind == "CU":
                meets = max(lag * np.log(max(float(gap[0]), 2.1) / 2.0), falls * 1.3)
    return Laid(
        "membrane-burst", way, 2.0 if not near else 0.5, stage, at.onset_s, rest,
        None if near else at.onset_s + meets, 0.0, 2, None, "urgent",
    )  # fmt: skip


def liquefies(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Loose sand that liquefies looks like a burst; the contract says so, and it is counted."""
    plan, contact = stage.case.plan, stage.case.run.contact_s
    if not near or plan.kind != "CU" or "sand" not in stage.case.soil.name:
        return None
    rest = stage.rest(contact + 0.5, stage.places[-1].act_s - contact - 30.0, dice)
    return Laid(
        "membrane-burst", f"shear of {plan.soil.name}", 0.7, stage, contact + 0.5, rest, None
    )


def supply(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Cell and back pressure fall together; on another cell of the supply as well."""
    other = replace(
        stage, case=replace(stage.case, made=replace(stage.case.made, seed=stage.case.seed + 7))
    )
    other._folds = []
    at = spot(stage, dice, (*STANDING, "saturation/raise", "setup/hold"), 1.5 * H, settle_s=400.0)
    if at is None:
        return None
    falls = 2.0 * size(dice, near=near, largest=30.0)
    within = dice.uniform(10.0, 110.0)
    way = dice.choice(("alone", "slowly", "too little")) if near else "both fall"
    if near and way != "too little":
        falls = dice.uniform(4.0, 20.0)
    if way == "slowly":
        within = dice.uniform(4.0, 8.0) * H
    laid = []
    for one in (stage, other):
        rest = one.rest(at.onset_s, 2.0 * H, dice, stands_s=at.stands_s)
        if not (way == "alone" and one is other):
            by = ramp(rest.since, -falls, within)
            rest.values["cell_pressure"] = np.maximum(rest.values["cell_pressure"] + by, 0.0)
            if at.place.phase != "setup":
                rest.values["back_pressure"] = np.maximum(rest.values["back_pressure"] + by, 0.0)
                rest.values["pore_pressure"] = np.maximum(rest.values["pore_pressure"] + by, 0.0)
        laid.append(
            Laid(
                "supply-lost", way, falls / 2.0 if not near else min(falls / 2.0, 0.7), one,
                at.onset_s, rest, None if near else at.onset_s + 2.0 / falls * within,
                priority="urgent",
            )
        )  # fmt: skip
    return replace(laid[0], second=laid[1])


WAYS = (
    Way("over-pressure", "rating", over_rating, weight=2),
    Way("over-pressure", "range", over_range),
    Way("membrane-burst", "burst", burst, weight=3),
    Way("membrane-burst", "liquefies", liquefies, only_near=True),
    Way("pressure-drift", "drift", drift, weight=3),
    Way("pressure-drift", "short", drift_in_between, only_near=True),
    Way("pressure-unsteady", "hunts", hunts, weight=2),
    Way("supply-lost", "supply", supply),
)
