"""The command line as a whole: help, wrong usage, faults, and what is imported."""

import subprocess
import sys
import types

import click
import pytest

from tui.commands import main as entry
from tui.commands.main import run


def test_alone_it_prints_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([]) == 0
    shown = capsys.readouterr()
    assert "moves no valve" in shown.out
    for name in entry.COMMANDS:
        assert f"  {name} " in shown.out
    assert shown.err == ""


@pytest.mark.parametrize("option", ["--help", "-h"])
def test_help_and_version(option: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([option]) == 0
    assert run(["--version"]) == 0
    assert "porewatch" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["status", "watch", "mark", "note", "undo", "journal", "demo"])
def test_every_command_explains_itself(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([name, "--help"]) == 0
    shown = capsys.readouterr()
    assert shown.out.startswith(f"Usage: porewatch {name} ")
    assert len(shown.out.splitlines()) < 40


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["wacth"], 'did you mean "watch"?'),
        (["xyzzy"], "there is no command 'xyzzy'"),
        (["--wrong"], "--wrong"),
        (["status", "--jsno"], "--json"),
        (["status", "--units", "furlong"], "neither SI nor US"),
        (["status", "--at", "yesterday"], "2031-02-03T08:10"),
        (["status", "/no/such/bench"], "does not exist"),
        (["status", "a", "b"], "unexpected extra argument"),
        (["mark"], "CELL"),
        (["mark", "C1", "saturaton"], 'did you mean "saturation"?'),
        (["mark", "C1", "saturation", "--step", "b-chek"], 'did you mean "b-check"?'),
        (["mark", "C1", "saturation/b-check", "--step", "hold"], "brings a step already"),
        (["mark", "C1", "ended", "--step", "hold"], "no steps"),
        (["undo", "two"], "ENTRY"),
        (["undo", "0"], "ENTRY"),
        (["watch", "--replay", "-3"], "--replay"),
        (["completion", "tcl"], "bash"),
    ],
)
def test_wrong_usage_is_one_clear_line(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 64
    shown = capsys.readouterr()
    assert shown.out == ""
    assert len(shown.err.splitlines()) == 1
    assert said in shown.err
    assert shown.err.startswith("porewatch: ")


def test_the_bench_of_the_environment_is_named_when_it_is_wrong(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("POREWATCH_BENCH", "/no/such/bench")
    assert run(["status"]) == 64
    assert "POREWATCH_BENCH" in capsys.readouterr().err


def _command_that_raises(error: BaseException) -> types.SimpleNamespace:
    @click.command("status")
    def command() -> None:
        raise error

    return types.SimpleNamespace(command=command)


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (ZeroDivisionError("division\nby \x1b[31mzero"), 70),
        (KeyboardInterrupt(), 130),
        (click.Abort(), 130),
        (BrokenPipeError(), 130),
        (click.ClickException("the disk is full"), 1),
        (click.exceptions.Exit(3), 3),
    ],
)
def test_every_end_has_its_code_and_no_traceback(
    error: BaseException,
    code: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(entry, "import_module", lambda _name: _command_that_raises(error))
    monkeypatch.setattr(entry, "_pipe_closed", lambda: entry.INTERRUPTED)
    assert run(["status"]) == code
    shown = capsys.readouterr()
    assert shown.out == ""
    if code in (70, 1):
        (line,) = shown.err.splitlines()
        assert line.isprintable()
    else:
        assert shown.err == ""
    if code == 70:
        assert "ZeroDivisionError" in shown.err
        assert "POREWATCH_TRACEBACK=1" in shown.err


def test_a_fault_shows_its_traceback_on_demand(monkeypatch: pytest.MonkeyPatch) -> None:
    fault = _command_that_raises(ZeroDivisionError())
    monkeypatch.setattr(entry, "import_module", lambda _name: fault)
    monkeypatch.setenv("POREWATCH_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        run(["status"])


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_completion_scripts_call_the_program_back(
    shell: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["completion", shell]) == 0
    assert "_POREWATCH_COMPLETE" in capsys.readouterr().out


def test_the_shell_is_offered_commands(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("_POREWATCH_COMPLETE", "bash_complete")
    monkeypatch.setenv("COMP_WORDS", "porewatch sta")
    monkeypatch.setenv("COMP_CWORD", "1")
    assert run([]) == 0
    assert capsys.readouterr().out.split() == ["plain,status"]


def _imported_by(arguments: list[str]) -> set[str]:
    script = (
        "import sys; from tui.commands.main import run; "
        f"run({arguments!r}); print(*sorted(sys.modules), sep='\\n', file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return set(done.stderr.split())


def test_help_imports_no_command() -> None:
    loaded = _imported_by(["--help"])
    assert "tui.commands.main" in loaded
    assert loaded.isdisjoint({"numpy", "pydantic", "textual", "rich", "sqlite3", "watchdog"})
    assert "tui.commands.status" not in loaded


def test_a_reader_that_leaves_ends_it_quietly() -> None:
    # The reader's end is closed before the writer begins, so that every write fails.
    script = (
        "import os, sys; r, w = os.pipe(); os.close(r); os.dup2(w, 1); "
        "from tui.commands.main import main; sys.argv[1:] = ['--help']; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], stderr=subprocess.PIPE, text=True, check=False
    )
    assert done.returncode == 130
    assert done.stderr == ""
