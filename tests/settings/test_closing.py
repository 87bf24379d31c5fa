"""Parting the text of a cell.toml: nothing is lost, comments go with what they are about."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from written_settings import CELL, spoiled

from tui.settings.closing import CannotCloseError, part
from tui.settings.document import parse_document
from tui.settings.reading import OF_THE_TEST, cell_from_document

COMMENTED = """\
# The bench by the window.

[cell]  # hardware
name = "C1"
# plate read on the 3rd
rating = "1700 kPa"

# what runs now
[test]  # running
id = "T015"
kind = "CU"
  started = "2031-02-03T08:10"  # by the clock on the wall
standard = "ASTM D4767"
# last word of the test

# how the logger writes
[log]
files = "*.csv"

# the specimen
# had a shell in it
[specimen]
diameter = "50 mm"
height = [
  "100 mm",
  # measured twice
  "101 mm",
]
[identity]
note = \"\"\"
[log]
# not a comment
\"\"\"
[log.channels]
temperature = { column = "T", unit = "degC" }  # room
"""


def test_comments_go_with_the_table_they_are_about() -> None:
    parted = part(parse_document(COMMENTED, None, "C1/cell.toml"), "C1", "T015", "2031-02-10T09:30")
    for there in (
        "# what runs now\n[test]  # running", "# last word of the test",
        "# the specimen\n# had a shell in it\n[specimen]", "# measured twice",
        '[log]\n# not a comment\n"""',
        '  # by the clock on the wall\n  ended = "2031-02-10T09:30"\n',
    ):  # fmt: skip
        assert there in parted.moved
        assert there not in parted.kept
    for here in (
        "# The bench by the window.", "[cell]  # hardware", "# plate read on the 3rd",
        "# how the logger writes\n[log]", "# room",
    ):  # fmt: skip
        assert here in parted.kept
    assert "[cell]  # hardware" in parted.moved  # the hardware as it was goes along


def test_both_halves_parse_and_say_what_the_whole_said() -> None:
    document = parse_document(CELL, None, "C1/cell.toml")
    parted = part(document, "C1", "T015", "2031-02-10T09:30:00+01:00")
    whole, kept, moved = (tomllib.loads(text) for text in (CELL, parted.kept, parted.moved))
    assert moved["test"].pop("ended") == "2031-02-10T09:30:00+01:00"
    assert moved == whole
    assert set(kept) == {"cell", "log"}
    assert all(kept[key] == whole[key] for key in kept)
    for text in (parted.kept, parted.moved):
        found = cell_from_document(parse_document(text, None, "x.toml"))
        assert all(problem.severity == "note" for problem in found.problems)


def test_what_stands_before_the_first_header_is_parted_too() -> None:
    text = (
        '# whose\ncell.name = "C1"\n# which\ntest.id = "T1"\ntest.kind = "CU"\n'
        'plan = { excess = "5 kPa" }\n'
        '[specimen]\ndiameter = "50 mm"\nheight = "100 mm"\n'
    )
    parted = part(parse_document(text, None, "x"), "C1", "T1", "2031-02-10T09:30")
    assert parted.kept.startswith('# whose\ncell.name = "C1"\n')
    assert "# which\ntest.id" in parted.moved
    assert tomllib.loads(parted.moved)["test"]["ended"] == "2031-02-10T09:30"


def test_a_written_end_is_not_written_again() -> None:
    text = spoiled('id = "T015"', 'id = "T015"\nended = "2031-02-09T10:00"')
    parted = part(parse_document(text, None, "x"), "C1", "T015", None)
    assert parted.moved.count("ended") == 1


def test_the_hint_does_not_pile_up() -> None:
    first = part(parse_document(CELL, None, "x"), "C1", "T015", "2031-02-10T09:30").kept
    assert first.count("# No test is described here") == 1
    again = first + "\n# mine\n" + CELL[CELL.index("[test]") :]
    second = part(parse_document(again, None, "x"), "C1", "T016", "2031-02-20T09:30")
    assert second.kept.count("# No test is described here") == 1
    assert "tests/T016.toml" in second.kept
    assert "tests/T015.toml" not in second.kept + second.moved
    assert "# mine" in second.moved
    assert len(second.kept.split("\n")) == len(first.split("\n"))


def test_a_test_in_one_line_is_refused() -> None:
    text = 'test = { id = "T1", kind = "CU" }\n[specimen]\ndiameter = "50 mm"\nheight = "1 m"\n'
    with pytest.raises(CannotCloseError, match="a table of its own"):
        part(parse_document(text, None, "x"), "C1", "T1", "2031-02-10T09:30")


_KEYS = st.text(alphabet="abc", min_size=1, max_size=3)
_VALUES = st.sampled_from(
    ['"x"', "1", "[1, # c\n 2]", '{ a = "}", b = [ "#" ] }', "'''\n[cell]\n'''"]
)
_TABLE = st.dictionaries(_KEYS, _VALUES, max_size=3)


@given(st.permutations(("cell", "log", *OF_THE_TEST)), st.data())
def test_no_order_of_tables_loses_a_key(order: list[str], data: st.DataObject) -> None:
    lines = []
    for name in order:
        lines.append(data.draw(st.sampled_from(["", "# about", "\n# apart\n"])))
        lines.append(f"[{name}] # {name}")
        lines += [f"{key} = {value}" for key, value in data.draw(_TABLE).items()]
        if name == "test":
            lines.append('id = "T1"')
    text = "\n".join(lines)
    parted = part(parse_document(text, None, "x"), "C1", "T1", "2031-02-10T09:30")
    moved = tomllib.loads(parted.moved)
    moved["test"].pop("ended")
    assert moved == tomllib.loads(text)
    assert set(tomllib.loads(parted.kept)) == {"cell", "log"}
