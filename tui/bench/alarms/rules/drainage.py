"""The drainage valve that stands the other way, and drainage through which nothing flows.

Common practice, no source, where nothing else is said.
"""

from math import isnan
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.readings import NAN, Reading

KIND = "drainage-state"
STOOD_S = 120.0
"""A pressure has to have stood so long before a check tells anything, as for its B. [s]"""
RISE_KPA = 10.0
"""A rise of cell pressure, or of the deviator, from which pore pressure has to answer. [kPa]"""
FLOWS_ML = 0.1
"""Volume that a closed valve does not let through: ten counts of the usual gauge. [ml]"""
DILATES = 0.0025
"""A specimen that dilates draws in more than this share of its volume; less may be a leak. [-]"""
NOTHING_ML = 0.03
"""Volume that is noise of the usual gauge. [ml]"""
LINE_S = 60.0
"""What flows so soon after drainage was opened is the line's, which lets go of its pressure: behind
a blocked stone it is all. [s]"""
SOON, APART = 2.0, 0.75
"""Of the on-delay: so soon it is read what the line has given, and so much later what flowed since.
Drainage may have been seen to open only then. [-]"""
STANDS = 0.9
"""Above this share of it the excess is all there: whatever is drained, it has not fallen. [-]"""
FEW = 3
"""Readings whose median is less noisy than each."""
HEAD_KPA = 5.0
"""Excess pore pressure that drives water out if it can. [kPa]"""
FELL = 0.1
"""Pore pressure that has lost this share of its excess drains. [-]"""
EXPECTED, EXPECTED_ML = 0.15, 0.3
"""Of what has left until then, at least this share leaves in the next e-fold of time while a tenth
of the excess is left (drainage theory: 0.17 at T = 1); less than `EXPECTED_ML` of it is not looked
for."""
BLOCKED = 0.1
"""Flow below this share of what is expected is none. [-]"""
LOOK_S = 10.0


