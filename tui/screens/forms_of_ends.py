"""The two acts that depend on what is on disk: a test ends, an entry is taken back."""

from collections.abc import Sequence
from dataclasses import replace

from tui.bench.picture import Bench, Cell
from tui.journal.acts import WATCH_KINDS, Act
from tui.journal.entries import Entry
from tui.screens.forms import (
    WHEN,
    Answers,
    Draft,
    Field,
    Form,
    NotYetError,
    act_about,
    cell_of,
    cell_words,
    gone_by,
)
from tui.words import moment, sanitise

_SURE = (
    "No test runs in the cell then, and its alarms are judged no more. No valve is moved: let the "
    "pressures down by the laboratory's own procedure."
)


def ending(cell: Cell, written: float | None) -> Form:
    """The test of a cell is over, and its tables go to `tests/`.

    Args:
        written: when it ended, where its `cell.toml` says so. [s]
    """

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        own = cell_of(bench, cell.folder)
        if own.test_id != cell.test_id:
            raise NotYetError(f"another test runs in {sanitise(own.cell, 24)} by now")
        at = written
        if at is None and answers["when"].strip():
            at = gone_by(answers["when"], bench)
        if at is None:
            at = bench.at if own.live is None else own.live.at
        test = sanitise(own.test_id or "", 24)
        said = (
            f"Test {test} of {sanitise(own.cell, 24)} ended {moment(at, bench.zone, bench.at)}. "
            f"Its tables move to {sanitise(own.folder, 40)}/tests/{test}.toml; logs, [cell] and "
            "[log] stay."
        )
        return Draft((act_about("close", own, at, now, answers["text"].strip()),), said, _SURE)

    when = replace(WHEN, label="ended", hint="with its newest reading; or 14:30, or 20 min (ago)")
    words = Field("text", "words", hint="may stay empty")
    fields = (words,) if written is not None else (when, words)
    return Form("End the test", cell_words(cell), fields, draft)


def undoing(cell: Cell, entries: Sequence[Entry], bench: Bench) -> Form:
    """An entry is taken back.

    Args:
        entries: about the cell, in the order of entry.

    Raises:
        NotYetError: there is none that could be.
    """
    # who ends a test again says so anew: the tables have to move again
    closes = {entry.number for entry in entries if entry.act.kind == "close"}
    kept = {
        f"{entry.number} {entry.act.kind} {moment(entry.act.held_at, bench.zone, bench.at)} "
        f"{sanitise(entry.act.alarm or entry.act.phase or entry.act.text, 24)}".strip(): entry
        for entry in reversed(entries)
        if entry.undone_by is None
        and entry.act.kind not in WATCH_KINDS
        and entry.refers not in closes
    }
    if not kept:
        raise NotYetError(f"the journal has nothing about {sanitise(cell.cell, 24)} to take back")

    def draft(answers: Answers, _bench: Bench, now: float) -> Draft:
        entry = kept[answers["entry"]]
        act = Act(0, "undo", entry.act.cell, entry.act.test, entry.act.held_at, now, "", "")
        said = f"Entry {entry.number} by {sanitise(entry.act.who, 30)} is taken back; it stays "
        resumes = entry.act.kind == "close"
        goes_on = f" Test {sanitise(entry.act.test or '', 24)} goes on: its tables come back."
        said += f"in the journal as undone.{goes_on if resumes else ''}"
        return Draft((act,), said, refers=entry.number, resumes=resumes)

    choices = tuple(kept)[:30]
    return Form("Undo", cell_words(cell), (Field("entry", "entry", choices[0], choices=choices),),
                draft)  # fmt: skip
