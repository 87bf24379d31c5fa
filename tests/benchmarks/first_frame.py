"""First frame of `watch` on the sample bench against that of an empty Textual app."""

from pathlib import Path

from pairs import Ratio, Terminal, ratio

SAMPLES = Path(__file__).parents[2] / "sample_logs"
EMPTY = """
{}
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static('an empty app')
Empty().run()
"""
SAME = EMPTY.format("import click")
"""Imports the libraries that `watch` has imported by its first frame; `test_opening` names those
that it has not."""
ALL = EMPTY.format("import numpy, pydantic, watchdog.observers, sqlite3, filelock, click")
"""Imports those that it has imported once values stand on the screen."""


def _until(mark: bytes, *arguments: str) -> float:
    terminal = Terminal(*arguments)
    try:
        return terminal.until(mark)
    finally:
        terminal.close()


def _watch(mark: bytes) -> float:
    return _until(mark, "-m", "tui.commands.main", "watch", str(SAMPLES))


def measure() -> list[Ratio]:
    """Until the screen stands, and until the first lane's head is on it."""

    def empty(program: str) -> float:
        return _until(b"an empty app", "-c", program)

    return [
        ratio(
            "first frame of watch / of an empty Textual app, the same libraries",
            lambda: _watch(b"looking"),
            lambda: empty(SAME),
        ),
        ratio(
            "first values of the samples / such an app, the libraries that they need",
            lambda: _watch(b"C1"),
            lambda: empty(ALL),
        ),
    ]
