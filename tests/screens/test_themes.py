"""Colours: every pair reads in every theme and on every kind of terminal; switching them."""

import re
from collections.abc import Iterator
from pathlib import Path

import made_benches
import pytest
from rich.color import Color, ColorSystem
from shown import Shown, show
from textual.geometry import Region

import tui
from tui.app import PorewatchApp
from tui.ink.palette import PALETTES, THEMES, contrast, style
from tui.screens.desk import Desk
from tui.words import Manner

LEAST = {"dark": 4.5, "light": 4.5, "contrast": 7.0}
"""WCAG 2.1, success criteria 1.4.3 (4.5:1) and 1.4.6 (7:1)."""
INKS = tuple(PALETTES["dark"].inks)
VGA = [
    "#000000", "#aa0000", "#00aa00", "#aa5500", "#0000aa", "#aa00aa", "#00aaaa", "#aaaaaa",
    "#555555", "#ff5555", "#55ff55", "#ffff55", "#5555ff", "#ff55ff", "#55ffff", "#ffffff",
]  # fmt: skip
"""The sixteen as text modes of PCs mix them: from memory."""
WINDOW = [
    "#000000", "#cd0000", "#00cd00", "#cdcd00", "#0000ee", "#cd00cd", "#00cdcd", "#e5e5e5",
    "#7f7f7f", "#ff0000", "#00ff00", "#ffff00", "#5c5cff", "#ff00ff", "#00ffff", "#ffffff",
]  # fmt: skip
"""The same as terminals in a window usually mix them: from memory."""


