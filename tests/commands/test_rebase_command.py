"""A volume gauge refilled in mid-consolidation, on whole logs: by rule, or said by a person."""

import json
import shutil
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from calling import call

from tui.journal.store import Journal
from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose

CHANNELS = {
    "cell_pressure": "kPa",
    "back_pressure": "kPa",
    "pore_pressure": "kPa",
    "back_volume": "ml",
    "axial_displacement": "mm",
    "axial_load": "N",
}
VOLUME = 4
"""Field of the log that holds the volume."""
JUMP_ML = 48.3


@pytest.fixture(scope="module")
def rehearsed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("rehearsed") / "bench"
    order = Order(cells=1, soil="silty-clay", rows="steady", every_s=30.0, kind="CU")
    write_bench(compose(order), root, None)
    return root


@dataclass
class Logged:
    """A copy of the rehearsed bench whose logs a test may edit."""

    root: Path

    @property
    def rows(self) -> list[list[str]]:
        return [
            line.split(",")
            for file in sorted(self.root.glob("C1/*.csv"))
            for line in file.read_text().splitlines()[1:]
        ]

    def write(self, rows: list[list[str]]) -> None:
        """One file instead of those that are there."""
        files = sorted(self.root.glob("C1/*.csv"))
        header = files[0].read_text().splitlines()[0]
        for file in files:
            file.unlink()
        (self.root / "C1" / "all.csv").write_text("\n".join([header, *map(",".join, rows), ""]))

    def settle(self, **more: str) -> None:
        """Name the channels in the settings, with more keys for some."""
        lines = [
            f'{name} = {{ column = "{name}_{unit}", unit = "{unit}"{more.get(name, "")} }}'
            for name, unit in CHANNELS.items()
        ]
        file = self.root / "C1" / "cell.toml"
        log = "\n".join(["[log.channels]", *lines, 'drainage = { column = "drainage" }', "", ""])
        file.write_text(file.read_text().replace("[test]\n", log + "[test]\n"))


