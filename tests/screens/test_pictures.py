"""The README's pictures show the dashboard as it is now."""

import re
from html import unescape
from pathlib import Path

import pytest
from pictures import HERE, PICTURES, pictures

_TEXT = re.compile(r"<text[^>]*>(.*?)</text>", re.DOTALL)


def _words(svg: str) -> str:
    """What is to be read in a picture, in order: how it is drawn is the toolkit's business."""
    return "\n".join(unescape(text).rstrip() for text in _TEXT.findall(svg))


@pytest.fixture(scope="module")
def now() -> dict[str, str]:
    return dict(pictures())


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_current(now: dict[str, str], name: str) -> None:
    kept = (HERE / "pictures" / f"{name}.svg").read_text(encoding="utf-8")
    assert _words(kept) == _words(now[name]), "write them anew: python tests/screens/pictures.py"


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_stands_in_the_readme_and_asks_for_nothing_from_elsewhere(name: str) -> None:
    assert f"tests/screens/pictures/{name}.svg" in (HERE.parents[1] / "README.md").read_text()
    svg = (HERE / "pictures" / f"{name}.svg").read_text(encoding="utf-8")
    assert "url(" not in re.sub(r"url\(#", "", svg) and "<script" not in svg and "href=" not in svg
    assert Path(HERE / "pictures" / f"{name}.svg").stat().st_size < 300_000
