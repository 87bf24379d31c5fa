"""Whole screens as text, compared with what a person has looked at and found good.

`WRITE_GOLDENS=1 pytest tests/screens/test_goldens.py` writes them anew; look at every changed one.
"""

import os
from collections.abc import Awaitable, Callable
from pathlib import Path

import made_benches
import pytest

from tui.words import Manner

GOLDENS = Path(__file__).parent / "goldens"
SIZES = ((160, 48), (120, 36), (80, 24), (60, 20), (40, 12))
SCENES = ("all_well", "alarmed", "one_broken", "sixty_four", "empty", "nothing_known")

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


@pytest.mark.parametrize("size", ((160, 48), (80, 24), (60, 20)), ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize(
    ("cell", "name"), (("1", "saturation"), ("3", "consolidation"), ("4", "shear"))
)
async def test_cell_over_the_whole_screen(
    looking: Look, cell: str, name: str, size: tuple[int, int]
) -> None:
    lines = await looking(made_benches.all_well(), size, cell, "enter")
    compare(f"whole_{name}_{size[0]}x{size[1]}", lines)


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