class DrainageState(Rule):
    """A check or an undrained shear that drains, a consolidation that does not."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits = scene.limits
        self._b, self._on = limits(KIND, "B"), limits(KIND, "on")
        self._open = board.condition(KIND, "urgent", reason="open", delay_s=self._on)
        self._closed = board.condition(KIND, "urgent", reason="closed", delay_s=self._on)
        self._zero: Reading | None = None
        """Of the check or shear: the last reading before pressure or load rose."""
        self._first_ml = NAN
        """Back volume as it was read first in a check: the reading before it may be a live one,
        which tells no volume. [ml]"""
        self._answered = False
        """Whether pore pressure has answered this rise: what drains later was opened by hand."""
        self._seen: tuple[tuple[float, float], ...] = ()
        """(time, back volume) of the step, thinned."""
        self._refilled = 0.0
        """What the gauge shows more than has flowed, by its refills. [ml]"""
        self._first: tuple[float, ...] = ()
        """Back volumes when the line had just let go of its pressure. [ml]"""
        self._first_at = NAN
        """When the last of them was read. [s]"""
        self._lately: tuple[float, ...] = ()
        self._area_mm2 = 1000.0 * scene.aims.volume_ml / scene.aims.height_mm
        self._dilates_ml = max(FLOWS_ML, DILATES * scene.aims.volume_ml)
        self._looked = 0.0

    def begin(self, now: Moment) -> None:
        self._seen, self._zero, self._looked = (), None, 0.0
        self._first_ml, self._answered = NAN, False
        self._first = self._lately = ()
        if now.step in ("b-check", "build-up"):
            self._zero = now.told.cell.before
        elif now.phase == "shear":
            self._zero = now.told.zero_strain

    def add(self, now: Moment) -> None:
        reading = now.reading
        if now.live or isnan(reading.back_volume) or now.time - self._looked < LOOK_S:
            return
        self._looked = now.time
        refilled = now.gauge("back_volume") - reading.back_volume
        if abs(refilled - self._refilled) > NOTHING_ML:
            # What flowed while it was refilled is not known.
            self._refilled, self._seen = refilled, ()
            self._first = self._lately = ()
        if now.step in ("b-check", "build-up"):
            self._check(now)
        elif now.phase == "shear" and now.told.aims.test == "CU":
            self._shear(now)
        elif now.phase == "consolidation" and now.step == "drained":
            self._drained(now)
        else:
            return
        seen = self._seen
        if len(seen) < 2 or now.time - seen[-1][0] >= 0.02 * (now.time - seen[0][0]):
            self._seen = (*seen, (now.time, reading.back_volume))

    def _check(self, now: Moment) -> None:
        cell = now.told.cell
        if cell.before is not None and cell.before.time >= now.step_since - 600.0:
            if self._zero is None or cell.before.time != self._zero.time:
                self._answered = False
            self._zero = cell.before  # of several rises the latest is the check
        if isnan(self._first_ml):
            self._first_ml = now.reading.back_volume
        if self._zero is None or cell.moving or cell.stood_since is None:
            return
        rise = now.reading.cell_pressure - self._zero.cell_pressure
        answer = now.reading.pore_pressure - self._zero.pore_pressure
        if isnan(rise - answer) or rise < RISE_KPA or now.time - cell.stood_since < STOOD_S:
            return
        before_ml = self._zero.back_volume
        flowed = now.reading.back_volume - (self._first_ml if isnan(before_ml) else before_ml)
        self._answered |= answer >= self._b * rise
        so = not self._answered and abs(flowed) > FLOWS_ML
        said = (
            f"B {answer / rise:.2f} (limit {self._b:g}) while {abs(flowed):.2f} ml flowed: "
            "drainage seems to be open"
        )
        self.board.tell(self._open, so, now.time, said, cell.stood_since)

    def _shear(self, now: Moment) -> None:
        """Water leaves, or comes while pore pressure does not answer.

        No leak pushes water back into the gauge; one that draws it out says nothing of the valve.
        """
        zero = now.told.zero_strain
        if zero is None or now.step != "shear":
            return
        deviator = 1000.0 * (now.reading.axial_load - zero.axial_load) / self._area_mm2
        answer = abs(now.reading.pore_pressure - zero.pore_pressure)
        flowed = now.reading.back_volume - zero.back_volume
        if isnan(deviator - answer) or isnan(flowed):
            return
        silent = deviator >= RISE_KPA and answer < self._b * deviator
        so = flowed < -FLOWS_ML or (silent and flowed > self._dilates_ml)
        said = (
            f"{abs(flowed):.2f} ml flowed {'out of' if flowed < 0.0 else 'into'} the specimen "
            f"(limit {FLOWS_ML} ml) at a deviator of {deviator:.0f} kPa, pore pressure changed by "
            f"{answer:.1f} kPa: drainage seems to be open in an undrained shear"
        )
        self.board.tell(self._open, so, now.time, said)

    def _drained(self, now: Moment) -> None:
        zero = now.told.zero_consolidation
        if zero is None or isnan(zero.back_volume):
            return
        head = zero.pore_pressure - zero.back_pressure
        if not head > HEAD_KPA:
            # Without a known excess there is no saying what ought to flow.
            self.board.tell(self._closed, False, now.time)
            return
        flowed = abs(now.reading.back_volume - zero.back_volume)
        left = self._left(now, head)
        nothing = self._nothing(now, zero, flowed, left)
        stopped = left > FELL and left * head > HEAD_KPA and self._has_stopped(now, flowed)
        said = (
            f"{flowed:.2f} ml flowed in {(now.time - zero.time) / 60.0:.0f} min since drainage "
            f"was opened, none of it later than {LINE_S / 60.0:.0f} min (limit {NOTHING_ML} ml), "
            f"with {head:.0f} kPa of excess pore pressure"
            if nothing
            else f"flow has stopped at {flowed:.2f} ml with {left * head:.0f} kPa of excess pore "
            f"pressure left, limit {max(FELL * head, HEAD_KPA):.0f} kPa"
        )
        since = now.step_since if nothing else None
        self.board.tell(self._closed, nothing or stopped, now.time, said, since)

    def _nothing(self, now: Moment, zero: Reading, flowed: float, left: float) -> bool:
        """Whether nothing has flowed since drainage was opened, but for what the line gave."""
        passed = now.time - zero.time
        if passed >= LINE_S:
            if len(self._first) < FEW:
                if passed < SOON * self._on:  # what a refill leaves over tells nothing of the line
                    self._first = (*self._first, now.reading.back_volume)
                    self._first_at = now.time
            elif now.time - self._first_at >= APART * self._on:
                self._lately = (*self._lately[1 - FEW :], now.reading.back_volume)
        most = NOTHING_ML * (2.0 if self._closed.raised else 1.0)
        if flowed <= most:
            return not left < 1.0 - FELL
        if not self._lately or not left > STANDS:
            return False
        return abs(median(self._lately) - median(self._first)) <= most

    def _left(self, now: Moment, head: float) -> float:
        """Share of the excess that is left where it is measured; NaN where it is not.

        Where that end is drained the excess is soon gone there, and tells nothing of the rest; but
        while it is still there, nothing has drained.
        """
        if now.told.aims.one_transducer:
            return NAN
        left = (now.reading.pore_pressure - now.reading.back_pressure) / head
        drainage = self.scene.settings.specimen.drainage
        if drainage is not None and "both ends" in drainage and not left > STANDS:
            return NAN
        return left

    def _has_stopped(self, now: Moment, flowed: float) -> bool:
        """Whether far less flowed lately than what flows while so much excess is left."""
        zero = now.told.zero_consolidation
        assert zero is not None
        passed = now.time - zero.time
        # Long enough for the expected flow to be seen; no longer than since the valve was opened.
        long = max(self._on, EXPECTED_ML / (EXPECTED * max(flowed, 1e-9)) * passed)
        then = [volume for time, volume in self._seen if time <= now.time - long]
        if not then:
            return False
        recent = abs(now.reading.back_volume - then[-1])
        expected = EXPECTED * flowed * long / passed
        return recent < max(BLOCKED * expected, 1e-9) or recent <= NOTHING_ML
