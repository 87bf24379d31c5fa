"""Pressures that read something while everything is vented."""

from math import isnan

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.levels import PRESSURES, spoken
from tui.bench.alarms.scene import Moment, Rule, Scene


class ZeroOffset(Rule):
    """Only who says that the cell is vented, by a mark or in the log, has this judged."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "zero-offset"
        self._most: dict[str, float] = {}
        for name in PRESSURES:
            low, high = scene.ends.get(name, (0.0, 0.0))
            far = max((abs(end) for end in (low, high) if abs(end) < float("inf")), default=0.0)
            self._most[name] = max(limits(kind, "by"), limits(kind, "share") * far)
        self._conditions = {
            name: board.condition(kind, "warning", about=name, rows=limits(kind, "rows"))
            for name in PRESSURES
        }

    def add(self, now: Moment) -> None:
        if now.step != "vented":
            return
        for name, most in self._most.items():
            value: float = getattr(now.reading, name)
            if not isnan(value):
                said = f"{spoken(name)} {value:.1f} kPa while vented, limit {most:.1f} kPa"
                self.board.tell(self._conditions[name], abs(value) > most, now.time, said)