@pytest.fixture(autouse=True)
def _all_colours(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("COLORTERM", "truecolor")
    style.cache_clear()  # a style remembers what the first terminal was sent for it
    yield
    style.cache_clear()


def test_contrast_of_known_pairs() -> None:
    """WCAG 2.1: black on white is 21:1; #767676 on white is the well-known 4.54:1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def _of_256(colour: str) -> str:
    return Color.parse(colour).downgrade(ColorSystem.EIGHT_BIT).get_truecolor().hex


@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("theme", THEMES)
def test_every_ink_reads_on_every_ground(theme: str, ink: str) -> None:
    """Reversed the ratio is the same; so it must be where 256 colours are all there are."""
    palette = PALETTES[theme]
    colour = palette.inks[ink].colour
    for ground in (palette.ground, palette.picked, palette.field):
        assert contrast(colour, ground) >= LEAST[theme]
        assert contrast(_of_256(colour), _of_256(ground)) >= LEAST[theme]


@pytest.mark.parametrize("mixed", (VGA, WINDOW), ids=("vga", "window"))
@pytest.mark.parametrize("theme", THEMES)
def test_sixteen_colours_read_wherever_a_terminal_mixes_them(theme: str, mixed: list[str]) -> None:
    """None of the sixteen that would be hard to read is used; high contrast cannot be promised."""
    palette = PALETTES[f"{theme}-16"]
    for ink in palette.inks.values():
        number = Color.parse(ink.colour).number
        for ground in {palette.ground, palette.picked, palette.field}:
            behind = Color.parse(ground).number
            assert number is not None
            assert behind is not None
            assert contrast(mixed[number], mixed[behind]) >= 4.5


@pytest.mark.parametrize("theme", PALETTES)
def test_no_state_is_told_by_colour_alone(theme: str) -> None:
    """What is told by an alarm's colour is told by weight or ground as well."""
    for name in ("alarm", "alert"):
        assert style(name, theme).reverse
    if not theme.startswith("light-16"):
        assert style("warn", theme).bold
        assert style("bad", theme).bold


def _sent_colours(written: str) -> set[str]:
    return set(re.findall(r"[34]8;2;\d+;\d+;\d+", written))


def _sgr(colour: str, layer: int) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"{layer}8;2;{red};{green};{blue}"


@pytest.mark.parametrize("keys", ((), ("a",), ("question_mark",), ("ctrl+p",)), ids=str)
async def test_the_key_goes_round_and_everything_is_repainted(keys: tuple[str, ...]) -> None:
    async with show(Shown(made_benches.alarmed()), (120, 36)) as screen:
        before = screen.text()
        for theme, earlier in (("light", "dark"), ("contrast", "light"), ("dark", "contrast")):
            await screen.press(*keys)
            await screen.pilot.pause(0.1)
            if keys in ((), ("a",)):
                await screen.press("t")
            else:  # what lies over the bench takes keys for itself
                screen.app.action_theme()
                await screen.settle()
            assert screen.app.theme == theme
            screen.written.clear()
            screen.app.screen.refresh()
            for paper in screen.app.screen.query("*"):
                paper.refresh()
            await screen.settle()
            await screen.press(*(("escape",) if keys else ()))
            sent = _sent_colours("".join(screen.written))
            assert _sgr(PALETTES[theme].ground, 4) in sent
            assert _sgr(PALETTES[earlier].ground, 4) not in sent
            assert _sgr(PALETTES[earlier].inks["rule"].colour, 3) not in sent
        assert screen.text() == before


async def test_a_theme_is_sent_whole_when_it_is_chosen() -> None:
    async with show(Shown(made_benches.all_well()), (80, 24)) as screen:
        screen.written.clear()
        await screen.press("t")
        sent = "".join(screen.written)
        light = PALETTES["light"]
        assert {_sgr(light.ground, 4), _sgr(light.picked, 4)} <= _sent_colours(sent)
        for pane in screen.bench_screen.query("Paper"):
            if pane.display and pane.size.height:
                strips = pane.render_lines(Region(0, 0, *pane.size))
                segments = [segment for strip in strips for segment in strip]
                assert any(segment.text.strip() for segment in segments) or not pane.shown
                assert {s.style.bgcolor.name for s in segments if s.style} <= {
                    light.ground, light.picked,
                }  # fmt: skip


@pytest.mark.parametrize("theme", THEMES)
async def test_a_theme_may_be_wished_for(theme: str) -> None:
    app = PorewatchApp(Shown(made_benches.all_well()), beat_s=0.0, theme=theme)
    async with app.run_test(size=(80, 24)):
        assert app.theme == theme
        assert app.screen.styles.background.hex.lower() == PALETTES[theme].ground


@pytest.mark.parametrize("term", ("xterm", "linux", "xterm-16color", "screen"))
@pytest.mark.parametrize("theme", THEMES)
async def test_sixteen_colours_are_asked_for_by_name(
    monkeypatch: pytest.MonkeyPatch, theme: str, term: str
) -> None:
    monkeypatch.delenv("COLORTERM", raising=False)
    monkeypatch.setenv("TERM", term)
    monkeypatch.setattr("shown.PorewatchApp", lambda *a, **k: PorewatchApp(*a, **k, theme=theme))
    async with show(Shown(made_benches.alarmed()), (120, 36)) as screen:
        for key in ("", "a", "n", "question_mark", "h", "slash", "ctrl+p", ""):
            keys = ("escape", key) if key else ("escape",)
            await screen.press(*keys)
            await screen.pilot.pause(0.1)
            screen.written.clear()
            screen.app.screen.refresh()
            for part in screen.app.screen.query("*"):
                part.refresh()
            await screen.settle()
            sent = "".join(screen.written)
            assert not re.search(r"[34]8;[25];", sent), keys
            ground = {"light": "107"}.get(theme, "40")
            grounds = set(re.findall(r"(?<=[;\[])(4[0-8]|10[0-7])(?=[;m])", sent))
            assert ground in grounds
        await screen.press("t")
        assert screen.app.theme.endswith("-16")


@pytest.mark.parametrize("plain", (False, True))
@pytest.mark.parametrize(("key", "words"), (("n", "enter: enter it"), ("ctrl+p", "write a note")))
async def test_in_sixteen_colours_the_bench_is_in_sight_around_what_is_filled_in(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, key: str, words: str, plain: bool
) -> None:
    monkeypatch.delenv("COLORTERM", raising=False)
    monkeypatch.setenv("TERM", "xterm-16color")
    bench, manner = made_benches.alarmed(), Manner(ascii=plain)
    for size in ((80, 24), (60, 20), (40, 12)):
        async with show(Shown(bench), size, manner=manner, desk=Desk(tmp_path)) as screen:
            wall = screen.lines()
            await screen.press(key)
            await screen.app.workers.wait_for_complete()
            if key == "ctrl+p":
                await screen.press(*"note")
                await screen.app.workers.wait_for_complete()
                await screen.settle()
            lines = screen.lines()
            assert any(words in line for line in lines)
            assert lines[0] == wall[0]
            assert lines[-1] == wall[-1] or size[1] < 16
            # an edge of its own tells it from what is behind, where there is room for one
            edges = [line for line in lines if line in ("─" * size[0], "-" * size[0])]
            assert len(edges) == {"n": 2 if size[1] >= 16 else 0, "ctrl+p": 1}[key]
            assert not plain or "\n".join(lines).isascii()


@pytest.mark.parametrize("theme", THEMES)
async def test_no_colour_in_any_theme(monkeypatch: pytest.MonkeyPatch, theme: str) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr("shown.PorewatchApp", lambda *a, **k: PorewatchApp(*a, **k, theme=theme))
    async with show(Shown(made_benches.alarmed()), (120, 36)) as screen:
        screen.written.clear()
        await screen.press("u", "t")
        assert "no colours are shown here" in screen.text()
        assert screen.app.theme == theme
        await screen.press("ctrl+p")
        await screen.pilot.pause(0.1)
        await screen.press("escape", "a")
        sent = "".join(screen.written)
        assert "urgent" in sent
        codes = {c for found in re.findall(r"\x1b\[([\d;]+)m", sent) for c in found.split(";")}
        assert codes <= {"0", "1", "4", "7", "39", "49"}  # weights, and the terminal's own colours


async def test_ascii_palette() -> None:
    bench, manner = made_benches.alarmed(), Manner(ascii=True)
    async with show(Shown(bench), (80, 24), manner=manner) as screen:
        await screen.press("ctrl+p")
        await screen.pilot.pause(0.1)
        assert "SI or US units" in screen.text()
        assert screen.text().isascii()


def test_no_colour_is_named_anywhere_else() -> None:
    package = Path(tui.__file__).parent
    named = re.compile(r"#[0-9a-fA-F]{6}\b|[\" ]ansi_(?!color)")
    found = {
        path.name
        for kind in ("*.py", "*.tcss")
        for path in package.rglob(kind)
        if path.parent.name in ("ink", "panes", "screens") or path.parent == package
        if named.search(path.read_text(encoding="utf-8"))
    }
    assert found == {"palette.py", "themes.py"}
