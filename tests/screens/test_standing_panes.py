"""A pane that is not drawn again shows what it would show if it were."""

from dataclasses import fields, replace
from datetime import timedelta, timezone
from itertools import islice

import made_benches
import pytest
from made_benches import AT
from shown import OnScreen, Shown, show

from tui.bench.picture import Bench, Cell
from tui.ink.sheet import Line
from tui.panes.pane import Pane

SCENES = (
    made_benches.all_well,
    made_benches.a_set,
    made_benches.one_broken,
    made_benches.being_read,
    made_benches.alarmed,
    made_benches.marked,
    made_benches.long_names,
    made_benches.empty,
)
MOMENTS = (
    *(AT + step for step in range(130)),  # every regime of ages and countdowns in seconds
    *(AT + 130.0 + 37.0 * step for step in range(60)),  # minutes, an hour, the axis moves
    *(AT + 4_000.0 + 5_000.0 * step for step in range(40)),  # days; what was expected is late
)


@pytest.mark.parametrize("size", ((160, 48), (80, 24), (40, 12)), ids=str)
@pytest.mark.parametrize("focus", "134")
async def test_what_stands_is_what_would_be_drawn_anew(focus: str, size: tuple[int, int]) -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), size) as screen:
        await screen.press(focus)
        drawings = 0
        for at in MOMENTS:
            screen.following.bench = replace(bench, at=at)
            screen.app.beat()
            for pane in screen.bench_screen.query(Pane):
                if pane.size:
                    fresh = _drawn_anew(pane)
                    assert [line.text for line in pane.shown] == [line.text for line in fresh], at
                    drawings += len(fresh)
        assert drawings > 2 * len(MOMENTS)


def _all_stand(screen: OnScreen, bench: Bench, what: object) -> int:
    """How many lines the panes of the screen on top show of a picture; all are compared."""
    screen.following.bench = bench
    screen.app.beat()
    lines = 0
    for pane in screen.app.screen.query(Pane):
        if pane.size:
            fresh = _drawn_anew(pane)
            assert list(pane.shown) == fresh, (pane.id, what)
            lines += len(fresh)
    return lines


def _others(of: Bench | Cell, name: str, found: list[Bench] | list[Cell]) -> list[object]:
    """Two values that a part of a picture has in other pictures, and not in this one."""
    own = getattr(of, name)
    return list(islice((v for one in found if (v := getattr(one, name)) != own), 2))


@pytest.mark.parametrize("size", ((160, 48), (80, 24), (40, 12)), ids=str)
@pytest.mark.parametrize("key", ("", "f", "enter", "a"))
async def test_whatever_changes_in_a_picture_is_shown(key: str, size: tuple[int, int]) -> None:
    bench = replace(made_benches.alarmed(), not_adopted=("C9",))  # so that a complaint has room
    benches = [scene() for scene in SCENES]
    benches.append(replace(bench, zone=timezone(timedelta(hours=5))))
    cells = [cell for one in benches for cell in one.cells]
    async with show(Shown(bench), size) as screen:
        await screen.press(*([key] if key else []))
        changes = 0
        for index in (0, 2):  # the one in focus, and another one
            cell = bench.cells[index]
            for name in (field.name for field in fields(Cell) if field.name != "folder"):
                for value in _others(cell, name, cells):
                    changed = replace(cell, **{name: value})  # type: ignore[arg-type]
                    others = (*bench.cells[:index], changed, *bench.cells[index + 1 :])
                    for one in (replace(bench, cells=others), bench):
                        changes += bool(_all_stand(screen, one, (index, name)))
        for name in (field.name for field in fields(Bench) if field.name != "carried"):
            for value in _others(bench, name, benches):
                for one in (replace(bench, **{name: value}), bench):  # type: ignore[arg-type]
                    changes += bool(_all_stand(screen, one, name))
        assert changes > 60


def _drawn_anew(pane: Pane) -> list[Line]:
    """Without what it keeps of earlier drawings; that stays as it was."""
    known: dict[str, object] = {"_laid": {}, "_rests_on": None, "_key": None}
    kept, pane.__dict__ = pane.__dict__, pane.__dict__ | known
    try:
        return pane.draw(pane.size.width, pane.size.height)
    finally:
        pane.__dict__ = kept
