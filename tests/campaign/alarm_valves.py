"""Faults that show while drainage is closed, or should be open: leaks, valves, blocked stones."""

from random import Random

import numpy as np
from alarm_cases import H, Laid, Way
from alarm_stage import Place, Rest, Stage

CHECK = "saturation/b-check"
CLIMB_KPA_H = 1.0
WARMS_KPA_H = 0.73
"""What a room that swings by ±1 °C a day does at its fastest to a stiff specimen, by 2.8 kPa/°C."""
SETTLES_S = 600.0
"""What climbed within so long before is the specimen's own: two readings of the schedule. [s]"""
READ_ML = 0.02
"""Beyond a limit in every reading of volume: two counts. [ml]"""


def step_of(stage: Stage, step: str) -> Place:
    """The first of its steps with this name."""
    return next(place for place in stage.places if place.step == step)


def _in_gauge(stage: Stage, rest: Rest) -> bool:
    """Whether the volume gauge is not at its end all the while: that would be told instead."""
    line = stage.settings.log.channels["back_volume"][0].stroke
    low, high = (float(word) for word in str(line).replace("ml", "").split("to"))
    shown, margin = rest.values["back_volume"], 0.06 * (high - low)
    return low + margin < float(shown.min()) and float(shown.max()) < high - margin


