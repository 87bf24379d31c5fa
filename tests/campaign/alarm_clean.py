"""Benches on which nothing is wrong, with noise, a day's swing, ripple and handling."""

from dataclasses import dataclass, replace
from datetime import UTC
from random import Random

import numpy as np
from alarm_shears import advised
from alarm_stage import MANNERS, Stage
from drawn import draw

from tui.bench.alarms.kinds import KINDS
from tui.bench.alarms.spells import Spell
from tui.bench.attended import Attended
from tui.bench.cell_fold import CellFold
from tui.feed.rows import Arrivals, Rows

SWING_C = 1.0
RIPPLE_KPA = 0.3
KPA_PER_C = 0.1
"""What a regulator or gauge feels of the room: common practice, no source."""
REFILL_ML = 30.0
LONGEST = 20_000


@dataclass(frozen=True)
class FalseOne:
    """A spell on a clean bench."""

    seed: int
    manner: str
    soil: str
    hours: float
    """Since the test began. [h]"""
    where: str
    spell: Spell
    explained: str
    """Why it is right all the same; empty: it is false."""


@dataclass(frozen=True)
class CleanDays:
    """One clean test followed to its end."""

    days: float
    found: tuple[FalseOne, ...]


def clean_stage(seed: int, *, unseen: bool = False) -> Stage | None:
    """A drawn test without a fault, in a room that swings by a degree; None: it has a fault."""
    case = draw(seed, unseen=unseen)
    if case.fault != "none":
        return None
    made = replace(case.made, room_swing_C=SWING_C / case.made.errors)
    return Stage(replace(case, made=made), MANNERS[seed // 2 % 3])


def handled(stage: Stage, dice: Random) -> Rows:
    """The rows of a test with ripple, the room on its pressures, refills and trims."""
    rows = stage.clean
    seconds, values = stage.clean_s, dict(rows.channels)
    warmer = values["temperature"] - values["temperature"][0]
    period = dice.uniform(20.0, 240.0)
    under = values["cell_pressure"] > 3.0
    ripple = RIPPLE_KPA * np.sin(2.0 * np.pi * seconds / period)
    closed = np.zeros(len(seconds), dtype=bool)
    for place in stage.places:
        inside = (seconds > place.act_s) & (seconds <= place.end_s)
        if place.step in ("b-check", "build-up") or (
            place.phase == "shear" and stage.case.plan.kind == "CU"
        ):
            closed |= inside
    for name, part in (("cell_pressure", ripple), ("back_pressure", np.roll(ripple, 3))):
        by = np.where(under, part + KPA_PER_C * warmer, 0.0)
        values[name] = values[name] + by
        if name == "back_pressure":
            values["pore_pressure"] = values["pore_pressure"] + np.where(closed, 0.0, by)
    for place in stage.places:
        long = place.end_s - place.act_s
        if place.step not in ("hold", "drained") or place.phase == "setup" or long < 7200.0:
            continue
        what = dice.choice(("refill", "trim", "nothing"))
        moment = place.act_s + dice.uniform(0.4, 0.9) * long
        if what == "refill":
            # It winds back what the gauge shows by then.
            shown = float(values["back_volume"][int(np.searchsorted(seconds, moment))])
            values["back_volume"] = values["back_volume"] - np.where(
                seconds > moment, REFILL_ML * (1.0 if shown > 0.0 else -1.0), 0.0
            )
        if what == "trim":
            begun = moment - 0.3 * long
            crept = np.clip((seconds - begun) / (0.3 * long), 0.0, 1.0) * dice.choice((-1.2, 1.2))
            off = np.where((seconds > begun) & (seconds <= moment), crept, 0.0)
            values["cell_pressure"] = values["cell_pressure"] + off
    return Rows(rows.times, values, rows.words)


def clean_days(seed: int, *, unseen: bool = False) -> CleanDays | None:
    """Follow one test on which nothing is wrong; None: it has a fault, or is too long."""
    stage = clean_stage(seed, unseen=unseen)
    if stage is None or len(stage.clean_s) > LONGEST:
        return None
    case = draw(seed, unseen=unseen)
    settings = stage.settings
    gauge = settings.log.channels["back_volume"][0].model_copy(update={"refill": "12 ml"})
    channels = {
        **settings.log.channels,
        "back_volume": (gauge.model_copy(update={"stroke": None}),),
    }
    settings = settings.model_copy(
        update={"log": settings.log.model_copy(update={"channels": channels})}
    )
    attended = Attended.of(case.attended, UTC)
    fold = CellFold("C1", "C1", settings, (), UTC, attended=attended)
    rows = handled(stage, Random(f"handled {seed}"))
    fold = fold.take(Arrivals("C1", rows))
    last = float(rows.times[-1])
    cell = fold.picture(last, ())
    begun = float(rows.times[0])
    found = []
    for spell in cell.spells:
        # What only several cells together can have is no alarm of one.
        quiet = spell.priority == "note" or KINDS[spell.kind].of_bench
        if quiet or spell.held_back is not None:
            continue
        spans = [span for span in cell.spans if span.start <= spell.since]
        where = f"{spans[-1].name}/{spans[-1].step}" if spans else ""
        found.append(
            FalseOne(
                seed, stage.manner, case.soil.name, (spell.since - begun) / 3600.0, where, spell,
                _explained(stage, spell),
            )
        )  # fmt: skip
    return CleanDays((last - begun) / 86400.0, tuple(found))


def _explained(stage: Stage, spell: Spell) -> str:
    """What a drawn test really has, without any fault of the bench."""
    trace = stage.case.run.trace
    at = spell.since - stage.case.started
    if spell.kind == "saturation-stalled" and spell.reason in (
        "out of reach",
        "more pressure",
        "leak",
    ):
        checks = [one for one in stage.case.run.checks if one.in_phase == "saturation"]
        if checks and all(one.b_model < stage.case.plan.b_target + 0.01 for one in checks):
            return "this specimen does not reach its B"
    if spell.kind == "saturation-stalled" and spell.reason == "blocked":
        begun = max(p.act_s for p in stage.places if p.step == "hold" and p.act_s <= at)
        since = max(begun + 60.0, at - 3600.0)
        gaps = [trace.one("back_kPa", s) - trace.one("pore_kPa", s) for s in (since, at)]
        if gaps[0] - gaps[1] < max(0.5, 0.03 * gaps[0]):
            return "its pore pressure really comes no nearer to back pressure within the hour"
    if spell.kind == "log-silent":
        counted = stage.look(at - 1.0).schedule
        if counted is not None and counted.next_at is None:
            return "its schedule has run out, and nobody has gone on: nothing is known of it"
    if spell.kind == "rate-too-fast" and stage.case.run.rate_percent_min > 1.1 * advised(stage):
        return "its technician keeps to another table, and shears faster than the standard advises"
    stress = trace.one("cell_kPa", at) - trace.one("pore_kPa", at)
    beyond = spell.kind == "effective-stress-high" and spell.reason == "stress"
    if beyond and stress > stage.case.plan.effective_kPa:
        return "its check really loads it beyond the plan: the step is large and B still small"
    if spell.kind == "effective-stress-low":
        window = trace.seconds[(trace.seconds > at - 120.0) & (trace.seconds < at + 600.0)]
        stress = trace.at("cell_kPa", window) - trace.at("pore_kPa", window)
        if len(window) and float(stress.min()) < 5.0:
            return "pore pressure is so near to cell pressure"
    return ""
