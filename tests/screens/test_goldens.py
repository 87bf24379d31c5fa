"""Whole screens as text, compared with what a person has looked at and found good.

`WRITE_GOLDENS=1 pytest tests/screens/test_goldens.py` writes them anew; look at every changed one.
"""

import os
from collections.abc import Awaitable, Callable
from pathlib import Path

import made_benches
import pytest
from shown import Shown, show

from tui.words import Manner

GOLDENS = Path(__file__).parent / "goldens"
SIZES = ((160, 48), (120, 36), (80, 24), (60, 20), (40, 12))
FOCUS_SIZES = ((160, 48), (80, 24), (60, 20), (40, 12))
SCENES = (
    "all_well", "alarmed", "one_broken", "sixty_four", "empty", "nothing_known", "being_read",
)  # fmt: skip

Look = Callable[..., Awaitable[list[str]]]


def compare(name: str, lines: list[str]) -> None:
    """Compare with the golden, or write it where that is asked for."""
    path = GOLDENS / f"{name}.txt"
    text = "\n".join(lines) + "\n"
    if os.environ.get("WRITE_GOLDENS") == "1":
        GOLDENS.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("scene", SCENES)
async def test_bench(looking: Look, scene: str, size: tuple[int, int]) -> None:
    lines = await looking(getattr(made_benches, scene)(), size)
    assert len(lines) == size[1]
    compare(f"{scene}_{size[0]}x{size[1]}", lines)


@pytest.mark.parametrize("size", FOCUS_SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize(
    ("keys", "name"),
    ((("left",) * 9, "past"), (("right",) * 11, "future"), ((), "marks")),
    ids=lambda value: value if isinstance(value, str) else "",
)
async def test_the_wall_along_time(
    looking: Look, keys: tuple[str, ...], name: str, size: tuple[int, int]
) -> None:
    lines = await looking(made_benches.marked(), size, *keys)
    assert len(lines) == size[1]
    compare(f"wall_{name}_{size[0]}x{size[1]}", lines)


async def test_marks_in_ascii(looking: Look) -> None:
    lines = await looking(made_benches.marked(), (80, 24), manner=Manner(ascii=True))
    assert "\n".join(lines).isascii()
    compare("wall_marks_ascii_80x24", lines)


@pytest.mark.parametrize("size", FOCUS_SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
async def test_a_frozen_wall_with_an_urgent_alarm(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.all_well()), size) as screen:
        await screen.press("f")
        await screen.beat(made_benches.later(made_benches.all_well()))
        lines = screen.lines()
    assert len(lines) == size[1]
    compare(f"wall_frozen_{size[0]}x{size[1]}", lines)


@pytest.mark.parametrize("size", FOCUS_SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize(
    ("scene", "keys", "name"),
    (
        ("all_well", ("1", "enter"), "saturation"),
        ("all_well", ("3", "enter", "left", "left", "left"), "consolidation"),
        ("a_set", ("enter",), "shear"),
        ("a_set", ("enter", "tab", "plus", "left", "left"), "stress_path"),
        ("alarmed", ("2", "enter"), "alarmed"),
        ("one_broken", ("3", "enter"), "broken"),
        ("nothing_known", ("1", "enter"), "no_readings"),
    ),
    ids=lambda value: value if isinstance(value, str) else "",
)
async def test_a_cell_over_the_whole_screen(
    looking: Look, scene: str, keys: tuple[str, ...], name: str, size: tuple[int, int]
) -> None:
    lines = await looking(getattr(made_benches, scene)(), size, *keys)
    assert len(lines) == size[1]
    compare(f"focus_{name}_{size[0]}x{size[1]}", lines)


async def test_a_cell_over_the_whole_screen_in_ascii(looking: Look) -> None:
    keys, manner = ("enter", "tab", "left"), Manner(ascii=True)
    lines = await looking(made_benches.a_set(), (80, 24), *keys, manner=manner)
    assert "\n".join(lines).isascii()
    compare("focus_ascii_80x24", lines)


async def test_us_units(looking: Look) -> None:
    compare("us_units_160x48", await looking(made_benches.all_well(), (160, 48), "u"))


async def test_ascii(looking: Look) -> None:
    lines = await looking(made_benches.all_well(), (120, 36), manner=Manner(ascii=True))
    compare("ascii_120x36", lines)


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
async def test_alarms(looking: Look, size: tuple[int, int]) -> None:
    compare(f"alarms_{size[0]}x{size[1]}", await looking(made_benches.alarmed(), size, "a"))


async def test_alarms_in_ascii(looking: Look) -> None:
    lines = await looking(made_benches.alarmed(), (80, 24), "a", manner=Manner(ascii=True))
    assert "\n".join(lines).isascii()
    compare("alarms_ascii_80x24", lines)
