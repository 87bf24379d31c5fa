"""The night watch as processes: two on one bench, kills, a full disk, an alarm from end to end."""

import json
import os
import random
import resource
import signal
import socket
import statistics
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tui.guard.duty import read_duty
from tui.journal.acts import Act
from tui.journal.store import Journal

PROJECT = Path(__file__).parents[2]
HEADER = "time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa\n"
CELL = """[cell]
rating = "1000 kPa"
[test]
id = "T1"
kind = "CU"
started = "2020-01-01T00:00"
[specimen]
diameter = "50 mm"
height = "100 mm"
[plan]
effective_stress = "150 kPa"
"""
PATIENCE_S = 40.0


class Bench:
    """A bench of a few cells whose loggers are this test, and a program that takes messages."""

    def __init__(self, folder: Path, cells: int) -> None:
        self.root, self.folder = folder / "bench", folder
        pager = folder / "pager"
        pager.write_text(f'#!/bin/sh\ncat >> "{folder}/got"; echo >> "{folder}/got"\n')
        pager.chmod(0o755)
        self.env = {
            "PATH": os.environ["PATH"],
            "HOME": str(folder),
            "PYTHONPATH": str(PROJECT),
            "PYTHONWARNINGS": "error",
            "OPENBLAS_NUM_THREADS": "1",
            "PHONE": f"command:{pager}",
            "HEART": f"file:{folder}/heart",
        }
        self.names = [f"C{n}" for n in range(1, cells + 1)]
        for name in self.names:
            (self.root / name).mkdir(parents=True)
            (self.root / name / "cell.toml").write_text(CELL)
            now = time.time()
            rows = [self.row(200.0, now - 10 * k) for k in range(30, 0, -1)]
            (self.root / name / "log.csv").write_text(HEADER + "".join(rows))
        (self.root / "bench.toml").write_text(
            'zone = "UTC"\n[alarms]\nheartbeat = { url = "env:HEART", every = "1 s" }\n'
            '[[alarms.routes]]\nname = "phone"\nto = "env:PHONE"\nfrom = "urgent"\n'
        )
        self.begun: list[subprocess.Popen[str]] = []

    @staticmethod
    def row(pressure_kPa: float, at: float | None = None) -> str:
        moment = datetime.fromtimestamp(time.time() if at is None else at, UTC)
        stamp = moment.replace(tzinfo=None).isoformat(timespec="milliseconds")
        return f"{stamp},{pressure_kPa},{pressure_kPa - 10},{pressure_kPa - 10}\n"

    def log(self, name: str, *pressures_kPa: float) -> None:
        """Append rows a few milliseconds apart."""
        now = time.time()
        rows = [self.row(p, now + 0.002 * k) for k, p in enumerate(pressures_kPa)]
        with (self.root / name / "log.csv").open("a") as file:
            file.write("".join(rows))

    def guard(self, *arguments: str, **more: object) -> subprocess.Popen[str]:
        """Begin `porewatch guard`."""
        process = subprocess.Popen(
            [sys.executable, "-m", "tui.commands.main", "guard", str(self.root), *arguments],
            stdout=subprocess.PIPE,
            stderr=(self.folder / f"said-{len(self.begun)}").open("w"),
            text=True,
            env=self.env,
            cwd=self.folder,
            **more,  # type: ignore[call-overload]
        )
        self.begun.append(process)
        return process

    def said(self, number: int) -> str:
        return (self.folder / f"said-{number}").read_text()

    def entries(self, *kinds: str) -> list[Act]:
        journal = Journal.open(self.root)
        try:
            return [one.act for one in journal.entries() if one.act.kind in kinds]
        finally:
            journal.close()

    def got(self) -> list[dict[str, object]]:
        """What the pager was told."""
        file = self.folder / "got"
        lines = file.read_text().splitlines() if file.exists() else []
        return [json.loads(line) for line in lines if line.strip()]

    def close(self) -> None:
        for number, process in enumerate(self.begun):
            print(f"guard {number} ended with {process.poll()}:\n{self.said(number)}")
            process.kill()
            process.wait()
            if process.stdout is not None:
                process.stdout.close()


