"""Printed pages on narrow terminals: no line too long, no head and no number cut."""

from pathlib import Path

import pytest

from tui.commands.main import run
from tui.words.printed import columns

SAMPLES = str(Path(__file__).parents[2] / "sample_logs")
PAGES = {
    "status": ["status", SAMPLES],
    "check": ["check", SAMPLES],
    "reduce, undrained": ["reduce", "--bench", SAMPLES, "C4"],
    "reduce, drained": ["reduce", "--bench", SAMPLES, "C5"],
    "strength": ["strength", "--bench", SAMPLES, "C4", "C5"],
}


def page(
    name: str, width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> list[str]:
    monkeypatch.setenv("COLUMNS", str(width))
    run(PAGES[name])
    return capsys.readouterr().out.splitlines()


@pytest.mark.parametrize("width", [40, 60])
@pytest.mark.parametrize("name", PAGES)
def test_a_page_fits_and_nothing_of_it_is_cut(
    name: str, width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    narrow = page(name, width, capsys, monkeypatch)
    assert max(map(columns, narrow)) <= width
    wide = page(name, 200, capsys, monkeypatch)
    # A cut word ends in "…", which stands alone in what is written in full.
    words = {word for line in narrow for word in line.split()}
    assert {word for word in words if word.endswith("…") and word != "…"} == set()
    numbers = {word for line in wide for word in line.split() if word[:1].isdigit()}
    assert numbers <= words


def test_a_table_without_room_stands_row_under_row(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = page("reduce, undrained", 40, capsys, monkeypatch)
    first = next(n for n, line in enumerate(lines) if line.strip() == "Mon 3 Feb 2031 17:47")
    below = [line.split() for line in lines[first + 1 : first + 7]]
    assert [one[0] for one in below[:4]] == ["back", "Δσ3", "Δu", "B"]
    assert below[-1] == ["settled"]
