"""The bench on disk: which folders are cells, which hold logs but were not adopted."""

from collections import Counter
from dataclasses import dataclass, replace
from datetime import tzinfo
from pathlib import Path

from tui.settings.alarm_limits import merged
from tui.settings.bench_toml import BenchToml
from tui.settings.cell_toml import CellToml, Hardware, Log
from tui.settings.document import Document, read_document
from tui.settings.folders import (
    BENCH_FILE,
    CELL_FILE,
    DEEPEST,
    EARLIER_FOLDER,
    STATE_FOLDER,
    Folder,
    counted,
    plain,
    signature,
    walk,
)
from tui.settings.problems import Problem, SettingsError, clean, shown
from tui.settings.quantities import RefusedError, closest, did_you_mean
from tui.settings.reading import BenchFile, cell_from_document, read_bench, read_cell
from tui.settings.zones import find_zone, machine_zone


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A cell's folder and what its settings say."""

    name: str
    """Of the cell: from its settings, else the folder's name."""
    folder: str
    """Relative to the bench, with forward slashes."""
    path: Path
    settings: CellToml | None
    """None when they could not be used, or no test is described; `problems` says which."""
    problems: tuple[Problem, ...] = ()
    hardware: Hardware | None = None
    """Also known while no test is described."""
    log: Log | None = None
    """Also known while no test is described."""
    plan_problems: tuple[Problem, ...] = ()
    """What the plan says against itself; it hides nothing, `check` shows it."""
    earlier: tuple[str, ...] = ()
    """Ids of earlier tests, whose tables lie in `tests/`."""

    @property
    def idle(self) -> bool:
        """Whether the settings are in order and describe no test: the cell stands between two."""
        return self.settings is None and self.hardware is not None


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """A bench as it lies on disk at one moment."""

    root: Path
    bench: BenchToml
    zone: tzinfo
    """Of naive timestamps."""
    places: tuple[Place, ...]
    """Sorted by name the way people count: C2 before C10."""
    not_adopted: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


class UnknownCellError(LookupError):
    """A name that no cell of the bench has; one line that lists those that there are."""


def find_bench(folder: Path) -> Path:
    """The bench that a folder belongs to: the nearest one around it with bench.toml or .porewatch.

    Without either, a cell's folder belongs to the folder around it, any other is a bench itself.
    """
    around = folder.absolute()
    for one in (around, *around.parents):
        if (one / BENCH_FILE).exists() or (one / STATE_FOLDER).is_dir():
            return folder if one == around else one
    return around.parent if (around / CELL_FILE).exists() else folder


def read_layout(root: Path) -> Layout:
    """Look at a bench folder: its settings, its cells (up to 3 folders deep), the rest.

    Never raises for what lies on disk: whatever cannot be used is a problem of the bench or of
    the cell that it belongs to.
    """
    file = read_bench(root / BENCH_FILE)
    seen = walk(root)
    places = [
        _with_limits(_place(folder), file.settings)
        for folder in seen.folders
        if _may_be_cell(folder)
    ]
    places = _with_doubles(sorted(places, key=lambda place: (counted(place.name), place.folder)))
    not_adopted = tuple(
        sorted(
            (f.relative for f in seen.folders if f.has_logs and not f.in_cell and f.depth > 0),
            key=counted,
        )
    )
    problems = (*file.problems, *_other_zone(file), *_unknown_feeds(file, places), *seen.problems)
    deep = [folder for folder in seen.folders if folder.is_cell and folder.depth > DEEPEST]
    problems += tuple(_too_deep(folder) for folder in deep)
    if not places and not seen.problems:
        problems += (_no_cell(root, not_adopted),)
    return Layout(root, file.settings, _zone(file.settings), tuple(places), not_adopted, problems)


def layout_signature(root: Path) -> tuple[tuple[str, int, int, int], ...]:
    """Changes when a settings file or the set of cells and log folders changes; reads no file."""
    return tuple(signature(root))


def find_place(layout: Layout, name: str) -> Place:
    """The cell of a name or folder, with its running test; `C1/T014` with that earlier test.

    Raises:
        UnknownCellError: no cell, or more than one, is meant by it, or it has no such test.
        SettingsError: the tables of an earlier test cannot be used.
    """
    wanted = name.strip().replace("\\", "/").rstrip("/").removeprefix("./")
    cell, slash, test = wanted.rpartition("/")
    for whole in (wanted, _within(layout.root, wanted)):
        if (found := _named(layout, whole)) is not None:
            return found
    for part in (cell, _within(layout.root, cell)) if slash else ():
        if (found := _named(layout, part)) is not None:
            break
    if found is None:
        known = tuple(place.name for place in layout.places)
        cells = ", ".join(known) or "none"
        raise UnknownCellError(
            f"no cell {shown(name)}: {did_you_mean(cell or wanted, known)}the cells are: {cells}"
        )
    if found.settings is not None and found.settings.test.id == test:
        return found
    if test not in found.earlier:
        running = found.settings.test.id if found.settings is not None else None
        tests = (*found.earlier, *((running,) if running else ()))
        near = closest(test, tests)
        hint = f'did you mean "{near}"? ' if near else ""
        raise UnknownCellError(
            f"{found.name} has no test {shown(test)}: {hint}its tests are: "
            + (", ".join(clean(one) for one in tests) or "none")
        )
    return replace(found, settings=read_earlier(found, test), problems=(), plan_problems=())


