"""One test read once from its logs, as the record that `reduce` starts from."""

from dataclasses import dataclass, field, replace

from reduce.record import Record
from tui.bench.advance import marks_of
from tui.bench.cell_fold import CellFold
from tui.bench.look import until
from tui.bench.rebasing import rebases_of
from tui.bench.unused import Unused
from tui.feed.watch import read_all
from tui.journal.acts import Act
from tui.journal.location import checkpoint_folders
from tui.journal.store import Journal
from tui.settings.places import Layout, Place
from tui.settings.problems import Problem


@dataclass(frozen=True, slots=True, eq=False)
class OneTest:
    """What was read of one test."""

    record: Record
    unused: int
    """Rows or fields that were not used; `check` lists them."""
    problems: tuple[Problem, ...]
    """Of settings, logs and journal."""
    left_out: Unused = field(default_factory=Unused)
    """The same by reason, and the newest of it by file and line."""


def read_test(layout: Layout, place: Place, at: float | None = None) -> OneTest:
    """Read the logs of a cell and fold them into phases, checks and zeros.

    Args:
        layout: the bench.
        place: the cell with the settings of the test that is meant.
        at: rows whose own time is later are ignored, acts count by the time they hold. [s]

    Raises:
        LookupError: the cell's settings describe no test, or cannot be used.
    """
    if place.settings is None:
        raise LookupError(_why_no_test(place))
    alone = replace(layout, places=(place,))
    journal = Journal.open(layout.root)
    acts = journal.acts(until=at)
    troubles = journal.problems
    journal.close()
    test_id = place.settings.test.id
    marks = marks_of(acts, place.folder, test_id)
    rebases = rebases_of(acts, place.folder, test_id)
    fold = CellFold(
        place.name,
        place.folder,
        place.settings,
        marks,
        layout.zone,
        rebases,
        keeps_all=True,
        judges=False,
    )
    left_out = Unused()
    for arrived in read_all(alone):
        seen = arrived if at is None else until(arrived, at)
        left_out = left_out.plus(seen.unused)
        fold = fold.take(seen)
    problems = (*place.problems, *fold.problems, *troubles)
    record = replace(
        fold.record(),
        edited_logs=_edits(layout, place),
        taken_below_target=_taken(acts, place.folder, test_id),
    )
    return OneTest(record, left_out.count, problems, left_out)


def _taken(acts: tuple[Act, ...], folder: str, test: str | None) -> str | None:
    """The last word of an engineer about a B below its target."""
    said = [
        act
        for act in acts
        if act.kind == "accept" and act.cell == folder and act.test in (None, test)
    ]
    return f"{said[-1].who}: {said[-1].text}" if said else None


def _edits(layout: Layout, place: Place) -> tuple[str, ...]:
    if not any(folder.is_dir() for folder in checkpoint_folders(layout.root)):
        return ()
    from tui.bench.checkpoints import edits_of  # noqa: PLC0415 (where there are any)

    return tuple(f"{edit}: find out who edited it, and why" for edit in edits_of(layout, place))


def _why_no_test(place: Place) -> str:
    if place.idle:
        return f"no test runs in {place.name}: name an earlier one as {place.name}/TEST"
    errors = [problem for problem in place.problems if problem.severity == "error"]
    if not errors:
        return f"the settings of {place.name} describe no test"
    first = errors[0]
    where = first.file + (f", line {first.line}" if first.line else "") if first.file else ""
    more = f" (and {len(errors) - 1} more: porewatch check)" if len(errors) > 1 else ""
    return f"{place.name} cannot be reduced: {where}: {first.what}; {first.remedy}{more}"
