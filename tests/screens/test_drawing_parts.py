"""Sheets, differences, scales, dots, the arrangement."""

import itertools
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tui.ink.dots import Dots
from tui.ink.scales import bounds
from tui.ink.sheet import Line, Piece, Sheet, clip, difference, wrap
from tui.screens.arrangement import arrange

TEXTS = st.text(alphabet="ab ─σ′三試●", max_size=30)


def _line(text: str, ink: str = "text") -> Line:
    sheet = Sheet(24, 1)
    sheet.put(0, 0, text, ink)
    return sheet.lines()[0]


@given(TEXTS, TEXTS)
def test_repainting_the_difference_makes_the_new_line(old: str, new: str) -> None:
    before, after = _line(old), _line(new)
    cells = difference(before, after)
    if cells is None:
        assert before == after
        return
    first, count = cells
    signs = [
        *before.signs[:first],
        *after.signs[first : first + count],
        *before.signs[first + count :],
    ]
    assert tuple(signs) == after.signs
    assert after.signs[first] != ""  # never half a sign of double width
    last = first + count - 1
    for edge, beyond in ((first, first + 1), (last, last - 1)):  # and no cell more than differs
        alike = before.signs[edge] == after.signs[edge]
        assert not alike or "" in (before.signs[beyond], after.signs[beyond])


@given(TEXTS, st.integers(0, 24), st.integers(0, 30))
def test_a_part_of_a_line_is_as_wide_as_was_asked_and_says_the_same(
    text: str, first: int, end: int
) -> None:
    line, end = _line(text), max(first, end)
    part = line.strip("dark", first, end)
    assert part.cell_length == cell_len(part.text) == end - first
    whole = line.strip("dark").extend_cell_length(30).crop(first, end)
    assert part.text == whole.text


@given(TEXTS, st.integers(0, 30))
def test_a_sheet_never_grows(text: str, start: int) -> None:
    sheet = Sheet(24, 1)
    sheet.put(start, 0, text, "text")
    assert cell_len(sheet.lines()[0].text) == 24
    assert sheet.lines()[0].strip("dark").cell_length == 24


@given(st.lists(st.tuples(TEXTS, st.integers(1, 9), st.booleans()), max_size=6), st.integers(1, 40))
def test_flow_stays_inside(pieces: list[tuple[str, int, bool]], width: int) -> None:
    sheet = Sheet(60, 1)
    sheet.flow(0, 0, width, [Piece(text, "text", w, right=right) for text, w, right in pieces])
    assert "".join(sheet.signs[0][width:]).strip() == ""


@given(TEXTS, st.integers(2, 30))
def test_clip_and_wrap_fit(text: str, width: int) -> None:
    assert cell_len(clip(text, width)) <= width
    lines = wrap(text, width)
    assert all(cell_len(line) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(st.floats(-1e4, 1e4), st.floats(0, 1e4), st.floats(1e-3, 100), st.integers(1, 8))
def test_bounds_hold_what_they_are_for(low: float, span: float, least: float, most: int) -> None:
    first, last, step = bounds(low, low + span, least, most)
    assert first <= low + 1e-6
    assert last >= low + span - 1e-6
    assert last - first >= least * (1 - 1e-9) or span >= least
    assert (last - first) / step == pytest.approx(round((last - first) / step), abs=1e-6)


def test_the_least_is_kept_where_it_hardly_lies_beyond_a_label() -> None:
    first, last, _ = bounds(1.5, 1.5, 1.015625, 2)
    assert first <= 1.5 <= last
    assert last - first >= 1.015625


def test_noise_is_not_magnified() -> None:
    """0.4 kPa of noise on 400 kPa takes a fiftieth of the scale's height, not all of it."""
    first, last, _ = bounds(399.8, 400.2, 20.0, 5)
    assert last - first >= 20.0


def test_a_line_of_dots_is_unbroken() -> None:
    dots = Dots(10, 3, ascii_only=False)
    dots.path(((-400, 0), (19, 11)), "text")
    sheet = Sheet(10, 3)
    dots.onto(sheet, 0, 0)
    for column in range(10):
        assert any(sheet.signs[row][column] != " " for row in range(3))


@pytest.mark.parametrize("every", (1, 3))
@pytest.mark.parametrize("ascii_only", (False, True))
def test_a_path_is_drawn_dot_by_dot_however_far_it_goes(every: int, ascii_only: bool) -> None:
    """Against one dot after the other, by the definition of a straight line in whole steps."""
    chance = random.Random(every)
    points = [(chance.randint(-30, 60), chance.randint(-30, 50)) for _ in range(60)]
    points += [(5, 5), (5, 5), (5, -(10**6)), (10**6, 3), (7, 3)]
    drawn, wanted = (Dots(16, 5, ascii_only) for _ in range(2))
    drawn.path(points, "text", every)
    wanted.path(points[:1], "text")
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        steps = max(abs(x1 - x0), abs(y1 - y0), 1)
        for i in range(0, steps + 1, every):
            x, y = x0 + round((x1 - x0) * i / steps), y0 + round((y1 - y0) * i / steps)
            if 0 <= x < wanted.wide and 0 <= y < wanted.high:
                wanted.path(((x, y),), "text")
    sheets = Sheet(16, 5), Sheet(16, 5)
    for dots, sheet in zip((drawn, wanted), sheets, strict=True):
        dots.onto(sheet, 0, 0)
    assert sheets[0].signs == sheets[1].signs
    assert any(sign != " " for row in sheets[0].signs for sign in row)


def test_everything_has_room_at_every_size() -> None:
    for width, height, cells in itertools.product(
        (40, 59, 60, 79, 80, 119, 120, 200), (10, 12, 16, 20, 24, 36, 48, 80), (0, 1, 6, 16, 64)
    ):
        for complaint in (False, True):
            shares = arrange(width, height, cells, complaint)
            axis = cells > 0  # without a cell there is none
            used = shares.wall + shares.below + 3 + axis + complaint
            assert used == height, (width, height, cells)
            assert shares.wall >= min(2, height - 4 - complaint)
            assert shares.lane_rows >= 1


def test_lanes_are_as_tall_as_all_of_them_fit() -> None:
    assert arrange(160, 48, 6, complaint=False).lane_rows == 5
    assert arrange(160, 48, 12, complaint=False).lane_rows == 2
    assert arrange(160, 48, 64, complaint=False).lane_rows == 1
    assert arrange(80, 24, 6, complaint=False).lane_rows == 2


def test_the_least_wording_comes_before_a_piece_goes_and_no_sooner() -> None:
    pieces = [
        Piece("C1", weight=10),
        Piece("370/360/358 s 12 kPa", weight=6, least="370/360/358 kPa"),
        Piece("1 h", weight=7),
        Piece("9/64", weight=5),
    ]
    told = {}
    for width in (32, 31, 26, 22, 21):
        sheet = Sheet(width, 1)
        sheet.flow(0, 0, width, pieces)
        told[width] = sheet.lines()[0].text.rstrip()
    assert told == {
        32: "C1 370/360/358 s 12 kPa 1 h 9/64",
        31: "C1 370/360/358 s 12 kPa 1 h",
        26: "C1 370/360/358 kPa 1 h",
        22: "C1 370/360/358 kPa 1 h",
        21: "C1 1 h",
    }
