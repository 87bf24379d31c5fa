"""What a handover says of cells in every condition: the page for the mail and the one to print."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import made_benches
import pytest
from made_benches import AT, HOSTILE_SHOWN, H
from test_themes import contrast

from tui.bench.alarms.spells import Spell
from tui.bench.handover import SHIFT_S, Before, Handover, handed_over
from tui.bench.picture import Bench, Hand
from tui.bench.unused import Unused
from tui.feed.rows import UnusedRow
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.papers.handover_page import FAINT, INK, STATES, handover_page
from tui.words import Manner
from tui.words.handover import handover_lines
from tui.words.printed import columns

DULL = Manner(colour=False)


class _Text(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.text = ""
        self.styles: list[str] = []
        self.feed(page)

    def handle_starttag(self, _tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.styles += [value for name, value in attrs if name == "style" and value]

    def handle_data(self, data: str) -> None:
        self.text += data


def handed(bench: Bench, *entries: Entry) -> Handover:
    """A shift of it."""
    return handed_over(bench, entries, AT - SHIFT_S)


def both(one: Handover, manner: Manner = DULL) -> tuple[str, str]:
    """What the page for the mail and that for a terminal say, on one line each."""
    page = _Text(handover_page(one, manner)).text
    return " ".join(page.split()), " ".join(" ".join(handover_lines(one, manner, 80)).split())


def test_a_broken_cell_says_what_to_mend() -> None:
    for told in both(handed(made_benches.one_broken())):
        assert "✕ C3 broken" in told or "C3 ✕ broken" in told
        assert "C3/cell.toml:14" in told and "write one of: Pa, kPa, MPa, bar, psi" in told
        assert "oldrig" in told and "zone is not set" in told


def test_a_shelved_alarm_says_until_when_and_no_more() -> None:
    for told in both(handed(made_benches.alarmed())):
        assert re.search(r"temperature swings (· )?shelved until today 16:20", told)
        assert "acknowledge C3 leak-drainage" in told
        assert "acknowledge C3 temperature-swing" not in told
        assert "acknowledged by Ada" in told


def test_all_hands_are_there_however_many() -> None:
    bench = made_benches.all_well()
    hands = tuple(Hand("C1", f"task {k:03d}", AT + k * H, None, None) for k in range(40))
    for told in both(handed(replace(bench, hands=hands, visits=()))):
        assert all(f"task {k:03d}" in told for k in range(40))
        assert "more" not in told


def test_what_was_since_then_is_not_what_was_ever() -> None:
    bench = made_benches.all_well()
    row = UnusedRow("C1/a.csv", 7, "OVER")
    times = (AT - 40 * H, AT - 30 * H, AT - 2 * H, AT - H)
    unused = Unused().plus(replace(row, time=time) for time in times)

    def spell(kind: str, ago: float, over: float | None, **more: object) -> Spell:
        cleared = None if over is None else AT - over
        made = Spell(kind, None, "warning", AT - ago, AT - ago, cleared, f"{kind} at {ago:g}")
        return replace(made, **more)  # type: ignore[arg-type]

    spells = (
        spell("reading-missed", 20 * H, 19 * H),
        spell("reading-missed", 3 * H, 2 * H),
        spell("pressure-unsteady", 30 * H, 20 * H),
        spell("pressure-unsteady", 14 * H, 11 * H),
        spell("pressure-drift", 4 * H, 3 * H, held_back="supply-lost"),
        spell("temperature-swing", 5 * H, None),
        spell("watch-sparse", 6 * H, 5 * H, priority="note"),
    )
    cell = replace(bench.cells[0], unused=unused, rows_unused=4, spells=spells)
    one = handed(replace(bench, cells=(cell,)))
    before = one.before["C1"]
    assert before.unused == 2
    assert [spell.since for spell in before.missed] == [AT - 3 * H]
    assert [spell.since for spell in before.over] == [AT - 14 * H]
    for told in both(one):
        assert "2 rows unused" in told and "4 of 1244 rows unused" in told
        assert "reading-missed at 10800" in told and "reading-missed at 72000" not in told
        assert "pressure unsteady · today 00:20, for 3 h 00 min" in told
        assert "watch-sparse" not in told and "pressure drifts" not in told


def test_an_alarm_that_nobody_knows_is_not_told_as_over_too() -> None:
    bench = made_benches.alarmed()
    cell = bench.cells[3]
    (returned,) = (one for one in cell.alarms if one.state == "returned")
    spell = Spell("log-silent", None, "urgent", returned.since, returned.raised_at, AT - 10 * H)
    one = handed(replace(bench, cells=(replace(cell, spells=(spell,)),)))
    assert one.before["C4"].over == ()
    known = replace(cell, spells=(spell,), alarms=())
    assert handed(replace(bench, cells=(known,))).before["C4"].over == (spell,)


def test_so_much_is_listed_and_the_rest_is_counted() -> None:
    bench = made_benches.bench((made_benches.saturating("C1"),))
    missed = tuple(
        Spell("reading-missed", None, "warning", AT - k, AT - k, AT - k, f"slot {k} was not taken")
        for k in range(30, 0, -1)
    )
    one = replace(handed(bench), before={"": Before(), "C1": Before(missed=missed, unused=500)})
    for told in both(one):
        assert "readings missed 30 times, the last 12 of them:" in told
        assert "slot 12 was not taken" in told and "slot 13 was" not in told
        assert "500 or more rows unused" in told


def test_us_units_and_ascii_signs() -> None:
    for told in both(handed(made_benches.alarmed()), Manner(units="US", ascii=True, colour=False)):
        assert told.isascii()
        assert "cell 53.87 psi" in told and "B >= 0.95" in told


def test_nothing_in_it_is_markup_or_escape_of_others() -> None:
    note = Act(1, "note", "C1", None, AT - H, AT - H, "<b>Ea</b>", "pc", "<img src=x> \x1b[31mred")
    for bench in (made_benches.hostile(), made_benches.hostile_alarms()):
        note_of = replace(note, cell=bench.cells[0].folder)
        page = handover_page(handed(bench, Entry(note_of)), DULL)
        assert "\x1b" not in page and "\u202e" not in page and "<img" not in page
        told = _Text(page).text
        assert HOSTILE_SHOWN in told and "<img src=x> red" in told and "<b>Ea</b>" in told


@pytest.mark.parametrize("width", [24, 34, 39, 80])
def test_no_line_is_longer_than_the_page(width: int) -> None:
    for bench in (made_benches.alarmed(), made_benches.long_names(), made_benches.one_broken()):
        assert max(map(columns, handover_lines(handed(bench), DULL, width))) <= width


def test_its_colours_can_be_read() -> None:
    """WCAG 2.1: 4.5 to 1 at least."""
    for ink, ground in (INK, FAINT, *STATES.values()):
        assert contrast(ink, ground) >= 4.5
    page = handover_page(handed(made_benches.alarmed()), DULL)
    used = set(re.findall(r"[;\"](?:color|background):(#[0-9a-f]{6})", page))
    assert used <= {one for pair in (INK, FAINT, *STATES.values()) for one in pair}


def test_every_style_of_a_state_has_colours_and_words() -> None:
    page = handover_page(handed(made_benches.all_well()), DULL)
    assert set(STATES) == {"good", "plain", "faint", "warn", "alert", "bad", "alarm"}
    assert "△ doubtful" in page and "○ runs" in page