def climbs(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """In a check that is left to itself pore pressure goes on towards cell pressure.

    It has to be faster than the limit for as long as the delay, beyond what noise, few readings and
    a room that warms may hide in an hour; as cell pressure is neared it goes slower and slower.
    Where the check was left before it had settled, a climb is no leak but by what it is faster
    than the settling was: all that goes slower is how a settling goes on.
    """
    made = stage.case.made
    surely = 1.3 * max(1.0, made.errors) + WARMS_KPA_H * made.errors * made.room_swing_C
    if stage.manner.startswith("scheduled"):
        surely *= 1.5
    places = [place for place in stage.places if place.name == CHECK]
    dice.shuffle(places)
    for place in places:
        onset = place.end_s - 30.0
        trace = stage.case.run.trace
        gap = trace.one("cell_kPa", onset) - trace.one("pore_kPa", onset)
        share = dice.uniform(0.02, 0.06) if near else dice.uniform(0.5, 0.95)
        lag = dice.uniform(1.0, 6.0) * H
        if near and gap * share / lag * H > 0.7 * CLIMB_KPA_H:
            continue
        least = gap * share / lag * H * float(np.exp(-1.3 * H / lag)) / CLIMB_KPA_H
        settles = trace.one("pore_kPa", onset) - trace.one("pore_kPa", onset - SETTLES_S)
        own = max(settles, 0.0) * H / SETTLES_S / CLIMB_KPA_H
        if not near and least < surely + own:
            continue
        rest = stage.rest(onset, 4.0 * H, dice, stands_s=onset)
        by = gap * share * (1.0 - np.exp(-rest.since / lag))
        rest.values["pore_pressure"] = rest.values["pore_pressure"] + by
        return Laid(
            "leak-membrane", "climbs in a check", 0.7 if near else least, stage, onset, rest,
            None if near else onset, 3600.0, 0, None, "urgent", excused=("drainage-state",),
        )  # fmt: skip
    return None


def check_above_one(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """B above 1.02 cannot be the specimen's.

    What is seen in one check has to last for the delay: whoever goes on finds it in the next check
    as well, for the membrane leaks on; who drains before the delay has passed ends what B can tell.
    """
    checks = [place for place in stage.places if place.step in ("b-check", "build-up")]
    place = dice.choice([one for one in checks if one.name == CHECK] or checks)
    if place.name != CHECK:
        return None
    onset, lasts = place.act_s + 0.5, 1.8 * H
    goes_on = place.end_s + lasts < step_of(stage, "drained").act_s and dice.random() < 0.5
    stands = np.inf if near or goes_on else place.end_s - 60.0
    rest = stage.rest(onset, place.end_s - onset + lasts, dice, stands_s=stands)
    wanted = dice.uniform(0.97, 1.005) if near else dice.uniform(1.04, 1.15)
    found = [
        _answers(stage, rest, one, wanted, dice.uniform(5.0, 60.0), one is place and not goes_on)
        for one in ([place] if near else checks)
        if one is place or (goes_on and place.end_s < one.act_s < place.end_s + lasts)
    ]
    if not near and min(found) < 1.035:
        return None
    return Laid(
        "leak-membrane", "B above 1.02", found[0] / 1.02, stage, onset, rest,
        None if near else place.end_s - 60.0, 3600.0, 0, None, "urgent",
        excused=("effective-stress-low", "drainage-state"),
    )  # fmt: skip


def _answers(
    stage: Stage, rest: Rest, place: Place, wanted: float, lag_s: float, stays: bool
) -> float:
    """Let pore pressure answer a check with some B, at most up to cell pressure; the B.

    Args:
        stage, rest: where.
        place: the check.
        wanted: B.
        lag_s: by which the gauge follows.
        stays: whether nobody does anything behind it any more.
    """
    trace = stage.case.run.trace
    first, last = place.act_s, place.end_s - 60.0
    at = np.minimum(rest.seconds, last) if stays else rest.seconds
    cell, start = trace.one("cell_kPa", first), trace.one("pore_kPa", first)
    rise = trace.one("cell_kPa", last) - cell
    b = min(wanted, 1.0 + (cell - start - 1.0) / rise)
    noise = rest.values["pore_pressure"] - trace.at("pore_kPa", at)
    follows = 1.0 - np.exp(-np.maximum(rest.seconds - first, 0.0) / lag_s)
    came = b * (trace.at("cell_kPa", at) - cell) * follows
    inside = (rest.seconds > first) & (stays | (rest.seconds < place.end_s - 25.0))
    rest.values["pore_pressure"] = np.where(
        inside, start + came + noise, rest.values["pore_pressure"]
    )
    return b


def closed(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Drainage was to be opened for consolidation, and was not; near: it drains slowly.

    The log says that it is to drain: where it has no word, nobody can know what was meant.
    """
    place = step_of(stage, "drained")
    onset = place.act_s + 0.5
    slower = dice.uniform(2.0, 6.0) if near else 1.0
    length = min(4.0 * H, slower * (place.end_s - onset - 60.0))
    # Stands as it was before: a valve that stays closed gives not even the line's water.
    stands = np.inf if near else place.act_s - 1.0
    rest = stage.rest(onset, length, dice, stands_s=stands, slower=slower)
    return Laid(
        "drainage-state", "drains slowly" if near else "closed in consolidation",
        0.6 if near else 2.0, stage, onset, rest, None if near else onset, 600.0, 0, None, "urgent",
        words_s=np.minimum(rest.seconds, place.end_s - 1.0),
    )  # fmt: skip


def stone(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The valve opens, its line lets go of its pressure, the stone is blocked; near: it drains."""
    place, line_ml = step_of(stage, "drained"), stage.case.tube_ml
    trace, before = stage.case.run.trace, place.act_s - 1.0
    head = trace.one("pore_kPa", before) - trace.one("back_kPa", before)
    if line_ml < 0.15 or head < 10.0:
        return None
    onset = place.act_s + 0.5
    length = min(2.5 * H, place.end_s - onset - 60.0)
    if near:
        rest = stage.rest(onset, length, dice)
        return Laid("drainage-state", "drains", 0.6, stage, onset, rest, None)
    rest = stage.rest(onset, 2.5 * H, dice, stands_s=before)
    given = line_ml * (1.0 - np.exp(-rest.since / 15.0))
    rest.values["back_volume"] = rest.values["back_volume"] - given
    # Nothing flows any more when the line has given what it has, but for noise of the gauge.
    return Laid(
        "drainage-state", "blocked stone", 2.0, stage, onset, rest, onset + 45.0, 600.0, 0, None,
        "urgent",
    )  # fmt: skip


def open_check(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """A check with the valve open; near: the specimen's own small B."""
    checks = [place for place in stage.places if place.name == CHECK]
    if not checks:
        return None
    place, plan = dice.choice(checks), stage.case.plan
    onset = place.act_s + 0.5
    trace = stage.case.run.trace
    if near:
        rest = stage.rest(onset, place.end_s - onset - 60.0, dice)
        return Laid("drainage-state", "its own B", 0.6, stage, onset, rest, None)
    difference = trace.one("cell_kPa", place.end_s - 60.0) - trace.one("back_kPa", onset)
    if difference >= plan.effective_kPa - max(3.0, 0.05 * plan.effective_kPa):
        return None  # with the valve open at its stress a specimen consolidates, as planned
    rest = stage.rest(onset, 2.0 * H, dice, stands_s=place.end_s - 60.0)
    rise = trace.at("cell_kPa", np.minimum(rest.seconds, place.end_s - 60.0)) - trace.one(
        "cell_kPa", place.act_s
    )
    lag = 1.0 / stage.case.drains.first_rate_per_s
    left = np.exp(-rest.since / max(lag, 20.0))
    first = trace.one("pore_kPa", place.act_s)
    if float(np.exp(-300.0 / max(lag, 20.0))) > 0.05:
        return None  # a slow clay shows at first what it would show with a closed valve
    noise = rest.values["pore_pressure"] - trace.at(
        "pore_kPa", np.minimum(rest.seconds, place.end_s - 60.0)
    )
    rest.values["pore_pressure"] = first + noise + 0.9 * rise * left
    squeezed = plan.volume_ml * plan.soil.skeleton_per_kPa * rise * (1.0 - left)
    rest.values["back_volume"] = rest.values["back_volume"] - squeezed
    if not _in_gauge(stage, rest):
        return None
    return Laid(
        "drainage-state", "open in a check", 2.0, stage, onset, rest, onset + 45.0, 600.0, 0, None,
        "urgent",
    )  # fmt: skip


def open_shear(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Undrained shear with the valve open; near: as it should be."""
    contact, plan = stage.case.run.contact_s, stage.case.plan
    if plan.kind != "CU":
        return None
    end = stage.places[-1].act_s
    onset = contact + 0.5
    rest = stage.rest(onset, min(end - contact - 30.0, 12.0 * H), dice)
    if near:
        return Laid("drainage-state", "undrained shear", 0.6, stage, onset, rest, None)
    trace = stage.case.run.trace
    first = trace.one("pore_kPa", contact)
    excess = trace.at("pore_kPa", rest.seconds) - first
    if float(np.abs(excess).max()) < 15.0:
        return None
    rest.values["pore_pressure"] = rest.values["pore_pressure"] - excess
    skeleton = plan.volume_ml * plan.soil.skeleton_per_kPa
    rest.values["back_volume"] = rest.values["back_volume"] - skeleton * excess
    if not _in_gauge(stage, rest):
        return None
    # It flows from the moment at which the specimen would show an excess pressure. Out of it goes
    # what a closed valve lets through at no time; what comes in may be the line's leak at first.
    out = skeleton * excess
    begins = rest.seconds[
        (out > 0.1 + READ_ML) | (-out > max(0.1, 0.0025 * plan.volume_ml) + READ_ML)
    ]
    if not len(begins):
        return None
    return Laid(
        "drainage-state", "open in shear", 2.0, stage, onset, rest, float(begins[0]) - 0.5, 600.0,
        0, None, "urgent",
    )  # fmt: skip


WAYS = (
    Way("leak-membrane", "climbs", climbs),
    Way("leak-membrane", "B", check_above_one),
    Way("drainage-state", "closed", closed, needs="worded"),
    Way("drainage-state", "stone", stone, needs="worded"),
    Way("drainage-state", "check", open_check),
    Way("drainage-state", "shear", open_shear),
)
