"""`porewatch browse`: the dashboard in a browser on this machine."""

import os
import shlex
import socket
import subprocess
import sys
from pathlib import Path

import click

from tui.commands.arguments import bench_argument, bench_folder, theme_option

HOST = "127.0.0.1"
_MISSING = (
    "this needs the extra package of browse: pip install 'porewatch[browser]'; "
    "porewatch watch shows the same in a terminal"
)


@click.command("browse")
@bench_argument
@click.option("--port", type=click.IntRange(1, 65535), default=8000, show_default=True, metavar="N")
@theme_option
def command(*, bench: Path | None, port: int, theme: str | None) -> None:
    """The dashboard of BENCH in a browser on this machine, at http://127.0.0.1:N.

    It has no log-in of its own: whoever works at this machine can open it, and what is said there
    goes into the journal from the account that started it. That is why it answers to this machine
    alone. From elsewhere use watch over SSH, or a tunnel (ssh -L 8000:127.0.0.1:8000). Ctrl-C
    ends it.
    """
    root = bench_folder(bench).resolve()
    try:
        from tui.commands.browsed import serve  # noqa: PLC0415 (an extra package)
    except ImportError as error:
        raise click.ClickException(_MISSING) from error
    with socket.socket() as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind((HOST, port))
        except OSError as error:
            raise click.ClickException(
                f"port {port} cannot be used: {error.strerror or error}; try another --port"
            ) from error
    os.environ["PYTHONIOENCODING"] = "utf-8"
    words = [sys.executable, "-m", "tui.commands.main", "watch", str(root)]
    words += [] if theme is None else ["--theme", theme]
    click.echo(f"http://{HOST}:{port} shows the bench {root.name} until Ctrl-C. It has no log-in:")
    click.echo("whoever works at this machine can open it. No other machine can.")
    serve(subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words), HOST, port)
