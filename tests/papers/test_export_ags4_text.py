"""How AGS4 writes numbers and text, and how two of one name stay two."""

import math

import pytest

from tui.papers.exchange.ags4_text import Sign, ags4_bytes, ascii_text, written_value


# Rule 8 of AGS4; the significant figures worked out by hand.
@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (161.5001, "0DP", "162"),
        (-0.04, "1DP", "0.0"),
        (-0.664, "2DP", "-0.66"),
        (0.0996, "2SF", "0.10"),
        (0.00996, "2SF", "0.010"),
        (99.6, "2SF", "100"),
        (9.96, "2SF", "10"),
        (2483.0, "2SF", "2500"),
        (-0.01234, "2SF", "-0.012"),
        (0.0, "2SF", "0"),
        (math.nan, "2DP", ""),
        (math.inf, "2SF", ""),
        (None, "0DP", ""),
    ],
)
def test_numbers_are_written_as_their_type_says(value: float | None, kind: str, text: str) -> None:
    assert written_value(value, kind) == text


@pytest.mark.parametrize(
    ("text", "ascii_only"),
    [
        ("σ′3", "sigma'3"),
        ("φ′ 31.5°", "phi' 31.5deg"),
        ("m² · cm³", "m2 - cm3"),
        ("Ærøskøbing", "Aeroskobing"),
        ("a | b", "a / b"),
        ("line\r\nnext\ttab\x00", "line next tab"),
        ("\u202egnp.exe", "gnp.exe"),
    ],
)
def test_what_is_beyond_ascii_can_still_be_read(text: str, ascii_only: str) -> None:
    assert ascii_text(text) == ascii_only


def test_quotes_are_doubled_and_lines_end_as_the_rules_say() -> None:
    content = ags4_bytes({"UNIT": [{"UNIT_UNIT": 'a"b', "UNIT_DESC": Sign("+")}]})
    assert content == (
        b'"GROUP","UNIT"\r\n"HEADING","UNIT_UNIT","UNIT_DESC"\r\n"UNIT","",""\r\n'
        b'"TYPE","X","X"\r\n"DATA","a""b","+"\r\n'
    )


def test_a_heading_that_is_in_no_dictionary_is_an_error() -> None:
    with pytest.raises(KeyError, match="UNIT has no UNIT_ODD"):
        ags4_bytes({"UNIT": [{"UNIT_ODD": "x"}]})
