"""First frame of `watch` on the sample bench against that of an empty Textual app."""

from pathlib import Path

from pairs import Ratio, Terminal, ratio

SAMPLES = Path(__file__).parents[2] / "sample_logs"
EMPTY = (
    "import numpy, pydantic, watchdog.observers, sqlite3, filelock, click\n"
    "from textual.app import App\n"
    "from textual.widgets import Static\n"
    "class Empty(App):\n"
    "    def compose(self):\n"
    "        yield Static('an empty app')\n"
    "Empty().run()\n"
)
"""Imports the libraries that `watch` has imported by its first frame."""


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

    def empty() -> float:
        return _until(b"an empty app", "-c", EMPTY)

    return [
        ratio("first frame of watch / of an empty Textual app", lambda: _watch(b"looking"), empty),
        ratio("first values of the samples / the same app", lambda: _watch(b"C1"), empty),
    ]
