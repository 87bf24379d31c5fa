"""Acknowledge, shelve, accept: what is refused, what is kept, and what the engine makes of it.

The states follow ISA-18.2 / IEC 62682 (from memory): acknowledged alarms stand until they clear, a
shelf always ends by itself. The longest shelves are the contract's.
"""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tui.bench import look as looking
from tui.bench.alarms.spells import Alarm, AlarmState
from tui.bench.answering import (
    CannotAnswerError,
    TooLongError,
    alarms_at,
    may_be_taken,
    shelf_end,
    to_be_answered,
)
from tui.bench.look import look
from tui.bench.picture import BCheck, Bench, Cell, Phase, PhaseName
from tui.commands import acting
from tui.commands.main import run
from tui.journal import location
from tui.journal.acts import WATCH_KINDS, Act
from tui.journal.entries import Entry
from tui.journal.location import acts_folder, own_file, shared_file
from tui.journal.store import Journal
from tui.settings.alarm_tables import ALARM_KINDS

NOW = datetime(2031, 2, 3, 12, 0, tzinfo=UTC).timestamp()
HOUR = 3600.0
HOSTILE = "=1+1 \x1b]0;own\x07\x1b[31m[bold]x[/bold]\r\nBcc: a@b \u202e"

Say = Callable[..., tuple[int, str, str]]


def alarm(kind: str, about: str | None = None, state: AlarmState = "unacknowledged") -> Alarm:
    times = (NOW - HOUR, NOW - HOUR + 300.0)
    return Alarm(kind, about, "urgent", state, *times, "", "", "", "", 600.0)


def phase(name: PhaseName, previous: PhaseName = "saturation") -> Phase:
    return Phase(name, None, NOW - HOUR, NOW - HOUR, previous, "inferred")


def check(B: float, *, settled: bool = True, finished: bool = True) -> BCheck:
    return BCheck(NOW, NOW, 100.0, 50.0, 50.0 * B, B, B, settled, finished)


CELLS = (
    Cell(
        "C1",
        "C1",
        test_id="T015",
        phase=phase("saturation", "setup"),
        checks=(check(0.97), check(0.9)),
        alarms=(
            alarm("pressure-drift", "cell_pressure"),
            alarm("pressure-drift", "back_pressure"),
            alarm("log-silent", None, "returned"),
            alarm("sensor-fault", "temperature", "out-of-phase"),
            alarm("over-pressure", "cell_pressure", "shelved"),
        ),
    ),
    Cell("C2", "C2", test_id="T016", phase=phase("shear", "consolidation")),
)
BENCH = Bench(
    NOW,
    "bench",
    "bench",
    UTC,
    cells=CELLS,
    alarms=(replace(alarm("supply-lost", "main"), cells=("C1", "C2")), alarm("disk-low")),
)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    class StoppedClock:
        def now(self) -> float:
            return NOW

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setattr(acting, "WallClock", StoppedClock)
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.7 50022 192.0.2.1 22")
    root = tmp_path / "bench"
    for name, test in (("C1", "T015"), ("C2", "T016")):
        (root / name).mkdir(parents=True)
        (root / name / "cell.toml").write_text(
            f'[test]\nid = "{test}"\nkind = "CU"\n'
            '[specimen]\ndiameter = "50.0 mm"\nheight = "100.0 mm"\n'
        )
    (root / "bench.toml").write_text('zone = "Europe/Oslo"\n')
    monkeypatch.setenv("POREWATCH_BENCH", str(root))
    return root


@pytest.fixture
def stood(monkeypatch: pytest.MonkeyPatch) -> list[float | None]:
    """The picture is `BENCH`; gives the moments as of which it was looked at."""
    asked: list[float | None] = []

    def stands(_root: Path, *, at: float | None = None, clock: object = None) -> Bench:
        asked.append(at)
        return BENCH if at is None else replace(BENCH, at=at)

    monkeypatch.setattr(looking, "look", stands)
    return asked


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Say:
    def run_it(*arguments: str) -> tuple[int, str, str]:
        code = run(arguments)
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return run_it


