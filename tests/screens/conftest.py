"""What the screens' tests share: made-up benches, a way to show them, the text of a screen."""

import sys
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # made_benches and shown stand beside the tests

from acted import CELL
from shown import Shown, show

from tui.bench.picture import Bench
from tui.words import Manner


@pytest.fixture(autouse=True)
def _colours(monkeypatch: pytest.MonkeyPatch) -> None:
    """What colours the machine's own terminal has, and wishes, is no matter here."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("COLORTERM", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")


@pytest.fixture
def looking() -> Callable[..., Awaitable[list[str]]]:
    """Show a bench once and give the lines of the screen."""

    async def look(
        bench: Bench, size: tuple[int, int], *keys: str, manner: Manner | None = None
    ) -> list[str]:
        async with show(Shown(bench), size, manner=manner) as screen:
            await screen.press(*keys)
            return screen.lines()

    return look


@pytest.fixture
def on_disk(tmp_path: Path) -> Path:
    """A bench whose C1 is described as the made one is."""
    (tmp_path / "C1").mkdir()
    (tmp_path / "C1" / "cell.toml").write_text(CELL)
    (tmp_path / "bench.toml").write_text('zone = "Europe/Oslo"\n')
    return tmp_path
