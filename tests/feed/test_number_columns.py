"""However many columns and rows are read at a time, each field is the same number or fault."""

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st

from tui.feed.numbers import CUT, MISSING, NumberColumn, read_columns

PLAIN = st.one_of(
    st.integers(-(10**6), 10**6).map(str),
    st.floats(-1e6, 1e6).map(lambda value: f"{value:.3f}"),
    st.floats(allow_nan=False, allow_infinity=False).map(str),
    st.floats(-1e6, 1e6).map(lambda value: f" {value:.2f}".replace(".", ",")),
)
ODD = st.sampled_from(
    [
        *("", " ", "OVER", "nan", "-inf", "1e999", "1_0", "1\n2", "1,2.3", "−4.5", "x", "1.", ",5"),
        *("٣", CUT, MISSING),
    ]
)
MARKS = st.sampled_from([None, ".", ","])


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[str | None], list[list[str]]]:
    """Decimal marks known so far, and the fields of as many columns."""
    marks = draw(st.lists(MARKS, max_size=4))
    rows = draw(st.integers(0, 4))
    fields = st.lists(draw(st.sampled_from([PLAIN, PLAIN | ODD])), min_size=rows, max_size=rows)
    return marks, [draw(fields) for _ in marks]


@given(tables())
@example(([None, "."], [["1"], ["2.5"]]))
@example(([None, None], [["1.5", "2"], ["3", "1,5"]]))
@example(([",", ","], [["1,5"], ["1\n2"]]))
def test_columns_read_together_are_as_field_by_field(
    table: tuple[list[str | None], list[list[str]]],
) -> None:
    marks, texts = table
    together = [NumberColumn(mark) for mark in marks]
    alone = [NumberColumn(mark) for mark in marks]
    found = read_columns(together, texts)
    assert len(found) == len(marks)
    for (numbers, faults), column, fields in zip(found, alone, texts, strict=True):
        expected = [column.read_one_by_one([field]) for field in fields]
        assert np.array_equal(numbers, [float(one[0]) for one, _ in expected], equal_nan=True)
        assert faults == [(at, why[0][1]) for at, (_, why) in enumerate(expected) if why]
    assert [one.decimal for one in together] == [one.decimal for one in alone]
