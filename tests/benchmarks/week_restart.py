"""`watch` begun again on many cells with a week at a row a second each, from their checkpoints.

All cells hold the same log (hard links to one file); each has a checkpoint of its own.
"""

import os
import tempfile
from pathlib import Path

from first_frame import EMPTY
from pairs import Ratio, Terminal, ratio
from row_cost import CELL, LongLog

from tui.bench.cell_fold import CellFold
from tui.bench.checkpoints import Checkpoints
from tui.bench.frozen import written
from tui.feed.source import CellSource
from tui.settings.places import Layout, Place, read_layout

CELLS = int(os.environ.get("RESTART_CELLS", "64"))
ROWS = int(os.environ.get("RESTART_ROWS", "604800"))


def measure() -> list[Ratio]:
    """Time to a filled screen, and memory once all is quiet."""
    with tempfile.TemporaryDirectory() as folder:
        week, one, empty = (Path(folder) / name for name in ("week", "one", "empty"))
        _bench(week, ROWS)
        _bench(one, 300)
        empty.mkdir()
        (empty / "bench.toml").write_text("")
        kept = sum(file.stat().st_size for file in week.rglob("checkpoints/*")) / CELLS
        print(f"checkpoint of {ROWS:,} rows: {kept / 1e3:.0f} kB", flush=True)
        return [
            ratio(
                f"watch of {CELLS} × {ROWS:,} rows, screen filled / of {CELLS} × 300 rows",
                lambda: _filled(week, b"saturation"),
                lambda: _filled(one, b"setup"),
            ),
            ratio(
                "the same / of a bench without cells",
                lambda: _filled(week, b"saturation"),
                lambda: _filled(empty, b"no cell"),
            ),
            _memory(week),
        ]


def _bench(root: Path, rows: int) -> None:
    LongLog(root, rows)
    log = root / "C1" / "log.csv"
    for number in range(2, CELLS + 1):
        cell = root / f"C{number}"
        cell.mkdir()
        (cell / "cell.toml").write_text(CELL.replace('"C1"', f'"C{number}"'))
        (cell / "log.csv").hardlink_to(log)
    layout = read_layout(root)
    checkpoints = Checkpoints(root)
    for place in layout.places if rows > 1000 else ():
        _keep(checkpoints, place, layout)
    checkpoints.close()


def _keep(checkpoints: Checkpoints, place: Place, layout: Layout) -> None:
    assert place.settings is not None
    source = CellSource(place, layout.root, layout.zone)
    fold = CellFold(place.name, place.folder, place.settings, (), layout.zone)
    while (arrived := source.read()) is not None:
        fold = fold.take(arrived)
    checkpoints.save(written(source), fold)


def _filled(root: Path, mark: bytes) -> float:
    terminal = Terminal("-m", "tui.commands.main", "watch", str(root))
    try:
        return terminal.until(mark, within_s=600.0)
    finally:
        terminal.close()


def _memory(week: Path) -> Ratio:
    ours = _resident("-m", "tui.commands.main", "watch", str(week), mark=b"saturation")
    theirs = _resident("-c", f"import numpy\n{EMPTY}", mark=b"an empty app")
    return Ratio(
        f"memory of watch on {CELLS} × {ROWS:,} rows above an empty Textual + numpy",
        ours,
        theirs,
        ours - theirs,
        "MB; the difference is what counts",
    )


def _resident(*arguments: str, mark: bytes) -> float:
    terminal = Terminal(*arguments)
    try:
        terminal.until(mark, within_s=600.0)
        terminal.read(15.0)
        pages = int(Path(f"/proc/{terminal.pid}/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6
    finally:
        terminal.close()
