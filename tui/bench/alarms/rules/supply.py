"""The part that one cell shows of a supply that is lost: cell or back pressure falls quickly.

Alone it is no alarm: `alarms/shared.py` asks whether another cell of the supply has it, too.
"""

from itertools import pairwise
from math import inf, isnan

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.levels import spoken
from tui.bench.alarms.scene import Moment, Rule, Scene

WATCHED = ("cell_pressure", "back_pressure")
STANDS = 0.25
"""Of a fall: what changes by less before it and after it stands. [-]"""
ROWS = 5
"""So many show a fall with a reading in its midst: it stands, falls twice, and stands."""


class _Readings:
    """Those among which a fall of some time may lie: it began and ended between two of them."""

    def __init__(self) -> None:
        self.rows: list[tuple[float, float]] = []
        self.lost_from = inf
        """What it was when it fell, while it has not come back. [kPa]"""

    def copy(self) -> "_Readings":
        other = _Readings()
        other.rows, other.lost_from = list(self.rows), self.lost_from
        return other

    def add(self, time: float, value: float, within_s: float) -> None:
        rows = self.rows
        rows.append((time, value))
        while len(rows) > ROWS and rows[1][0] <= rows[-2][0] - within_s:
            del rows[0]

    def top(self, within_s: float) -> float:
        """The greatest value from which it may have fallen to the newest within the time.

        It may have ended just after the reading before; where readings are rarer than that, it is
        the one before that counts.
        """
        rows = self.rows
        if len(rows) < 2:
            return rows[-1][1]
        (before, was), (now, _) = rows[-2:]
        if now - before >= within_s:
            return was
        since = before - within_s
        return max(one[1] for one, later in pairwise(rows) if later[0] > since)

    def in_two(self) -> tuple[float, float, float]:
        """A fall with a reading in its midst: from where to where, and when that was seen.

        Where readings are rare neither of its two intervals need show enough of it. That it is no
        slow fall shows with the next reading: before and after it stands. Nothing: all are 0.
        """
        if len(self.rows) >= ROWS:
            (_, before), (_, high), _, (time, low), (_, after) = self.rows[-ROWS:]
            if max(abs(before - high), abs(after - low)) < STANDS * (high - low):
                return high, low, time
        return 0.0, 0.0, 0.0


class PressureFalls(Rule):
    """A let-down after shear is told as the end of the test, and so no fall."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "supply-lost"
        self._fall, self._within = limits(kind, "fall"), limits(kind, "within")
        self._clear = limits(kind, "clear")
        self._seen = {name: _Readings() for name in WATCHED}
        self._lost = {name: board.condition(kind, "urgent", about=name) for name in WATCHED}

    def add(self, now: Moment) -> None:
        reading = now.reading
        shared = now.told.aims.one_transducer and not now.drains
        for name, value in zip(
            WATCHED, (reading.cell_pressure, reading.back_pressure), strict=True
        ):
            if isnan(value) or (shared and name == "back_pressure"):
                continue
            seen, one = self._seen[name], self._lost[name]
            seen.add(now.time, value, self._within)
            if not one.quiet:
                self.board.tell(one, value < seen.lost_from - self._clear, now.time)
                continue
            high, low, since = seen.top(self._within), value, now.time
            if high - low <= self._fall:
                high, low, since = seen.in_two()
            seen.lost_from = high
            if high - low <= self._fall:
                self.board.tell(one, False, now.time)
                continue
            said = (
                f"{spoken(name)} fell from {high:.1f} to {low:.1f} kPa, limit "
                f"{self._fall:.1f} kPa within {self._within / 60.0:g} min"
            )
            self.board.tell(one, True, now.time, said, since)