def entries(bench: Path) -> tuple[Entry, ...]:
    return Journal.open(bench).entries()


@pytest.mark.usefixtures("stood")
def test_an_acknowledgement_says_who_when_from_where_and_of_what(bench: Path, say: Say) -> None:
    code, out, err = say(
        "acknowledge", "C1", "pressure-drift", "--about", "back_pressure",
        "--text", "regulator", "--by", "mira",
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert out == (
        "entry 1: pressure-drift (back_pressure) of C1 is acknowledged at Mon 3 Feb 2031 13:00; "
        "it stays until it clears\n"
    )
    (entry,) = entries(bench)
    act = entry.act
    assert (act.kind, act.cell, act.test, act.who) == ("acknowledge", "C1", "T015", "mira")
    assert (act.alarm, act.about, act.text) == ("pressure-drift", "back_pressure", "regulator")
    assert (act.held_at, act.entered_at, entry.client) == (NOW, NOW, "192.0.2.7")


@pytest.mark.usefixtures("stood")
def test_without_about_each_is_answered_by_itself(bench: Path, say: Say) -> None:
    """An answer without a channel would also answer what is raised about another one later."""
    code, out, _ = say("acknowledge", "C1", "pressure-drift")
    assert code == 0
    assert len(out.splitlines()) == 2
    assert [one.act.about for one in entries(bench)] == ["cell_pressure", "back_pressure"]


def test_an_answer_is_about_what_stood_when_it_holds(
    bench: Path, say: Say, stood: list[float | None]
) -> None:
    assert say("acknowledge", "C1", "log-silent", "--when", "2031-02-03T12:30")[0] == 0
    (entry,) = entries(bench)
    assert entry.act.held_at == NOW - 1800.0
    assert stood == [NOW - 1800.0]


@pytest.mark.usefixtures("stood")
@pytest.mark.parametrize(
    ("cell", "kind", "folder"),
    [
        ("C2", "supply-lost", "C2"),
        ("bench", "supply-lost", ""),
        ("bench", "disk-low", ""),
        ("C1", "sensor-fault", "C1"),
    ],
)
def test_who_answers_for_a_cell_answers_for_what_it_shares(
    bench: Path, say: Say, cell: str, kind: str, folder: str
) -> None:
    assert say("acknowledge", cell, kind)[0] == 0
    (entry,) = entries(bench)
    assert (entry.act.cell, entry.act.alarm) == (folder, kind)


@pytest.mark.usefixtures("stood")
def test_a_cell_named_bench_is_that_cell(bench: Path, say: Say) -> None:
    (bench / "C2").rename(bench / "bench")
    code, _, err = say("acknowledge", "bench", "disk-low")
    assert (code, "disk-low is not raised in bench" in err) == (1, True)


@pytest.mark.usefixtures("stood")
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("acknowledge", "C2", "log-silent"), "raised there: supply-lost (main)"),
        (("acknowledge", "C1", "pressure-drift", "--about", "x\x1b[31m"), "is not raised in C1"),
        (("acknowledge", "C1", "over-pressure"), "is shelved: there is nothing to acknowledge"),
        (("acknowledge", "bench", "log-silent"), "supply-lost (main); disk-low"),
        (("acknowledge", "C1", "disk-low"), "log-silent, has cleared; "),
        (("shelve", "C1", "log-silent", "--for", "1 h", "--why", "x"), "log-silent in C1 has clea"),
        (("shelve", "C2", "log-silent", "--for", "1 h", "--why", "x"), "is not raised in C2"),
        (("accept", "C2", "saturation", "--why", "x"), "C2 is in shear"),
    ],
)
def test_what_is_not_raised_is_one_line_that_says_what_is(
    bench: Path, say: Say, arguments: tuple[str, ...], said: str
) -> None:
    code, out, err = say(*arguments)
    assert (code, out) == (1, "")
    assert said in err
    assert len(err.splitlines()) == 1
    assert "\x1b" not in err
    assert entries(bench) == ()


