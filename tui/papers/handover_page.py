"""The handover as one page for the shift mail: readable on a phone, to be printed, without script.

Mail programs drop style sheets and what lies elsewhere: every style stands at its element, and
nothing is loaded. What it says is said by the words that make the page for a terminal.
"""

from collections.abc import Sequence

from jinja2 import Environment, PackageLoader, StrictUndefined

from tui.bench.alarms.spells import Alarm
from tui.bench.handover import Handover
from tui.bench.picture import Blind, Cell
from tui.words import SAFETY, Manner, cannot_judge_words, plain, problem_words, sanitise
from tui.words.handover import entries_told, over_told, since_told, spans_told, title
from tui.words.told import (
    alarm_told,
    bench_told,
    blind_in_all,
    blind_told,
    cell_head,
    cell_told,
    visits_told,
)

Colours = tuple[str, str]
"""Of letters, and of the ground beneath them."""

INK: Colours = ("#1c1c1c", "#ffffff")
"""Of the page."""
FAINT: Colours = ("#555555", "#ffffff")
"""Of what matters less."""
STATES: dict[str, Colours] = {
    "good": ("#14532d", "#e6f4ea"),
    "plain": ("#1c1c1c", "#ececec"),
    "faint": ("#555555", "#f2f2f2"),
    "warn": ("#6b4100", "#fdf0d3"),
    "alert": ("#6b4100", "#fdf0d3"),
    "bad": ("#8b1a1a", "#fbe6e6"),
    "alarm": ("#ffffff", "#a31515"),
}
"""By the style of a state; word and sign say the same."""
_OF_PRIORITY = {"urgent": "bad", "warning": "warn", "note": "plain"}


def handover_page(handed: Handover, manner: Manner) -> str:
    """The whole page.

    Args:
        handed: what is handed over.
        manner: units, and whether nothing beyond ASCII may stand in it.
    """
    bench = handed.bench
    shared = blind_in_all(bench.cells)
    name, duty = bench_told(bench)
    environment = Environment(
        loader=PackageLoader("tui.papers", ""),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        # of whatever stands in it, as sign by sign as on a terminal that shows no more
        finalize=lambda value: plain(value, manner) if isinstance(value, str) else value,
    )
    page = environment.get_template("handover.html.jinja").render(
        title=title(handed),
        name=name,
        duty=duty,
        problems=[problem_words(problem, manner) for problem in bench.problems],
        alarms=_alarms(bench.alarms, "", handed, manner),
        over=over_told(handed.before[""], handed, manner),
        entries=entries_told(handed.before[""], handed),
        visits=visits_told(bench),
        cells=[_cell(cell, handed, manner, shared) for cell in bench.cells],
        not_adopted=[sanitise(folder) for folder in bench.not_adopted],
        blind=cannot_judge_words(shared),
        safety=SAFETY,
        ink=INK,
        faint=FAINT,
        joint=" · ",
    )
    return page.strip()


def _alarms(
    alarms: tuple[Alarm, ...], folder: str, handed: Handover, manner: Manner
) -> list[dict[str, object]]:
    return [
        {
            "told": alarm_told(alarm, folder, handed.bench, manner),
            "colours": STATES[_OF_PRIORITY[alarm.priority] if alarm.counts else "faint"],
        }
        for alarm in alarms
    ]


def _cell(
    cell: Cell, handed: Handover, manner: Manner, shared: Sequence[Blind]
) -> dict[str, object]:
    bench, before = handed.bench, handed.before[cell.folder]
    found, facts = cell_head(cell, bench, manner)
    return {
        "name": sanitise(cell.cell),
        "state": f"{found.sign} {found.word}",
        "colours": STATES[found.style],
        "facts": facts,
        "alarms": _alarms(cell.alarms, cell.folder, handed, manner),
        "told": cell_told(cell, bench, manner),
        "problems": [problem_words(problem, manner) for problem in cell.problems],
        "blind": blind_told(cell, shared),
        "spans": spans_told(before),
        "since": since_told(before, cell, handed, manner),
        "over": over_told(before, handed, manner),
        "entries": entries_told(before, handed),
    }
