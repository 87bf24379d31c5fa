"""What goes together in one message, and when. The figure of a flood: EEMUA 191, from memory."""

from dataclasses import replace

from made import DAY, bench, cell, journalled, route, spell, told

from tui.bench.picture import Bench
from tui.guard.company import Bundle, next_bundle
from tui.guard.ledger import Ledger
from tui.guard.when import due


def kinds(found: Bundle | None) -> list[str] | None:
    return None if found is None else [one.key.kind for one in found.notices]


class Way:
    """One route that takes every message at once."""

    def __init__(self) -> None:
        self.ledger, self.route = Ledger(), route(**{"from": "note"})

    def at(self, picture: Bench) -> Bundle | None:
        journalled(self.ledger, picture)
        notices = due(self.ledger, picture, self.route, None)
        found = next_bundle(self.ledger, "phone", notices, picture.at)
        if found is not None:
            told(self.ledger, found.notices, "phone", picture.at)
        return found


URGENT = spell(DAY, raised_at=DAY)
WARNING = spell(DAY, raised_at=DAY, kind="pressure-unsteady", priority="warning")


def test_the_first_urgent_goes_at_once_and_takes_along_what_waits() -> None:
    way = Way()
    assert kinds(way.at(bench(DAY, cell("C1", (WARNING,))))) is None
    urgent = replace(URGENT, since=DAY + 5, raised_at=DAY + 5)
    assert kinds(way.at(bench(DAY + 5, cell("C1", (WARNING, urgent))))) == [
        "over-pressure",
        "pressure-unsteady",
    ]


def test_what_follows_within_thirty_seconds_goes_together() -> None:
    way = Way()
    assert kinds(way.at(bench(DAY, cell("C1", (URGENT,))))) == ["over-pressure"]
    more = [
        replace(URGENT, kind=kind, since=DAY + k, raised_at=DAY + k)
        for k, kind in ((5, "log-silent"), (12, "leak-membrane"))
    ]
    assert way.at(bench(DAY + 5, cell("C1", (URGENT, more[0])))) is None
    assert way.at(bench(DAY + 29, cell("C1", (URGENT, *more)))) is None
    assert kinds(way.at(bench(DAY + 30, cell("C1", (URGENT, *more))))) == [
        "log-silent",
        "leak-membrane",
    ]


def test_a_warning_that_was_told_keeps_no_urgent_thing_waiting() -> None:
    way = Way()
    assert kinds(way.at(bench(DAY + 30, cell("C1", (WARNING,))))) == ["pressure-unsteady"]
    urgent = replace(URGENT, since=DAY + 31, raised_at=DAY + 31)
    assert kinds(way.at(bench(DAY + 31, cell("C1", (WARNING, urgent))))) == ["over-pressure"]


def test_another_cell_waits_for_nobody() -> None:
    way = Way()
    way.at(bench(DAY, cell("C1", (URGENT,))))
    other = replace(URGENT, since=DAY + 5, raised_at=DAY + 5)
    found = way.at(bench(DAY + 5, cell("C1", (URGENT,)), cell("C2", (other,))))
    assert found is not None
    assert [one.key.cell for one in found.notices] == ["C2"]


def test_warnings_wait_thirty_seconds_for_company() -> None:
    way = Way()
    second = replace(WARNING, kind="temperature-swing", since=DAY + 20, raised_at=DAY + 20)
    assert way.at(bench(DAY + 1, cell("C1", (WARNING,)))) is None
    assert kinds(way.at(bench(DAY + 30, cell("C1", (WARNING, second))))) == [
        "pressure-unsteady",
        "temperature-swing",
    ]


def test_ten_are_told_one_by_one_and_the_eleventh_makes_a_summary() -> None:
    way = Way()
    for cells, summaries in ((10, 0), (11, 1)):
        way = Way()
        picture = bench(DAY, *(cell(f"C{n}", (URGENT,)) for n in range(cells)))
        found = [one for _ in range(cells + 1) if (one := way.at(picture)) is not None]
        assert sum(one.is_summary for one in found) == summaries
        assert len(found) == (1 if summaries else cells)
        assert sum(len(one.notices) for one in found) == cells  # nothing is lost


def test_a_flood_goes_on_in_summaries_half_a_minute_apart() -> None:
    way = Way()
    first = bench(DAY, *(cell(f"C{n}", (URGENT,)) for n in range(12)))
    assert way.at(first) is not None
    later = replace(URGENT, kind="log-silent", since=DAY + 10, raised_at=DAY + 10)
    more = tuple(cell(f"C{n}", (URGENT, later)) for n in range(12))
    assert way.at(bench(DAY + 29, *more)) is None
    found = way.at(bench(DAY + 30, *more))
    assert found is not None
    assert found.is_summary
    assert len(found.notices) == 12
