"""Faults of the ram, its gauges and the load, and what every shear comes to."""

from random import Random

import numpy as np
from alarm_cases import H, Laid, Way
from alarm_stage import Rest, Stage

from reduce.shearing.rates import advised_rate
from tui.bench.rig import at_set_up

LONGEST_S = 30.0 * H
"""No shear is followed longer; of a slow one the rest says nothing new."""
FASTEST_PERCENT_MIN = 1.0
"""A consolidated specimen is not sheared faster than one whose pore pressure nobody reads."""

READ_MM = 0.003
"""Travel of which a gauge is sure: that of the drawn tests has a noise of up to 0.0012 mm."""

NEARS = 0.98
"""Of a limit: beyond it readings that scatter may be at the limit. [-]"""

SURE_MM = 0.009
"""Five deviations of the difference of two such readings."""


def _sheared(stage: Stage) -> tuple[float, float]:
    """Begin and end of shear. [s]"""
    return stage.case.run.contact_s, stage.places[-1].act_s


def _strained_s(stage: Stage, strain: float) -> float:
    """When the gauge has told a strain since the touch beyond its noise. [s]

    The motor's own pace counts: it wanders.
    """
    begin, end = _sheared(stage)
    run = stage.case.run
    seconds = np.linspace(begin, end, 20_000)
    travel = run.trace.at("travel_mm", seconds)
    return float(np.interp(travel[0] + strain * run.height_mm + READ_MM, travel, seconds))


def _inside(stage: Stage, dice: Random, lead_s: float) -> float | None:
    """A moment after a tenth of it, and before its last thirtieth.

    Who stops so near to the limit has done what the plan says, as far as strain is known.
    """
    begin, end = _sheared(stage)
    end -= (end - begin) / 30.0
    first = begin + max(0.1 * (end - begin), 1500.0)
    if first > end - lead_s:
        return None
    return float(round(dice.uniform(first, end - lead_s))) + 0.5


def _stood_s(stage: Stage, onset: float, rest: Rest, share: float) -> float:
    """From when on readings show less than half of the rate. [s]

    In the first interval the ram still ran for a while; and what it lacks has to be more than noise
    shows in any of the thousands of readings of a shear.
    """
    run = stage.case.run
    mm_s = run.rate_percent_min / 6000.0 * run.height_mm
    before = float(stage.clean_s[stage.clean_s <= onset][-1])
    first = float(rest.seconds[0])
    ran = (onset - before + share * (first - onset)) / (first - before)
    shown = first if ran < 0.5 else first + 0.5
    return max(shown, onset + SURE_MM / ((0.5 - share) * mm_s))


