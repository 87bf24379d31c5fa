"""First frame of `watch` on the sample bench against that of an empty Textual app."""

from pathlib import Path

from pairs import Ratio, Terminal, ratio

SAMPLES = Path(__file__).parents[2] / "sample_logs"
EMPTY = (
    "from textual.app import App\n"
    "from textual.widgets import Static\n"
    "class Empty(App):\n"
    "    def compose(self):\n"
    "        yield Static('an empty app')\n"
    "Empty().run()\n"
)


def _until(mark: bytes, *arguments: str) -> float:
    terminal = Terminal(*arguments)
    try:
        return terminal.until(mark)
    finally:
        terminal.close()


def measure() -> list[Ratio]:
    """Until the first lane's head is on the terminal."""
    return [
        ratio(
            "first frame of watch on the samples / of an empty Textual app",
            lambda: _until(b"C1", "-m", "tui.commands.main", "watch", str(SAMPLES)),
            lambda: _until(b"an empty app", "-c", EMPTY),
        )
    ]
