"""Leaks that begin after a specimen has come to rest, laid over what volume gauges show."""

from random import Random

import numpy as np
from alarm_cases import H, Laid, Way, size, spot
from alarm_pressures import HOLD
from alarm_stage import Column, Place, Rest, Stage

LASTS_S = 1.0 * H
"""The on-delay. [s]"""
TELLABLE = {"leak-membrane": 5.0, "leak-cell": 8.0, "leak-drainage": 4.0}
"""Sizes from which an hour tells a leak from the scatter of the gauges and from the room: a mean of
readings scatters by 0.003 … 0.005 ml, and the second hour of a room that swings by ±1 °C differs
from the first by up to 0.07 °C, which is 0.05 ml of cell water. Smaller ones take longer; so do all
where instruments scatter more, or the room swings by more than half a degree. [-]"""
SHOWS_ML = 0.045
"""Three times the scatter of a difference of two readings, of which each scatters by 0.01. [ml]"""
CELL_ML_C = 0.36
"""Twice the uncertainty of what a warmer room does to cell volume (`leak_begins`). [ml/°C]"""
AT_REST = 0.5
"""Of the limit: what the specimen itself may still move, or a leak hides behind it. [-]"""


def _moves_ml_h(stage: Stage, at_s: float) -> float:
    """What the specimen itself moved within the hour before, through cell or drainage."""
    trace = stage.case.run.trace
    names = ("back_ml", "cell_ml")
    return max(abs(trace.one(name, at_s) - trace.one(name, at_s - H)) for name in names)


def _begins(
    stage: Stage, dice: Random, kind: str, limit: float
) -> tuple[float, float, float] | None:
    """Until when the test goes its way, from when on all stands still, and how long until it leaks.

    Where the step was over before its specimen was at rest, nobody came: it goes on, and is. But
    a membrane is judged beyond primary consolidation alone, and that is not made up.
    """
    drained = next(place for place in stage.places if place.step == "drained")
    place, settled = drained, 3.0 * stage.case.drains.time_of(0.95)
    if kind == "leak-membrane" and place.act_s + 1.2 * settled > place.end_s:
        return None
    if kind != "leak-membrane" and dice.random() < 0.3:  # a membrane shows in no hold
        at = spot(stage, dice, (HOLD,), 6.0 * H, settle_s=1500.0)
        if at is not None:
            place = at.place
    first, last = place.act_s + 2.5 * H, place.end_s - 60.0
    if kind == "leak-membrane":
        first = max(first, place.act_s + 1.2 * settled)
    onset = dice.uniform(first, last) if first < last else place.end_s - 60.0
    rests = onset > first - 1.0 and _moves_ml_h(stage, onset) < AT_REST * limit
    wait = 0.0 if rests else max(first - onset, 0.0) + dice.uniform(2.0, 3.0) * H
    if wait:
        onset = place.end_s - 30.0
    return float(round(onset)) + 0.5, place.end_s - 15.0, wait


def _tellable(stage: Stage, kind: str) -> float:
    made = stage.case.made
    swing = made.errors * made.room_swing_C if kind == "leak-cell" else 0.0
    return TELLABLE[kind] * max(1.0, made.errors, 2.0 * swing)


def _shown_s(
    stage: Stage, kind: str, rest: Rest, came: Column, onset: float, stands: float
) -> float | None:
    """The first of single readings that shows a leak; None: none does. [s]

    Since the one before more has leaked than readings scatter, the specimen itself moved or might
    have gone on moving (it flows ever slower, but that it stands nobody knows), and, of cell water,
    the room may have done to it: what of a change is leak nobody can know sooner.
    """
    trace, logged = stage.case.run.trace, np.flatnonzero(~rest.live)
    last = int(np.flatnonzero(stage.clean_s <= onset)[-1])

    def moved(since: float, until: float) -> float:
        since, until = min(since, stands), min(until, stands)
        names = ("back_ml", "cell_ml")
        return max(abs(trace.one(name, until) - trace.one(name, since)) for name in names)

    before, earlier = (float(one) for one in stage.clean_s[last - 1 : last + 1])
    leaked, warm = 0.0, float(stage.clean.channels["temperature"][last])
    for k in logged:
        now = float(rest.seconds[k])
        goes_on = moved(before, earlier) * (now - earlier) / (earlier - before)
        hides = SHOWS_ML * max(1.0, stage.case.made.errors) + max(moved(earlier, now), goes_on)
        room = CELL_ML_C * abs(float(rest.values["temperature"][k]) - warm)
        if came[k] - leaked > hides + (room if kind == "leak-cell" else 0.0):
            return now - 0.5
        before, earlier = earlier, now
        leaked, warm = float(came[k]), float(rest.values["temperature"][k])
    return None


def leaks(kind: str, limit_ml_h: float, cell: float, back: float):
    """A leak of a constant rate, until the end."""

    def lay(stage: Stage, dice: Random, near: bool) -> Laid | None:
        found = _begins(stage, dice, kind, limit_ml_h)
        if found is None:
            return None
        onset, stands, wait = found
        share = size(dice, near=near, largest=40.0)
        if not near:
            share = max(share, _tellable(stage, kind) * dice.uniform(1.0, 2.0))
        rest = stage.rest(onset, wait + 4.0 * H, dice, stands_s=stands)
        came = limit_ml_h * share * np.maximum(rest.since - wait, 0.0) / H
        rest.values["cell_volume"] = rest.values["cell_volume"] + cell * came
        rest.values["back_volume"] = rest.values["back_volume"] + back * came
        begun = onset + wait
        if stage.manner.startswith("scheduled"):
            shown = _shown_s(stage, kind, rest, came, onset, stands)
            if shown is None:
                return None
            begun = shown
        return Laid(
            kind, "steady flow", share, stage, onset, rest, None if near else begun,
            LASTS_S, 0, None, "urgent" if kind == "leak-membrane" else "warning",
        )  # fmt: skip

    return lay


def creeps(kind: str):
    """Secondary compression flows on after the end of primary; it is no leak."""

    def lay(stage: Stage, dice: Random, near: bool) -> Laid | None:
        place: Place = next(place for place in stage.places if place.step == "drained")
        late = place.act_s + 1.0 * stage.case.drains.time_of(0.95)
        if not near or stage.case.fault in ("line leak", "membrane leak"):
            return None
        if late > place.end_s - 1800.0:
            return None
        rest = stage.rest(late, place.end_s - late - 60.0, dice)
        return Laid(kind, "creep", 0.7, stage, late, rest, None)

    return lay


WAYS = (
    Way("leak-membrane", "flow", leaks("leak-membrane", 0.01, 1.0, -1.0), weight=2),
    Way("leak-membrane", "creep", creeps("leak-membrane"), only_near=True),
    Way("leak-cell", "flow", leaks("leak-cell", 0.02, 1.0, 0.0), weight=2),
    Way("leak-cell", "creep", creeps("leak-cell"), only_near=True),
    Way("leak-drainage", "flow", leaks("leak-drainage", 0.02, 0.0, 1.0), weight=2),
    Way("leak-drainage", "creep", creeps("leak-drainage"), only_near=True),
)
