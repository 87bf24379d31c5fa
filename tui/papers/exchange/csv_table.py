"""Results as one table in long form: a row a number, whatever the tests are.

The columns are cell, test, quantity, unit, value, standard_uncertainty; quantity is the dotted
name of `reduce --json` (of a set: of `strength --json`, behind `set.`), numbers are unrounded and
in SI, an unknown one is empty. Texts are guarded, see `guarded`.
"""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tui.papers.exchange.envelopes import Envelopes
from tui.papers.exchange.guarded import guarded
from tui.papers.exchange.quantities import Quantity, quantities
from tui.papers.subject import Subject
from tui.words import sanitise

COLUMNS = ("cell", "test", "quantity", "unit", "value", "standard_uncertainty")
LONGEST = 4000
"""Of a text. [characters]"""


def csv_table(subjects: Sequence[Subject], envelopes: Envelopes) -> bytes:
    """The whole file, in UTF-8.

    Args:
        subjects: tests that were reduced.
        envelopes: of their sets.
    """
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for subject in subjects:
        settings = subject.settings
        test = None if settings is None else settings.test.id
        own = _text(subject.place.name), _text(test)
        identity = {} if settings is None else settings.identity
        writer.writerows(
            (*own, f"identity.{_text(str(key))}", "", _text(value), "")
            for key, value in identity.items()
        )
        writer.writerows((*own, *_fields(one)) for one in quantities(subject.results))
        writer.writerows(_cautions(own, "cautions", subject.results["cautions"]))
    for name, strength in envelopes.items():
        tests = " ".join(one["cell"] for one in strength["specimens"])
        own = _text(tests), ""
        writer.writerow((*own, "set.name", "", _text(name), ""))
        writer.writerows(
            (*own, f"set.{quantity}", *rest)
            for quantity, *rest in map(_fields, quantities(strength))
        )
        writer.writerows(_cautions(own, "set.cautions", strength["cautions"]))
    return page.getvalue().encode("utf-8", "replace")


def _cautions(
    own: tuple[str, str], name: str, cautions: Sequence[Mapping[str, str]]
) -> Iterator[tuple[str, ...]]:
    for count, caution in enumerate(cautions, 1):
        for key in ("what", "clause"):
            yield (*own, f"{name}.{count}.{key}", "", _text(caution[key]), "")


def _fields(one: Quantity) -> tuple[str, str, str, str]:
    return one.name, one.unit, _value(one.value), _value(one.uncertainty)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    return _text(value)


def _text(value: Any) -> str:
    """Text from outside on one line, never a formula; empty for None."""
    return "" if value is None else guarded(sanitise(str(value), LONGEST))
