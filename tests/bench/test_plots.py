"""What the plots of a cell are read for agrees with the reduction of the same readings."""

from pathlib import Path

import pytest

from reduce.reduction.whole import reduce_test
from reduce.strength.of_set import strength_of_set
from tui.bench.failed_specimens import failed_specimens
from tui.bench.look import look
from tui.bench.one_test import read_test
from tui.bench.picture import Bench, Cell, Plot
from tui.bench.set_envelopes import in_its_set
from tui.bench.unused import MOST_REASONS, NEWEST, OTHER, Unused
from tui.feed.rows import UnusedRow
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.settings.places import find_place, read_layout

SET = ("C1", "C2", "C3")
SAMPLES = Path(__file__).parents[2] / "sample_logs"


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("set")
    write_bench(compose(Order(cells=6, soil="silty-clay")), folder / "bench", folder / "truth")
    return folder / "bench"


@pytest.fixture(scope="module")
def bench(root: Path) -> Bench:
    return look(root)


@pytest.fixture(scope="module")
def samples() -> Bench:
    return look(SAMPLES)


def plot_of(cell: Cell, title: str) -> Plot:
    return next(plot for plot in cell.plots if plot.title == title)


def test_the_envelope_of_a_set_is_the_line_that_its_strength_has(root: Path, bench: Bench) -> None:
    layout = read_layout(root)
    records = [(name, read_test(layout, find_place(layout, name)).record) for name in SET]
    reductions = [(name, reduce_test(one, with_uncertainty=False)) for name, one in records]
    specimens, _ = failed_specimens(reductions, "peak_deviator")
    line = strength_of_set(specimens, criterion="peak_deviator").methods.stress_points
    assert line is not None
    shown = bench.envelopes[0]
    assert [folder for folder, _, _ in shown.points] == list(SET)
    assert shown.slope == pytest.approx(line.line.slope, rel=1e-9)
    assert shown.intercept_kPa == pytest.approx(line.line.intercept, rel=1e-9)
    assert (shown.c_kPa, shown.phi_deg) == pytest.approx((line.c_kPa, line.phi_deg), rel=1e-9)


def test_a_stress_path_has_its_siblings_and_the_envelope_behind_it(bench: Bench) -> None:
    cell = bench.cells[0]
    path = plot_of(cell, "Stress path t′ against s′")
    drawn = in_its_set(bench, cell, path)
    assert [(one.name, one.style) for one in drawn.series[1:3]] == [
        ("C2", "sibling"), ("C3", "sibling"),
    ]  # fmt: skip
    assert drawn.series[3].name == "envelope of 3"
    at_peak = max(t for _, t in drawn.series[0].points)
    assert cell.failure is not None
    assert cell.failure[1] == pytest.approx(at_peak, rel=0.01)
    (s0, t0), (s1, t1) = drawn.series[3].points
    on_line = t0 + (t1 - t0) * (cell.failure[0] - s0) / (s1 - s0)
    assert on_line == pytest.approx(cell.failure[1], rel=0.1)  # the line passes between the peaks


def test_other_sets_and_other_plots_have_nothing_behind_them(bench: Bench) -> None:
    other = bench.cells[3]
    assert other.set_name != bench.cells[0].set_name
    drawn = in_its_set(bench, other, plot_of(other, "Stress path t′ against s′"))
    names = {one.name for one in drawn.series if one.style == "sibling"}
    assert names == {"C5", "C6"}
    pressures = plot_of(other, "Pressures against time")
    assert in_its_set(bench, other, pressures) is pressures


