"""The one writer of the picture: an old bench, what has arrived and a moment make a new bench."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from tui.bench.alarms.spells import Alarm, Spell
from tui.bench.alarms.watched import Watched, watched_over
from tui.bench.attended import Attended
from tui.bench.cell_fold import CellFold
from tui.bench.disks import Disk, low_disks
from tui.bench.hands import soonest_first
from tui.bench.phases import STEPS, Mark, phase_of
from tui.bench.picture import UNTIL_MENDED, Bench, Cell, Worst
from tui.bench.projections import untold
from tui.bench.rebasing import rebases_of
from tui.bench.set_envelopes import envelopes
from tui.bench.siblings import siblings_of
from tui.bench.surroundings import Surroundings
from tui.bench.visits import visits
from tui.feed.rows import Arrivals
from tui.journal.acts import Act
from tui.settings.alarm_limits import Limits
from tui.settings.folders import counted
from tui.settings.places import Layout, Place
from tui.settings.problems import Problem


@dataclass(frozen=True, slots=True, eq=False)
class _Carried:
    """What goes from one bench to the next beside the picture."""

    layout: Layout | None = None
    acts: tuple[Act, ...] = ()
    problems: tuple[Problem, ...] = ()
    folds: dict[str, CellFold | Problem] = field(default_factory=dict)
    """By folder; a Problem where the fold of a cell failed."""
    gone: tuple[Place, ...] = ()
    """Cells whose folder was there and is no more; they are shown until they come back."""
    watched: Watched | None = None
    """Their alarms as they stood at the last look."""
    disks: tuple[Spell, ...] = ()
    """Times at which a disk was nearly full."""


def empty_bench(layout: Layout, now: float, folds: Mapping[str, CellFold] | None = None) -> Bench:
    """A bench before the first reading, or with cells that go on from a checkpoint."""
    blank = Bench(at=now, folder=str(layout.root), name=layout.root.name, zone=layout.zone)
    return advance(taken_up(blank, folds or {}), layout=layout, now=now)


def taken_up(bench: Bench, folds: Mapping[str, CellFold]) -> Bench:
    """The bench with cells that go on from a checkpoint; they show once its layout is read."""
    return replace(bench, carried=_Carried(folds=dict(folds)))


def fold_of(bench: Bench, folder: str) -> CellFold | None:
    """What is carried of a cell; None where it could not be told."""
    carried = bench.carried
    fold = carried.folds.get(folder) if isinstance(carried, _Carried) else None
    return fold if isinstance(fold, CellFold) else None


def advance(
    bench: Bench,
    *,
    now: float,
    layout: Layout | None = None,
    arrivals: Iterable[Arrivals] = (),
    acts: tuple[Act, ...] | None = None,
    problems: tuple[Problem, ...] | None = None,
    disks: tuple[Disk, ...] = (),
    unread: frozenset[str] = frozenset(),
) -> Bench:
    """The bench as of `now`, with everything that has come since.

    Args:
        bench: the picture before; it is not changed.
        now: the moment. [s since the epoch]
        layout: the bench on disk, when it was read anew.
        arrivals: what came from the logs.
        acts: all acts of the journal that hold, when they have changed.
        problems: of journal and watch, when they have changed.
        disks: as they were measured, when they were.
        unread: folders of cells whose logs have not been read to their end yet.
    """
    told = folded(bench, layout=layout, arrivals=arrivals, acts=acts, problems=problems)
    return redrawn(told, now=now, disks=disks, unread=unread)


def folded(
    bench: Bench,
    *,
    layout: Layout | None = None,
    arrivals: Iterable[Arrivals] = (),
    acts: tuple[Act, ...] | None = None,
    problems: tuple[Problem, ...] | None = None,
    goes_on: bool = False,
) -> Bench:
    """The same picture, with everything that has come since carried behind it.

    Whoever keeps it has lost nothing, should drawing it fail.

    Args:
        bench: the picture before.
        layout: the bench on disk, when it was read anew.
        arrivals: what came from the logs.
        acts: all acts of the journal that hold, when they have changed.
        problems: of journal and watch, when they have changed.
        goes_on: whether nobody will advance the bench before again; see `CellFold.take`.
    """
    before = bench.carried if isinstance(bench.carried, _Carried) else _Carried()
    lies = layout or before.layout
    hold = before.acts if acts is None else acts
    known = before.problems if problems is None else problems
    if lies is None:  # the journal is told once: what it says waits for the bench's folders
        return replace(bench, carried=replace(before, acts=hold, problems=known))
    gone = before.gone if layout is None else _gone(lies, before)
    folds = _folds_of(lies, before, hold, asked_anew=layout is not None or acts is not None)
    for arrived in arrivals:
        fold = folds.get(arrived.folder)
        if isinstance(fold, CellFold):
            took = partial(fold.take, arrived, goes_on=goes_on)
            folds[arrived.folder] = _guarded(fold.name, took)
    carried = _Carried(lies, hold, known, folds, gone, before.watched, before.disks)
    return replace(bench, carried=carried)


def redrawn(
    bench: Bench,
    *,
    now: float,
    disks: tuple[Disk, ...] = (),
    unread: frozenset[str] = frozenset(),
) -> Bench:
    """The picture of a moment, of what it carries.

    Args:
        bench: as `folded`.
        now: the moment. [s since the epoch]
        disks: as they were measured, when they were.
        unread: folders of cells whose logs have not been read to their end yet.
    """
    before = bench.carried if isinstance(bench.carried, _Carried) else _Carried()
    lies = before.layout
    if lies is None:
        return replace(bench, at=now)
    places = sorted(
        (*lies.places, *before.gone), key=lambda place: (counted(place.name), place.folder)
    )
    attended = Attended.of(lies.bench.attended, lies.zone)
    cells = _cells(places, before.folds, now, attended, bench.cells, unread)
    low = low_disks(disks, Limits(lies.bench.alarms.limits), now, before.disks)
    watched = watched_over(cells, lies, before.acts, now, before.watched, low)
    cells = watched.cells
    asked = soonest_first([hand for cell in cells for hand in cell.hands])
    shown = (*lies.problems, *before.problems)
    return replace(
        bench,
        at=now,
        name=lies.bench.name or lies.root.name,
        zone=lies.zone,
        units=lies.bench.units,
        cells=cells,
        not_adopted=lies.not_adopted,
        problems=shown,
        hands=asked,
        visits=visits(asked, now, attended),
        alarms=watched.alarms,
        spells=watched.spells,
        envelopes=envelopes(cells, bench.envelopes),
        worst=_worst(cells, lies, shown, watched.alarms),
        carried=replace(before, watched=watched, disks=low),
    )


def _cells(
    places: list[Place],
    folds: dict[str, CellFold | Problem],
    now: float,
    attended: Attended | None,
    before: tuple[Cell, ...],
    unread: frozenset[str],
) -> tuple[Cell, ...]:
    """All cells, each with what the others of its set have come to by now."""

    def drawn(known: tuple[Cell, ...]) -> tuple[Cell, ...]:
        siblings = {cell.folder: siblings_of(cell, known) for cell in known}

        def around(folder: str) -> Surroundings:
            return Surroundings(attended, siblings.get(folder, ()), folder in unread)

        return tuple(_cell(place, folds, now, around(place.folder)) for place in places)

    cells = drawn(before)
    if [cell.came_to for cell in cells] == [cell.came_to for cell in before]:
        return cells
    return drawn(cells)


def newest_time(bench: Bench) -> float | None:
    """Time of the newest reading of any cell: the "now" of a finished bench. [s]"""
    if not isinstance(bench.carried, _Carried):
        return None
    times = [
        fold.newest_time
        for fold in bench.carried.folds.values()
        if isinstance(fold, CellFold) and fold.newest_time is not None
    ]
    return max(times, default=None)


def _folds_of(
    lies: Layout, before: _Carried, acts: tuple[Act, ...], *, asked_anew: bool
) -> dict[str, CellFold | Problem]:
    """The fold of every place: carried on, or begun anew where its settings are new."""
    if not asked_anew:
        return dict(before.folds)
    away = {place.folder for place in before.gone}
    folds = {folder: fold for folder, fold in before.folds.items() if folder in away}
    attended = Attended.of(lies.bench.attended, lies.zone)
    for place in before.layout.places if before.layout is not None else ():
        if place.folder in before.folds:
            folds[place.folder] = before.folds[place.folder]  # in case it is gone from now on
    for place in lies.places:
        settings = place.settings
        folds.pop(place.folder, None)
        # A cell that comes back is read from the beginning of its logs.
        known = None if place.folder in away else before.folds.get(place.folder)
        if settings is None:
            if known is not None and not place.idle:  # what was known stays to be seen
                folds[place.folder] = known
            continue
        marks = marks_of(acts, place.folder, settings.test.id)
        rebases = rebases_of(acts, place.folder, settings.test.id)
        if (
            isinstance(known, CellFold)
            and (known.settings, known.name) == (settings, place.name)
            and known.attended == attended
        ):
            folds[place.folder] = _guarded(
                place.name,
                lambda k=known, m=marks, r=rebases: k.with_acts(m, r),  # type: ignore[misc]
            )
        else:
            folds[place.folder] = _guarded(
                place.name,
                lambda p=place, s=settings, m=marks, r=rebases: CellFold(  # type: ignore[misc]
                    p.name, p.folder, s, m, lies.zone, r, attended=attended
                ),
            )
            if isinstance(known, CellFold) and known.settings == settings and known.rows:
                # Who is there when has changed: what rests on it is told from the first reading.
                fold = folds[place.folder]
                if isinstance(fold, CellFold):
                    fold.asks_all = True
    return folds


def _gone(lies: Layout, before: _Carried) -> tuple[Place, ...]:
    """Cells that were there and are no more; one that only moved is none of them."""
    if before.layout is None or before.layout.root != lies.root:
        return ()
    folders = {place.folder for place in lies.places}
    names = {place.name for place in lies.places}
    earlier = {place.folder: place for place in (*before.gone, *before.layout.places)}
    return tuple(
        replace(place, settings=None, hardware=None, problems=(_is_gone(place),))
        for place in earlier.values()
        if place.folder not in folders and place.name not in names
    )


def _is_gone(place: Place) -> Problem:
    return Problem(
        "error",
        f"the folder {place.folder} is gone or cannot be read; what was known of it is kept",
        "bring it back; if the cell was meant to go, start the dashboard again",
        place.folder,
    )


def _guarded(cell: str, work: Callable[[], CellFold]) -> CellFold | Problem:
    try:
        return work()
    except Exception as error:  # noqa: BLE001  # one cell's fold must never take the others along
        return Problem(
            "error",
            f"{cell} could not be told: {type(error).__name__}: {error}",
            "the other cells go on; report this line with the log that caused it",
        )


def _cell(
    place: Place, folds: dict[str, CellFold | Problem], now: float, surroundings: Surroundings
) -> Cell:
    fold = folds.get(place.folder)
    if isinstance(fold, CellFold):
        try:
            cell = fold.picture(now, place.problems, surroundings)
            # Nobody is sent to a cell whose settings are broken.
            return cell if place.settings is not None else replace(cell, hands=())
        except Exception as error:  # noqa: BLE001  # the same: shown on this cell, the others go on
            fold = Problem(
                "error",
                f"{place.name} could not be drawn: {type(error).__name__}: {error}",
                "the other cells go on; report this line with the log that caused it",
            )
    own = () if fold is None else (fold,)
    cell = Cell(cell=place.name, folder=place.folder, problems=(*place.problems, *own))
    if any(problem.severity == "error" for problem in cell.problems):
        cell = replace(cell, projection=untold("", UNTIL_MENDED))
    if not place.idle:
        return cell
    return replace(cell, idle=True, projection=untold("", "no test runs in it"))


def _worst(
    cells: tuple[Cell, ...], lies: Layout, shown: tuple[Problem, ...], alarms: tuple[Alarm, ...]
) -> Worst:
    """How things stand: the most urgent of what stands, in the order of `status`'s exit."""
    standing = {
        alarm.priority
        for alarm in (*alarms, *(alarm for cell in cells for alarm in cell.alarms))
        if alarm.counts
    }
    if "urgent" in standing:
        return "urgent"
    problems = [*shown, *(problem for cell in cells for problem in cell.problems)]
    if not cells or not all(cell.told for cell in cells):
        return "unknown"
    doubtful = any(problem.severity != "note" for problem in problems)
    if lies.not_adopted or doubtful or "warning" in standing:
        return "warning"
    # An alarm that cannot be judged is never counted as well.
    noted = problems or standing or any(cell.blind for cell in cells)
    return "note" if noted else "ok"


def marks_of(acts: tuple[Act, ...], folder: str, test: str | None) -> tuple[Mark, ...]:
    """The phases that people have marked in the running test of a cell."""
    marks = []
    for act in acts:
        if act.kind != "mark" or act.cell != folder or act.test not in (None, test):
            continue
        found = phase_of(act.phase or "")
        if found is not None:
            step = act.step if act.step in STEPS[found[0]] else found[1]
            marks.append(Mark(act.held_at, found[0], step, act.until))
    return tuple(marks)
