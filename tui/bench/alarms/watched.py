"""The alarms of all cells and of the bench, from what the cells' readings raised."""

from dataclasses import dataclass, field, replace

from tui.bench.alarms.kinds import judged_in
from tui.bench.alarms.life import alarms_of
from tui.bench.alarms.shared import shared_spells
from tui.bench.alarms.spells import Alarm, Spell
from tui.bench.picture import Blind, Cell
from tui.bench.twins import changed
from tui.journal.acts import Act
from tui.settings.alarm_limits import Limits
from tui.settings.bench_toml import Supply
from tui.settings.places import Layout

SAID = ("acknowledge", "shelve", "accept")
"""Acts that are about alarms."""


@dataclass(frozen=True, slots=True, eq=False)
class Watched:
    """Cells with their alarms, and what they share."""

    cells: tuple[Cell, ...]
    alarms: tuple[Alarm, ...] = ()
    spells: tuple[Spell, ...] = ()
    _made: dict[str, "_Made"] = field(default_factory=dict)
    """By folder; the same value stays the same."""


@dataclass(frozen=True, slots=True, eq=False)
class _Made:
    """What became of one cell."""

    drawn: Cell
    shown: Cell
    """The same with its alarms."""
    since: float | None
    """When its phase began. [s]"""
    settled: bool
    """Whether its alarms follow from its spells alone, all of which lay behind."""

    def still(self, told: tuple[Spell, ...], since: float | None) -> bool:
        """Whether its alarms are what they were."""
        return self.settled and since == self.since and told == self.shown.spells


def watched_over(
    cells: tuple[Cell, ...],
    lies: Layout,
    acts: tuple[Act, ...],
    now: float,
    before: Watched | None,
    own: tuple[Spell, ...] = (),
) -> Watched:
    """All alarms at a moment.

    Args:
        cells: as they were drawn, with the spells of their readings.
        lies: the bench on disk, which says what one supply feeds.
        acts: all that hold.
        now: the moment. [s]
        before: as of the last look.
        own: spells of the bench itself.
    """
    said = [act for act in acts if act.kind in SAID and act.held_at <= now]
    limits = Limits(lies.bench.alarms.limits)
    supplies = _supplies(lies)
    shared, spells = shared_spells({cell.folder: cell.spells for cell in cells}, supplies, limits)
    named = {folder for _, folders in supplies for folder in folders}
    fed = {folder for _, folders in supplies if len(folders) > 1 for folder in folders}
    # A cell that is fed alone, or stands alone, shares nothing: nothing is left unjudged.
    alone = named - fed if len(cells) > 1 else {cell.folder for cell in cells}
    made: dict[str, _Made] = {}
    known = {} if before is None else before._made
    for cell in cells:
        mine = tuple(
            act for act in said if act.cell == cell.folder and act.test in (None, cell.test_id)
        )
        told = spells[cell.folder]
        since = None if cell.phase is None else cell.phase.since
        was = known.get(cell.folder)
        settled = not mine and was is not None and was.still(told, since)
        if was is not None and settled:
            alarms = was.shown.alarms
        else:
            alarms = alarms_of(told, mine, now, since) if told else ()
            settled = not mine and all(
                max(one.raised_at, one.cleared_at or one.raised_at) <= now for one in told
            )
        blind = (
            cell.blind if cell.folder in fed else _without_supply(cell, alone=cell.folder in alone)
        )
        drawn, out = (None, cell) if was is None else (was.drawn, was.shown)
        if drawn is not cell or (out.alarms, out.spells, out.blind) != (alarms, told, blind):
            same = (cell.alarms, cell.spells, cell.blind) == (alarms, told, blind)
            out = cell if same else changed(cell, alarms=alarms, spells=told, blind=blind)
        made[cell.folder] = _Made(cell, out, since, settled)
    found = tuple(sorted((*shared, *own), key=lambda spell: spell.raised_at))
    return Watched(
        tuple(made[cell.folder].shown for cell in cells), _of_bench(found, said, now), found, made
    )


def _without_supply(cell: Cell, *, alone: bool) -> tuple[Blind, ...]:
    """What two cells of one supply tell cannot be told of a cell whose supply is not known."""
    if cell.phase is None or "supply-lost" not in judged_in(
        cell.phase.name, cell.phase.step, cell.test or ""
    ):
        return cell.blind
    others = tuple(one for one in cell.blind if one.kind != "supply-lost")
    if alone:
        return others
    lacks = Blind("supply-lost", "needs a [[supply]] in bench.toml that feeds it and another cell")
    return (*others, lacks)


def _supplies(lies: Layout) -> list[tuple[Supply, tuple[str, ...]]]:
    folders = {place.name: place.folder for place in lies.places}
    folders |= {place.folder: place.folder for place in lies.places}
    return [
        (supply, tuple(folders[name] for name in supply.feeds if name in folders))
        for supply in lies.bench.supply
    ]


def _of_bench(spells: tuple[Spell, ...], said: list[Act], now: float) -> tuple[Alarm, ...]:
    """Whoever answers for one of the cells answers for what they share."""
    found: list[Alarm] = []
    for cells in dict.fromkeys(spell.cells for spell in spells):
        own = [spell for spell in spells if spell.cells == cells]
        mine = [replace(act, about=None) for act in said if act.cell in (*cells, "")]
        found += alarms_of(own, mine, now)
    return tuple(found)