@pytest.mark.usefixtures("stood")
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("acknowledge", "C1", "pressure-drfit"), 'did you mean "pressure-drift"?'),
        (("acknowledge", "C9", "log-silent"), "the cells are: C1, C2"),
        (("acknowledge", "C1", "log-silent", "--when", "2031-02-03T14:00"), "is to come"),
        (("shelve", "C1", "pressure-drift", "--why", "x"), "either --for"),
        (
            ("shelve", "C1", "pressure-drift", "--for", "1 h", "--until", "cleared", "--why", "x"),
            "either --for",
        ),
        (("shelve", "C1", "pressure-drift", "--for", "1 h"), "--why"),
        (("shelve", "C1", "pressure-drift", "--for", "1 h", "--why", " \t"), "no reason"),
        (("shelve", "C1", "pressure-drift", "--until", "monday", "--why", "x"), "phase-end"),
        (("shelve", "C1", "pressure-drift", "--for", "2", "--why", "x"), "without a unit"),
        (("shelve", "C1", "pressure-drift", "--for", "2 kPa", "--why", "x"), "--for"),
        (("shelve", "C1", "pressure-drift", "--for", "-1 h", "--why", "x"), "--for"),
        (("shelve", "C1", "pressure-drift", "--for", "0 h", "--why", "x"), "--for"),
        (("shelve", "C1", "pressure-drift", "--for", "nan h", "--why", "x"), "--for"),
        (("shelve", "C1", "pressure-drift", "--for", "12.1 h", "--why", "x"), "for 12 h at the"),
        (("shelve", "C1", "over-pressure", "--for", "31 min", "--why", "x"), "for 30 min at the"),
        (("shelve", "C1", "leak-cell", "--for", "1 h", "--why", "x"), "for 30 min at the"),
        (("accept", "C1", "consolidation", "--why", "x"), "saturation alone"),
        (("accept", "C1", "saturation"), "--why"),
        (("accept", "C1", "saturation", "--why", ""), "no reason"),
    ],
)
def test_wrong_usage_is_64_and_nothing_is_kept(
    bench: Path, say: Say, arguments: tuple[str, ...], said: str
) -> None:
    code, out, err = say(*arguments)
    assert (code, out) == (64, "")
    assert said in err
    assert len(err.splitlines()) == 1
    assert entries(bench) == ()


@pytest.mark.parametrize("kind", ALARM_KINDS)
def test_every_shelf_ends(kind: str) -> None:
    short = kind in ("over-pressure", "effective-stress-low") or kind.startswith("leak-")
    longest = 1800.0 if short else 12 * HOUR
    assert shelf_end(kind, NOW, None) == shelf_end(kind, NOW, longest) == NOW + longest
    with pytest.raises(TooLongError):
        shelf_end(kind, NOW, longest + 1.0)


@pytest.mark.usefixtures("stood")
@pytest.mark.parametrize(
    ("said", "ends", "until", "words"),
    [
        (("--for", "90 min"), None, NOW + 5400.0, "until Mon 3 Feb 2031 14:30;"),
        (("--until", "cleared"), "cleared", NOW + 12 * HOUR, "until it clears, at the latest Tue"),
        (("--until", "phase-end"), "phase-end", NOW + 12 * HOUR, "until the phase ends, at the la"),
    ],
)
def test_a_shelf_has_an_end_and_a_reason(
    bench: Path, say: Say, said: tuple[str, str], ends: str | None, until: float, words: str
) -> None:
    code, out, err = say(
        "shelve", "C1", "pressure-drift", "--about", "cell_pressure", *said, "--why", "new seal"
    )
    assert (code, err) == (0, "")
    assert words in out
    (entry,) = entries(bench)
    assert (entry.act.kind, entry.act.ends, entry.act.until) == ("shelve", ends, until)
    assert entry.act.text == "new seal"
    assert words.rstrip(";") in say("journal")[1]


