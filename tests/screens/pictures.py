"""Pictures of the dashboard for the README: `python tests/screens/pictures.py` writes them anew.

They are made from the sample bench as it stood at a moment, so that anybody gets the same ones.
"""

import asyncio
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from shutil import copytree, ignore_patterns

sys.path.insert(0, str(Path(__file__).parent))

from shown import Shown, show

from tui.bench.following import Following

HERE = Path(__file__).parent
SAMPLES = HERE.parents[1] / "sample_logs"
WHEN = datetime(2031, 2, 5, 10, 59, 33, tzinfo=UTC)
PICTURES: dict[str, tuple[tuple[int, int], tuple[str, ...]]] = {
    "bench": ((140, 40), ()),
    "cell": ((110, 32), ("3", "enter", "left", "left", "left")),
    "phone": ((60, 20), ()),
}
"""By name: size in columns and lines, and the keys that were pressed."""

_FACES = re.compile(r"@font-face\s*\{.*?\}", re.DOTALL)
_NAMED = re.compile(r"terminal-\d+")


def _neutral(svg: str) -> str:
    """Without fonts from elsewhere, and without numbers that change from run to run."""
    return _NAMED.sub("terminal", _FACES.sub("", svg)).replace("Fira Code", "monospace")


async def _drawn(size: tuple[int, int], keys: tuple[str, ...], bench: Path) -> str:
    following = Following.fixed(bench, WHEN.timestamp())
    try:
        picture = following.beat()
    finally:
        following.close()
    async with show(Shown(picture), size) as screen:
        await screen.press(*keys)
        return _neutral(screen.app.export_screenshot(title="porewatch watch"))


def pictures() -> Iterator[tuple[str, str]]:
    """Name and SVG of each."""
    os.environ.update(TERM="xterm-256color", COLORTERM="truecolor")
    os.environ.pop("NO_COLOR", None)
    with tempfile.TemporaryDirectory() as folder:
        bench = Path(folder) / "bench"
        copytree(SAMPLES, bench, ignore=ignore_patterns(".porewatch"))
        for name, (size, keys) in PICTURES.items():
            yield name, asyncio.run(_drawn(size, keys, bench))


if __name__ == "__main__":
    for name, svg in pictures():
        (HERE / "pictures" / f"{name}.svg").write_text(svg, encoding="utf-8")
