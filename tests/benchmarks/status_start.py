"""`status` on the sample bench, read anew (too few rows to keep), against `import numpy`."""

from first_frame import SAMPLES
from pairs import Ratio, process_seconds, ratio


def measure() -> list[Ratio]:
    """Whole processes."""
    return [
        ratio(
            "porewatch status on the samples / python -c 'import numpy'",
            lambda: process_seconds(
                "-m", "tui.commands.main", "status", str(SAMPLES), codes=(0, 1, 2)
            ),
            lambda: process_seconds("-c", "import numpy"),
        )
    ]
