"""The one word of `bench.toml` that the dashboard wants before its first frame."""

import tomllib
from pathlib import Path
from typing import Literal

from tui.settings.folders import BENCH_FILE


def units_shown(root: Path) -> Literal["SI", "US"]:
    """The units that a bench shows; SI where the file cannot be read or says something else.

    What is wrong with the file is told once it is read as a whole.
    """
    path = root / BENCH_FILE
    if not path.is_file():  # a pipe in its place would keep one waiting for ever
        return "SI"
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return "SI"
    return "US" if written.get("units") == "US" else "SI"
