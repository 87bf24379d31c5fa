"""Lines of keys, against texts whose lines are counted by hand."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.settings.toml_lines import Outline

TEXT = """\
# line 1
top = 1
a.b = "dotted"
[cell] # comment
name = "C1" # not = a key
text = \"\"\"
# no comment
[not.a.header]
x = 1
\"\"\"
piston = { diameter = "20 mm", "load cell" = 'internal' }
list = [
  # a comment ] inside
  { column = "F1" },
  { column = "F2" }, [1,
  2],
]
[ log . "odd.name" ]
key = '''
many
'''
[[supply]]
name = "one"
[[supply]]
name = "two"
feeds = ["a",
         "b"]
[supply.more]
deep = 1979-05-27 07:32:00
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("top",), 2),
        (("a", "b"), 3),
        (("cell",), 4),
        (("cell", "name"), 5),
        (("cell", "text"), 6),
        (("cell", "piston"), 11),
        (("cell", "piston", "load cell"), 11),
        (("cell", "list"), 12),
        (("cell", "list", 0, "column"), 14),
        (("cell", "list", 1), 15),
        (("cell", "list", 2, 1), 16),
        (("log", "odd.name"), 18),
        (("log", "odd.name", "key"), 19),
        (("supply", 0, "name"), 23),
        (("supply", 1, "name"), 25),
        (("supply", 1, "feeds", 1), 27),
        (("supply", 1, "more", "deep"), 29),
        (("cell", "absent"), 4),
        (("absent",), None),
    ],
)
def test_every_key_has_its_line(path: tuple[str | int, ...], line: int | None) -> None:
    tomllib.loads(TEXT)
    assert Outline(TEXT).line(path) == line


def test_statements_reach_from_their_first_line_to_their_last() -> None:
    spans = {s.path: (s.first_line, s.last_line) for s in Outline(TEXT).statements}
    assert spans[("cell", "text")] == (6, 10)
    assert spans[("cell", "list")] == (12, 17)
    assert spans[("supply", 1, "feeds")] == (26, 27)
    assert spans[("log", "odd.name")] == (18, 18)


@given(st.text(alphabet="[]{}\"'=.,#\n ab1\\", max_size=80))
def test_nonsense_ends(text: str) -> None:
    # Only valid TOML is scanned in earnest, but no text may hang or break the scanner.
    try:
        tomllib.loads(text)
    except ValueError:
        return
    assert all(s.first_line <= s.last_line for s in Outline(text).statements)
