"""Ends of phases: a check that reaches its target, a consolidation that meets its criterion."""

from random import Random

import numpy as np
from alarm_cases import H, Laid, Way
from alarm_shears import half_is_read
from alarm_stage import Rest, Stage

SETTLED_KPA = 1.0
"""Pore pressure that moves by less within ten minutes counts as settled in a check: the contract's.
[kPa]"""
FEWEST = 4
"""Readings until t100 without which nobody can construct it: fewer tell no curve."""


def complete(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """A check reaches the target: hands are wanted; near: a check that does not."""
    records = [one for one in stage.case.run.checks if one.in_phase == "saturation"]
    places = [place for place in stage.places if place.name == "saturation/b-check"]
    trace = stage.case.run.trace
    found = []
    for record, place in zip(records, places, strict=False):
        rise = trace.one("pore_kPa", place.end_s - 60.0) - trace.one("pore_kPa", place.act_s)
        # Gas dissolves meanwhile: B is higher at first, and may be read then or at the end.
        both = rise / max(record.delta_cell_kPa, 1.0), record.b_model
        # A reading counts as settled while so much may still come; one that creeps on is none.
        goes_on = SETTLED_KPA / max(record.delta_cell_kPa, 1.0)
        crept = trace.one("pore_kPa", place.end_s - 60.0) - trace.one("pore_kPa", place.end_s - 360)
        if near or abs(crept) < 0.4 * SETTLED_KPA:
            found.append((min(both) - goes_on, max(both), place))
    target = stage.case.plan.b_target
    wanted = [
        p
        for least, most, p in found
        if (most < target - 0.05 if near else least > target + 0.01 and most < 1.015)
    ]
    if not wanted:
        return None
    place = dice.choice(wanted) if near else wanted[0]
    onset = place.act_s + 0.5
    rest = stage.rest(onset, place.end_s - onset + (-60.0 if near else 1800.0), dice)
    return Laid(
        "phase-complete", "B does not" if near else "B reaches its target", 0.9 if near else 1.0,
        stage, onset, rest, None if near else place.end_s, 0.0, 1,
    )  # fmt: skip


def _reads_until_t100(stage: Stage) -> int:
    """Readings that tell t100, where it is asked for."""
    run = stage.case.run
    if not stage.case.plan.consolidation_end.startswith("t100"):
        return FEWEST
    since = stage.clean_s - run.opened_s
    return int(((since > 0.0) & (since < run.dissipation.t100_s)).sum())


def _drains_on(stage: Stage, rest: Rest, stands_s: float) -> None:
    """Go on draining where the technician of the drawn test went on to shear.

    A specimen that stood still all at once would look like one whose stone has blocked.
    """
    run, plan = stage.case.run, stage.case.plan

    def lost_ml(seconds):
        cycles = run.dissipation.creep_cycles(seconds - run.opened_s)
        creep = plan.soil.secondary * plan.volume_ml * cycles
        return run.compression.primary_ml * run.dissipation.degree(seconds - run.opened_s) + creep

    later, since = np.maximum(rest.seconds, stands_s), np.array([stands_s])
    rest.values["back_volume"] = rest.values["back_volume"] - (lost_ml(later) - lost_ml(since))
    if not stage.case.drains.base_is_drained:
        left = run.dissipation.base(later - run.opened_s) - run.dissipation.base(
            since - run.opened_s
        )
        rest.values["pore_pressure"] = rest.values["pore_pressure"] + run.first_excess_kPa * left


def consolidated(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Consolidation meets its criterion, by the specimen's own truth; near: at half of its time."""
    from replayed import consolidation_end_s  # noqa: PLC0415

    place = next(place for place in stage.places if place.step == "drained")
    met = consolidation_end_s(stage.case)
    if stage.case.plan.consolidation_end != "24 h":
        if near:
            met = 0.5 * met
        if not half_is_read(stage) or _reads_until_t100(stage) < FEWEST:
            return None
        # Read with noise and a fit, it may be told a tenth of the time later.
        due = place.act_s + 1.1 * met
    else:
        met = 0.9 * met if near else met
        due = place.act_s + met
    onset = place.act_s + 0.4 * met
    if due > place.end_s + 12.0 * H:
        return None
    ends, stands = place.act_s + met if near else due + 2.0 * H, place.end_s - 45.0
    rest = stage.rest(onset, ends - onset, dice, stands_s=stands)
    if not len(rest.seconds):
        return None
    _drains_on(stage, rest, stands)
    return Laid(
        "phase-complete", stage.case.plan.consolidation_end + (", half of it" if near else ""),
        0.5 if near else 1.0, stage, onset, rest, None if near else due, 0.0, 1,
    )  # fmt: skip


WAYS = (
    Way("phase-complete", "saturation", complete, weight=2),
    Way("phase-complete", "consolidation", consolidated, weight=2),
)
