"""One guard a bench, and what others see of it."""

import json
import os
import socket
from pathlib import Path

import pytest

from tui.bench.picture import Guard
from tui.guard import duty
from tui.guard.duty import Duty, LostError, duty_problems, read_duty

NOW = 1_927_843_200.0


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path / "state"


def elsewhere(root: Path, beat_at: float, **more: object) -> None:
    file = root / ".porewatch" / "duty.json"
    file.parent.mkdir(parents=True, exist_ok=True)
    told = {"host": "lab-2", "pid": 311, "since": NOW - 900, "beat_at": beat_at, **more}
    file.write_text(json.dumps(told))


def test_nobody_is_on_duty_where_nobody_was(tmp_path: Path) -> None:
    assert read_duty(tmp_path, NOW) == Guard()


def test_who_is_on_duty_is_seen_by_others_and_gone_afterwards(tmp_path: Path) -> None:
    mine = Duty(tmp_path)
    assert mine.take(NOW) is None
    mine.beat(NOW + 5, {"troubles": ["the route x fails"]})
    assert read_duty(tmp_path, NOW + 7) == Guard(True, socket.gethostname(), 2.0)
    (problem,) = duty_problems(tmp_path, NOW + 7)
    assert problem.what == "the night watch says: the route x fails"
    mine.leave()
    assert read_duty(tmp_path, NOW + 8) == Guard()


def test_a_second_on_this_host_is_told_who_has_it(tmp_path: Path) -> None:
    mine, other = Duty(tmp_path), Duty(tmp_path)
    assert mine.take(NOW) is None
    holder = other.take(NOW + 500)  # whatever the age of its beat: its process lives
    assert holder is not None
    assert (holder.host, holder.pid) == (socket.gethostname(), os.getpid())
    mine.leave()
    assert other.take(NOW + 501) is None
    other.leave()


@pytest.mark.parametrize(("age_s", "is_ours"), [(59.0, False), (61.0, True), (-30.0, False)])
def test_on_a_share_the_age_of_the_beat_tells(tmp_path: Path, age_s: float, is_ours: bool) -> None:
    elsewhere(tmp_path, NOW - age_s)
    assert read_duty(tmp_path, NOW).on_duty is not is_ours
    mine = Duty(tmp_path)
    holder = mine.take(NOW)
    assert (holder is None) is is_ours
    assert holder is None or holder.host == "lab-2"
    mine.leave()


def test_one_that_was_thought_dead_finds_out_that_it_was_replaced(tmp_path: Path) -> None:
    mine = Duty(tmp_path)
    assert mine.take(NOW) is None
    elsewhere(tmp_path, NOW + 99)
    with pytest.raises(LostError, match="process 311 on lab-2"):
        mine.beat(NOW + 100, {})
    assert json.loads((tmp_path / ".porewatch" / "duty.json").read_text())["host"] == "lab-2"
    mine.leave()
    assert read_duty(tmp_path, NOW + 100).host == "lab-2"


def test_a_process_that_is_gone_keeps_no_watch(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(duty, "_runs", lambda _: False)
    elsewhere(tmp_path, NOW, host=socket.gethostname())
    assert read_duty(tmp_path, NOW + 1) == Guard(False, socket.gethostname(), 1.0)
    mine = Duty(tmp_path)
    assert mine.take(NOW + 1) is None
    mine.leave()


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "{}", '{"host":1,"pid":"x","since":0,"beat_at":0}', "null",
             '{"host":"h","pid":1,"since":0,"beat_at":1e999}']
)  # fmt: skip
def test_a_damaged_file_is_nobody(tmp_path: Path, text: str) -> None:
    elsewhere(tmp_path, NOW)
    (tmp_path / ".porewatch" / "duty.json").write_text(text)
    assert read_duty(tmp_path, NOW) == Guard()
    mine = Duty(tmp_path)
    assert mine.take(NOW) is None
    mine.leave()


def test_what_it_says_of_itself_steers_no_screen(tmp_path: Path) -> None:
    elsewhere(tmp_path, NOW, host="lab\x1b[2J\n2", troubles=["a\x1b[31mb"])
    host = read_duty(tmp_path, NOW).host
    assert host is not None
    assert host.isprintable()
    assert all(one.what.isprintable() for one in duty_problems(tmp_path, NOW))


def test_a_bench_that_cannot_be_written_is_watched_from_the_state_folder(
    tmp_path: Path, state: Path
) -> None:
    root = tmp_path / "bench"
    root.mkdir()
    (root / ".porewatch").write_text("no folder can be made here")
    mine = Duty(root)
    assert mine.take(NOW) is None
    assert mine.folder.is_relative_to(state)
    assert read_duty(root, NOW + 1).on_duty
    mine.leave()
    assert not read_duty(root, NOW + 1).on_duty
