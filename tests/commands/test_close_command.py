"""`porewatch close` on real folders: files, journal, refusals in one line."""

import stat
import tomllib
from pathlib import Path

import pytest

from tui.commands.main import run
from tui.journal.store import Journal
from tui.settings.places import read_layout

CELL = """\
# our cell
[cell]
name = "C1"
rating = "1700 kPa"
[log]
time = { column = "time" }
[test]
id = "T015"
kind = "CU"
started = "2031-02-03T08:10"
[specimen]
diameter = "50 mm"
height = "100 mm"
"""

LOG = """\
time,cell_pressure_kPa
2031-02-03T08:00:00,0
2031-02-03T08:20:00,20
2031-02-03T09:45:30,30
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("POREWATCH_BENCH", raising=False)
    (tmp_path / "C1").mkdir()
    (tmp_path / "bench.toml").write_text('zone = "Europe/Oslo"\n', "utf-8")
    (tmp_path / "C1" / "cell.toml").write_text(CELL, "utf-8")
    (tmp_path / "C1" / "a.csv").write_text(LOG, "utf-8")
    return tmp_path


def close(bench: Path, *more: str) -> int:
    return run(["close", "C1", "--bench", str(bench), *more])


def refused(bench: Path, capsys: pytest.CaptureFixture[str], *more: str) -> str:
    before = {path: path.read_bytes() for path in bench.rglob("*") if path.is_file()}
    assert close(bench, *more) in (1, 64)
    after = {path: path.read_bytes() for path in bench.rglob("*") if path.is_file()}
    assert after == before
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "Traceback" not in said
    return said


def test_the_tables_move_and_the_test_ends_with_its_newest_row(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert close(bench, "--by", "Ada", "--text", "sheared to 15 %") == 0
    moved = tomllib.loads((bench / "C1" / "tests" / "T015.toml").read_text("utf-8"))
    # 09:45:30 on the wall in Oslo in winter is an hour ahead of UTC.
    assert moved["test"]["ended"] == "2031-02-03T09:45:30+01:00"
    assert moved["cell"]["rating"] == "1700 kPa"
    kept = (bench / "C1" / "cell.toml").read_text("utf-8")
    assert kept.startswith("# our cell\n[cell]")
    assert set(tomllib.loads(kept)) == {"cell", "log"}
    (place,) = read_layout(bench).places
    assert place.idle
    assert place.earlier == ("T015",)
    (act,) = Journal.open(bench).acts()
    assert (act.kind, act.cell, act.test, act.who, act.text) == (
        "close", "C1", "T015", "Ada", "sheared to 15 %",
    )  # fmt: skip
    assert act.held_at == 1927874730.0  # 2031-02-03T08:45:30Z
    assert "C1/tests/T015.toml" in capsys.readouterr().out


def test_when_says_when(bench: Path) -> None:
    assert close(bench, "--when", "2031-02-04T07:00") == 0
    moved = tomllib.loads((bench / "C1" / "tests" / "T015.toml").read_text("utf-8"))
    assert moved["test"]["ended"] == "2031-02-04T07:00:00+01:00"


def test_a_written_end_holds(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = CELL.replace("[specimen]", 'ended = "2031-02-03T09:00"\n[specimen]')
    (bench / "C1" / "cell.toml").write_text(text, "utf-8")
    assert "leave --when out" in refused(bench, capsys, "--when", "2031-02-04T07:00")
    assert close(bench) == 0
    assert (bench / "C1" / "tests" / "T015.toml").read_text("utf-8").count("ended") == 1


def test_an_existing_file_is_never_overwritten(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (bench / "C1" / "tests").mkdir()
    (bench / "C1" / "tests" / "T015.toml").write_text("[test]\nid = 'other'\n", "utf-8")
    assert "exists already and is not overwritten" in refused(bench, capsys)


def test_a_close_that_stopped_half_way_is_finished(bench: Path) -> None:
    assert close(bench) == 0
    moved = (bench / "C1" / "tests" / "T015.toml").read_bytes()
    (bench / "C1" / "cell.toml").write_text(CELL, "utf-8")  # as if the second file was not written
    assert close(bench) == 0
    assert (bench / "C1" / "tests" / "T015.toml").read_bytes() == moved
    assert read_layout(bench).places[0].idle


REFUSED = [
    ('id = "T015"\n', "", "names no test"),
    ('kind = "CU"', 'kind = "XX"', "porewatch check"),
    ("[specimen]", "[specimen", "porewatch check"),
    ('started = "2031-02-03T08:10"', 'started = "2131-02-03T08:10"', "end before it started"),
]


@pytest.mark.parametrize(("old", "new", "words"), REFUSED)
def test_what_cannot_be_closed_is_refused_in_one_line(
    bench: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, words: str
) -> None:
    (bench / "C1" / "cell.toml").write_text(CELL.replace(old, new), "utf-8")
    assert words in refused(bench, capsys)


def test_a_cell_without_a_test_or_no_cell(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (bench / "C1" / "cell.toml").write_text(CELL[: CELL.index("[test]")], "utf-8")
    assert "no test runs in C1" in refused(bench, capsys)
    assert run(["close", "C9", "--bench", str(bench)]) == 64
    assert "the cells are: C1" in capsys.readouterr().err


def test_ends_of_lines_mark_and_mode_stay(bench: Path) -> None:
    path = bench / "C1" / "cell.toml"
    path.write_bytes(b"\xef\xbb\xbf" + CELL.replace("\n", "\r\n").encode())
    path.chmod(0o664)
    assert close(bench) == 0
    for written in (path, bench / "C1" / "tests" / "T015.toml"):
        content = written.read_bytes()
        assert content.startswith(b"\xef\xbb\xbf")
        assert content.count(b"\n") == content.count(b"\r\n")
    assert stat.S_IMODE(path.stat().st_mode) == 0o664
    assert read_layout(bench).places[0].idle


def test_a_linked_file_stays_a_link(bench: Path) -> None:
    path = bench / "C1" / "cell.toml"
    real = path.rename(bench / "kept.toml")
    path.symlink_to(real)
    assert close(bench) == 0
    assert path.is_symlink()
    assert set(tomllib.loads(real.read_text("utf-8"))) == {"cell", "log"}


def test_a_file_that_changes_in_between_wins(
    bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from tui.settings import safe_write  # noqa: PLC0415

    make = safe_write.create

    def and_somebody_edits(path: Path, content: bytes) -> None:
        make(path, content)
        (bench / "C1" / "cell.toml").write_text(CELL + "# edited\n", "utf-8")

    monkeypatch.setattr(safe_write, "create", and_somebody_edits)
    assert close(bench) == 1
    assert "changed in this moment" in capsys.readouterr().err
    assert (bench / "C1" / "cell.toml").read_text("utf-8") == CELL + "# edited\n"
    assert list((bench / "C1" / "tests").iterdir()) == []


def test_a_folder_that_takes_no_file(
    bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from tui.settings import safe_write  # noqa: PLC0415

    def refusing(path: Path, content: bytes) -> Path:
        raise PermissionError(13, "Permission denied", str(path))  # root could write anyway

    monkeypatch.setattr(safe_write, "_write_beside", refusing)
    assert "cannot be written: Permission denied; nothing was closed" in refused(bench, capsys)


def test_a_test_closed_by_mistake_goes_on(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert close(bench) == 0
    assert run(["undo", "1", "--bench", str(bench)]) == 0
    assert "took back entry 1, the end of a test about C1" in capsys.readouterr().out
    back = (bench / "C1" / "cell.toml").read_text("utf-8")
    assert tomllib.loads(back) == tomllib.loads(CELL)
    assert "porewatch" not in back
    assert read_layout(bench).places[0].earlier == ()
    assert run(["undo", "2", "--bench", str(bench)]) == 64
    assert "porewatch close to end it again" in capsys.readouterr().err
    assert close(bench) == 0
    assert [act.kind for act in Journal.open(bench).acts()] == ["close"]


STAYS_CLOSED = [
    ("cell.toml", 'rating = "1700 kPa"', 'rating = "1600 kPa"', "the same hardware"),
    ("cell.toml", "[cell]", '[test]\nid = "T2"\nkind = "CU"\n[cell]', "describes a test again"),
    ("tests/T015.toml", 'id = "T015"', "id =", "T015.toml"),
]


@pytest.mark.parametrize(("file", "old", "new", "words"), STAYS_CLOSED)
def test_a_test_stays_closed_where_something_would_be_lost(
    bench: Path, capsys: pytest.CaptureFixture[str], file: str, old: str, new: str, words: str
) -> None:
    assert close(bench) == 0
    path = bench / "C1" / file
    path.write_text(path.read_text("utf-8").replace(old, new, 1), "utf-8")
    before = {one: one.read_bytes() for one in bench.rglob("*.toml")}
    capsys.readouterr()
    assert run(["undo", "1", "--bench", str(bench)]) == 1
    assert words in capsys.readouterr().err
    assert {one: one.read_bytes() for one in bench.rglob("*.toml")} == before
    assert len(list(Journal.open(bench).entries())) == 1
