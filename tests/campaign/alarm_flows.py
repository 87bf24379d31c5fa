"""Faults of flow, saturation and consolidation, laid over readings as a cell would show them."""

from dataclasses import replace
from random import Random

import numpy as np
from alarm_cases import MIN, H, Laid, Way, spells_at, spot
from alarm_pressures import DRAINED, HOLD, level
from alarm_stage import Column, Place, Stage
from alarm_valves import CHECK, step_of

from reduce.saturation import settled_index

HELD_KPA = 2.0
"""Cell pressure this near to where it ends in a check has come to stand. [kPa]"""


def blocked(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """After back pressure was raised nothing passes; near: it passes slowly."""
    raises = [place for place in stage.places if place.name == "saturation/raise"]
    holds = [place for place in stage.places if place.name == HOLD]
    if len(raises) < 2:
        return None
    number = dice.randrange(1, len(raises))
    place = holds[number]
    onset = place.act_s
    if _passed(stage, onset):
        return None  # behind a B that is high enough nothing stalls
    gap = stage.case.run.trace.one("back_kPa", onset) - stage.case.run.trace.one("pore_kPa", onset)
    if gap < 4.0:
        return None
    slower = dice.uniform(1.5, 3.0) if near else 1.0
    if near and not _moves(stage, place, slower):
        return None
    rest = stage.rest(
        onset, (2.5 * H if not near else min(slower * (place.end_s - onset), 4.5 * H)), dice,
        stands_s=place.end_s - 45.0 if near else onset, slower=slower,
    )  # fmt: skip
    return Laid(
        "saturation-stalled", "passes slowly" if near else "blocked", 0.6 if near else gap / 2.5,
        stage, onset, rest, None if near else onset + 0.5, 3600.0, 0, None, "urgent",
        excused=("drainage-state",),
    )  # fmt: skip


def _passed(stage: Stage, seconds: float) -> bool:
    """Whether a check before may have reached its target. [s]"""
    records = [one for one in stage.case.run.checks if one.in_phase == "saturation"]
    checks = [place for place in stage.places if place.name == CHECK]
    trace, target = stage.case.run.trace, stage.case.plan.b_target
    for record, check in zip(records, checks, strict=False):
        rise = trace.one("pore_kPa", check.end_s - 60.0) - trace.one("pore_kPa", check.act_s)
        b = max(rise / max(record.delta_cell_kPa, 1.0), record.b_model)
        if check.end_s <= seconds and b > target - 0.01:
            return True
    return False


def _moves(stage: Stage, place: Place, slower: float) -> bool:
    """Whether pore pressure comes nearer to back pressure within three quarters of an hour.

    What does not is blocked by the contract's words, though it would come there in some days.
    """
    trace, later = stage.case.run.trace, min(place.act_s + 0.75 * H / slower, place.end_s - 60.0)
    gaps = [trace.one("back_kPa", at) - trace.one("pore_kPa", at) for at in (place.act_s, later)]
    return gaps[0] - gaps[1] > max(1.0, 0.03 * gaps[0])


def _settles(seconds: Column, values: dict[str, Column]) -> bool:
    """Whether a check counts as settled by the contract's rule, whose rates scatter may exceed.

    One that does not is never compared, and nobody can say that its B has not changed.
    """
    if len(seconds) < 3:
        return False
    cell = values["cell_pressure"]
    held = seconds[np.abs(cell - np.median(cell[-3:])) < HELD_KPA]
    return settled_index(seconds, values["pore_pressure"], float(held[0])) is not None


def unchanged(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """A check gives no more than the one before; near: it gives three hundredths more."""
    checks = [place for place in stage.places if place.name == CHECK]
    records = [one for one in stage.case.run.checks if one.in_phase == "saturation"]
    if len(checks) < 2:
        return None
    number = dice.randrange(1, len(checks))
    place, trace = checks[number], stage.case.run.trace
    b = [
        (trace.one("pore_kPa", p.end_s - 60.0) - trace.one("pore_kPa", p.act_s))
        / max(r.delta_cell_kPa, 1.0)
        for p, r in zip(checks, records, strict=False)
    ]
    if not 0.3 < b[number - 1] < 0.86 or b[number] < 0.3:
        return None
    for one in checks[number - 1 : number + 1]:
        crept = trace.one("pore_kPa", one.end_s - 60.0) - trace.one("pore_kPa", one.end_s - 360.0)
        if abs(crept) > 0.4:
            return None  # a check that has not settled tells nothing of B
    if _accepted(stage, b[: number + 1]):
        return None
    wanted = b[number - 1] + (dice.uniform(0.025, 0.05) if near else dice.uniform(-0.02, 0.0))
    onset = place.act_s + 0.5
    rest = stage.rest(onset, place.end_s - onset + 1.5 * H, dice)
    first = trace.one("pore_kPa", place.act_s)
    inside = rest.seconds <= place.end_s
    pore = rest.values["pore_pressure"]
    rest.values["pore_pressure"] = np.where(
        inside, first + (pore - first) * wanted / b[number], pore
    )
    earlier = checks[number - 1]
    read = (stage.clean_s > earlier.act_s) & (stage.clean_s <= earlier.end_s)
    before = {name: column[read] for name, column in stage.clean.channels.items()}
    came = {name: column[inside & ~rest.live] for name, column in rest.values.items()}
    if not (
        _settles(stage.clean_s[read], before) and _settles(rest.seconds[inside & ~rest.live], came)
    ):
        return None
    return Laid(
        "saturation-stalled", "B unchanged" if not near else "B rises by three hundredths",
        0.6 if near else 1.5, stage, onset, rest, None if near else place.end_s, 0.0, 2, None,
        "urgent", besides="out of reach" if near else "",
    )  # fmt: skip


def _accepted(stage: Stage, b: list[float]) -> bool:
    """Whether the standard takes a B that does not change any more for saturation."""
    from reduce.acceptance import Check, judge_checks  # noqa: PLC0415

    plan = stage.case.plan
    records = [one for one in stage.case.run.checks if one.in_phase == "saturation"]
    checks = [Check(one, True, rec.back_kPa) for one, rec in zip(b, records, strict=False)]
    checks[-1] = Check(b[-2], True, records[len(b) - 1].back_kPa)
    return judge_checks(checks, target=plan.b_target, standard=plan.standard).accepted


def nobody(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """No step for longer than plan.step_time; near: for two thirds of it."""
    at = spot(stage, dice, (HOLD,), 20.0 * H, settle_s=300.0)
    if at is None:
        return None
    onset = at.place.end_s - 30.0
    began = max(p.act_s for p in stage.places if p.step == "raise" and p.act_s < onset)
    if onset - began > 3.5 * H:
        return None
    length = began + (4.0 * H if near else 8.0 * H) - onset
    rest = stage.rest(onset, length, dice, stands_s=onset)
    due = at.place.act_s + 6.0 * H
    return Laid(
        "saturation-stalled", "nobody" if not near else "a break", 4.0 / 6.0 if near else 1.3,
        stage, onset, rest, None if near else due, known_s=None if near else due + 60.0,
        priority="warning",
    )  # fmt: skip


def stroke(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """The gauge comes within 5 % of its stroke while the specimen drains, by its own flow."""
    place = step_of(stage, "drained")
    line = stage.settings.log.channels["back_volume"][0].stroke
    low, high = (float(word) for word in str(line).replace("ml", "").split("to"))
    limit = low + 0.05 * (high - low)
    seconds = np.linspace(place.act_s, place.end_s, 4000)
    given = stage.case.tube_ml * (1.0 - np.exp((place.act_s - seconds) / 15.0))
    volume = stage.case.run.trace.at("back_ml", seconds) - given
    noise_ml = 0.03 * max(1.0, stage.case.made.errors)
    under = np.flatnonzero(volume < limit - noise_ml)
    if not len(under) or under[0] < 2:
        return None
    crosses = float(seconds[under[0]])
    onset = max(place.act_s + 0.5, crosses - 1800.0)
    length = min(place.end_s - onset - 60.0, crosses - onset + 2.0 * H)
    if near:  # it flows ever slower: by its end it is still short of the limit
        short = np.flatnonzero(volume < limit + max(5.0 * noise_ml, 0.01 * (high - low)))
        length = float(seconds[short[0]]) - onset
        if length < 60.0:
            return None
    rest = stage.rest(onset, length, dice)
    return Laid(
        "volume-gauge-end", "drains to its end", 0.7 if near else 1.0, stage, onset, rest,
        None if near else crosses, 0.0, 2, None, "urgent",
    )  # fmt: skip


def leaking_gauge(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """Water is lost until the gauge comes to its end; near: until nine tenths."""
    at = spot(stage, dice, (HOLD, DRAINED), 3.0 * H)
    if at is None:
        return None
    line = stage.settings.log.channels["back_volume"][0].stroke
    low, high = (float(word) for word in str(line).replace("ml", "").split("to"))
    begins = level(stage, at, "back_ml")
    limit = high - 0.05 * (high - low)
    goal = begins + (limit - begins) * (dice.uniform(0.6, 0.93) if near else 1.0)
    goal += 0.0 if near else dice.uniform(0.1, 0.8) * (high - limit)
    within = dice.uniform(15 * MIN, 3 * H)
    rest = stage.rest(at.onset_s, within + 2.0 * H, dice, stands_s=at.stands_s)
    came = (goal - begins) * np.clip(rest.since / within, 0.0, 1.0)
    rest.values["back_volume"] = rest.values["back_volume"] + came
    # The specimen's own flow counts as well.
    over = np.flatnonzero(rest.values["back_volume"] > limit + (-0.03 if near else 0.03))
    if near and len(over):
        return None  # readings at the limit, as they scatter, are beyond it as well
    if not near and not len(over):
        return None
    crosses = None if near else float(rest.seconds[over[0]])
    return Laid(
        "volume-gauge-end", "runs to its end", 0.9 if near else 1.0, stage, at.onset_s, rest,
        crosses, 0.0, 2, None, "urgent", excused=("leak-drainage", "drainage-state"),
    )  # fmt: skip


HALF_DONE = 0.4
"""So much has truly gone when half of it is shown; else half was not done when it was told so, and
what leaves refutes that projection: there is nothing to be late for. [-]"""


def overdue(stage: Stage, dice: Random, near: bool) -> Laid | None:
    """A stone clogs: it goes on slower than was foreseen at half of it; near: hardly slower."""
    place = step_of(stage, "drained")
    found = _past_half(stage, place)
    if found is None:
        return None
    onset, latest = found[0] + 0.5, found[1]
    if latest - onset > 4.0 * 86400.0 or latest < onset + 300.0:
        return None
    factors = [dice.uniform(1.0, 1.3)] if near else [4.0, 8.0, 16.0, 30.0]
    dice.shuffle(factors)
    for slower in factors:
        if _is_done(stage, place, onset, slower, latest) is not near:
            continue
        length = latest - onset + 4.0 * H
        if near:
            length = min(length, slower * (place.end_s - onset) - 60.0)
        rest = stage.rest(onset, length, dice, stands_s=place.end_s - 60.0, slower=slower)
        laid = Laid(
            "consolidation-overdue", "hardly slower" if near else "clogs", 0.7 if near else slower,
            stage, onset, rest, None if near else latest, 3600.0, 0, None, "warning",
            # Water that leaves so slowly, and is drawn in by the cell, flows as through a membrane.
            excused=("leak-membrane",),
        )  # fmt: skip
        return laid if near else replace(laid, true_s=_latest_told(laid, place, latest))
    return None


def _latest_told(laid: Laid, place: Place, latest_s: float) -> float:
    """The latest end that it was late by, as the alarm has it, if that is nearly what was foreseen.

    Which reading is the first with half done is a matter of scatter, and so is what stood then: a
    third of the time that was foreseen counts as the same.
    """
    started = laid.stage.case.started
    told = [
        one.since - started
        for one in spells_at(laid, float(laid.rest.seconds[-1]))
        if one.kind == laid.kind and one.since - started > laid.onset_s
    ]
    most = latest_s + (latest_s - place.act_s) / 3.0
    return max(latest_s, told[0]) if told and told[0] <= most else latest_s


def _past_half(stage: Stage, place: Place) -> tuple[float, float] | None:
    """A reading past half, and the latest of the ends that were foreseen about half. [s]

    Which reading is the first with half done is a matter of scatter, and so is what stood then.
    """
    moments = place.act_s + np.geomspace(60.0, place.end_s - place.act_s, 60)
    ends: list[float] = []
    half = np.inf
    for moment in moments:
        cell = stage.look(float(moment))
        u = cell.quantities.U if cell.quantities else None
        latest = cell.projection.latest if cell.projection else None
        if u is None or u < 0.4:
            continue
        if latest is not None:
            ends.append(latest - stage.case.started)
        half = min(half, float(moment) if u >= 0.5 else np.inf)
        if moment - place.act_s > 1.4 * (half - place.act_s):
            if float(stage.case.drains.degree(np.array([half - place.act_s]))[0]) < HALF_DONE:
                return None
            return (float(moment), max(ends)) if len(ends) > 1 and u < 0.8 else None
    return None


def _is_done(
    stage: Stage, place: Place, onset_s: float, slower: float, latest_s: float
) -> bool | None:
    """Whether it is at rest by the latest end, in flow and in what pore pressure is measured.

    Either has to be sure for as long as the delay, by a tenth of the limit; None: it is not. Where
    both ends drain, no pore pressure is measured in the specimen. What has met a plan's degree is
    done, though a quick specimen goes on to creep faster than the limit of flow.
    """
    case = stage.case
    trace, plan = case.run.trace, case.plan

    def at(seconds: float) -> float:
        gone = seconds if seconds < onset_s else onset_s + (seconds - onset_s) / slower
        return min(gone, place.end_s - 60.0)

    def head(seconds: float) -> float:
        return trace.one("pore_kPa", seconds) - trace.one("back_kPa", seconds)

    hidden, excess = case.drains.base_is_drained, head(place.act_s - 1.0)
    by_degree = plan.consolidation_end.startswith("dissipation")
    done, late = [], []
    for moment in (latest_s, latest_s + 0.5 * H, latest_s + 1.5 * H):
        now, before = at(moment), at(moment - H)
        flow = abs(trace.one("back_ml", now) - trace.one("back_ml", before))
        share = flow / (0.001 * plan.volume_ml)
        left = 0.0 if hidden or excess < 10.0 else head(now) / excess
        mean = 1.0 - float(case.drains.degree(np.array([now - place.act_s]))[0])
        is_met = by_degree and (mean if hidden or excess < 10.0 else left) < 0.06
        done.append(share < 0.9 and left < 0.04)
        late.append((share > 1.1 and not is_met) or left > 0.06)
    return True if all(done) else False if all(late) else None


WAYS = (
    Way("saturation-stalled", "blocked", blocked),
    Way("saturation-stalled", "unchanged", unchanged),
    Way("saturation-stalled", "nobody", nobody),
    Way("volume-gauge-end", "own flow", stroke, needs="narrow"),
    Way("volume-gauge-end", "leaking", leaking_gauge),
    Way("consolidation-overdue", "clogs", overdue, weight=3),
)
