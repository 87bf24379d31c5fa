"""What `check` finds on a bench: problems by where they belong, and what the feed understood."""

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tui.bench.as_json import problem_json
from tui.commands.cell_logs import CellLogs, read_logs
from tui.settings.folders import BENCH_FILE
from tui.settings.places import Layout, Place, read_layout
from tui.settings.problems import Problem, clean
from tui.settings.reading import read_bench

if TYPE_CHECKING:
    from tui.feed.rows import UnusedRow

SCHEMA = "porewatch.check/1"
AHEAD_S = 120.0
"""Rows further ahead of now than this come from a clock that is wrong. [s]"""
LEAST_FREE_BYTES = 1 << 30
LEAST_FREE_SHARE = 0.02

_ORDER = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True, slots=True)
class CellFindings:
    """One cell."""

    cell: str
    folder: str
    problems: tuple[Problem, ...]
    understood: dict[str, Any]
    """How the feed reads its logs."""
    unused: tuple["UnusedRow", ...]
    rows: int


@dataclass(frozen=True, slots=True)
class Findings:
    """The whole bench."""

    folder: str
    problems: tuple[Problem, ...]
    """Of the bench itself."""
    cells: tuple[CellFindings, ...]
    at: datetime | None = None
    """As of when the logs were looked at; all else is as now. None: as now too."""

    @property
    def all_problems(self) -> tuple[Problem, ...]:
        """Those of the bench, then cell by cell."""
        return (*self.problems, *(one for cell in self.cells for one in cell.problems))

    @property
    def to_mend(self) -> bool:
        """Whether something is to be done; notes do not count."""
        return any(problem.severity != "note" for problem in self.all_problems)


def examine(root: Path, now: float, at: float | None = None) -> Findings:
    """Look at everything on a bench that can be wrong.

    Args:
        root: its folder.
        now: the present moment. [s since the epoch]
        at: rows whose own time is later are ignored; all else is as now. [s since the epoch]
    """
    layout = read_layout(root)
    cells = tuple(_examine_cell(place, layout, now, at) for place in layout.places)
    problems = (
        *layout.problems,
        *(_not_adopted(folder) for folder in layout.not_adopted),
        *_routes(layout),
        *_disk(root),
        *_journal(root),
    )
    moment = None if at is None else datetime.fromtimestamp(at, layout.zone)
    return Findings(str(root), _sorted(problems), cells, moment)


def findings_json(findings: Findings) -> dict[str, Any]:
    """As `porewatch.check/1`."""
    return {
        "schema": SCHEMA,
        "at": None if findings.at is None else findings.at.isoformat(),
        "problems": [problem_json(problem) for problem in findings.all_problems],
        "cells": [
            {
                "cell": clean(cell.cell),
                "folder": clean(cell.folder),
                "understood": cell.understood,
                "rows": {"used": cell.rows, "unused": len(cell.unused)},
                "unused": [
                    {
                        "file": clean(row.file),
                        "line": row.line,
                        "field": None if row.field is None else clean(row.field),
                        "reason": clean(row.reason),
                    }
                    for row in cell.unused
                ],
            }
            for cell in findings.cells
        ],
    }


def _sorted(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    return tuple(sorted(problems, key=lambda problem: _ORDER[problem.severity]))


def _examine_cell(place: Place, layout: Layout, now: float, at: float | None) -> CellFindings:
    follows_clock = layout.bench.now == "clock"
    try:
        logs = read_logs(
            place, layout, until=at, now=now + AHEAD_S if follows_clock and at is None else None
        )
    except Exception as error:  # noqa: BLE001 (a log that breaks the feed must not hide the other cells)
        broken = Problem(
            "error",
            f"the logs of {place.name} could not be read: {type(error).__name__}: {error}",
            "this is a fault of porewatch; the other cells are not touched by it",
            place.folder,
        )
        logs = CellLogs({}, (), (broken,))
    problems = (
        *place.problems,
        *place.plan_problems,
        *logs.problems,
        *_clock_ahead(place, logs, now),
    )
    return CellFindings(
        place.name, place.folder, _sorted(problems), logs.understood, logs.unused, logs.rows
    )


def _clock_ahead(place: Place, logs: CellLogs, now: float) -> Iterator[Problem]:
    told = any("ahead" in problem.what for problem in logs.problems)
    if logs.ahead and logs.newest is not None and not told:
        furthest = logs.newest - now
        count = f"{logs.ahead} row{' is' if logs.ahead == 1 else 's are'}"
        yield Problem(
            "warning",
            f"clock ahead: {count} up to {furthest:.0f} s later than now",
            f'set the logger\'s clock right, or write offset = "-{furthest:.0f} s" into '
            "[log] time; check zone too",
            f"{place.folder}/cell.toml",
            key="log.time",
        )


def _not_adopted(folder: str) -> Problem:
    return Problem(
        "warning",
        f"the folder {folder} has logs and no cell.toml: it is not watched",
        f"let porewatch adopt propose {folder}/cell.toml, or move it out of the bench",
        folder,
    )


def _routes(layout: Layout) -> Iterator[Problem]:
    """Variables that routes and heartbeat name and this environment does not have."""
    alarms = layout.bench.alarms
    named = [(("alarms", "routes", n, "to"), route.to) for n, route in enumerate(alarms.routes)]
    wanted: list[tuple[tuple[str | int, ...], str]] = [*named]
    if alarms.heartbeat is not None:
        wanted.append((("alarms", "heartbeat", "url"), alarms.heartbeat.url))
    document = read_bench(layout.root / BENCH_FILE).document if wanted else None
    for path, value in wanted:
        name = value.removeprefix("env:")
        if document is not None and not os.environ.get(name):
            yield document.problem(
                path,
                f"the variable {name} is not set here: nothing can be sent that way",
                f"set {name} for the account that runs porewatch guard",
                "warning",
            )


def _disk(root: Path) -> Iterator[Problem]:
    from tui.journal.location import own_file, shared_file  # noqa: PLC0415

    seen: set[int] = set()
    for what, folder in (
        ("the bench", root),
        ("the bench's state", shared_file(root).parent),
        ("this user's state", own_file(root).parent),
    ):
        there = next((one for one in (folder, *folder.absolute().parents) if one.is_dir()), root)
        try:
            disk, usage = there.stat().st_dev, shutil.disk_usage(there)
        except OSError:
            continue  # a folder that cannot be asked is a problem of the layout, told there
        if disk in seen:
            continue
        seen.add(disk)
        share = usage.free / usage.total if usage.total else 1.0
        if usage.free < LEAST_FREE_BYTES or share < LEAST_FREE_SHARE:
            yield Problem(
                "warning",
                f"the disk of {what} has {usage.free / 1e9:.2f} GB free ({share:.1%})",
                "make room: a full disk loses readings and acts",
            )


def _journal(root: Path) -> tuple[Problem, ...]:
    from tui.journal.store import Journal  # noqa: PLC0415 (sqlite3)

    journal = Journal.open(root)
    try:
        journal.entries()
        return journal.problems
    finally:
        journal.close()
