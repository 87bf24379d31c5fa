"""How the folds of a cell stood at some row, put aside in few bytes."""

from dataclasses import dataclass
from typing import Any

from tui.bench.frozen import packed, unpacked
from tui.bench.readings import Reading


@dataclass(frozen=True, slots=True, eq=False)
class Stood:
    """How the folds stood at some row."""

    rows: int
    time: float
    """Of that row. [s]"""
    _packed: bytes

    @staticmethod
    def of(rows: int, last: Reading, folds: dict[str, Any]) -> "Stood":
        """As they stand; they are packed, because they are seldom asked for."""
        return Stood(rows, last.time, packed((last, folds)))

    def folds(self) -> tuple[Reading, dict[str, Any]]:
        """The reading at which they stood, and the folds."""
        last, folds = unpacked(self._packed)
        return last, folds
