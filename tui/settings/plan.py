"""The plan of a test, tested against itself before somebody spends weeks on it.

Only contradictions and departures are told. Where a standard has a say the words are "after" it:
its figures are partly from memory, and the laboratory's own copy decides. Nothing here judges the
soil, and nothing here replaces the rating on the cell's plate.
"""

from tui.settings.cell_toml import CellToml
from tui.settings.document import Document
from tui.settings.plan_pressures import pressure_doubts
from tui.settings.plan_schedule import schedule_doubts
from tui.settings.plan_specimen import specimen_doubts
from tui.settings.problems import Problem


def plan_problems(settings: CellToml, document: Document) -> tuple[Problem, ...]:
    """Every finding about a plan, in the order of the file's lines."""
    found = [
        document.problem(doubt.path, doubt.what, doubt.remedy, doubt.severity)
        for rules in (pressure_doubts, specimen_doubts, schedule_doubts)
        for doubt in rules(settings)
    ]
    return tuple(sorted(found, key=lambda problem: problem.line or 0))
