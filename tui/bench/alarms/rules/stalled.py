"""Saturation that makes no progress, and why: the flagship of the night watch."""

from dataclasses import dataclass, replace
from math import inf, isnan
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.picture import BCheck
from tui.bench.readings import NAN

KIND = "saturation-stalled"
LOOK_S = 60.0
"""Readings of a hold nearer to each other than this tell nothing more. [s]"""
CLOSING_KPA, CLOSING = 0.5, 0.015
"""The gap has closed by this since it was last looked at: drainage is slow, not blocked. Common
practice, no source. [kPa], [-]"""
INFLOW_ML = 0.025
"""Water that the specimen has drunk since then, beyond the noise of the usual gauges. [ml]"""
SLOW = 2.0
"""Times `open` until drainage that was seen to work counts as blocked: common practice. [-]"""
NEIGHBOURS = 5
"""Readings whose median stands for one, so that noise is no movement."""
STEADY_ML_H, STEADY = 0.05, 0.8
"""An inflow above this, which in the last third of a hold is this share of that in the middle
third, feeds a leak and not the specimen: common practice, no source. [ml/h], [-]"""
NEAR, NEAR_STEPS = 0.05, 3
"""B this near to its target rises by hardly more with a step than pressures are read to: then it
takes as many that bring nothing as a standard asks for where it takes an unchanged B
(`reduce.acceptance`). Common practice, no source. [-]"""
SAME_STEP = 0.9
"""Of the cell step, so that a regulator set a little short still counts as a step. [-]"""


@dataclass(frozen=True, slots=True)
class _Seen:
    """How far pore pressure was from back pressure, and what had flowed in."""

    time: float
    gap_kPa: float
    volume_ml: float

    def moved_since(self, before: "_Seen") -> bool:
        """Whether the gap closes, or water goes in."""
        closed = before.gap_kPa - self.gap_kPa
        if closed > max(CLOSING_KPA, CLOSING * before.gap_kPa):
            return True
        return self.volume_ml - before.volume_ml > INFLOW_ML


class Blocked(Rule):
    """Drainage is open, and pore pressure does not come to back pressure.

    A slow clay takes hours for it; as long as pore pressure or volume is seen to move it does.
    """

    every_s = LOOK_S

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits = scene.limits
        self._open_s = limits(KIND, "open")
        step = scene.aims.cell_step_kPa
        self._near = max(limits(KIND, "within"), limits(KIND, "share") * step)
        self._blocked = board.condition(KIND, "urgent", reason="blocked")
        self._gaps: tuple[float, ...] = ()
        self._volumes: tuple[float, ...] = ()
        self._moved: _Seen | None = None
        """As it was when it was last seen to move, else at the begin of the hold."""
        self._works = False
        """Whether it was seen to move at all."""

    def begin(self, now: Moment) -> None:  # noqa: ARG002
        self._gaps, self._moved, self._works = (), None, False
        self._volumes = ()

    def add(self, now: Moment) -> None:
        if not _hold(now):
            return
        reading = now.reading
        if reading.drainage == "closed":
            self._gaps, self._moved, self._works = (), None, False
            self._volumes = ()
            self.board.tell(self._blocked, False, now.time)
            return
        gap = abs(reading.pore_pressure - reading.back_pressure)
        if isnan(gap) or now.told.cell.moving or now.told.back.moving:
            return
        self._gaps = (*self._gaps[-NEIGHBOURS + 1 :], gap)
        if not isnan(reading.back_volume):  # a live row tells none
            self._volumes = (*self._volumes[-NEIGHBOURS + 1 :], reading.back_volume)
        usual = _Seen(now.time, median(self._gaps), median(self._volumes or (NAN,)))
        if self._moved is None or len(self._gaps) < NEIGHBOURS:
            self._moved = replace(usual, time=now.step_since)
        else:
            if len(self._volumes) < NEIGHBOURS:
                self._moved = replace(self._moved, volume_ml=usual.volume_ml)
            if usual.gap_kPa <= self._near or usual.moved_since(self._moved):
                self._moved, self._works = usual, True
        patience = self._open_s * (SLOW if self._works else 1.0)
        if gap <= self._near:
            self.board.tell(self._blocked, False, now.time)
            return
        due = self._moved.time + patience
        if due > now.time:
            self.next_at = min(self.next_at, due)
        said = (
            f"pore pressure stays {gap:.1f} kPa from back pressure for {patience / 60.0:.0f} min "
            f"with drainage open, limit {self._near:.1f} kPa"
        )
        self.board.tell(self._blocked, due <= now.time, now.time, said)


