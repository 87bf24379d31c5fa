"""What the command hands to the screen."""

from pathlib import Path
from typing import Any

import pytest

from tui.commands import watch
from tui.commands.dashboard import Leaving
from tui.commands.main import run

SAMPLES = Path(__file__).parents[2] / "sample_logs"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), ""),
        (("--replay", "60"), "replay × 60"),
        # the bench has newer rows: what is shown is not as of its newest one
        (("--at", "2031-02-05T08:10"), "as it stood then"),
    ],
)
def test_a_time_that_is_not_now_is_said(
    monkeypatch: pytest.MonkeyPatch, options: tuple[str, ...], said: str
) -> None:
    shown: list[tuple[Any, ...]] = []
    monkeypatch.setattr(watch, "require_terminal", lambda: None)
    monkeypatch.setattr(Leaving, "show", lambda _self, *given, **_options: shown.append(given))
    assert run(["watch", *options, str(SAMPLES)]) == 0
    ((_, _, _, pace),) = shown
    assert pace == said
