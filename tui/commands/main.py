"""The command `porewatch`: finds the module of a command and turns every end into an exit code.

A command lives in a module of its own and is imported when it is called for, so that one look
(`status`) pays neither for the dashboard nor for its screens.

Exit codes that all commands share: 64 wrong usage, 70 a fault of ours, 130 interrupted. The
others are each command's own.
"""

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from difflib import get_close_matches
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from io import TextIOWrapper
from typing import Any

import click

WRONG_USAGE = 64
"""After sysexits: the command was used wrongly."""
FAULT_OF_OURS = 70
"""After sysexits: something went wrong that the program did not foresee."""
INTERRUPTED = 130
"""128 + SIGINT, as shells report it; a pipe that its reader closed ends the same quiet way."""

TRACEBACK = "POREWATCH_TRACEBACK"
"""Set to 1, the whole traceback of a fault is shown."""

COMPLETION = "_POREWATCH_COMPLETE"
"""By this variable the shell asks for completions."""

SECTIONS: dict[str, dict[str, str]] = {
    "Look": {
        "watch": "The dashboard: every cell on one time axis, live.",
        "browse": "The same in a browser on this machine.",
        "status": "One look, printed; --json for programs, exit code for scripts.",
        "guard": "The night watch without a screen: journals and tells what is raised.",
        "check": "What is wrong with settings, plan and logs, and what to do.",
        "handover": "The shift brief: what is, what was, what comes, who must be there.",
        "journal": "What people did and what was raised, and when it holds.",
    },
    "Begin": {
        "adopt": "Propose a cell.toml for the logs of an unknown logger.",
    },
    "Act": {
        "mark": "Say which phase a cell is in, from when.",
        "rebase": "Say that a gauge was refilled, exchanged or set to zero.",
        "acknowledge": "Say that you know of an alarm and see to it.",
        "shelve": "Silence an alarm for a while, with a reason.",
        "accept": "Take a B below its target, with a reason for the report.",
        "note": "Write a remark about a cell into the journal.",
        "undo": "Take an entry of the journal back.",
        "close": "End the running test of a cell and keep its tables.",
    },
    "Reduce": {
        "reduce": "One test to the numbers that its standard asks for.",
        "strength": "The failure envelope of a set of specimens.",
        "report": "A test or a set as one HTML or PDF for whoever signs it.",
        "export": "Results for other programs: AGS4, a workbook, a table.",
    },
    "Try out": {
        "demo": "A bench that grows many times faster than life.",
        "rehearse": "A bench of simulated cells with known truth.",
        "completion": "Print the completion script of your shell.",
    },
}
"""Every command with its one line, in the order of the help; help imports no command."""

COMMANDS = tuple(name for section in SECTIONS.values() for name in section)


class Commands(click.Group):
    """Loads a command's module by the command's name."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (click's signature)
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        found: click.Command = import_module(f"tui.commands.{cmd_name}").command
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0]
        if name not in COMMANDS and not ctx.resilient_parsing:
            raise click.UsageError(
                f"there is no command {name!r}{did_you_mean(name, COMMANDS)}", ctx
            )
        return super().resolve_command(ctx, args)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[Any]:
        from click.shell_completion import CompletionItem  # noqa: PLC0415 (only while completing)

        return [
            CompletionItem(name, help=text)
            for section in SECTIONS.values()
            for name, text in section.items()
            if name.startswith(incomplete)
        ] or super().shell_complete(ctx, incomplete)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        for title, commands in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl(list(commands.items()))


def did_you_mean(given: str, known: Sequence[str]) -> str:
    """The end of a complaint: `; did you mean "watch"?`, or nothing.

    Example:
        >>> did_you_mean("wacth", ["watch", "status"])
        '; did you mean "watch"?'
    """
    lowered = {name.casefold(): name for name in known}
    near = get_close_matches(given.casefold(), lowered, n=1, cutoff=0.6)
    return f'; did you mean "{lowered[near[0]]}"?' if near else ""


def _version() -> str:
    try:
        return version("porewatch")
    except PackageNotFoundError:  # run from a checkout that was not installed
        return "(not installed)"


def _print_version(ctx: click.Context, _option: click.Parameter, wanted: bool) -> None:
    if wanted:
        click.echo(f"porewatch {_version()}")
        ctx.exit(0)


@click.group(
    "porewatch",
    cls=Commands,
    invoke_without_command=True,
    no_args_is_help=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=(
        "BENCH is the folder with the cells' folders; it defaults to $POREWATCH_BENCH, then to "
        "the current folder. CELL is a cell's name or folder. Tab completion: "
        "porewatch completion --help."
    ),
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_version,
    help="Print the version.",
)
@click.pass_context
def program(ctx: click.Context) -> None:
    """Watches the loggers of several triaxial cells and tells what each cell is doing, what comes
    next and when hands are needed.

    It reads the loggers' files and moves no valve. It is no safety device: relief valve, guard
    and a person remain.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def run(arguments: Sequence[str]) -> int:
    """Run one command line and give its exit code; nothing but SystemExit's code leaves here.

    Args:
        arguments: the words after `porewatch`.
    """
    if (instruction := os.environ.get(COMPLETION)) is not None:
        from click.shell_completion import shell_complete  # noqa: PLC0415 (only while completing)

        return shell_complete(program, {}, "porewatch", COMPLETION, instruction)
    try:
        with program.make_context("porewatch", list(arguments)) as context:
            program.invoke(context)
        sys.stdout.flush()
    except click.exceptions.Exit as leaving:
        return _flushed(leaving.exit_code)
    except click.UsageError as error:
        _complain(_usage_line(error))
        return WRONG_USAGE
    except click.ClickException as error:
        _complain(error.format_message())
        return error.exit_code
    except (KeyboardInterrupt, EOFError, click.Abort):
        return INTERRUPTED
    except BrokenPipeError:
        return _pipe_closed()
    except Exception as error:  # the last door: no traceback may reach a user
        if os.environ.get(TRACEBACK) == "1":
            raise
        _complain(
            f"something went wrong that the program did not foresee: "
            f"{type(error).__name__}: {error}; set {TRACEBACK}=1 to see where"
        )
        return FAULT_OF_OURS
    return 0


def _flushed(code: int) -> int:
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        return _pipe_closed()
    return code


def _pipe_closed() -> int:
    # The interpreter flushes stdout once more when it ends and would complain there.
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    return INTERRUPTED


def _usage_line(error: click.UsageError) -> str:
    where = error.ctx.command_path if error.ctx is not None else "porewatch"
    return f"{error.format_message()} ({where} --help shows how)"


def _complain(message: str) -> None:
    """One line on stderr, whatever the message brings along."""
    printable = "".join(sign if sign.isprintable() else " " for sign in message)
    click.echo(f"porewatch: {' '.join(printable.split())}", err=True)


def main() -> None:
    """Entry point of the installed command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            # A name that the terminal's encoding lacks must not keep the rest from being told.
            with suppress(OSError):  # a stream that was put in another's place
                stream.reconfigure(errors="replace")
    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