def stops(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The motor stands, and the load relaxes; near: it runs at 0.7 of its rate."""
    onset = _inside(stage, dice, 1.0 * H)
    if onset is None:
        return None
    share = dice.uniform(0.68, 0.85) if near else dice.choice((0.0, 0.0, dice.uniform(0.05, 0.35)))
    rest = stage.rest(onset, 2.0 * H, dice)
    if not len(rest.seconds):
        return None
    at = onset + (rest.seconds - onset) * share
    rest.values = stage.read(rest.seconds, dice, at)
    if share < 0.3:
        relaxed = 1.0 - 0.1 * (1.0 - np.exp(-rest.since / 900.0))
        rest.values["axial_load"] = rest.values["axial_load"] * relaxed
    return Laid(
        "shear-stopped", "runs slower" if near else "stands" if share == 0.0 else "nearly stands",
        0.5 / share if near else 0.5 / max(share, 0.1), stage, onset, rest,
        None if near else _stood_s(stage, onset, rest, share), 300.0, 0, None, "urgent",
        words_s=np.full(len(rest.seconds), onset),
    )  # fmt: skip


def pauses(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """It stands for two or three minutes."""
    onset = _inside(stage, dice, 1.0 * H)
    if onset is None or not near or stage.every_s != 10.0:
        return None
    rest = stage.rest(onset, H, dice)
    stood = dice.uniform(60.0, 180.0)
    rest.values = stage.read(rest.seconds, dice, onset + np.maximum(rest.since - stood, 0.0))
    return Laid("shear-stopped", "pauses", 0.6, stage, onset, rest, None)


def advised(stage: Stage) -> float:
    """What the standard advises for how long the specimen truly took to consolidate. [%/min]

    The technician of the drawn tests keeps to another table, and never goes beyond 0.1 %/min.
    """
    took, specimen = stage.case.run.dissipation, at_set_up(stage.settings)
    rate = advised_rate(
        stage.case.plan.standard,
        stage.case.plan.kind,
        drainage=stage.settings.specimen.drainage,
        slenderness=specimen.height_mm / specimen.diameter_mm,
        t50_min=took.time_of(0.5) / 60.0,
        t90_min=took.time_of(0.9) / 60.0,
        t100_min=took.t100_s / 60.0,
    ).rate_percent_per_min
    assert rate is not None
    return rate


def half_is_read(stage: Stage) -> bool:
    """Whether a reading comes before half of the consolidation is over; else nobody knows t50."""
    run = stage.case.run
    first = float(stage.clean_s[stage.clean_s > run.opened_s][0])
    return first - run.opened_s < run.dissipation.time_of(0.5)


def too_fast(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The motor runs faster than the standard advises, from the touch on."""
    begin, end = _sheared(stage)
    plan, run = stage.case.plan, stage.case.run
    if stage.case.fault.startswith("motor"):
        return None
    if not half_is_read(stage):
        return None  # rightly not judged
    own = run.rate_percent_min / advised(stage)
    size = dice.uniform(0.5, 0.8) / 1.1 if near else dice.uniform(1.6, 5.0) / 1.1
    factor = 1.1 * size / own
    if run.rate_percent_min * factor > FASTEST_PERCENT_MIN:
        return None
    onset = begin + 0.5
    length = min(0.03 / plan.strain_limit * (end - begin) / factor, LONGEST_S)
    seconds = (
        stage.read_at(onset, length) if stage.every_s else _sooner(stage, onset, factor, length)
    )
    if len(seconds) < 8:
        return None
    at = onset + (seconds - onset) * factor
    if at[-1] > end:
        return None
    live = np.zeros(len(seconds), dtype=bool)
    rest = Rest(seconds, seconds - onset, stage.read(seconds, dice, at), live)
    strained = begin + (_strained_s(stage, 0.005) - begin) / factor
    return Laid(
        "rate-too-fast", "faster than advised" if not near else "slower than advised",
        size, stage, onset, rest, None if near else strained, 0.0, 1, None, "warning",
        words_s=np.minimum(at, end - 1.0),
    )  # fmt: skip


def _sooner(stage: Stage, onset: float, factor: float, length: float):
    """Slots by strain come sooner with a faster ram."""
    clean = stage.clean_s[stage.clean_s > onset]
    sooner = np.unique(np.round(onset + (clean - onset) / factor))
    return sooner[(sooner > onset) & (sooner < onset + length)]


def not_taken(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The ram does not touch when shear is declared; near: it touches a little late."""
    begin, end = _sheared(stage)
    onset = begin + 0.5
    per_s = stage.case.run.rate_percent_min / 100.0 / 60.0
    gap = dice.uniform(0.0003, 0.0012) if near else dice.uniform(0.004, 0.03)
    length = min((gap + 0.006) / per_s, end - begin - 60.0, LONGEST_S)
    rest = stage.rest(onset, length, dice)
    if len(rest.seconds) < 6:
        return None
    behind = stage.read(rest.seconds, dice, np.maximum(rest.seconds - gap / per_s, begin))
    for name in ("axial_load", "pore_pressure", "back_volume"):
        rest.values[name] = behind[name]
    return Laid(
        "load-not-taken", "touches late" if near else "does not touch", gap / 0.002, stage, onset,
        rest, None if near else _strained_s(stage, 0.002), 0.0, 1, None, "warning",
    )  # fmt: skip


def travel(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The displacement gauge comes to nine tenths of its range by the shear itself."""
    begin, end = _sheared(stage)
    part, trace = stage.crossings["travel"], stage.case.run.trace
    goal = part * stage.true_ends["axial_displacement"][1]
    return _comes_to(stage, dice, near, "axial_displacement", "travel_mm", goal, trace, begin, end)


def load(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The load cell comes to nine tenths of its range by the shear itself."""
    begin, end = _sheared(stage)
    most = stage.true_ends["axial_load"][1]
    goal = max(stage.crossings["load"] * most, 20.0) * 1.004 + 0.5
    return _comes_to(
        stage, dice, near, "axial_load", "load_N", goal, stage.case.run.trace, begin, end
    )


def _comes_to(stage, dice, near, channel, column, goal, trace, begin, end):
    seconds = trace.seconds[(trace.seconds > begin) & (trace.seconds < end)]
    over = np.flatnonzero(trace.at(column, seconds) > goal)
    if not len(over) or over[0] < 3:
        return None
    crosses = float(seconds[over[0]])
    onset = max(begin + 0.5, crosses - min(2.0 * H, 0.3 * (crosses - begin)))
    length = min(crosses - onset + 3.0 * H, end - onset - 30.0)
    if near:  # a load that hardly grows any more is at its limit long before it is beyond
        short = seconds[trace.at(column, seconds) > NEARS * goal]
        length = min(0.75 * (crosses - onset), float(short[0]) - onset)
        if length < 60.0:
            return None
    rest = stage.rest(onset, length, dice)
    return Laid(
        "travel-limit", f"{channel[6:]} {'nears' if near else 'reaches'} nine tenths",
        0.9 if near else 1.0, stage, onset, rest, None if near else crosses, 0.0, 2, channel,
        "warning",
    )  # fmt: skip


def limit(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Every shear reaches its strain limit; near: before it."""
    begin, end = _sheared(stage)
    run, goal = stage.case.run, stage.case.plan.strain_limit
    strain = run.trace.at("strain", run.trace.seconds)
    inside = run.trace.seconds >= begin
    zero = run.trace.one("strain", begin)
    reached = end
    early = float(np.interp(goal * 0.97, strain[inside] - zero, run.trace.seconds[inside]))
    onset = max(begin + 60.0, reached - 2.0 * H, begin + 0.8 * (reached - begin))
    if near:
        rest = stage.rest(onset, max(early - onset, 1.0), dice)
        return Laid("strain-limit", "97 % of it", 0.97, stage, onset, rest, None)
    # The technician of the drawn tests stops there; this one lets the machine run on.
    stands = end - 1.0
    rest = stage.rest(onset, end + 3.0 * H - onset, dice, stands_s=stands)
    speed = run.rate_percent_min / 6000.0 * run.height_mm
    beyond = np.maximum(rest.seconds - stands, 0.0) * speed
    rest.values["axial_displacement"] = rest.values["axial_displacement"] + beyond
    reached = stands + max(goal * 1.002 - (run.trace.one("strain", stands) - zero), 0.0) * (
        run.height_mm / speed
    )
    return Laid(
        "strain-limit", "reached", 1.0, stage, onset, rest, reached,
        words_s=np.minimum(rest.seconds, stands),
    )  # fmt: skip


WAYS = (
    Way("shear-stopped", "stops", stops, weight=2),
    Way("shear-stopped", "pauses", pauses, only_near=True),
    Way("rate-too-fast", "fast", too_fast, weight=3),
    Way("load-not-taken", "gap", not_taken, weight=2),
    Way("travel-limit", "travel", travel, needs="narrow"),
    Way("travel-limit", "load", load, needs="narrow"),
    Way("strain-limit", "limit", limit),
)
