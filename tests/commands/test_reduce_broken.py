"""`reduce` and `strength` on benches broken on purpose: words and an exit code, never a traceback.

Few draws are made here: the size of the uncertainties is checked elsewhere.
"""

import csv
import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from calling import Called, call

from reduce.reduction import propagation

SAMPLES = Path(__file__).parents[2] / "sample_logs"
COMPUTED, NOTHING, WRONG_USAGE = 0, 1, 64
NO_NUMBER = re.compile(r"\b(nan|inf|infinity|none)\b", re.IGNORECASE)

Row = dict[str, str]
Change = Callable[[int, int, Row], Row | None]
"""From the number of a row, that of all rows and its fields to other fields, or to no row."""


@pytest.fixture(autouse=True)
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(propagation, "DRAWS", 4)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Path]:
    """C4 (undrained) and C5 (drained), both in shear."""
    for cell in ("C4", "C5"):
        shutil.copytree(SAMPLES / cell, tmp_path / "bench" / cell)
    settings = (SAMPLES / "bench.toml").read_text("utf-8")
    feeds = re.sub(r"feeds = .*", 'feeds = ["C4", "C5"]', settings)
    (tmp_path / "bench" / "bench.toml").write_text(feeds, "utf-8")
    yield tmp_path / "bench"


def edited(cell: Path, change: Change) -> None:
    """Change the rows of all logs of a cell."""
    logs = sorted(path for path in cell.iterdir() if path.suffix == ".csv")
    parts = []
    for log in logs:
        lines = log.read_text("utf-8").splitlines()
        begin = next(number for number, line in enumerate(lines) if not line.startswith("#"))
        parts.append((log, lines[: begin + 1], lines[begin].split(","), lines[begin + 1 :]))
    count, number = sum(len(rows) for *_, rows in parts), 0
    for log, kept, names, rows in parts:
        for line in rows:
            found = change(number, count, dict(zip(names, line.split(","), strict=True)))
            number += 1
            if found is not None:
                kept.append(",".join(found[name] for name in names))
        log.write_text("\n".join(kept) + "\n", "utf-8")


def settled(cell: Path, key: str, line: str) -> None:
    """Put another line in the place of a key of the settings."""
    path = cell / "cell.toml"
    text, count = re.subn(rf"(?m)^{key} = .*\n", lambda _: line, path.read_text("utf-8"))
    assert count == 1, key
    path.write_text(text, "utf-8")


