"""`adopt`: what it proposes for rehearsed loggers reads the same, and it writes only on consent."""

import hashlib
import os
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from calling import call

from tui.commands import adopt
from tui.commands.adopt_text import preview
from tui.feed.adopting.adoption import propose_adoption
from tui.feed.adopting.cell_text import cell_text
from tui.feed.rows import Rows
from tui.feed.source import CellSource
from tui.settings.places import Place, read_layout
from tui.words import Manner
from tui.words.printed import columns

HEAD = "Time,Cell kPa,Pore kPa\n"
ROWS = HEAD + "2031-02-03T08:00:00,20,10\n2031-02-03T08:01:00,20,10\n"


def place_of(bench: Path, cell: str) -> Place:
    return next(place for place in read_layout(bench).places if place.folder == cell)


def rows_of(bench: Path, cell: str) -> Rows:
    layout = read_layout(bench)
    source = CellSource(place_of(bench, cell), layout.root, layout.zone)
    arrived = source.read()
    assert arrived is not None
    assert arrived.rows is not None
    assert not arrived.problems, arrived.problems
    return arrived.rows


def looks_of(folder: Path) -> dict[str, tuple[str, int]]:
    """All files with what they hold and when they were written."""
    return {
        path.name: (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns)
        for path in folder.iterdir()
    }


