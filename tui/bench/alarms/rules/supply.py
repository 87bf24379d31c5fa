"""The part that one cell shows of a supply that is lost: cell or back pressure falls quickly.

Alone it is no alarm: `alarms/shared.py` asks whether another cell of the supply has it, too.
"""

from math import inf, isnan

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.levels import spoken
from tui.bench.alarms.scene import Moment, Rule, Scene

WATCHED = ("cell_pressure", "back_pressure")


class _Top:
    """The greatest value of some time, by what can still become it; newest last."""

    def __init__(self) -> None:
        self.points: list[tuple[float, float]] = []
        self.lost_from = inf
        """What it was when it fell, while it has not come back. [kPa]"""

    def copy(self) -> "_Top":
        other = _Top()
        other.points, other.lost_from = list(self.points), self.lost_from
        return other

    def add(self, time: float, value: float, within_s: float) -> float:
        """The greatest value within the time, or of the row before where rows are rarer."""
        points = self.points
        while len(points) > 1 and points[0][0] < time - within_s:
            del points[0]
        top = points[0][1] if points else value
        while points and points[-1][1] <= value:
            points.pop()
        points.append((time, value))
        return top


class PressureFalls(Rule):
    """A let-down after shear is told as the end of the test, and so no fall."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "supply-lost"
        self._fall, self._within = limits(kind, "fall"), limits(kind, "within")
        self._clear = limits(kind, "clear")
        self._tops = {name: _Top() for name in WATCHED}
        self._lost = {name: board.condition(kind, "urgent", about=name) for name in WATCHED}

    def add(self, now: Moment) -> None:
        reading = now.reading
        shared = now.told.aims.one_transducer and not now.drains
        for name, value in zip(
            WATCHED, (reading.cell_pressure, reading.back_pressure), strict=True
        ):
            if isnan(value) or (shared and name == "back_pressure"):
                continue
            top, one = self._tops[name], self._lost[name]
            was = top.add(now.time, value, self._within)
            if one.quiet:
                so, top.lost_from = was - value > self._fall, was
            else:
                so = value < top.lost_from - self._clear
            said = ""
            if so and one.quiet:
                said = (
                    f"{spoken(name)} fell from {was:.1f} to {value:.1f} kPa, limit "
                    f"{self._fall:.1f} kPa within {self._within / 60.0:g} min"
                )
            self.board.tell(one, so, now.time, said)
