"""A whole test as other instruments and loggers would have written it: the same numbers.

The rehearsed log is written anew in another form each time; what `reduce` makes of it is compared
with what it makes of the first form.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from reduce.record import Record
from reduce.reduction.stages import reduce_stages
from tui.bench.look import look
from tui.bench.one_test import read_test
from tui.bench.picture import Cell
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.settings.places import find_place, read_layout

Table = dict[str, list[str]]
"""By name, a column of the log."""
UNITS = {
    "cell_pressure": "kPa",
    "back_pressure": "kPa",
    "pore_pressure": "kPa",
    "back_volume": "ml",
    "axial_displacement": "mm",
    "axial_load": "N",
}
NUMBERS = {name: f'{{ column = "{name}_{unit}", unit = "{unit}" }}' for name, unit in UNITS.items()}
PLAIN = NUMBERS | {"drainage": '{ column = "drainage" }'}


@dataclass
class Form:
    """How a log is written."""

    files: dict[str, Table]
    channels: dict[str, str]
    log: str = ""


@pytest.fixture(scope="module")
def rehearsed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("rehearsed") / "bench"
    order = Order(cells=1, soil="silty-clay", rows="steady", every_s=30.0, kind="CU")
    write_bench(compose(order), root, None)
    return root


def table_of(root: Path) -> Table:
    lines = [
        line
        for file in sorted(root.glob("C1/*.csv"))
        for line in file.read_text().splitlines()
        if not line.startswith("time")
    ]
    header = next(root.glob("C1/*.csv")).read_text().splitlines()[0].split(",")
    return dict(
        zip(header, map(list, zip(*(x.split(",") for x in lines), strict=True)), strict=True)
    )


def written(rehearsed: Path, root: Path, form: Form) -> Path:
    cell = root / "C1"
    cell.mkdir(parents=True)
    (root / "bench.toml").write_text((rehearsed / "bench.toml").read_text())
    channels = "\n".join(f"{name} = {text}" for name, text in form.channels.items())
    settings = (rehearsed / "C1" / "cell.toml").read_text()
    (cell / "cell.toml").write_text(
        settings.replace('rows = "steady"\n', f'rows = "steady"\n{form.log}\n').replace(
            "[test]\n", f"[log.channels]\n{channels}\n\n[test]\n"
        )
    )
    for name, table in form.files.items():
        rows = [",".join(table), *map(",".join, zip(*table.values(), strict=True)), ""]
        (cell / name).write_text("\n".join(rows))
    return root


def record_of(root: Path) -> Record:
    layout = read_layout(root)
    read = read_test(layout, find_place(layout, "C1"))
    assert [p for p in read.problems if p.severity == "error"] == []
    return read.record


def plain(table: Table) -> Form:
    return Form({"all.csv": table}, PLAIN)


def clock_ahead(table: Table) -> Form:
    ahead = [shifted(stamp, 95.0) for stamp in table["time"]]
    return Form({"all.csv": table | {"time": ahead}}, PLAIN, 'time = { offset = "-95 s" }')


def shifted(stamp: str, seconds: float) -> str:
    return (datetime.fromisoformat(stamp) + timedelta(seconds=seconds)).isoformat()


def power_cuts(table: Table) -> Form:
    """The count begins again in each of three files; each is named after its start."""
    files = {}
    ends = [0, 700, 1500, len(table["time"])]
    for first, last in pairwise(ends):
        part = {name: column[first:last] for name, column in table.items()}
        start = datetime.fromisoformat(part.pop("time")[0])
        stamps = [datetime.fromisoformat(stamp) for stamp in table["time"][first:last]]
        counted = [f"{(stamp - start).total_seconds():.0f}" for stamp in stamps]
        files[f"run_{start:%Y-%m-%d_%H%M%S}.csv"] = {"t": counted} | part
    return Form(files, PLAIN, 'time = { column = "t", kind = "elapsed s", start = "file name" }')


def curved_gauge(table: Table) -> Form:
    """A gauge that shows half of what it moves below 4 mm and a quarter beyond."""
    raw = []
    for text in table["axial_displacement_mm"]:
        true = float(text)
        raw.append(f"{true / 2.0 if true < 4.0 else 2.0 + (true - 4.0) / 4.0:.6f}")
    moved = table | {"axial_displacement_mm": raw}
    gauge = NUMBERS["axial_displacement"].replace(
        " }", ", table = [[0, 0.0], [2, 4.0], [12, 44.0]] }"
    )
    return Form({"all.csv": moved}, PLAIN | {"axial_displacement": gauge})


def two_load_cells(table: Table) -> Form:
    """A fine one that stops at 80 N, and one in kN; the log writes what each shows."""
    loads = [float(text) for text in table["axial_load_N"]]
    both = {name: column for name, column in table.items() if name != "axial_load_N"} | {
        "F1": [f"{min(load, 80.0):.1f}" for load in loads],
        "F2": [f"{load / 1000.0:.4f}" for load in loads],
    }
    gauges = (
        '[ { column = "F2", unit = "kN", range = "0 to 10 kN" },'
        ' { column = "F1", unit = "N", range = "0 to 80 N" } ]'
    )
    return Form({"all.csv": both}, PLAIN | {"axial_load": gauges})


def two_burettes(table: Table) -> Form:
    """One at each end of the specimen, both counting what leaves it."""
    volumes = [float(text) for text in table["back_volume_ml"]]
    both = {name: column for name, column in table.items() if name != "back_volume_ml"} | {
        "V1": [f"{20.0 - 0.25 * volume:.5f}" for volume in volumes],
        "V2": [f"{30.0 - 0.75 * volume:.5f}" for volume in volumes],
    }
    gauge = '{ columns = ["V1", "V2"], combine = "sum", unit = "ml", sign = -1, zero = "50 ml" }'
    return Form({"all.csv": both}, PLAIN | {"back_volume": gauge})


FORMS: dict[str, Callable[[Table], Form]] = {
    "a clock that is ahead": clock_ahead,
    "elapsed time that begins again after a power cut": power_cuts,
    "a calibration table": curved_gauge,
    "load cells of two ranges": two_load_cells,
    "two burettes": two_burettes,
}


@pytest.fixture(scope="module")
def first(rehearsed: Path, tmp_path_factory: pytest.TempPathFactory) -> Record:
    root = tmp_path_factory.mktemp("plain") / "bench"
    return record_of(written(rehearsed, root, plain(table_of(rehearsed))))


@pytest.mark.parametrize("name", FORMS)
def test_the_same_test_in_another_form(
    rehearsed: Path, first: Record, tmp_path: Path, name: str
) -> None:
    form = FORMS[name](table_of(rehearsed))
    record = record_of(written(rehearsed, tmp_path / "bench", form))
    assert record.times_s.tolist() == first.times_s.tolist()
    assert record.stages == first.stages
    for channel, column in first.channels.items():
        if channel in form.channels:
            assert record.channels[channel] == pytest.approx(column, abs=2e-4), channel
    ours, theirs = reduce_stages(record), reduce_stages(first)
    assert ours.saturation is not None
    assert theirs.saturation is not None
    assert ours.saturation.B == theirs.saturation.B
    assert ours.consolidation is not None
    assert theirs.consolidation is not None
    assert ours.consolidation.volume_change_ml == pytest.approx(
        theirs.consolidation.volume_change_ml, abs=1e-3
    )
    assert ours.shear is not None
    assert theirs.shear is not None
    peaks = [s.shear.peak_deviator for s in (ours, theirs) if s.shear is not None]
    assert peaks[0] is not None
    assert peaks[1] is not None
    assert peaks[0].deviator_kPa == pytest.approx(peaks[1].deviator_kPa, rel=1e-4)


def test_one_transducer_switched_by_a_valve(rehearsed: Path, first: Record, tmp_path: Path) -> None:
    """Behind a closed valve it shows pore pressure, so back pressure is known only before."""
    table = table_of(rehearsed)
    one = {name: column for name, column in table.items() if not name.startswith("back_pressure")}
    form = Form({"all.csv": one}, PLAIN | {"back_pressure": '{ same_as = "pore_pressure" }'})
    record = record_of(written(rehearsed, tmp_path / "bench", form))
    back, pore = record.channels["back_pressure"], record.channels["pore_pressure"]
    assert back.tolist() == pore.tolist() == first.channels["pore_pressure"].tolist()
    ours, theirs = reduce_stages(record), reduce_stages(first)
    assert ours.saturation is not None
    assert theirs.saturation is not None
    assert pytest.approx(theirs.saturation.B, abs=0.01) == ours.saturation.B
    assert ours.consolidation is not None
    assert theirs.consolidation is not None
    assert ours.consolidation.volume_change_ml == pytest.approx(
        theirs.consolidation.volume_change_ml, abs=0.1
    )


def test_a_live_file_feeds_live_values_and_nothing_else(
    rehearsed: Path, first: Record, tmp_path: Path
) -> None:
    table = table_of(rehearsed)
    half = len(table["time"]) // 2
    so_far = {name: column[:half] for name, column in table.items()}
    form = Form({"all.csv": so_far}, PLAIN, 'live = "live.csv"')
    root = written(rehearsed, tmp_path / "bench", form)

    def seen(row: Table | None) -> tuple[Cell, Record]:
        live = root / "C1" / "live.csv"
        live.unlink(missing_ok=True)
        if row is not None:
            live.write_text("\n".join([",".join(row), ",".join(v[0] for v in row.values()), ""]))
        return look(root).cells[0], record_of(root)

    row = {name: [column[-1]] for name, column in so_far.items()}
    row |= {
        "time": [shifted(so_far["time"][-1], 12.0)],
        "back_volume_ml": ["-31.5"],
        "cell_pressure_kPa": ["601.25"],
        "axial_displacement_mm": ["9.5"],
    }
    without, record = seen(None)
    with_it, same = seen(row)
    assert with_it.live is not None
    assert without.live is not None
    assert with_it.live.at == without.live.at + 12.0
    assert (with_it.live.back_volume_ml, with_it.live.cell_pressure_kPa) == (-31.5, 601.25)
    assert with_it.live.axial_displacement_mm == 9.5
    quiet = [p for p in without.problems if "live file" not in p.what]
    assert replace(with_it, live=None) == replace(without, live=None, problems=tuple(quiet))
    assert same.times_s.tolist() == record.times_s.tolist() == first.times_s[:half].tolist()
    for name, column in record.channels.items():
        assert same.channels[name].tolist() == column.tolist()
    assert (same.stages, same.checks, same.missed_readings) == (
        record.stages, record.checks, record.missed_readings,
    )  # fmt: skip
    # A live row older than the newest reading tells nothing.
    old, _ = seen(row | {"time": [shifted(so_far["time"][-1], -12.0)]})
    assert old.live == without.live


def test_live_volume_and_travel_go_on_where_the_gauges_were_moved(
    rehearsed: Path, tmp_path: Path
) -> None:
    table = table_of(rehearsed)
    half = len(table["time"]) // 2
    moved = {name: column[:half] for name, column in table.items()}
    volumes = [float(text) for text in moved["back_volume_ml"]]
    moved["back_volume_ml"] = [
        f"{volume + (0.0 if k < half - 5 else 40.0):.3f}" for k, volume in enumerate(volumes)
    ]
    gauge = NUMBERS["back_volume"].replace(" }", ', stroke = "-50 to 50 ml", refill = "3 ml" }')
    form = Form({"all.csv": moved}, PLAIN | {"back_volume": gauge}, 'live = "live.csv"')
    root = written(rehearsed, tmp_path / "bench", form)
    row = {name: column[-1] for name, column in moved.items()}
    row["time"] = shifted(row["time"], 12.0)
    (root / "C1" / "live.csv").write_text("\n".join([",".join(row), ",".join(row.values()), ""]))
    live = look(root).cells[0].live
    assert live is not None
    flow = volumes[half - 5] - volumes[half - 6]
    assert live.back_volume_ml == pytest.approx(volumes[-1] - flow, abs=1e-6)
    assert live.stroke_left_ml == pytest.approx(50.0 - float(row["back_volume_ml"]))
