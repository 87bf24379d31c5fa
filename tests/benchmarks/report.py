"""A report of a set of four against matplotlib alone, and against reducing the four without it."""

import pickle
import re
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from pairs import Ratio, process_seconds, ratio

from tui.commands.main import run
from tui.papers.report.paper import Wish, paper_of
from tui.papers.report.said import Charts
from tui.papers.subject import Asked, subject_of
from tui.settings.places import find_place, read_layout
from tui.words import Manner

CELLS = ("C1", "C2", "C3", "C4")

OURS = """
import pickle, sys
from pathlib import Path
from tui.papers.report.paper import Wish, paper_of
from tui.words import Manner
source, out = map(Path, sys.argv[1:])
paper = paper_of(pickle.loads(source.read_bytes()), Manner(), Wish())
if out.suffix == ".pdf":
    from tui.papers.report.pdf import pdf_of
    out.write_bytes(pdf_of(paper))
else:
    from tui.papers.report.html import html_of
    out.write_bytes(html_of(paper))
"""
BARE = """
import sys
import numpy as np
from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
x = np.linspace(0.0, 15.0, 150)
for number in range(int(sys.argv[1])):
    figure = Figure(figsize=(6.7, 3.1))
    axes = figure.add_subplot()
    for power in (0.5, 1.0, 1.5):
        axes.plot(x, x**power, label=str(power))
    axes.set_xlabel("strain [%]")
    axes.set_ylabel("stress [kPa]")
    axes.grid(True)
    axes.legend()
    canvas = FigureCanvasPdf if sys.argv[2] == "pdf" else FigureCanvasSVG
    canvas(figure).print_figure(sys.argv[3] + str(number), format=sys.argv[2])
"""


def _bench(folder: Path) -> Path:
    """Four undrained specimens of one set."""
    bench = folder / "bench"
    assert run(["rehearse", "--out", str(bench), "--cells", "4", "--kind", "CU"]) == 0
    for cell in CELLS:
        path = bench / cell / "cell.toml"
        path.write_text(re.sub(r"(?m)^set = .*", 'set = "S"', path.read_text("utf-8")), "utf-8")
    return bench


def measure() -> Iterator[Ratio]:
    """Whole processes; those without a command begin with tests that are reduced already."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bench = _bench(folder)
        layout = read_layout(bench)
        subjects = [subject_of(Asked(cell, layout, find_place(layout, cell))) for cell in CELLS]
        kept = folder / "subjects"
        kept.write_bytes(pickle.dumps(subjects))
        paper = paper_of(subjects, Manner(), Wish())
        figures = sum(
            len(part.charts)
            for section in paper.sections
            for part in section.parts
            if isinstance(part, Charts)
        )

        def ours(kind: str) -> float:
            return process_seconds("-c", OURS, str(kept), str(folder / f"set.{kind}"))

        def bare(kind: str) -> float:
            form = "pdf" if kind == "pdf" else "svg"
            return process_seconds("-c", BARE, str(figures), form, str(folder / "bare"))

        def whole(kind: str, *cells: str) -> float:
            words = ("report", *cells, "--bench", str(bench), "--out", str(folder / f"a.{kind}"))
            return process_seconds("-m", "tui.commands.main", *words)

        def reduced() -> float:
            words = ("reduce", "C1", "--bench", str(bench), "--out", str(folder / "numbers"))
            return process_seconds("-m", "tui.commands.main", *words)

        what = f"of a set of four / matplotlib alone, {figures} figures"
        for kind in ("pdf", "html"):
            named = f"{kind.upper()} {what}"
            from_logs = partial(whole, kind, *CELLS)
            yield ratio(f"report as {named}", partial(ours, kind), partial(bare, kind), pairs=5)
            yield ratio(f"`report` as {named}", from_logs, partial(bare, kind), pairs=5)
        one = partial(whole, "pdf", "C1")
        yield ratio("`report` of one test / `reduce --out` of it", one, reduced, pairs=3)
