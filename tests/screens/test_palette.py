"""The command palette: what the keys do, in the same words, and nothing else."""

from pathlib import Path

import made_benches
import pytest
from shown import OnScreen, Shown, show
from textual.command import CommandInput, CommandList
from textual.widgets import LoadingIndicator

from tui.screens.desk import Desk
from tui.screens.entry_screen import EntryScreen
from tui.screens.offers import Palette


async def opened(screen: OnScreen, *letters: str) -> list[str]:
    """Open it, type letters, and give what it offers."""
    await screen.press("ctrl+p")
    assert isinstance(screen.app.screen, Palette)
    await screen.app.workers.wait_for_complete()
    await screen.press(*letters)
    await screen.app.workers.wait_for_complete()
    await screen.settle()
    options = screen.app.screen.query_one(CommandList).options
    return [str(option.prompt) for option in options]


def desk(tmp_path: Path) -> Desk:
    """Where what is said is entered."""
    return Desk(tmp_path)


async def test_it_offers_what_the_keys_do(tmp_path: Path) -> None:
    async with show(Shown(made_benches.alarmed()), (120, 50), desk=desk(tmp_path)) as screen:
        offers = await opened(screen)
        bound = {
            active.binding.description
            for active in screen.bench_screen.active_bindings.values()
            if active.binding.show
        }
        assert len(offers) == len(bound)
        assert {offer[11:] for offer in offers} == bound
        assert bound >= {
            "write a note", "end the test", "SI or US units", "quit",
            "colours: dark, light, high contrast", "all alarms, one of them in full",
        }  # fmt: skip
        text = screen.text().casefold()
        for foreign in ("screenshot", "theme", "maximize", "keys and help panel"):
            assert foreign not in text


@pytest.mark.parametrize(
    ("where", "letters", "title"),
    [
        ((), "planned", "Mark"),
        ((), "write", "Note"),
        ((), "refilled", "Rebase"),
        (("2",), "take B", "Take B as it is"),
        (("2",), "acknow", "Acknowledge"),
        (("2", "enter"), "shelve", "Shelve"),
        (("a",), "acknow", "Acknowledge"),
        (("a",), "shelve", "Shelve"),
    ],
)
async def test_every_act_opens_from_it(
    tmp_path: Path, where: tuple[str, ...], letters: str, title: str
) -> None:
    async with show(Shown(made_benches.alarmed()), (80, 24), desk=desk(tmp_path)) as screen:
        await screen.press(*where)
        offers = await opened(screen, *letters)
        assert offers
        await screen.press("enter")
        await screen.settle()
        assert isinstance(screen.app.screen, EntryScreen)
        assert title in screen.text()


async def test_views_and_colours_change_from_it() -> None:
    async with show(Shown(made_benches.alarmed()), (120, 36)) as screen:
        for letters, changed in (
            ("units", lambda: screen.bench_screen.view.manner.units == "US"),
            ("colours", lambda: screen.app.theme == "light"),
            ("less time", lambda: screen.bench_screen.view.span_s is not None),
            ("next cell", lambda: screen.bench_screen.view.picked == "C2"),
            ("next plot", lambda: screen.bench_screen.view.plot == 1),
        ):
            assert not changed()
            await opened(screen, *letters)
            await screen.press("enter")
            await screen.settle()
            assert changed(), letters


async def test_what_is_not_possible_now_is_not_offered() -> None:
    async with show(Shown(made_benches.all_well()), (120, 50)) as screen:
        offers = "\n".join(await opened(screen))
        assert "write a note" not in offers  # there is no journal
        assert "all alarms" in offers  # the list may be looked at while it is empty
        await screen.press("escape", "a")
        offers = "\n".join(await opened(screen))
        assert "acknowledge" not in offers
        assert "quit" in offers


async def test_it_opens_over_no_entry_and_is_left_without_doing_anything(tmp_path: Path) -> None:
    async with show(Shown(made_benches.alarmed()), (80, 24), desk=desk(tmp_path)) as screen:
        before = screen.text()
        await opened(screen, *"quit")
        await screen.press("escape")
        assert screen.text() == before
        await screen.press("n", "ctrl+p")
        assert isinstance(screen.app.screen, EntryScreen)


async def test_nothing_in_it_moves_by_itself() -> None:
    async with show(Shown(made_benches.alarmed()), (80, 24)) as screen:
        await opened(screen)
        palette = screen.app.screen
        assert not palette.query_one(CommandInput).cursor_blink
        assert palette.query_one(LoadingIndicator).auto_refresh is None
        screen.written.clear()
        await screen.pilot.pause(1.2)
        assert "".join(screen.written) == ""


@pytest.mark.parametrize("size", ((60, 20), (40, 12), (20, 5)), ids=str)
async def test_it_fits_small_terminals(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.alarmed()), size) as screen:
        await opened(screen)
        await screen.press("ctrl+end")  # as far down as it goes, the last one is in sight
        assert size[1] < 12 or any(" quit" in line for line in screen.lines()[2:])
        await screen.press(*"quit")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        assert any("quit" in line for line in screen.lines()[2:])
        await screen.press("enter")
        await screen.settle()
    assert screen.app.return_code == 0


@pytest.mark.parametrize(
    ("letters", "first"),
    [
        ("al", "all alarms, one of them in full"),
        ("all a", "all alarms, one of them in full"),
        ("ALARM", "all alarms, one of them in full"),
        ("hand", "the handover to the next shift"),
        ("col", "colours: dark, light, high contrast"),
    ],
)
async def test_what_begins_with_the_letters_comes_first(letters: str, first: str) -> None:
    async with show(Shown(made_benches.alarmed()), (120, 50)) as screen:
        offers = await opened(screen, *("space" if one == " " else one for one in letters))
        assert offers and offers[0][11:] == first