def until(so: Callable[[], object], within_s: float = PATIENCE_S) -> None:
    deadline = time.monotonic() + within_s
    while not so():
        assert time.monotonic() < deadline, "it did not come about"
        time.sleep(0.02)


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[int], Bench]]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / ".local" / "state"))
    benches: list[Bench] = []

    def make(cells: int = 1) -> Bench:
        benches.append(Bench(tmp_path, cells))
        return benches[-1]

    yield make
    for one in benches:
        one.close()


def on_duty(bench: Bench) -> bool:
    return read_duty(bench.root, time.time()).on_duty


@pytest.mark.filterwarnings("ignore:unclosed file")
def test_over_pressure_from_the_log_to_the_phone_and_to_the_end_of_the_watch(
    made: Callable[[int], Bench],
) -> None:
    bench = made(2)
    guard = bench.guard()
    until(lambda: on_duty(bench) and (bench.folder / "heart").exists())
    bench.log("C1", 990.0, 991.0)  # above 95 % of the rating, by two rows: at once
    until(bench.got)
    (told,) = bench.got()
    (notice,) = told["notices"]  # type: ignore[misc]
    assert (notice["cell"], notice["kind"], notice["priority"]) == ("C1", "over-pressure", "urgent")
    assert "95% of the rating" in notice["message"]
    assert notice["acknowledge"].startswith("porewatch acknowledge C1 over-pressure")
    until(lambda: bench.entries("notified"))
    (raised,) = bench.entries("raised")
    assert (raised.cell, raised.alarm, raised.about) == ("C1", "over-pressure", "cell_pressure")
    bench.log("C1", 500.0, 500.0, 500.0)
    until(lambda: bench.entries("cleared"))
    until(lambda: len(bench.got()) == 2, 40.0)  # that it is over waits for company
    guard.send_signal(signal.SIGTERM)
    assert guard.wait(10) == 0
    assert [act.text for act in bench.entries("duty")] == ["on duty", "off duty"]
    assert [act.text for act in bench.entries("notified")] == ["raised", "cleared"]
    assert not on_duty(bench)


@pytest.mark.filterwarnings("ignore:unclosed file")
def test_a_second_guard_says_who_watches_and_takes_over_when_that_one_is_killed(
    made: Callable[[int], Bench],
) -> None:
    bench = made(1)
    first = bench.guard()
    until(lambda: on_duty(bench))
    second = bench.guard()
    until(lambda: f"kept by process {first.pid} on " in bench.said(1))
    once = bench.guard("--once")
    assert once.wait(PATIENCE_S) in (0, 1)
    assert "nothing was journalled or told from here" in bench.said(2)
    bench.log("C1", 990.0, 991.0)
    until(bench.got)
    until(lambda: bench.entries("notified"))
    first.kill()
    first.wait()
    begun = time.monotonic()
    until(lambda: len(bench.entries("duty")) == 2)
    assert time.monotonic() - begun < 5.0
    assert json.loads((bench.root / ".porewatch" / "duty.json").read_text())["pid"] == second.pid
    time.sleep(2.0)
    assert len(bench.entries("raised")) == 1
    assert len(bench.got()) == 1  # what was told is not told again


