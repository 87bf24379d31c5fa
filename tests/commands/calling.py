"""One command line as a user would type it, with what it wrote where."""

import io
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass

from tui.commands.main import run


@dataclass(frozen=True)
class Called:
    """How a command ended."""

    exit_code: int
    stdout: str
    stderr: str


def call(*arguments: str) -> Called:
    """Run `porewatch` with these words, on a terminal that can show all of Unicode."""
    streams = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2)]
    with redirect_stdout(streams[0]), redirect_stderr(streams[1]):
        code = run(arguments)
    texts = []
    for stream in streams:
        stream.seek(0)
        texts.append(stream.read())
    return Called(code, *texts)