class Unchanged(Rule):
    """B does not rise though back pressure did."""

    every_s = LOOK_S

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        self._rise = scene.limits(KIND, "rise")
        self._conditions = {
            reason: board.condition(KIND, "urgent", reason=reason)
            for reason in ("more pressure", "leak")
        }
        self._seen = 0
        self._inflow: tuple[tuple[float, float], ...] = ()
        """(time, back volume) of the hold."""

    def begin(self, now: Moment) -> None:
        if _hold(now):
            self._inflow = ()

    def add(self, now: Moment) -> None:
        if now.phase != "saturation":
            return
        if now.step == "hold" and not now.live and not isnan(now.reading.back_volume):
            self._inflow = _thinned((*self._inflow, (now.time, now.reading.back_volume)))
        finished = now.checks.finished
        if len(finished) == self._seen:
            return
        self._seen = len(finished)
        settled = [one for one in finished if one.settled and one.back_pressure_kPa is not None]
        stalled = self._stalls(settled)
        leak = stalled and _steady(self._inflow)
        said = self._said(settled) if stalled else ""
        for reason, one in self._conditions.items():
            self.board.tell(one, stalled and leak == (reason == "leak"), now.time, said)

    def _stalls(self, settled: list[BCheck]) -> bool:
        target = self.scene.settings.plan.b_target
        if len(settled) < 2 or target <= settled[-1].B or self._accepted(settled):
            return False
        last = settled[-1]
        steps = 1 if target - NEAR > last.B else NEAR_STEPS
        earlier = settled[-1 - steps : -1]
        if len(earlier) < steps:
            return False
        raised = (last.back_pressure_kPa or 0.0) - (earlier[0].back_pressure_kPa or 0.0)
        if raised < steps * SAME_STEP * self.scene.aims.cell_step_kPa:
            return False
        return not any(self._rises(one, last) for one in earlier)

    def _rises(self, before: BCheck, last: BCheck) -> bool:
        """By the settled readings, or by the last ones: each has noise of its own."""
        return max(last.B - before.B, last.B_last - before.B_last) >= self._rise

    def _accepted(self, settled: list[BCheck]) -> bool:
        """The standard takes an unchanged B for saturation."""
        from reduce.acceptance import Check, judge_checks  # noqa: PLC0415 (once a check)

        plan = self.scene.settings.plan
        checks = [Check(one.B, one.settled, one.back_pressure_kPa) for one in settled]
        found = judge_checks(
            checks, target=plan.b_target, standard=self.scene.settings.test.standard
        )
        return found.accepted

    def _said(self, settled: list[BCheck]) -> str:
        before, last = settled[-2:]
        return (
            f"B {last.B:.2f} after {before.B:.2f}, though back pressure rose from "
            f"{before.back_pressure_kPa:.0f} to {last.back_pressure_kPa:.0f} kPa; "
            f"target {self.scene.settings.plan.b_target:.2f}"
        )


class NobodyCame(Rule):
    """No step for the time that one should take at most, counted while somebody is there."""

    every_s = LOOK_S / 2.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        self._step_s = scene.settings.plan.step_time_s
        self._nobody = board.condition(KIND, "warning", reason="nobody")
        self._began = -inf
        self._deadline = inf

    def begin(self, now: Moment) -> None:
        if now.phase != "saturation":
            self._deadline = inf
        elif now.step in ("raise", "b-check", "ramp") or self._deadline == inf:
            self._count_from(now, now.step_since)

    def add(self, now: Moment) -> None:
        if self._deadline == inf:
            return
        moving = now.told.cell.moving or now.told.back.moving
        ends = [mark.until or -inf for mark in now.marks if mark.held_at <= now.time]
        planned = max(ends, default=-inf)
        if moving or (planned > self._began and planned > now.time):
            self._count_from(now, max(now.time, planned))

    def _count_from(self, now: Moment, moment: float) -> None:
        if self._step_s is None:
            return
        self.board.tell(self._nobody, False, now.time)
        self._began = moment
        attended = self.scene.attended
        self._deadline = (
            moment + self._step_s if attended is None else attended.after(moment, self._step_s)
        )

    @property
    def due(self) -> float:
        return self._deadline if self._nobody.quiet else inf

    def pass_time(self, now: float) -> None:
        if now >= self._deadline and self._nobody.quiet and self._step_s is not None:
            hours = self._step_s / 3600.0
            said = f"no B check or step for {hours:g} h of attended time (plan.step_time)"
            self.board.tell(self._nobody, True, self._deadline, said)


def _hold(now: Moment) -> bool:
    return now.phase == "saturation" and now.step == "hold"


def _thinned(inflow: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """At most some dozens of points; the last third of a hold is looked at, not its noise."""
    return inflow if len(inflow) <= 120 else inflow[::2]


def _steady(inflow: tuple[tuple[float, float], ...]) -> bool:
    """Whether water flowed in at a rate that did not fall off."""
    if len(inflow) < 6:
        return False
    begin, end = inflow[0][0], inflow[-1][0]
    third = (end - begin) / 3.0
    if third < 1200.0:
        return False
    at = [
        min(inflow, key=lambda one: abs(one[0] - moment))
        for moment in (begin + third, begin + 2.0 * third, end)
    ]
    middle, last = (3600.0 * (b[1] - a[1]) / max(b[0] - a[0], 1.0) for a, b in (at[:2], at[1:]))
    return last > STEADY_ML_H and last > STEADY * middle
