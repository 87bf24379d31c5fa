"""Shallow copies against the standard library's own."""

import copy
from dataclasses import replace

import pytest

from tui.bench.moves import Moves
from tui.bench.outflow import Outflow, Sunk
from tui.bench.picture import Cell
from tui.bench.twins import changed, twin
from tui.bench.valve import Valve


class _Both:
    __slots__ = ("__dict__", "named")

    def __init__(self) -> None:
        self.named, self.other = [1], 2


class _Unset:
    __slots__ = ("never", "once")

    def __init__(self) -> None:
        self.once = 3


class _Below(_Unset):
    """Slots above, a dictionary of its own."""


@pytest.mark.parametrize(
    "of", [Moves("cell_pressure"), Outflow(0.1, 0.2), Sunk(), Valve(), _Both(), _Unset(), _Below()]
)
def test_a_twin_has_what_a_copy_has(of: object) -> None:
    mine, its = twin(of), copy.copy(of)
    assert type(mine) is type(of)
    assert mine is not of
    names = {name for kind in type(of).__mro__ for name in vars(kind).get("__slots__", ())}
    for name in (names | set(getattr(its, "__dict__", {}))) - {"__dict__"}:
        assert getattr(mine, name, None) is getattr(its, name, None), name


def test_what_is_set_anew_in_a_twin_is_not_set_in_the_other() -> None:
    of = _Both()
    mine = twin(of)
    mine.named, mine.other = [5], 6
    assert (of.named, of.other) == ([1], 2)


def test_a_changed_value_is_what_the_standard_library_makes_of_it() -> None:
    cell = Cell("C1", "one", rows_used=3)
    before = replace(cell)
    assert changed(cell, rows_used=4, advice=("read",)) == replace(
        cell, rows_used=4, advice=("read",)
    )
    assert cell == before
    with pytest.raises(AttributeError):
        changed(cell, rows=4)
