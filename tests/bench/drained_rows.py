"""A scripted test whose drained step goes on for days, with leaks and warmth laid over it.

The numbers are invented; the shapes are those of the trade: secondary flow with the logarithm of
time, leaks linear in time, warm water that expands.
"""

from datetime import UTC
from math import log, pi, sin

from scripted import Script, as_rows, settings

from tui.bench.alarms.spells import Spell
from tui.bench.cell_fold import CellFold
from tui.bench.picture import Cell
from tui.bench.readings import NAN, Reading
from tui.feed.rows import Arrivals
from tui.settings.cell_toml import CellToml

HOUR_S = 3600.0
CREEP_ML = 0.25
"""Secondary flow per e-fold of time. [ml]"""
WATER_ML_C = 0.4
"""What 1 °C drives out of the cell: 2.5 L of water less the cell's own expansion. [ml/°C]"""


def watched(rows: list[Reading], of: CellToml | None = None, now: float | None = None) -> Cell:
    """The cell as it stands with all rows."""
    fold = CellFold("C1", "C1", of or settings(), (), UTC).take(Arrivals("C1", as_rows(rows)))
    return fold.picture(rows[-1].time if now is None else now, ())


def spells(rows: list[Reading], *kinds: str, of: CellToml | None = None) -> list[Spell]:
    """All that was raised of some kinds."""
    return [spell for spell in watched(rows, of).spells if spell.kind in kinds]


def consolidating() -> Script:
    """A test up to the end of primary consolidation (t95 about half an hour), 15 h after."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    for target, b in ((60.0, 0.62), (110.0, 0.96)):
        script.check(b)
        script.raise_back(target)
    script.check(0.97, 140.0, build_up=True)
    script.drain(t90_min=20.0)
    return script


def night(
    hours: float = 30.0,
    *,
    membrane: float = 0.0,
    cell: float = 0.0,
    line: float = 0.0,
    from_h: float = 6.0,
    swing_C: float = 0.0,
    thermometer: bool = True,
    every_s: float = 600.0,
) -> tuple[list[Reading], float]:
    """Rows of a test that stays drained; and when the leak began. [ml/h] each, counted as lost."""
    script = consolidating()
    opened = script.begins[-1][2] - 15.0
    drained = [row for row in script.rows if row.time > opened]
    last = drained[-1]
    while script.now < last.time + (hours - 15.0) * HOUR_S:
        script.row(every_s)
    found, zero = [], next(row for row in reversed(script.rows) if row.time <= opened)
    for number, row in enumerate(script.rows):
        passed = max(row.time - opened, 0.0)
        creep = CREEP_ML * log(1.0 + passed / HOUR_S)
        leaked = max(passed / HOUR_S - from_h, 0.0)
        warm = swing_C * sin(2.0 * pi * row.time / 86400.0)
        noise = 0.004 * sin(12.9898 * number * number)  # no machine's dice have a say in it
        # The script leaves the last twentieth of the excess; here it goes as well.
        excess = 0.05 * (zero.pore_pressure - zero.back_pressure) if passed > 0.0 else 0.0
        volume = row.back_volume - creep + (line - membrane) * leaked
        inside = zero.back_volume - row.back_volume if passed > 0.0 else 0.0
        water = inside + creep + (cell + membrane) * leaked - WATER_ML_C * warm
        found.append(
            row._replace(
                pore_pressure=row.pore_pressure - excess,
                back_volume=round(volume + noise, 2),
                cell_volume=round(water - 2.0 * noise, 2),
                temperature=round(20.0 + warm, 2) if thermometer else NAN,
            )
        )
    return found, opened + from_h * HOUR_S
