"""Faults of loggers, gauges, clocks, schedules and the room."""

from dataclasses import replace
from random import Random

import numpy as np
from alarm_cases import MIN, H, Laid, Spot, Way, ramp, size, spot
from alarm_pressures import DRAINED, HOLD, SHEAR
from alarm_stage import RANGES, Rest, Stage

ANYWHERE = (HOLD, DRAINED, SHEAR)
CHANNELS = ("cell_pressure", "back_pressure", "pore_pressure", "back_volume")
HOUR_C, PHASE_C = 2.0, 4.0
"""What a room may change within an hour, and since its phase began: the alarm's limits. [°C]"""
SHOWS_C = 0.3
"""By so much the warmest and the coldest of an hour's readings err together: a fault is as far
beyond, and what only looks like one a third of it short. [°C]"""


def silent(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """No row any more; near: the next one comes late by half of what is allowed."""
    where = (*ANYWHERE, "setup/hold", "saturation/raise") if stage.every_s else ANYWHERE
    at = spot(stage, dice, where, 600.0, settle_s=400.0)
    if at is None:
        return None
    after = int(np.searchsorted(stage.clean_s, at.onset_s, side="right"))
    if after >= len(stage.clean_s) or stage.clean_s[after] >= at.place.end_s:
        return None
    due = float(stage.clean_s[after])
    if stage.manner.endswith("live"):
        return None
    gap = due - float(stage.clean_s[after - 1])
    allowed = min(1800.0, max(300.0, 0.1 * gap))
    rest = stage.rest(at.onset_s, 3.0, dice)
    rest.keep(np.zeros(len(rest.seconds), dtype=bool))
    if near:
        known = due + 0.6 * allowed
        return Laid("log-silent", "late row", 0.6, stage, at.onset_s, rest, None, known_s=known)
    # When a strain comes is foreseen by the rate, about: a tenth of the gap.
    estimated = 0.1 * gap if at.place.phase == "shear" and stage.every_s is None else 0.0
    return Laid(
        "log-silent", "silent", 1.0, stage, at.onset_s, rest, due, priority="urgent",
        known_s=due + allowed + estimated + 1.0,
    )  # fmt: skip


def missed(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """One to three slots without a row; near: the row comes a little late."""
    at = spot(stage, dice, (HOLD, DRAINED, SHEAR), 1.0 * H, settle_s=60.0)
    if at is None:
        return None
    rest = stage.rest(at.onset_s, max(at.place.end_s - at.onset_s - 60.0, 1.0), dice)
    count = dice.choice((1, 1, 2, 3))
    logged = np.flatnonzero(~rest.live)  # a live row takes no slot
    if len(logged) < count + 4:
        return None
    due, after = (float(rest.seconds[k]) for k in logged[:2])
    if near:
        rest.seconds[logged[0]] += dice.uniform(0.02, 0.08) * (after - due)
        # A live row that would come in between is none of the matter.
        passed = rest.live & (rest.seconds <= rest.seconds[logged[0]])
        rest.keep(~passed & (rest.seconds <= rest.seconds[logged[:40][-1]]))
        return Laid("reading-missed", "a little late", 0.6, stage, at.onset_s, rest, None)
    wanted = rest.live.copy()
    wanted[logged[count : count + 60]] = True
    rest.keep(wanted & (rest.seconds <= rest.seconds[logged[: count + 60][-1]]))
    return Laid(
        "reading-missed", f"{count} not taken", float(count), stage, at.onset_s, rest, due, 0.0, 0,
        None, "warning", excused=("log-silent",),
    )  # fmt: skip


def sparse(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Slots lie far apart, and nothing tells what happens in between; near: a live file does."""
    place = next(place for place in stage.places if place.step == "drained")
    own = stage.clean_s[(stage.clean_s > place.act_s) & (stage.clean_s < place.end_s)]
    wide = np.flatnonzero(np.diff(own) > (900.0 if near else 1000.0))
    if not len(wide) or near != stage.manner.endswith("live"):
        return None
    begins = float(own[wide[0]])
    onset = max(begins - 1800.0, place.act_s + 0.5)
    rest = stage.rest(onset, place.end_s - onset - 60.0, dice)
    return Laid(
        "watch-sparse", "live file" if near else "no live file", 0.7 if near else 1.0, stage, onset,
        rest, None if near else begins,
    )  # fmt: skip


def slots_end(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Six tenths of the slots that shear needs; near: all of them, and some to spare."""
    begin, end = stage.case.run.contact_s, stage.places[-1].act_s
    if end - begin < 5.0 * H:
        return None
    needed = stage.case.plan.strain_limit / 0.001
    slots = int(needed * (1.1 if near else 0.6))
    schedule = stage.settings.schedule
    shear = schedule.shear.model_copy(update={"slots": slots})
    short = replace(stage)
    short._folds = []
    short.__dict__["settings"] = stage.settings.model_copy(
        update={"schedule": schedule.model_copy(update={"shear": shear})}
    )
    onset = begin + 0.5
    rest = short.rest(onset, 0.5 * (end - begin), dice)
    # The pace of the ram is known after some readings; then it is so for an hour.
    return Laid(
        "schedule-ends-early", "slots to spare" if near else "slots too few", needed / slots, short,
        onset, rest, None if near else begin + 0.03 * (end - begin), 3600.0, 0, None, "warning",
    )  # fmt: skip


def _about(dice: Random, count: int, live: np.ndarray) -> np.ndarray:
    """How far a gauge that jumps about is off, reading by reading. (n,) [kPa]

    At first it goes there and back from one row of the log to the next; what only went one way, and
    stayed, would be a step of pressure until it turns.
    """
    rows = np.cumsum(~live)
    side = np.where(rows % 2 == 0, 1.0, -1.0) * dice.choice((-1.0, 1.0))
    later = np.array([dice.choice((-1.0, 1.0)) for _ in range(count)])
    far = np.array([dice.uniform(90.0, 400.0) for _ in range(count)])
    return np.where(rows <= 4, side, later) * far


def _reversals(stage: Stage, channel: str, phase: str, until_s: float) -> int:
    """How often a channel has turned in a phase, which its noise alone makes it do again and again.

    A pressure that climbs faster than its noise shows none.
    """
    begin = next(place.act_s for place in stage.places if place.phase == phase)
    inside = (stage.clean_s > begin) & (stage.clean_s <= until_s)
    steps = np.diff(stage.clean.channels[channel][inside])
    return int((steps[1:] * steps[:-1] < 0.0).sum())


def sensor(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """No number, beyond the range, a jump, or the same number again and again."""
    at = spot(stage, dice, ANYWHERE, 2.0 * H, settle_s=1800.0)
    if at is None:
        return None
    ways = ["not a number", "out of range", "jumps about"] + ["the same"] * bool(stage.every_s)
    way, channel = dice.choice(ways), dice.choice(CHANNELS)
    if way == "jumps about" and channel == "cell_pressure" and at.place.phase == "shear":
        return None  # its first fall is told as pressures let go, and what has ended is not judged
    rest = stage.rest(at.onset_s, 3.0 * H, dice, stands_s=at.stands_s)
    if len(rest.seconds) < (30 if way == "the same" else 6):
        return None
    column = rest.values[channel].copy()
    count = len(column)
    bad = np.ones(count, dtype=bool)
    if near:
        logged = np.flatnonzero(~rest.live)
        few = logged[:2] if way != "the same" else logged[:14]
        bad = np.isin(np.arange(count), few)
    if way == "the same":
        channel = dice.choice(("cell_pressure", "pore_pressure"))
        column = rest.values[channel].copy()
        if _reversals(stage, channel, at.place.phase, at.onset_s) < 12:
            return None  # it has shown no noise in this phase
    wrong = {
        "not a number": np.full(count, np.nan),
        "out of range": np.full(count, 1.06 * RANGES.get(channel, 5000.0)),
        "jumps about": column[0] + _about(dice, count, rest.live),
        "the same": np.full(count, column[0]),
    }[way]
    if way == "jumps about" and channel == "back_volume":
        return None  # a jump of a volume gauge is a refill
    rest.values[channel] = np.where(bad, wrong, column)
    rows = 20 if way == "the same" else 3
    return Laid(
        "sensor-fault", way, 0.67 if near else 2.0, stage, at.onset_s, rest,
        None if near else at.onset_s, 0.0, rows, None if near else channel, "warning",
    )  # fmt: skip


def zero(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """A pressure gauge that reads something when vented."""
    place = next((p for p in stage.places if p.step == "vented"), None)
    if place is None:
        return None
    channel = dice.choice(("cell_pressure", "back_pressure", "pore_pressure"))
    limit = max(1.0, 0.001 * RANGES[channel])
    share = size(dice, near=near)
    if near:
        share *= 0.6  # besides the gauge's own error
    rest = stage.rest(0.5, place.end_s - 30.0, dice)
    offset = dice.choice((-1.0, 1.0)) * (share * limit + (0.0 if near else 0.5))
    rest.values[channel] = rest.values[channel] + offset
    # A live row names no step: that the cell is vented is known by a row of the log alone.
    said = rest.seconds[~rest.live & (rest.seconds > place.act_s + 1e-6)]
    if not len(said):
        return None
    return Laid(
        "zero-offset", "off when vented", share, stage, 0.5, rest,
        None if near else float(said[0]), 0.0, 2, None, "warning",
    )  # fmt: skip


def warms(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The room's temperature runs away, quickly or slowly."""
    at = spot(stage, dice, (*ANYWHERE, "saturation/raise"), 4.0 * H, settle_s=1800.0)
    if at is None:
        return None
    quick = dice.random() < 0.6
    limit = HOUR_C if quick else PHASE_C
    rise = (
        dice.choice((-1.0, 1.0))
        * limit
        * (dice.uniform(0.2, 0.55) if near else dice.uniform(1.5, 3.0))
    )
    within = dice.uniform(5 * MIN, 45 * MIN) if quick else dice.uniform(3 * H, 5 * H)
    rest = stage.rest(at.onset_s, within + 3.0 * H, dice, stands_s=at.stands_s)
    warmer = ramp(rest.since, rise, within)
    room = rest.values["temperature"]
    rest.values["temperature"] = room + warmer
    water = 1.6e-4 * stage.case.plan.cell_water_ml
    rest.values["cell_volume"] = rest.values["cell_volume"] - water * warmer
    rest.values["back_volume"] = (
        rest.values["back_volume"] - (0.003 + stage.case.warmth_ml_C) * warmer
    )
    # The swing of the room counts as well: it may bring the limit sooner or later, or not at all.
    crosses = _too_warm(stage, at, rest, -SHOWS_C / 3.0 if near else SHOWS_C)
    if near != (crosses is None):
        return None
    return Laid(
        "temperature-swing", "quickly" if quick else "slowly", abs(rise) / limit, stage, at.onset_s,
        rest, crosses, 600.0, 0, None, "warning",
    )  # fmt: skip


def _too_warm(stage: Stage, at: Spot, rest: Rest, beyond: float) -> float | None:
    """The first reading that is beyond a limit, from the begin of the phase or within its hour."""
    begun = min(place.act_s for place in stage.places if place.phase == at.place.phase)
    clean = (stage.clean_s >= begun) & (stage.clean_s <= at.onset_s)
    warm = np.concatenate([stage.clean.channels["temperature"][clean], rest.values["temperature"]])
    seconds = np.concatenate([stage.clean_s[clean], rest.seconds])
    for k in range(np.count_nonzero(clean), len(seconds)):
        lately = warm[(seconds >= seconds[k] - H) & (seconds <= seconds[k])]
        swing = max(warm[k] - lately.min(), lately.max() - warm[k])
        if swing > HOUR_C + beyond or abs(warm[k] - warm[0]) > PHASE_C + beyond:
            return float(seconds[k]) - 0.5
    return None


def clock(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The logger's clock is set ahead; near: by less than an interval."""
    if stage.every_s is None:
        return None
    at = spot(stage, dice, ANYWHERE, 2.0 * H, settle_s=600.0)
    if at is None:
        return None
    rest = stage.rest(at.onset_s, 1.0 * H, dice, stands_s=at.stands_s)
    jump = stage.every_s * (dice.uniform(0.1, 0.8) if near else dice.uniform(2.2, 300.0))
    rest.seconds = rest.seconds + jump
    true_s = float(rest.seconds[0]) - 0.5
    return Laid(
        "clock-jump", "set ahead", jump / stage.every_s / 2.0, stage, at.onset_s, rest,
        None if near else true_s, 0.0, 1,
    )  # fmt: skip


WAYS = (
    Way("log-silent", "silent", silent),
    Way("watch-sparse", "sparse", sparse, needs="scheduled"),
    Way("reading-missed", "missed", missed, needs="scheduled", weight=3),
    Way("schedule-ends-early", "slots", slots_end, needs="scheduled"),
    Way("sensor-fault", "sensor", sensor, weight=2),
    Way("zero-offset", "zero", zero, needs="worded"),
    Way("temperature-swing", "warms", warms),
    Way("clock-jump", "clock", clock, needs="steady"),
)