@pytest.mark.filterwarnings("ignore:unclosed file")
def test_kills_at_any_moment_raise_nothing_twice_and_lose_nothing(
    made: Callable[[int], Bench],
) -> None:
    bench, chance = made(3), random.Random(7)

    def mine(kind: str) -> list[Act]:
        """Of the one kind that is meant; a pressure that jumps so raises others besides."""
        return [act for act in bench.entries(kind) if act.alarm == "over-pressure"]

    spells: Counter[str] = Counter()
    high: dict[str, bool] = dict.fromkeys(bench.names, False)
    for _ in range(8):
        guard = bench.guard()
        for _ in range(chance.randint(1, 3)):
            time.sleep(chance.uniform(0.0, 0.9))
            name = chance.choice(bench.names)
            if high[name]:
                bench.log(name, 500.0, 500.0, 500.0)
            else:
                bench.log(name, 990.0, 991.0, 992.0)
                spells[name] += 1
            high[name] = not high[name]
        time.sleep(chance.uniform(0.0, 0.9))
        guard.kill()
        guard.wait()
    bench.guard()
    until(lambda: Counter(act.cell for act in mine("raised")) == spells)
    ended = {name: count - high[name] for name, count in spells.items()}
    until(
        lambda: (
            Counter(act.cell for act in mine("cleared"))
            == Counter({name: count for name, count in ended.items() if count})
        )
    )
    standing = {name for name, is_high in high.items() if is_high}

    def told() -> set[object]:
        raised = {(act.cell, act.since): 0 for act in mine("raised")}
        over = {(act.cell, act.since) for act in mine("cleared")}
        notified = {(act.cell, act.since) for act in mine("notified")}
        return {one for one in set(raised) - over if one in notified}

    until(lambda: {one[0] for one in told()} == standing, 60.0)  # type: ignore[index]
    keys = [(act.cell, act.since) for act in mine("raised")]
    assert len(keys) == len(set(keys))


@pytest.mark.filterwarnings("ignore:unclosed file")
def test_a_disk_that_is_full_is_told_and_the_watch_goes_on(made: Callable[[int], Bench]) -> None:
    bench = made(1)

    def nothing_fits() -> None:
        # As on a full disk: what exists may be read, nothing can grow beyond a page.
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))

    bench.env["PHONE"] = f"command:{sys.executable} {bench.folder}/sink.py"
    port = bench.folder / "socket"
    (bench.folder / "sink.py").write_text(
        "import socket, sys\n"
        f"s = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM); s.connect({str(port)!r})\n"
        "s.send(sys.stdin.buffer.read()[:60000])\n"
    )
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as inbox:
        inbox.bind(str(port))
        inbox.settimeout(PATIENCE_S)
        guard = bench.guard(preexec_fn=nothing_fits)
        told = [json.loads(inbox.recv(1 << 17))]
        bench.log("C1", 990.0, 991.0)
        while "over-pressure" not in {one["kind"] for one in told[-1]["notices"]}:
            told.append(json.loads(inbox.recv(1 << 17)))
        everything = json.dumps(told)
        assert "the journal takes nothing" in everything
        assert guard.poll() is None
        guard.send_signal(signal.SIGINT)
        assert guard.wait(10) == 0


@pytest.mark.filterwarnings("ignore:unclosed file")
def test_from_a_row_to_the_journal_takes_a_tenth_of_a_second(made: Callable[[int], Bench]) -> None:
    bench = made(4)
    bench.guard()
    until(lambda: on_duty(bench) and (bench.folder / "heart").exists())
    time.sleep(1.0)
    took = []
    journal = Journal.open(bench.root)
    for n in range(12):
        name = bench.names[n % 4]
        before = sum(one.act.kind == "raised" for one in journal.entries())
        begun = time.monotonic()
        bench.log(name, 990.0, 991.0)
        while sum(one.act.kind == "raised" for one in journal.entries()) == before:
            assert time.monotonic() - begun < PATIENCE_S
            time.sleep(0.002)
        took.append(time.monotonic() - begun)
        bench.log(name, 500.0, 500.0, 500.0)
        time.sleep(random.Random(n).uniform(0.3, 0.8))
    journal.close()
    print(f"median {statistics.median(took):.3f} s, longest {max(took):.3f} s")
    assert statistics.median(took) <= 0.1, took