@pytest.mark.parametrize(("cell", "names"), [("C1", ("t90", "t50")), ("C4", ("t90", "t50"))])
def test_constructed_times_are_those_of_the_reduction(
    root: Path, bench: Bench, cell: str, names: tuple[str, ...]
) -> None:
    """Of the readings that a plot keeps; the choice of lines is finer where there are more."""
    layout = read_layout(root)
    record = read_test(layout, find_place(layout, cell)).record
    found = reduce_test(record, with_uncertainty=False).stages.consolidation
    assert found is not None
    known = {"t90": found.methods.root_time.t90_min, "t50": found.methods.log_time.t50_min}
    own = next(one for one in bench.cells if one.cell == cell)
    told = {figure.name: figure.value for figure in own.figures}
    for name in names:
        assert told[name] == pytest.approx(known[name], rel=0.02)
    marks = {name: x for plot in own.plots for name, x, _ in plot.marks}
    assert marks["t90"] ** 2 == pytest.approx(told["t90"], rel=1e-9)
    assert marks["t50"] == pytest.approx(told["t50"], rel=1e-9)


def test_what_is_not_used_is_counted_by_reason_within_bounds() -> None:
    rows = [UnusedRow("a.csv", k, f'unreadable time "{k}"') for k in range(20)]
    rows += [UnusedRow("a.csv", 20 + k, f"{k} fields under 7 columns") for k in range(30)]
    found = Unused().plus(rows[:7]).plus(rows[7:])
    assert found == Unused().plus(rows)
    assert found.count == 50
    assert len(found.reasons) == MOST_REASONS + 1
    assert dict(found.reasons)["unreadable time"] == 20
    assert dict(found.reasons)[OTHER] == 30 - (MOST_REASONS - 1)
    assert [row.line for row in found.newest] == list(range(50 - NEWEST, 50))


def test_pore_pressure_has_the_level_at_which_consolidation_ends(samples: Bench) -> None:
    """95 % of the excess that was there when drainage opened is gone, at an end that is closed."""
    third, fourth = samples.cells[2], samples.cells[3]
    plot = plot_of(third, "Pore pressure against root time")
    assert plot.target is not None
    name, level = plot.target
    assert name == "95 % dissipated"
    first = plot.series[0].points[0][1]
    assert level == pytest.approx(first - 0.95 * (first - 260.2), abs=0.2)
    # where both ends drain the gauge reads the back pressure: nothing is dissipated there
    assert plot_of(fourth, "Pore pressure against root time").target is None


@pytest.mark.parametrize("name", ["C4", "C5"])
def test_what_is_drawn_of_a_sample_is_what_its_reduction_says(samples: Bench, name: str) -> None:
    """Lines, marks and figures of an undrained and a drained test that are being sheared."""
    layout = read_layout(SAMPLES)
    found = reduce_test(read_test(layout, find_place(layout, name)).record, with_uncertainty=False)
    consolidation, shear = found.stages.consolidation, found.stages.shear
    assert consolidation is not None
    assert shear is not None
    assert shear.peak_deviator is not None
    cell = next(one for one in samples.cells if one.cell == name)
    figures = {(figure.name, figure.basis.split(",")[0]): figure for figure in cell.figures}
    peak = shear.peak_deviator
    assert peak.axial_strain is not None
    told = figures["greatest q", f"at ε₁ {100.0 * peak.axial_strain:.2f} %"]
    assert told.value == pytest.approx(peak.deviator_kPa, rel=1e-9)
    assert told.basis.endswith(", so far")  # neither has reached its strain limit
    methods = consolidation.methods
    for title, method, log in (
        ("Volume change against root time", methods.root_time, False),
        ("Volume change against log time", methods.log_time, True),
    ):
        plot = plot_of(cell, title)
        drawn = {one.name: one.points for one in plot.series if one.style == "construction"}
        # a reduction constructs by another rule as well, after these; its early line is another
        lines = {line.name: line.points for line in reversed(method.lines)}
        assert drawn.keys() <= lines.keys()
        for name_of_line, points in drawn.items():
            wanted = [(10.0**x if log else x, y) for x, y in lines[name_of_line]]
            for own, other in zip(points, wanted, strict=True):
                assert own == pytest.approx(other, rel=1e-6)
        for mark, x, _ in plot.marks:
            minutes = getattr(method, f"{mark}_min")
            assert (x if log else x * x) == pytest.approx(minutes, rel=1e-6)
