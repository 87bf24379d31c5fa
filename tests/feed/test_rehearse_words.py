"""`porewatch rehearse` with wrong words, and with folders that are not its own."""

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tui.commands.rehearse import command

Run = Callable[..., Result]


@pytest.fixture
def rehearse(tmp_path: Path) -> Run:
    def run(*words: str) -> Result:
        return CliRunner().invoke(command, ["--out", str(tmp_path / "bench"), *words])

    return run


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--fault", "disk-low"], "cannot be rehearsed"),
        (["--fault", "watch-sparse"], "cannot be rehearsed"),
        (["--fault", "strain-limit"], "no fault"),
        (["--fault", "phase-complete:C4"], "no fault"),
        (["--fault", "nonsense"], "over-pressure"),
        (["--fault", "log-silent:C9"], "no such cell"),
        (["--fault", "log-silent:C4@later"], "number of hours"),
        (["--fault", "log-silent:C4@900"], "lasts 52 h"),
        (["--fault", "membrane-burst:C6"], "@HOURS"),
        (["--start", "tomorrow"], "2031-02-03T08:00"),
        (["--start", "2031-02-03T08:00+01:00"], "no offset"),
        (["--every", "10"], "unit"),
        (["--every", "1 kg"], "time"),
        (["--every", "0.01 s"], "short"),
        (["--soil", "mud"], "soft-clay"),
        (["--cells", "0"], "--cells"),
        (["--kind", "oedometer"], "UU"),
        (["--kind", "UU", "--soil", "dense-sand"], "sand drains"),
        (["--kind", "UU", "--fault", "volume-gauge-end"], "no UU test reads"),
        (["--noise", "-1"], "--noise"),
        (["--noise", "nan"], "no number"),
        (["--noise", "inf"], "no number"),
        (["--days", "-1"], "--days"),
        (["--rows", "random"], "steady"),
    ],
)
def test_wrong_words_get_one_line_and_write_nothing(
    rehearse: Run, tmp_path: Path, words: list[str], says: str
) -> None:
    result = rehearse(*words)
    assert result.exit_code != 0
    assert says in result.output
    assert "Traceback" not in result.output
    assert not list(tmp_path.iterdir())


def test_every_kind_that_is_unknown_lists_the_known(rehearse: Run) -> None:
    result = rehearse("--fault", "nonsense")
    assert result.exit_code == 64
    assert len(result.output.splitlines()) == 1
    for kind in ("over-pressure", "leak-membrane", "clock-jump", "zero-offset"):
        assert kind in result.output


def test_a_folder_of_others_is_left_alone(rehearse: Run, tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    (bench / "C1").mkdir(parents=True)
    (bench / "C1" / "2031-02-04.csv").write_text("precious\n", encoding="utf-8")
    result = rehearse()
    assert result.exit_code == 64
    assert "new or empty folder" in result.output
    assert [p.name for p in bench.iterdir()] == ["C1"]
    assert (bench / "C1" / "2031-02-04.csv").read_text(encoding="utf-8") == "precious\n"


def test_a_bench_with_its_own_settings_is_not_ours(rehearse: Run, tmp_path: Path) -> None:
    (tmp_path / "bench").mkdir()
    (tmp_path / "bench" / "bench.toml").write_text('name = "mine"\n', encoding="utf-8")
    assert rehearse().exit_code == 64


def test_a_second_rehearsal_replaces_the_first_and_keeps_the_rest(
    rehearse: Run, tmp_path: Path
) -> None:
    bench = tmp_path / "bench"
    assert rehearse("--cells", "6").exit_code == 0
    (bench / "README.md").write_text("kept\n", encoding="utf-8")
    (bench / "C2" / "photo.jpg").write_bytes(b"kept")
    (bench / "mine").mkdir()
    (bench / "mine" / "cell.toml").write_text("[test]\n", encoding="utf-8")
    assert rehearse("--cells", "1").exit_code == 0
    assert sorted(p.name for p in bench.iterdir()) == [
        "C1",
        "C2",
        "README.md",
        "bench.toml",
        "mine",
    ]
    assert [p.name for p in (bench / "C2").iterdir()] == ["photo.jpg"]
    assert (bench / "mine" / "cell.toml").read_text(encoding="utf-8") == "[test]\n"
    assert sorted(p.name for p in (tmp_path / "bench.truth").iterdir()) == ["C1.json"]


def test_truth_goes_where_it_is_wanted(rehearse: Run, tmp_path: Path) -> None:
    assert rehearse("--cells", "1", "--truth", str(tmp_path / "answers")).exit_code == 0
    assert (tmp_path / "answers" / "C1.json").is_file()
    assert not (tmp_path / "bench.truth").exists()
    assert rehearse("--cells", "1", "--truth", "none").exit_code == 0
    assert not (tmp_path / "bench.truth").exists()


def test_a_bench_that_follows_the_clock_can_be_interrupted(
    rehearse: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(_seconds: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tui.commands.rehearse.time.sleep", interrupt)
    monkeypatch.setattr("tui.commands.rehearse.WallClock.now", lambda _self: 2e9)
    result = rehearse("--soil", "silt", "--cells", "1", "--start", "now", "--live", "1")
    assert result.exit_code == 0
    assert "stopped" in result.stderr
    assert 'now = "clock"' in (tmp_path / "bench/bench.toml").read_text(encoding="utf-8")
    lines = (tmp_path / "bench/C1/2033-05-18.csv").read_text(encoding="utf-8").splitlines()
    assert len(lines) == 2, "the header and the first row: no more is due yet"
    assert lines[1].startswith("2033-05-18T05:33:00")
