"""The handover on a key: the same page as the command's, in every size."""

from dataclasses import replace
from pathlib import Path

import made_benches
import pytest
from shown import OnScreen, Shown, show
from test_goldens import compare
from textual.widgets import Static

from tui.bench.picture import Hand
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.store import Journal
from tui.screens.desk import Desk
from tui.words import Manner
from tui.words.printed import columns

SIZES = ((160, 48), (80, 24), (60, 20), (40, 12))


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
async def test_the_page(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.alarmed()), size) as screen:
        await screen.press("h")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        lines = screen.lines()
        assert any("Handover of what was" in line for line in lines)
        compare(f"handover_{size[0]}x{size[1]}", screen.part("page"))
        await screen.press("escape")
        assert not any("Handover of what was" in line for line in screen.lines())


async def test_it_scrolls_to_its_end_in_few_lines() -> None:
    async with show(Shown(made_benches.alarmed()), (40, 12)) as screen:
        await screen.press("h")
        await screen.app.workers.wait_for_complete()
        await screen.press("end")
        assert "no safety" in " ".join(" ".join(screen.lines()).split())


async def read(screen: OnScreen) -> str:
    """The page once the journal has been read, as one line."""
    await screen.press("h")
    await screen.app.workers.wait_for_complete()
    await screen.settle()
    brief = screen.app.screen.query_one("#brief", Static)
    return " ".join(str(brief.content).split())


async def test_no_line_of_it_is_broken_twice_in_any_width() -> None:
    async with show(Shown(made_benches.alarmed()), (40, 12)) as screen:
        await read(screen)
        for width in (40, 47, 59, 60, 61, 80, 104, 105, 106, 160, 40):
            await screen.pilot.resize_terminal(width, 24)
            await screen.settle()
            page, brief = (
                screen.app.screen.query_one("#page"),
                screen.app.screen.query_one("#brief"),
            )
            assert isinstance(brief, Static)
            lines = str(brief.content).split("\n")
            assert max(map(columns, lines)) <= brief.size.width <= page.size.width
            assert brief.size.height == len(lines)


async def test_all_hands_are_on_it() -> None:
    bench = made_benches.all_well()
    hands = tuple(Hand("C1", f"task {k:03d}", bench.at + k, None, None) for k in range(40))
    async with show(Shown(replace(bench, hands=hands, visits=())), (80, 24)) as screen:
        told = await read(screen)
        assert all(f"task {k:03d}" in told for k in range(40))
        await screen.press("pagedown")
        assert "task 039" in screen.text()


async def test_a_journal_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / ".porewatch").mkdir()
    (tmp_path / ".porewatch" / "journal.sqlite3").write_bytes(b"no data base at all" * 99)
    async with show(Shown(made_benches.alarmed()), (80, 24), desk=Desk(tmp_path)) as screen:
        told = await read(screen)
        assert told.count("the journal cannot be read") == 1
        assert "marks and notes in it do not count" in told


async def test_notes_are_on_it(tmp_path: Path) -> None:
    note = Act(
        0, "note", "C3", None, made_benches.AT - 60, made_benches.AT, "Ea", "pc", "[red]x[/]"
    )
    book = Journal.open(tmp_path)
    book.add_all([Entry(note)])
    book.close()
    async with show(Shown(made_benches.alarmed()), (80, 24), desk=Desk(tmp_path)) as screen:
        assert "“[red]x[/]” · Ea at pc" in await read(screen)


async def test_with_ascii_signs_alone(tmp_path: Path) -> None:
    manner = Manner(ascii=True)
    async with show(Shown(made_benches.alarmed()), (80, 24), manner=manner) as screen:
        await read(screen)
        assert screen.text().isascii()
        compare("handover_ascii_80x24", screen.part("page"))
