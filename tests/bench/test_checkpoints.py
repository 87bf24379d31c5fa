"""A restart goes on where the last run stood, and whatever does not fit is read anew."""

import pickle
import shutil
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tui.bench import checkpoints, following
from tui.bench.as_json import status_json
from tui.bench.cell_fold import CellFold
from tui.bench.checkpoints import Checkpoints, load_checkpoints
from tui.bench.clock import HandClock
from tui.bench.following import Following
from tui.bench.frozen import read, written
from tui.bench.look import look, look_at
from tui.bench.picture import Bench
from tui.feed.source import CellSource
from tui.feed.watch import read_all
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.settings.places import read_layout


@pytest.fixture(scope="module")
def written_bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("kept") / "bench"
    order = Order(cells=2, soil="silty-clay", rows="steady", every_s=60.0, kind="CU")
    write_bench(compose(order), root, None)
    return root


@pytest.fixture
def bench(written_bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(following, "FINISHED_WORTH_ROWS", 1000)
    shutil.copytree(written_bench, tmp_path / "bench")
    return tmp_path / "bench"


def logs(root: Path) -> list[Path]:
    return sorted(root.glob("C1/*.csv"))


def cut(file: Path, share: float) -> bytes:
    """Keep a share of the lines; give back the rest."""
    whole = file.read_bytes()
    at = whole.index(b"\n", int(share * len(whole))) + 1
    file.write_bytes(whole[:at])
    return whole[at:]


def followed(root: Path, *, beats: int = 40) -> Bench:
    """Follow a bench until it is kept, then stop."""
    live = Following.live(root, HandClock(0.0))
    try:
        for _ in range(400):
            picture = live.beat()
            told = [cell.rows_used for cell in picture.cells]
            if picture.cells and all(told) and beats > 0:
                beats -= 1
            if not beats:
                break
            time.sleep(0.02)  # the watcher has a thread of its own
    finally:
        live.close()
    return picture


def told(picture: Bench) -> object:
    """All but ages, and but what is said of the files themselves."""
    found = status_json(picture)
    left_out = ("live", "problems")
    return [{key: cell[key] for key in cell if key not in left_out} for cell in found["cells"]]


def afresh(root: Path) -> Bench:
    layout = read_layout(root)
    return look_at(layout, read_all(layout))


def test_a_restart_tells_the_same_and_reads_only_what_is_new(bench: Path) -> None:
    rest = cut(logs(bench)[-1], 0.6)
    followed(bench)
    kept = load_checkpoints(read_layout(bench))
    assert set(kept) == {"C1", "C2"}
    with logs(bench)[-1].open("ab") as file:
        file.write(rest)
    arrivals = {a.folder: a for a in read_all(
        read_layout(bench), {name: one.source for name, one in kept.items()})}  # fmt: skip
    new = arrivals["C1"].rows
    assert new is not None
    assert len(new) == len(rest.splitlines())
    assert "C2" not in arrivals
    assert told(look(bench)) == told(afresh(bench))


@pytest.mark.parametrize(
    "spoil",
    [
        lambda root: logs(root)[0].write_bytes(logs(root)[0].read_bytes().replace(b"0", b"1", 9)),
        lambda root: cut(logs(root)[-1], 0.3),
        lambda root: (root / "C1/cell.toml").write_text(
            (root / "C1/cell.toml").read_text("utf-8").replace("100 kPa", "120 kPa"), "utf-8"),
        lambda root: (root / "bench.toml").write_text(
            (root / "bench.toml").read_text("utf-8").replace("Europe/Oslo", "UTC"), "utf-8"),
        lambda root: [
            file.write_bytes(file.read_bytes()[:-1] + b"x")
            for file in root.rglob("checkpoints/*")],
        lambda root: [
            file.write_bytes(b"") for file in root.rglob("checkpoints/*")],
    ],
    ids=["log edited", "log cut", "settings", "zone", "damaged", "empty"],
)  # fmt: skip
def test_what_does_not_fit_is_read_anew(bench: Path, spoil: Callable[[Path], object]) -> None:
    followed(bench)
    assert load_checkpoints(read_layout(bench))
    spoil(bench)
    assert told(look(bench)) == told(afresh(bench))
    assert told(followed(bench, beats=10)) == told(afresh(bench))


def test_rows_of_a_file_that_is_gone_are_kept_as_while_running(bench: Path) -> None:
    before = followed(bench).cells[0]
    logs(bench)[0].unlink()
    after = look(bench).cells[0]
    assert after.rows_used == before.rows_used
    assert after.spans == before.spans
    assert any("is gone" in problem.what for problem in after.problems)


def test_another_program_begins_anew(bench: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    followed(bench)
    monkeypatch.setattr(checkpoints, "_PROGRAM", [b"another"])
    assert load_checkpoints(read_layout(bench)) == {}


class Evil:
    def __reduce__(self) -> tuple[object, ...]:
        return (print, ("executed",))


@pytest.mark.parametrize("what", [Evil(), Path("x").exists, np.add, look])
def test_nothing_but_our_own_classes_comes_to_life(
    bench: Path, what: object, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever can write the folder may write such a file; it is a damaged checkpoint, no more."""
    followed(bench)
    body = pickle.dumps((pickle.dumps(what), pickle.dumps(what)))
    for file in bench.rglob("checkpoints/*"):
        file.write_bytes(checkpoints._seal(body) + body)
    assert load_checkpoints(read_layout(bench)) == {}
    assert "executed" not in capsys.readouterr().out


def test_small_benches_leave_nothing_behind(written_bench: Path, tmp_path: Path) -> None:
    shutil.copytree(written_bench, tmp_path / "bench")
    for file in (tmp_path / "bench").glob("C*/*.csv"):
        file.write_bytes(b"".join(file.read_bytes().splitlines(keepends=True)[:50]))
    followed(tmp_path / "bench")
    assert not list((tmp_path / "bench").rglob("checkpoints/*"))


@pytest.mark.parametrize("keeps_all", [True, False])
def test_a_state_survives_its_bytes(bench: Path, keeps_all: bool) -> None:
    layout = read_layout(bench)
    place = layout.places[0]
    assert place.settings is not None
    source = CellSource(place, layout.root, layout.zone)
    fold = CellFold(place.name, place.folder, place.settings, (), layout.zone, keeps_all=keeps_all)
    while (arrived := source.read()) is not None:
        fold = fold.take(arrived)
    body = written(fold)
    again = read(body)
    assert again.picture(0.0, ()) == fold.picture(0.0, ())
    if keeps_all:
        assert again.record().times_s.tolist() == fold.record().times_s.tolist()
    assert Checkpoints(bench).wants(fold)
