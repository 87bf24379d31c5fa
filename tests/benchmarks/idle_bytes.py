"""Bytes that reach the terminal in beats in which no displayed text changes."""

from first_frame import SAMPLES
from pairs import PAIRS, Ratio, Terminal


def measure() -> list[Ratio]:
    """The sample bench stands at its newest row: nothing changes, nothing may be sent."""
    counts = []
    for _ in range(PAIRS):
        terminal = Terminal("-m", "tui.commands.main", "watch", str(SAMPLES))
        try:
            terminal.until(b"C6")
            terminal.read(3.0)
            counts.append(terminal.read(4.0))
        finally:
            terminal.close()
    most = float(max(counts))
    return [Ratio("bytes in 4 s of beats without a change (most of 7 runs)", most, 0.0, most, "B")]
