"""Settings files read whole: either everything in them can be used, or every problem is told."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import Field, ValidationError

from tui.settings.alarm_tables import CellAlarms
from tui.settings.bench_toml import BenchToml
from tui.settings.cell_toml import CellToml, Hardware, Log
from tui.settings.channel_checks import Contradiction
from tui.settings.contradictions import bench_contradictions, cell_contradictions
from tui.settings.document import Document, read_document
from tui.settings.plan import plan_problems
from tui.settings.problems import Problem, SettingsError, has_hidden_letters, shown
from tui.settings.sentences import problems_of
from tui.settings.table import Table
from tui.settings.toml_lines import KeyPath

OF_THE_TEST = ("test", "identity", "specimen", "plan", "schedule", "alarms")
"""Tables that go with a test when it is closed; the others are hardware and stay."""

Kind = TypeVar("Kind", bound=Table)


class CellWithoutTest(Table):
    """A `cell.toml` between two tests: the hardware alone."""

    cell: Hardware = Hardware.model_validate({})
    log: Log = Log.model_validate({})
    alarms: CellAlarms = CellAlarms.model_validate({})
    identity: dict[str, Any] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CellFile:
    """What a `cell.toml` said."""

    settings: CellToml | None
    """None when no test is described, or it cannot be used."""
    hardware: Hardware | None
    """None when the file cannot be used at all."""
    log: Log | None
    """None when the file cannot be used at all."""
    problems: tuple[Problem, ...] = ()
    """Errors and notes of the file, in the order of its lines."""
    plan_problems: tuple[Problem, ...] = ()
    """What the plan says against itself, the specimen, the standard and the rating."""


def _validated(
    model: type[Kind],
    document: Document,
    contradictions: Iterable[Contradiction],
    values: Mapping[str, Any] | None = None,
) -> tuple[Kind | None, list[Problem]]:
    problems = [document.problem(one.path, one.what, one.remedy) for one in contradictions]
    problems += _hidden_letters(document)
    found: Kind | None = None
    try:
        found = model.model_validate(document.values if values is None else dict(values))
    except ValidationError as error:
        problems += problems_of(error, model, document)
    once = {(problem.key, problem.what): problem for problem in problems}
    return found, sorted(once.values(), key=lambda problem: problem.line or 0)


def _hidden_letters(document: Document) -> list[Problem]:
    """Keys that hold control characters; values are cleaned where they are shown."""

    def keys(values: Any, path: KeyPath) -> Iterable[KeyPath]:
        if isinstance(values, Mapping):
            for key, value in values.items():
                if has_hidden_letters(key):
                    yield (*path, key)
                yield from keys(value, (*path, key))

    return [
        document.problem(
            path,
            f"the key {shown(path[-1])} holds letters that do not show (control characters)",
            "write it again with plain letters, digits and signs",
        )
        for path in keys(document.values, ())
    ]


def cell_from_document(document: Document) -> CellFile:
    """What the text of a `cell.toml` says, with all its problems; never raises."""
    contradictions = tuple(cell_contradictions(document.values))
    if not any(table in document.values for table in ("test", "specimen", "plan", "schedule")):
        idle, problems = _validated(CellWithoutTest, document, contradictions)
        if idle is None or problems:
            return CellFile(None, None, None, (*document.notes, *problems))
        note = Problem(
            "note",
            "no test is described",
            "add [test] and [specimen] when the next test starts",
            document.file,
        )
        return CellFile(None, idle.cell, idle.log, (*document.notes, note))
    settings, problems = _validated(CellToml, document, contradictions)
    if settings is None or problems:
        return CellFile(None, None, None, (*document.notes, *problems))
    return CellFile(
        settings,
        settings.cell,
        settings.log,
        document.notes,
        plan_problems(settings, document),
    )


def read_cell(path: Path, shown_as: str) -> CellFile:
    """What a `cell.toml` says, with all its problems; never raises for what is in the file."""
    try:
        document = read_document(path, shown_as)
    except SettingsError as error:
        return CellFile(None, None, None, error.problems)
    return cell_from_document(document)


def read_cell_toml(path: Path, shown_as: str) -> CellToml:
    """The settings of a cell and the test that runs in it.

    Args:
        path: of the file.
        shown_as: how messages name it: relative to the bench.

    Raises:
        SettingsError: the file cannot be used; it carries every problem with file, line, key and
            remedy. A file without a test raises with one note.
    """
    found = read_cell(path, shown_as)
    if found.settings is None:
        raise SettingsError(found.problems)
    return found.settings


@dataclass(frozen=True, slots=True)
class BenchFile:
    """What a `bench.toml` said; keys that cannot be used have their defaults."""

    settings: BenchToml
    problems: tuple[Problem, ...] = ()
    document: Document | None = None


def read_bench(path: Path, shown_as: str = "bench.toml") -> BenchFile:
    """What a `bench.toml` says; a broken key costs that key, not the cells. Never raises."""
    if not path.exists() and not path.is_symlink():
        return BenchFile(BenchToml.model_validate({}))
    try:
        document = read_document(path, shown_as)
    except SettingsError as error:
        return BenchFile(BenchToml.model_validate({}), error.problems)
    settings, problems = _validated(
        BenchToml, document, tuple(bench_contradictions(document.values))
    )
    if problems or settings is None:
        kept = _without(document.values, {problem.key or "" for problem in problems})
        try:
            settings = BenchToml.model_validate(kept)
        except ValidationError:
            settings = BenchToml.model_validate({})
    return BenchFile(settings, (*document.notes, *problems), document)


def _without(values: dict[str, Any], keys: set[str]) -> dict[str, Any]:
    """The tables without what was refused: whole keys, in [alarms] one key deeper."""
    refused = {tuple(re.split(r"[.#]", key)) for key in keys}
    first = {path[0] for path in refused if path[0] != "alarms" or len(path) == 1}
    kept = {key: value for key, value in values.items() if key not in first}
    if isinstance(kept.get("alarms"), Mapping):
        in_alarms = {path[1] for path in refused if path[0] == "alarms" and len(path) > 1}
        kept["alarms"] = {k: v for k, v in kept["alarms"].items() if k not in in_alarms}
    return kept
