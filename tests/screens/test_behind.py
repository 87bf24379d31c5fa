"""The bench behind an entry, the palette or the help goes on, and sends what changed alone."""

from dataclasses import replace
from pathlib import Path

import made_benches
import pyte
import pytest
from made_benches import AT
from shown import Shown, show

from tui.screens.desk import Desk

OVER = (
    (), ("n",), ("ctrl+p",), ("question_mark",), ("h",), ("slash",), ("a", "a"),
    ("a", "question_mark"),
)  # fmt: skip
"""Keys that lay something over the bench, or over the list of alarms."""


@pytest.mark.parametrize("keys", OVER, ids=str)
async def test_what_is_sent_adds_up_to_the_screen_and_is_little(
    tmp_path: Path, keys: tuple[str, ...]
) -> None:
    bench, size = made_benches.alarmed(), (100, 30)
    terminal = pyte.Screen(*size)
    stream = pyte.Stream(terminal)
    async with show(Shown(bench), size, desk=Desk(tmp_path)) as screen:
        await screen.press(*keys)
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        for scene in ("alarmed", "one_broken", "all_well", "alarmed"):
            changed = getattr(made_benches, scene)()
            for seconds in (0.0, 7.0, 61.0, 4_000.0):
                await screen.beat(replace(changed, at=AT + seconds))
                await screen.settle()
                screen.app.screen.refresh()
                await screen.settle()
                stream.feed("".join(screen.written))
                assert [line.rstrip() for line in terminal.display] == screen.lines()
                for later in (1.0, 2.0):  # the first one also flushes what the layout had left over
                    screen.written.clear()
                    await screen.beat(replace(changed, at=AT + seconds + later))
                    await screen.settle()
                    stream.feed("".join(screen.written))
                    assert [line.rstrip() for line in terminal.display] == screen.lines()
                assert len("".join(screen.written)) < 1_500
                screen.written.clear()