@pytest.fixture(scope="module")
def whole_tests(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six loggers, each with a test from set-up to the end of shear."""
    bench = tmp_path_factory.mktemp("rehearsed") / "bench"
    words = ("--cells", "6", "--soil", "silty-clay", "--truth", "none")
    assert call("rehearse", "--out", str(bench), *words).exit_code == 0
    return bench


def answered(text: str) -> str:
    """What a person who knows the station writes in place of its doubts."""
    open_ = ("# back_volume =", "# cell_volume =", "# axial_load =", "# time =")
    lines = [x.removeprefix("# ") if x.startswith(open_) else x for x in text.splitlines()]
    unknown = 'unit = "N", range = "0 to ? N"'
    known = "\n".join(lines).replace(unknown, 'unit = "N", range = "0 to 500 N"', 1)
    return known.replace(unknown, 'unit = "kN", range = "0 to 10 kN"') + "\n"


@pytest.mark.parametrize("cell", ["C1", "C2", "C3", "C4", "C5", "C6"])
def test_rehearsed_loggers_read_the_same_when_adopted(
    whole_tests: Path, tmp_path: Path, cell: str
) -> None:
    true = place_of(whole_tests, cell)
    expected = rows_of(whole_tests, cell)
    bench = tmp_path / "bench"
    (bench / cell).mkdir(parents=True)
    (bench / "bench.toml").write_bytes((whole_tests / "bench.toml").read_bytes())
    for path in (whole_tests / cell).iterdir():
        if path.name != "cell.toml":
            (bench / cell / path.name).write_bytes(path.read_bytes())
    before = looks_of(bench / cell)
    done = call("adopt", str(bench / cell), "--yes")
    settings = bench / cell / "cell.toml"
    if cell in ("C5", "C6"):
        # A log cannot tell these: which volume is whose, two load cells' ranges, a count's start.
        assert done.exit_code == 1, done.stdout
        assert not settings.exists()
        key = "log.channels.axial_load" if cell == "C5" else "log.time.start"
        assert key in done.stderr
        assert looks_of(bench / cell) == before
        text = answered(_commented(bench / cell))
        if cell == "C6":
            start = tomllib.loads((whole_tests / "C6/cell.toml").read_text())["log"]["time"]
            guessed = tomllib.loads(text)["log"]["time"]["start"]
            text = text.replace(guessed, start["start"])
        settings.write_text(text)
    else:
        assert done.exit_code == 0, done.stderr
        assert {n: v for n, v in looks_of(bench / cell).items() if n != "cell.toml"} == before
    place = place_of(bench, cell)
    assert place.idle
    assert [one.severity for one in place.problems] == ["note"]
    got = rows_of(bench, cell)
    assert np.array_equal(got.times, expected.times)
    assert set(got.channels) == set(expected.channels)
    for channel, values in got.channels.items():
        apart = values - expected.channels[channel]
        # Zeros of gauges stand in no log: they shift a channel as a whole, and nothing else may.
        assert float(np.ptp(apart)) < 1e-6, channel
        zeros = [one.zero for one in true.log.channels.get(channel, ())] if true.log else []
        if not any(zeros):
            assert float(np.abs(apart).max()) < 1e-9, channel
    assert got.words.keys() == expected.words.keys()
    for name, words in got.words.items():
        assert [_phase(one) for one in words] == [_phase(one) for one in expected.words[name]]


def _phase(word: str | None) -> str | None:
    return None if word is None else word.partition("/")[0]


def _commented(folder: Path) -> str:
    return cell_text(propose_adoption(folder, read_layout(folder.parent).zone))


def folder_with(tmp_path: Path, text: str = ROWS) -> Path:
    folder = tmp_path / "bench" / "C7"
    folder.mkdir(parents=True)
    (folder / "log.csv").write_text(text, encoding="utf-8")
    (folder.parent / "bench.toml").write_text('zone = "UTC"\nnow = "last row"\n')
    return folder


def test_what_was_adopted_is_watched_once_a_test_is_filled_in(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    done = call("adopt", str(folder), "--yes")
    assert done.exit_code == 0, done.stderr
    assert "is written. Next:" in done.stdout
    checked = call("check", str(folder.parent), "--json")
    assert '"severity": "error"' not in checked.stdout
    assert '"severity": "warning"' not in checked.stdout
    assert "no test is described" in checked.stdout
    settings = folder / "cell.toml"
    text = settings.read_text(encoding="utf-8")
    filled = text[: text.index("# What follows")] + "".join(
        line.removeprefix("# ") + "\n" for line in text[text.index("# [test]") :].splitlines()
    ).replace("#\n", "\n")
    settings.write_text(filled, encoding="utf-8")
    assert place_of(folder.parent, "C7").problems == ()
    status = call("status", str(folder.parent), "--json")
    assert '"cell_pressure_kPa": 20.0' in status.stdout


def test_an_existing_cell_toml_stays(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    (folder / "cell.toml").write_text("mine", encoding="utf-8")
    before = looks_of(folder)
    done = call("adopt", str(folder), "--yes")
    assert done.exit_code == 1
    assert "exists already and stays as it is" in done.stderr
    assert looks_of(folder) == before


def test_one_that_appears_meanwhile_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with(tmp_path)
    look: Callable[..., object] = adopt._proposed

    def slow(where: Path) -> object:
        found = look(where)
        (folder / "cell.toml").write_text("somebody else's", encoding="utf-8")
        return found

    monkeypatch.setattr(adopt, "_proposed", slow)
    done = call("adopt", str(folder), "--yes")
    assert done.exit_code == 1
    assert "by somebody else in this moment" in done.stderr
    assert (folder / "cell.toml").read_text(encoding="utf-8") == "somebody else's"
    assert sorted(looks_of(folder)) == ["cell.toml", "log.csv"]


def test_a_link_that_leads_nowhere_is_not_followed(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    (folder / "cell.toml").symlink_to(tmp_path / "elsewhere.toml")
    assert call("adopt", str(folder), "--yes").exit_code == 1
    assert not (tmp_path / "elsewhere.toml").exists()


def test_wrong_usage(tmp_path: Path) -> None:
    missing = call("adopt", str(tmp_path / "nowhere"))
    assert (missing.exit_code, "does not exist" in missing.stderr) == (64, True)
    (tmp_path / "file").write_text("")
    assert call("adopt", str(tmp_path / "file")).exit_code == 64
    assert call("adopt").exit_code == 64


def test_no_logs(tmp_path: Path) -> None:
    done = call("adopt", str(tmp_path), "--yes")
    assert done.exit_code == 1
    assert "looked for *.csv, *.txt" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_bench_is_not_adopted_as_a_cell(tmp_path: Path) -> None:
    folder = folder_with(tmp_path)
    assert "is a bench" in call("adopt", str(folder.parent), "--yes").stderr


def test_in_doubt_yes_writes_nothing_and_names_the_keys(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, ROWS.replace(" kPa", ""))
    done = call("adopt", str(folder), "--yes")
    assert done.exit_code == 1
    assert "log.channels.cell_pressure.unit, log.channels.pore_pressure.unit are" in done.stderr
    assert list(looks_of(folder)) == ["log.csv"]


@pytest.mark.parametrize("stdin", ["closed", "empty", "y"])
def test_without_a_terminal_nothing_is_written(tmp_path: Path, stdin: str) -> None:
    folder = folder_with(tmp_path)
    words = [sys.executable, "-m", "tui.commands.main", "adopt", str(folder)]
    if stdin == "closed":
        words = ["sh", "-c", 'exec "$@" <&-', "sh", *words]
    done = subprocess.run(
        words,
        input="y\n" if stdin == "y" else "",
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env=os.environ | {"PYTHONIOENCODING": "utf-8"},
    )
    assert done.returncode == 1, done.stderr
    assert "→ cell_pressure" in done.stdout
    assert "there is no terminal to ask on" in done.stderr
    assert list(looks_of(folder)) == ["log.csv"]


HOSTILE = [
    'Cell "A" kPa', "Cell 'B' \\ kPa", "Cell \x1b[31m kPa", "Cell ] # = kPa", "Cell \u202e kPa",
    "Cell \x0b kPa", 'Cell """ kPa', "Cell [bold] kPa", "Cell 💧 kPa",
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_come_out_as_toml_and_clean_text(tmp_path: Path, name: str) -> None:
    field = name if '"' not in name else '"' + name.replace('"', '""') + '"'
    folder = folder_with(tmp_path, ROWS.replace("Cell kPa", field))
    done = call("adopt", str(folder), "--yes")
    assert done.exit_code == 0, done.stderr
    assert not any(sign in done.stdout for sign in ("\x1b", "\u202e", "\x0b"))
    channels = tomllib.loads((folder / "cell.toml").read_text("utf-8"))["log"]["channels"]
    assert channels["cell_pressure"]["column"] == name
    assert rows_of(folder.parent, "C7").channels["cell_pressure"].tolist() == [20.0, 20.0]


def test_hostile_folder_and_file_names(tmp_path: Path) -> None:
    folder = tmp_path / 'C"8\x1b[1m'
    folder.mkdir()
    (folder / 'lo"g\x1b.csv').write_text(ROWS)
    (folder / os.fsdecode(b"l\xffg.csv")).write_text(ROWS)
    done = call("adopt", str(folder), "--yes")
    assert done.exit_code == 0, done.stderr
    assert "\x1b" not in done.stdout
    assert tomllib.loads((folder / "cell.toml").read_text("utf-8"))["log"]["files"] == "*.csv"


@pytest.mark.parametrize("width", [60, 80])
def test_the_page_fits(tmp_path: Path, width: int) -> None:
    folder = folder_with(tmp_path, ROWS.replace("Cell kPa", "Cell " + "very long " * 9 + "kPa"))
    page = preview(propose_adoption(folder, read_layout(folder.parent).zone), Manner(), width)
    assert max(columns(line) for line in page) <= width
    ascii_page = preview(
        propose_adoption(folder, read_layout(folder.parent).zone), Manner(ascii=True), width
    )
    assert all(line.isascii() for line in ascii_page)


def test_of_a_large_log_only_a_bounded_part_is_read(tmp_path: Path) -> None:
    """600,000 rows cost hardly more than 60,000: all of them would cost ten times as much."""
    small, large = (_seconds_for(tmp_path / f"{hours}", hours) for hours in (100, 1000))
    assert large < 3.0 * small


def _seconds_for(folder: Path, hours: int) -> float:
    """Time of the processor for a log of 600 rows an hour. [s]"""
    folder.mkdir()
    cell = folder_with(folder, HEAD)
    with (cell / "log.csv").open("a") as log:
        for hour in range(hours):
            stamp = (
                f"{2031 + hour // 8000}-{1 + hour // 24 // 28 % 12:02d}-{1 + hour // 24 % 28:02d}"
            )
            log.write(
                "".join(
                    f"{stamp}T{hour % 24:02d}:{k // 10:02d}:{k % 10 * 6:02d},{hour % 90},10\n"
                    for k in range(600)
                )
            )
    begun = time.process_time()
    assert call("adopt", str(cell), "--yes").exit_code == 0
    return time.process_time() - begun