@pytest.fixture
def logged(rehearsed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Logged:
    root = tmp_path / "bench"
    shutil.copytree(rehearsed, root)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("POREWATCH_BENCH", str(root))
    return Logged(root)


def reduction(*more: str) -> dict[str, Any]:
    done = call("reduce", "C1", "--json", *more)
    assert done.exit_code == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def status(*more: str) -> dict[str, Any]:
    done = call("status", "--json", *more)
    found: dict[str, Any] = json.loads(done.stdout)["cells"][0]
    return found


def local(at: datetime) -> str:
    return at.replace(tzinfo=None).isoformat()


@dataclass
class Refilled:
    """Where a log was edited."""

    before: str
    """Time of the last row before."""
    after: str
    """Time of the first row after."""
    flow_ml: float
    """What left the specimen between the two."""


def refill(logged: Logged, hours: float, *, junk: int = 0) -> Refilled:
    """Move the gauge some hours after drainage was opened; rows of a slow refill show junk."""
    drained = next(
        phase["start"]
        for phase in reduction()["phases"]
        if (phase["name"], phase["step"]) == ("consolidation", "drained")
    )
    moment = local(datetime.fromisoformat(drained) + timedelta(hours=hours))
    rows = logged.rows
    first = next(k for k, row in enumerate(rows) if row[0] >= moment)
    volumes = [float(row[VOLUME]) for row in rows]
    for k in range(first, first + junk):
        rows[k][VOLUME] = f"{volumes[k] + JUMP_ML * (k - first + 0.5) / junk:.3f}"
    for k in range(first + junk, len(rows)):
        rows[k][VOLUME] = f"{volumes[k] + JUMP_ML:.3f}"
    logged.write(rows)
    last, next_one = first - 1, first + junk
    return Refilled(rows[last][0], rows[next_one][0], volumes[last] - volumes[next_one])


def as_before(found: dict[str, Any], expected: dict[str, Any], flow_ml: float) -> None:
    """Everything of consolidation and shear, but for what flowed in the gap."""
    ours, theirs = found["consolidation"], expected["consolidation"]
    assert ours["volume_change_ml"] == pytest.approx(theirs["volume_change_ml"] - flow_ml, abs=1e-6)
    for key in ("volumetric_strain", "area_mm2", "void_ratio", "cv_m2_per_year"):
        assert ours[key] == pytest.approx(theirs[key], rel=0.02), key
    ours, theirs = found["shear"]["peak_deviator"], expected["shear"]["peak_deviator"]
    assert ours["deviator_kPa"] == pytest.approx(theirs["deviator_kPa"], rel=1e-3)


def moved_in(found: dict[str, Any]) -> list[str]:
    return [one["what"] for one in found["cautions"] if "is not counted" in one["what"]]


def test_a_refill_by_rule_changes_nothing_but_what_flowed_meanwhile(logged: Logged) -> None:
    expected = reduction()
    logged.settle(back_volume=', refill = "3 ml"')
    assert moved_in(reduction()) == []
    edited = refill(logged, 0.5)
    found = reduction()
    assert edited.flow_ml < 0.1
    as_before(found, expected, edited.flow_ml)
    (caution,) = moved_in(found)
    assert caution.startswith("the volume gauge was refilled by +48.")
    assert edited.after.replace("T", " ") in caution
    assert edited.before.replace("T", " ") in caution


def test_without_a_rule_and_an_act_it_counts_as_flow(logged: Logged) -> None:
    expected = reduction()["consolidation"]["volume_change_ml"]
    logged.settle(back_volume=', stroke = "-60 to 60 ml"')
    refill(logged, 0.5)
    assert reduction()["consolidation"]["volume_change_ml"] == pytest.approx(
        expected - JUMP_ML, abs=0.1
    )


def test_the_projection_goes_on_across_a_refill(logged: Logged, tmp_path: Path) -> None:
    logged.settle(back_volume=', refill = "3 ml"')
    edited = refill(logged, 0.5)
    later = local(datetime.fromisoformat(edited.after) + timedelta(minutes=20))
    moved = status("--at", later)
    rows = logged.rows
    at = next(k for k, row in enumerate(rows) if row[0] == edited.after)
    for row in rows[at:]:
        row[VOLUME] = f"{float(row[VOLUME]) - JUMP_ML:.3f}"
    logged.write(rows)
    plain = status("--at", later)
    assert plain["projection"]["at"] is not None
    ends = [datetime.fromisoformat(one["projection"]["at"]) for one in (plain, moved)]
    left = ends[0] - datetime.fromisoformat(later + "+01:00")
    assert abs(ends[1] - ends[0]) < 0.1 * left
    assert moved["quantities"]["U"] == pytest.approx(plain["quantities"]["U"], abs=0.02)
    assert moved["phase"] == plain["phase"]
    assert moved["live"]["back_volume_ml"] == pytest.approx(
        plain["live"]["back_volume_ml"] + edited.flow_ml, abs=1e-6
    )
    (note,) = [p for p in moved["problems"] if "refilled" in p["what"]]
    assert note["severity"] == "note"


def test_a_slow_refill_is_taken_out_by_an_act_and_comes_back_with_its_undo(logged: Logged) -> None:
    expected = reduction()
    edited = refill(logged, 2.0, junk=20)
    wrong = reduction()
    assert wrong["consolidation"]["volume_change_ml"] < 0.0
    done = call(
        "rebase", "C1", "back_volume", "--from", edited.before, "--to", edited.after,
        "--text", "burette topped up", "--by", "mira",
    )  # fmt: skip
    assert (done.exit_code, done.stderr) == (0, "")
    assert done.stdout.startswith("entry 1: the change of back_volume of C1 (")
    found = reduction()
    as_before(found, expected, edited.flow_ml)
    (caution,) = moved_in(found)
    assert "burette topped up" in caution
    assert caution.startswith("the zero of back_volume moved by +48")
    # As of a moment before it holds it does not count; nor do the rows that it is about.
    early = reduction("--at", edited.before)["consolidation"]
    assert early is not None
    assert call("undo", "1").stdout == "entry 2: took back entry 1, a rebase about C1\n"
    assert reduction() == wrong


def test_the_displacement_goes_on_when_its_gauge_is_set_back(logged: Logged) -> None:
    expected = reduction()
    rows = logged.rows
    shear = next(p["start"] for p in expected["phases"] if p["step"] == "shear")
    moment = local(datetime.fromisoformat(shear) + timedelta(hours=2))
    first = next(k for k, row in enumerate(rows) if row[0] >= moment)
    gap = float(rows[first][5]) - float(rows[first - 1][5])
    for row in rows[first:]:
        row[5] = f"{float(row[5]) - 3.0:.3f}"
    logged.write(rows)
    done = call("rebase", "C1", "axial-displacement", "--when", moment)
    assert done.exit_code == 0
    found = reduction()["shear"]["peak_deviator"]
    theirs = expected["shear"]["peak_deviator"]
    assert found["axial_strain"] == pytest.approx(theirs["axial_strain"] - gap / 100.0, abs=5e-4)
    assert found["deviator_kPa"] == pytest.approx(theirs["deviator_kPa"], rel=2e-3)


def test_a_value_may_be_said_and_stands_in_the_journal(logged: Logged) -> None:
    done = call(
        "rebase", "C1", "cell_pressure", "--when", "2031-02-03T09:00", "--reads", "1 bar"
    )  # fmt: skip
    assert (done.exit_code, done.stderr) == (0, "")
    assert "it then reads 1 bar" in done.stdout
    (act,) = Journal.open(logged.root).acts()
    assert (act.kind, act.channel, act.reads, act.test) == (
        "rebase",
        "cell_pressure",
        100.0,
        "T001",
    )
    assert act.until == act.held_at
    live = status("--at", "2031-02-03T09:00:00")["live"]
    assert live["cell_pressure_kPa"] == pytest.approx(100.0)
    assert "rebase cell_pressure, reads 100 kPa\n" in call("journal").stdout
    (entry,) = json.loads(call("journal", "--json").stdout)["entries"]
    assert (entry["channel"], entry["reads"]) == ("cell_pressure", 100.0)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("C1", "back_volum"), 'did you mean "back_volume"'),
        (("C1", "drainage"), "has no channel 'drainage' of numbers"),
        (("C1", "back_volume", "--reads", "3"), "a number without a unit"),
        (("C1", "back_volume", "--reads", "3 kPa"), "measures pressure, not volume"),
        (
            ("C1", "back_volume", "--from", "2031-02-03T10:00", "--to", "2031-02-03T09:00"),
            "--to is before",
        ),
        (
            ("C1", "back_volume", "--from", "2031-02-03T10:00", "--when", "2031-02-03T10:00"),
            "leave out --when",
        ),
        (("C9", "back_volume"), "the cells are: C1"),
    ],
)
def test_what_cannot_be_is_refused_and_not_kept(
    logged: Logged, arguments: tuple[str, ...], said: str
) -> None:
    done = call("rebase", *arguments)
    assert (done.exit_code, done.stdout) == (64, "")
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert Journal.open(logged.root).entries() == ()


def test_a_channel_that_the_settings_do_not_name_is_refused(logged: Logged) -> None:
    logged.settle()
    done = call("rebase", "C1", "cell_volume")
    assert done.exit_code == 64
    assert "C1 has no channel 'cell_volume' of numbers" in done.stderr