@pytest.mark.usefixtures("stood")
def test_a_low_b_is_taken_with_a_reason(bench: Path, say: Say) -> None:
    code, out, err = say("accept", "C1", "saturation", "--why", "stiff clay", "--by", "ola")
    assert (code, err) == (0, "")
    assert "B = 0.900 of C1 is taken below its target of 0.95" in out
    assert "goes into the report" in out
    (entry,) = entries(bench)
    act = entry.act
    assert (act.kind, act.cell, act.test, act.text) == ("accept", "C1", "T015", "stiff clay")
    assert (act.who, entry.client) == ("ola", "192.0.2.7")


@pytest.mark.parametrize(
    ("now", "checks", "why"),
    [
        (None, (), "no readings"),
        (phase("setup", "ended"), (check(0.9),), "is in setup"),
        (phase("consolidation", "setup"), (check(0.9),), "is in consolidation"),
        (phase("interrupted"), (check(0.9),), "is in interrupted"),
        (phase("saturation"), (), "no B check"),
        (phase("saturation"), (check(0.5, finished=False),), "no B check"),
        (phase("saturation"), (check(0.95),), "meets its target"),
        (phase("consolidation"), (check(0.2), check(0.97)), "meets its target"),
        (phase("saturation"), (check(0.9),), None),
        (phase("saturation"), (check(0.9), check(0.97, finished=False)), None),
        (phase("saturation"), (check(0.97, settled=False),), None),
        (phase("consolidation"), (check(0.97), check(0.94)), None),
    ],
)
def test_when_there_is_a_b_to_be_taken(
    now: Phase | None, checks: tuple[BCheck, ...], why: str | None
) -> None:
    cell = Cell("C1", "C1", phase=now, checks=checks)
    if why is None:
        assert may_be_taken(cell, 0.95).target == 0.95
        return
    with pytest.raises(CannotAnswerError, match=why):
        may_be_taken(cell, 0.95)


def test_what_is_raised_where() -> None:
    assert [one.kind for one in alarms_at(BENCH, "C2")] == ["supply-lost"]
    assert alarms_at(BENCH, "C9") == ()
    assert [one.kind for one in alarms_at(BENCH, "")] == ["supply-lost", "disk-low"]
    (shelved,) = to_be_answered(BENCH, "C1", "over-pressure", None, "shelve")
    assert shelved.state == "shelved"


@pytest.mark.usefixtures("stood")
def test_hostile_text_reaches_no_terminal(bench: Path, say: Say) -> None:
    shelf = ("shelve", "C1", "pressure-drift", "--about", "cell_pressure", "--for", "1 h")
    for arguments in (
        ("acknowledge", "C1", "log-silent", "--text", HOSTILE, "--by", HOSTILE),
        (*shelf, "--why", HOSTILE, "--by", HOSTILE),
        ("accept", "C1", "saturation", "--why", HOSTILE, "--by", HOSTILE),
    ):
        code, out, err = say(*arguments)
        assert (code, err) == (0, "")
        assert all(letter == "\n" or letter.isprintable() for letter in out)
    code, out, err = say("journal")
    assert (code, err) == (0, "")
    assert all(letter == "\n" or letter.isprintable() for letter in out)
    assert "[bold]x[/bold]" in out
    assert {one["text"] for one in json.loads(say("journal", "--json")[1])["entries"]} == {
        HOSTILE.strip()
    }