def read_earlier(place: Place, test_id: str) -> CellToml:
    """The settings of an earlier test: its own tables, and the cell's hardware.

    Hardware that the file of the test holds itself comes before that of today's `cell.toml`.

    Raises:
        SettingsError: they cannot be used; it carries every problem.
    """
    name = f"{EARLIER_FOLDER}/{test_id}.toml"
    earlier = read_document(place.path / name, f"{place.folder}/{name}")
    values = dict(earlier.values)
    if not {"cell", "log"} <= set(values):
        today = read_document(place.path / CELL_FILE, f"{place.folder}/{CELL_FILE}").values
        values |= {key: today[key] for key in ("cell", "log") if key in today and key not in values}
    found = cell_from_document(
        Document(earlier.file, earlier.text, values, earlier.outline, earlier.notes)
    )
    if found.settings is None:
        raise SettingsError(found.problems)
    return found.settings


def _may_be_cell(folder: Folder) -> bool:
    return folder.is_cell and folder.depth <= DEEPEST


def _place(folder: Folder) -> Place:
    found = read_cell(folder.path / CELL_FILE, f"{folder.relative}/{CELL_FILE}")
    named = found.hardware.name if found.hardware is not None else None
    return Place(
        name=named or plain(folder.path.name),
        folder=folder.relative,
        path=folder.path,
        settings=found.settings,
        problems=found.problems,
        hardware=found.hardware,
        log=found.log,
        plan_problems=found.plan_problems,
        earlier=folder.earlier,
    )


def _with_limits(place: Place, bench: BenchToml) -> Place:
    """What the bench says of limits holds for a cell that does not say otherwise."""
    if place.settings is None or not bench.alarms.limits:
        return place
    limits = merged(bench.alarms.limits, place.settings.alarms.limits)
    alarms = place.settings.alarms.model_copy(update={"limits": limits})
    return replace(place, settings=place.settings.model_copy(update={"alarms": alarms}))


def _with_doubles(places: list[Place]) -> list[Place]:
    count = Counter(place.name.casefold() for place in places)
    answer = []
    for place in places:
        if count[place.name.casefold()] > 1:
            folders = [p.folder for p in places if p.name.casefold() == place.name.casefold()]
            double = Problem(
                "error",
                f"{len(folders)} cells are named {place.name}: in {' and in '.join(folders)}",
                'give one of them another name in [cell]: name = "…"',
                f"{place.folder}/{CELL_FILE}",
                key="cell.name",
            )
            place = replace(place, problems=(*place.problems, double))  # noqa: PLW2901
        answer.append(place)
    return answer


def _unknown_feeds(file: BenchFile, places: list[Place]) -> tuple[Problem, ...]:
    if file.document is None:
        return ()
    known = tuple(place.name for place in places)
    folders = {place.folder for place in places}
    return tuple(
        file.document.problem(
            ("supply", number, "feeds", place),
            f"supply {shown(supply.name)} feeds {shown(name)}, which is no cell of this bench",
            did_you_mean(name, known) + "the cells are: " + (", ".join(known) or "none"),
            "warning",
        )
        for number, supply in enumerate(file.settings.supply)
        for place, name in enumerate(supply.feeds)
        if name not in known and name not in folders
    )


def _other_zone(file: BenchFile) -> tuple[Problem, ...]:
    """While bench.toml cannot be used its zone is not known: that shifts every naive time."""
    if file.settings.zone is not None or not any(one.severity == "error" for one in file.problems):
        return ()
    return (
        Problem(
            "warning",
            f"until then times without an offset are read in this machine's zone, {machine_zone()}",
            f"mend {BENCH_FILE}",
            BENCH_FILE,
        ),
    )


def _zone(bench: BenchToml) -> tzinfo:
    if bench.zone is None:
        return machine_zone()
    try:
        return find_zone(bench.zone)
    except RefusedError:
        return machine_zone()  # the reading of bench.toml has told it already


def _too_deep(folder: Folder) -> Problem:
    return Problem(
        "warning",
        f"the cell in {folder.relative} lies more than {DEEPEST} folders below the bench "
        "and is not watched",
        "move it up, or name a folder nearer to it as the bench",
        f"{folder.relative}/{CELL_FILE}",
    )


def _no_cell(root: Path, not_adopted: tuple[str, ...]) -> Problem:
    name = plain(str(root))
    if not_adopted:
        remedy = (
            f"{not_adopted[0]} has logs: let porewatch adopt propose {not_adopted[0]}/{CELL_FILE}"
        )
    else:
        remedy = (
            "name a folder that has one folder a cell, each with its logs and a cell.toml; "
            "porewatch demo shows such a bench"
        )
    return Problem("error", f"no folder in {name} has a {CELL_FILE}: there is no cell", remedy)


def _within(root: Path, typed: str) -> str:
    """A path to a folder of the bench as its name within the bench; else as it was typed."""
    try:
        return Path(typed).resolve().relative_to(root.resolve()).as_posix()
    except (ValueError, OSError):
        return typed


def _named(layout: Layout, wanted: str) -> Place | None:
    for by in ("name", "folder"):
        found = [place for place in layout.places if getattr(place, by) == wanted]
        if len(found) == 1:
            return found[0]
        if found:
            folders = ", ".join(place.folder for place in found)
            raise UnknownCellError(
                f"{len(found)} cells are named {shown(wanted)}: name the folder instead: {folders}"
            )
    return None
