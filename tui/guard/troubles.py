"""What is wrong with the watch itself: a cell that is not watched, a route that fails, a full disk.

Troubles are told like alarms, once each, and journalled as "duty". They come from the picture's own
problems and from what the watch meets while it works; none of them is a judgement about a test.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from tui.bench.picture import Bench, Cell

PATIENCE_S = 60.0
"""What may be a person at work, or a share that comes back, is told when it has lasted so long."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that keeps the watch from being whole."""

    name: str
    """Says which: "route night phone", "journal", "cell C3"; never a secret."""
    text: str
    """What is wrong and what to do, in one line."""
    priority: Literal["warning", "urgent"] = "urgent"
    patience_s: float = 0.0
    """How long it may last before anybody is told. [s]"""
    cell: str = ""
    """Folder of the cell, if it is about one."""


def is_watched(cell: Cell) -> bool:
    """Whether the cell was evaluated, so that its alarms can come.

    Broken settings, logs that cannot be read, a folder that is gone and a fault of ours are errors
    in the picture: all of them hide what the cell does.
    """
    return cell.idle or not any(problem.severity == "error" for problem in cell.problems)


def all_watched(bench: Bench) -> bool:
    """Whether every cell that is set up was evaluated: only then may a heart beat."""
    return (
        bool(bench.cells)
        and all(is_watched(cell) and not cell.being_read for cell in bench.cells)
        and not any(problem.severity == "error" for problem in bench.problems)
    )


def troubles_of(bench: Bench) -> Iterable[Trouble]:
    """What the picture says of cells, or of the bench, that cannot be watched."""
    for problem in bench.problems:
        if problem.severity == "error":
            yield Trouble(
                f"bench {problem.file or ''}".strip(),
                f"the bench is not watched as a whole: {problem.what}; {problem.remedy}",
                patience_s=PATIENCE_S,
            )
    for cell in bench.cells:
        if not is_watched(cell):
            error = next(one for one in cell.problems if one.severity == "error")
            where = f"{error.file}: " if error.file else ""
            yield Trouble(
                f"cell {cell.folder}",
                f"{cell.cell} is not watched, no alarm of it can come: "
                f"{where}{error.what}; {error.remedy}",
                patience_s=PATIENCE_S,
                cell=cell.folder,
            )