def test_what_the_watch_wrote_is_shown_and_stays(bench: Path, say: Say) -> None:
    about: dict[str, Any] = {
        "alarm": "pressure-drift",
        "about": "cell_pressure",
        "priority": "urgent",
    }
    usual: dict[str, Any] = {"cell": "C1", "test": "T015", "entered_at": NOW, "text": ""}
    usual |= {"who": "guard", "host": "lab"}
    since = NOW - HOUR
    both = about | usual
    facts = [
        Act(0, "raised", held_at=since + 300.0, since=since, **both),
        Act(0, "notified", held_at=since + 310.0, since=since, route="night phone", **both),
        Act(0, "cleared", held_at=since + 900.0, since=since, **both),
        Act(0, "duty", held_at=NOW, **(usual | {"cell": "", "text": "the watch begins"})),
    ]
    assert tuple(sorted({act.kind for act in facts})) == tuple(sorted(WATCH_KINDS))
    Journal.open(bench).add_all([Entry(act) for act in facts])
    code, out, _ = say("journal")
    assert code == 0
    assert (
        "   1  Mon 3 Feb 2031 12:05  C1  raised pressure-drift (cell_pressure), urgent, "
        "since Mon 3 Feb 2031 12:00\n"
    ) in out
    assert "C1  notified pressure-drift (cell_pressure) by night phone\n" in out
    assert "C1  cleared pressure-drift (cell_pressure)\n" in out
    assert "the bench  duty\n" in out
    assert "the watch begins" in out
    first = json.loads(say("journal", "--json")[1])["entries"][0]
    assert (first["alarm"], first["about"], first["priority"]) == tuple(about.values())
    assert first["since"] == "2031-02-03T12:00:00+01:00"
    assert (first["ends"], first["route"]) == (None, None)
    for number in range(1, 5):
        code, out, err = say("undo", str(number))
        assert (code, out) == (64, "")
        assert "a fact that stays" in err
    assert len(entries(bench)) == 4


@pytest.mark.usefixtures("stood")
def test_answers_can_be_taken_back(bench: Path, say: Say) -> None:
    say("acknowledge", "C1", "log-silent")
    code, out, _ = say("undo", "1")
    assert (code, out) == (0, "entry 2: took back entry 1, an acknowledgement about C1\n")
    assert Journal.open(bench).acts() == ()


@pytest.mark.usefixtures("stood")
def test_on_a_network_file_system_acts_go_into_a_file_of_this_host(
    bench: Path, say: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    mounts = bench.parent / "mounts"
    mounts.write_text(f"2 1 0:9 / {bench.resolve()} rw - cifs //host/share rw\n")
    monkeypatch.setattr(location, "MOUNTS", mounts)
    code, out, err = say("acknowledge", "C1", "log-silent")
    assert (code, err) == (0, "")
    assert out.startswith("entry 2000001: ")
    assert say("undo", "2000001")[0] == 0
    assert Journal.open(bench).acts() == ()
    assert not shared_file(bench).exists()
    assert not own_file(bench).exists()
    with (acts_folder(bench) / "2.jsonl").open("ab") as file:
        file.write(b"rubbish\n")
    code, out, err = say("journal")
    assert code == 1
    assert ".porewatch/acts/2.jsonl" in err
    assert "acknowledge log-silent (taken back by 2000002)" in out


@pytest.fixture(scope="module")
def drifting(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished bench whose cell pressure falls slowly, judged by the engine itself."""
    root = tmp_path_factory.mktemp("drift") / "bench"
    fault = ("--fault", "pressure-drift:C1")
    assert run(["rehearse", "--out", str(root), "--cells", "1", "--days", "1.5", *fault]) == 0
    return root


def test_the_engine_takes_what_was_said(
    drifting: Path, say: Say, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("POREWATCH_BENCH", str(drifting))

    def state() -> str | None:
        found = [one for one in look(drifting).cells[0].alarms if one.kind == "pressure-drift"]
        return found[0].state if found else None

    assert state() == "unacknowledged"
    assert say("acknowledge", "C1", "pressure-drift")[0] == 0
    assert state() == "acknowledged"
    assert "had acknowledged it already" in say("acknowledge", "C1", "pressure-drift")[1]
    for number in ("1", "2"):
        assert say("undo", number)[0] == 0
    assert state() == "unacknowledged"
    shelf = ("shelve", "C1", "pressure-drift", "--for", "2 h", "--why", "known")
    code, out, _ = say(*shelf)
    assert code == 0
    assert state() == "shelved"
    assert say("acknowledge", "C1", "pressure-drift")[0] == 1
    assert say("status")[0] in (0, 1)  # a shelved alarm does not count
    assert say("undo", out.split()[1].rstrip(":"))[0] == 0
    assert state() == "unacknowledged"