def sound(ended: Called) -> dict[str, Any] | None:
    """What any end of a command owes; its JSON where it computed something."""
    assert ended.exit_code in (COMPUTED, NOTHING, WRONG_USAGE), ended.stderr
    lines = ended.stderr.splitlines()
    assert all(line.startswith("porewatch: ") for line in lines), ended.stderr
    if ended.exit_code != COMPUTED:
        assert ended.stdout == ""
        assert lines
        return None
    found = json.loads(ended.stdout, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert isinstance(found, dict)
    return found


def reduced(bench: Path, cell: str, *more: str) -> dict[str, Any] | None:
    return sound(call("reduce", cell, "--json", "--bench", str(bench), *more))


def whats(found: dict[str, Any] | None) -> str:
    assert found is not None
    return "\n".join(one["what"] for one in found["cautions"])


def shear_begins(bench: Path, cell: str, displacement: str) -> int:
    """Number of the row at which the ram begins to move."""
    seen: list[float] = []
    edited(bench / cell, lambda _n, _count, row: seen.append(float(row[displacement])) or row)  # type: ignore[func-returns-value]
    return next(n for n, read in enumerate(seen) if abs(read - seen[0]) > 0.005 * abs(seen[0]))


# -- rows ---------------------------------------------------------------------------------------


def keep(first: int, last: int) -> Change:
    return lambda number, _count, row: row if first <= number < last else None


def put(column: str, value: str, every: int = 1) -> Change:
    return lambda number, _count, row: {**row, column: value} if number % every == 0 else row


ROWS: dict[str, tuple[Change, int]] = {
    "no rows": (keep(0, 0), NOTHING),
    "one row": (keep(0, 1), NOTHING),
    "two rows": (keep(0, 2), NOTHING),
    "saturation alone": (keep(0, 60), COMPUTED),
    "shear alone": (keep(246, 999), COMPUTED),
    "consolidation lost": (
        lambda n, _count, row: row if n < 100 or n >= 246 else None, COMPUTED,
    ),
    "one moment": (
        lambda _n, _count, row: {**row, "Date/Time": "02/04/2031 10:00:00"}, COMPUTED,
    ),
    "no cell pressure": (put("Cell psi", ""), COMPUTED),
    "no back pressure": (put("Back psi", ""), NOTHING),
    "no pore pressure": (put("Pore psi", "OVER"), COMPUTED),
    "no volume": (put("Burette cc", "NaN"), COMPUTED),
    "no displacement": (put("Axial in", "---"), COMPUTED),
    "no load": (put("Load lbf", "OVER"), COMPUTED),
    "volume stands": (put("Burette cc", "50"), COMPUTED),
    "pore pressure stands": (put("Pore psi", "40"), COMPUTED),
    "load stands": (put("Load lbf", "40"), COMPUTED),
    "infinite cell pressure": (put("Cell psi", "inf", 7), COMPUTED),
    "spiked pore pressure": (put("Pore psi", "-1e12", 9), COMPUTED),
    "spiked load": (put("Load lbf", "-1e300", 9), COMPUTED),
    "spiked volume": (put("Burette cc", "1e12", 9), COMPUTED),
}  # fmt: skip


@pytest.mark.parametrize("how", ROWS)
def test_broken_rows(bench: Path, tmp_path: Path, how: str) -> None:
    change, code = ROWS[how]
    edited(bench / "C4", change)
    out = tmp_path / "out"
    ended = call("reduce", "C4", "--json", "--bench", str(bench), "--out", str(out))
    assert ended.exit_code == code, ended.stderr
    if (found := sound(ended)) is None:
        assert "nothing can be reduced of C4" in ended.stderr
        return
    assert json.loads((out / "results.json").read_text("utf-8")) == found
    text = (out / "readings.csv").read_text("utf-8")
    assert not NO_NUMBER.search(text)
    assert len(list(csv.reader(text.splitlines()))) > 1


def test_why_nothing_came_of_it(bench: Path) -> None:
    edited(bench / "C4", put("Back psi", ""))
    ended = call("reduce", "C4", "--bench", str(bench))
    assert "not read: back_pressure" in ended.stderr
    assert len(ended.stderr.splitlines()) == 1


@pytest.mark.parametrize("how", ["no displacement", "spiked pore pressure", "load stands"])
def test_the_page_of_broken_rows(bench: Path, how: str) -> None:
    edited(bench / "C4", ROWS[how][0])
    ended = call("reduce", "C4", "--bench", str(bench), "--ascii", "--units", "US")
    assert ended.exit_code == COMPUTED
    assert ended.stdout.isascii()
    assert not NO_NUMBER.search(ended.stdout)


def test_pore_pressure_above_cell_pressure_leaves_the_set(bench: Path) -> None:
    begin = shear_begins(bench, "C4", "Axial in")

    def above(number: int, _count: int, row: Row) -> Row:
        return {**row, "Pore psi": row["Cell psi"]} if number > begin + 20 else row

    edited(bench / "C4", above)
    assert "σ′3 fell to -1." in whats(reduced(bench, "C4"))
    ended = call("strength", "C4", "C5", "--json", "--bench", str(bench))
    found = sound(ended)
    assert found is not None
    assert "C4 is left out: its σ′3 at failure is -1." in ended.stderr
    assert [one["cell"] for one in found["specimens"]] == ["C5"]


def test_a_ram_that_turned_and_a_load_that_was_never_taken(bench: Path) -> None:
    edited(bench / "C4", put("Load lbf", "1.5"))
    found = reduced(bench, "C4")
    assert found is not None
    assert found["shear"]["peak_deviator"] is None
    assert "no peak_deviator" in whats(found)
    ended = call("strength", "C4", "--bench", str(bench))
    assert ended.exit_code == NOTHING
    assert "C4 is left out, it has no peak_deviator: the deviator" in ended.stderr


def test_what_came_of_zero_strain_before_the_piston_touched(bench: Path) -> None:
    mark = call("mark", "C4", "shear/shear", "--when", "2031-02-04T15:00", "--bench", str(bench))
    assert mark.exit_code == 0, mark.stderr
    assert "strain was counted before the piston touched" in whats(reduced(bench, "C4"))


# -- settings -----------------------------------------------------------------------------------

SETTINGS: dict[str, tuple[str, str, int, str]] = {
    "no drainage": ("drainage", "", COMPUTED, "drainage of the specimen is not stated"),
    "no mass": ("mass", "", COMPUTED, ""),
    "negative mass": ("mass", 'mass = "-3 g"\n', NOTHING, "must be above 0"),
    "dry above moist": ("mass", 'mass = "3 g"\ndry_mass = "9 g"\n', COMPUTED, "moist mass is 3 g"),
    "heavy": ("mass", 'mass = "950 g"\n', COMPUTED, "volume of solids"),
    "two water contents": (
        "mass", 'mass = "339 g"\ndry_mass = "300 g"\n', COMPUTED, "trimmings 46.4 %",
    ),
    "thread": ("diameter", 'diameter = "0.001 mm"\n', COMPUTED, "height over diameter"),
    "disc": ("height", 'height = "0.1 mm"\n', COMPUTED, "axial strain comes out as"),
    "no diameter": ("diameter", "", NOTHING, "diameter is missing"),
    "other standard": ("standard", 'standard = "ASTM D7181"\n', COMPUTED, "kind or standard"),
    "limit of nothing": ("strain_limit", 'strain_limit = "1e-6 %"\n', COMPUTED, "no peak_dev"),
    "soft frame": (
        "frame_compliance", 'frame_compliance = "1 mm/N"\n', COMPUTED, "the ram went back",
    ),
    "no table": ("id", "[plan\n", NOTHING, "not valid TOML"),
}  # fmt: skip


@pytest.mark.parametrize("how", SETTINGS)
def test_broken_settings(bench: Path, how: str) -> None:
    key, line, code, what = SETTINGS[how]
    settled(bench / "C4", key, line)
    ended = call("reduce", "C4", "--json", "--bench", str(bench))
    assert ended.exit_code == code, ended.stderr
    found = sound(ended)
    assert what in (ended.stderr if found is None else whats(found))


@pytest.mark.parametrize("name", ["=1+1", "@SUM(A1)", "ünï ≈ 中文", "x" * 300, "\u202egnp"])
def test_hostile_names(bench: Path, name: str) -> None:
    for key in ("label", "set", "id", "name"):
        written = json.dumps(name, ensure_ascii=False)
        path = bench / "C4" / "cell.toml"
        text = re.sub(rf"(?m)^{key} = .*", lambda _, k=key, w=written: f"{k} = {w}",  # type: ignore[misc]
                      path.read_text("utf-8"), count=1)  # fmt: skip
        path.write_text(text, "utf-8")
    sound(call("reduce", "C4", "--json", "--bench", str(bench)))
    page = call("reduce", "C4", "--ascii", "--bench", str(bench))
    assert page.stdout.isascii()
    assert "\u202e" not in page.stdout + page.stderr


# -- marks and moments --------------------------------------------------------------------------

MARKS: dict[str, tuple[tuple[str, str], ...]] = {
    "shear before all": (("shear", "2031-01-01T00:00"),),
    "ended before consolidation": (("ended", "2031-02-03T16:00"),),
    "ended within consolidation": (("ended", "2031-02-04T15:00"),),
    "consolidation within shear": (("consolidation/drained", "2031-02-05T11:50"),),
    "shear before consolidation": (
        ("shear", "2031-02-04T15:00"), ("consolidation/drained", "2031-02-05T10:21"),
    ),
    "saturation at the end": (("saturation", "2031-02-05T11:50"),),
    "the far future": (("shear", "2099-01-01T00:00"),),
}  # fmt: skip


@pytest.mark.parametrize("how", MARKS)
def test_marks_that_contradict(bench: Path, how: str) -> None:
    for phase, when in MARKS[how]:
        mark = call("mark", "C4", phase, "--when", when, "--bench", str(bench))
        assert mark.exit_code == 0, mark.stderr
    reduced(bench, "C4")


@pytest.mark.parametrize(
    ("at", "code"),
    [
        ("2000-01-01", NOTHING),
        ("2031-02-03T17:47", COMPUTED),
        ("9999-12-31T23:59", COMPUTED),
        ("0001-01-01", WRONG_USAGE),
        ("never", WRONG_USAGE),
    ],
)
def test_any_moment(at: str, code: int) -> None:
    for words in (("reduce", "C4"), ("strength", "C4", "C5")):
        ended = call(*words, "--json", "--at", at, "--bench", str(SAMPLES))
        sound(ended)
        reached = ended.exit_code == code or (words[0] == "strength" and code == COMPUTED)
        assert reached, ended.stderr


# -- places and cells ---------------------------------------------------------------------------


def test_places_that_cannot_be_written(bench: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine", "utf-8")
    (tmp_path / "link").symlink_to(bench / "C5")
    for out, code in (
        (tmp_path / "file", WRONG_USAGE),
        (tmp_path / "file" / "below", NOTHING),
        ("/proc/nothing/here", NOTHING),
        (tmp_path / ("x" * 300), NOTHING),
        ("a\0b", WRONG_USAGE),
        ("", WRONG_USAGE),
        (bench / "C5" / "results", WRONG_USAGE),
        (tmp_path / "link", WRONG_USAGE),
    ):
        ended = call("reduce", "C5", "--json", "--bench", str(bench), "--out", str(out))
        assert ended.exit_code == code, (out, ended.stderr)
        sound(ended)
    assert (tmp_path / "file").read_text("utf-8") == "mine"
    assert not (bench / "C5" / "readings.csv").exists()


@pytest.mark.parametrize(
    "cell", ["C9", "", ".", "/", "C5/none", "C5/../C4", "[red]C5[/]", "\x1b[3m"]
)
def test_cells_that_are_none(cell: str) -> None:
    for command in ("reduce", "strength"):
        ended = call(command, cell, "--json", "--bench", str(SAMPLES))
        assert ended.exit_code == WRONG_USAGE
        assert "\x1b" not in ended.stderr
        sound(ended)


def test_one_test_by_several_names_counts_once() -> None:
    by_path = str(SAMPLES / "C5")
    ended = call("strength", "C5", "C5", "C5/T015", by_path, "--json", "--bench", str(SAMPLES))
    found = sound(ended)
    assert found is not None
    assert [one["cell"] for one in found["specimens"]] == ["C5"]
    assert "C5/T015 is C5 once more" in ended.stderr


@pytest.mark.parametrize(
    ("words", "code", "what"),
    [
        (("C1", "C6"), NOTHING, "C1 is left out, it has no peak_deviator: it has not been sheared"),
        (("C1", "C5"), COMPUTED, "C1 is left out"),
        (("C5", "--criterion", "strain_limit"), NOTHING, "strain reached 6 % of 15 %"),
        (("C5", "--cohesionless"), COMPUTED, ""),
        ((), WRONG_USAGE, "Missing argument"),
    ],
)
def test_sets_that_are_hardly_one(words: tuple[str, ...], code: int, what: str) -> None:
    ended = call("strength", *words, "--json", "--bench", str(SAMPLES))
    assert ended.exit_code == code
    assert what in ended.stderr
    sound(ended)
