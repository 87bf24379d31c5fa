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
    cell_words,
    gone_by,
    same_test,
)
from tui.words import WHOLE_BENCH, moment, sanitise
from tui.words.entries import said

MOST_ENTRIES = 30
"""That may be taken back here, the newest; `porewatch undo` takes any."""
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
        own = same_test(bench, cell)
        at = written
        if at is None and answers["when"].strip():
            at = gone_by(answers["when"], bench)
        if at is None:
            at = bench.at if own.live is None else own.live.at
        test = sanitise(own.test_id or "", 24)
        says = (
            f"Test {test} of {sanitise(own.cell, 24)} ended {moment(at, bench.zone, bench.at)}. "
            f"Its tables move to {sanitise(own.folder, 40)}/tests/{test}.toml; logs, [cell] and "
            "[log] stay."
        )
        return Draft((act_about("close", own, at, now, answers["text"].strip()),), says, _SURE)

    when = replace(WHEN, label="ended", hint="its last reading, or 14:30")
    words = Field("text", "words", hint="may stay empty")
    fields = (words,) if written is not None else (when, words)
    return Form("End the test", cell_words(cell), fields, draft)


def undoing(cell: Cell | None, entries: Sequence[Entry], bench: Bench) -> Form:
    """An entry is taken back.

    Args:
        cell: in focus; None for the bench as a whole.
        entries: about the cell and the bench, in the order of entry.

    Raises:
        NotYetError: there is none that could be.
    """
    # who ends a test again says so anew: the tables have to move again
    closes = {entry.number for entry in entries if entry.act.kind == "close"}
    kept = {
        _named(entry, bench): entry
        for entry in reversed(entries)
        if entry.undone_by is None
        and entry.act.kind not in WATCH_KINDS
        and entry.refers not in closes
    }
    name = sanitise(cell.cell, 24) if cell is not None else WHOLE_BENCH
    if not kept:
        raise NotYetError(f"nothing about {name} to take back")

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        entry = kept[answers["entry"]]
        act = Act(0, "undo", entry.act.cell, entry.act.test, entry.act.held_at, now, "", "")
        test = sanitise(entry.act.test or "", 24)
        of_test = f" of test {test}" if test else ""
        resumes = entry.act.kind == "close"
        text = f" “{sanitise(entry.act.text, 60)}”" if entry.act.text else ""
        says = (
            f"Entry {entry.number}{of_test}, {said(entry.act, bench.zone)}{text}, by "
            f"{sanitise(entry.act.who, 30)}, is taken back; it stays in the journal as undone."
            f"{f' Test {test} goes on: its tables come back.' if resumes else ''}"
        )
        return Draft((act,), says, refers=entry.number, resumes=resumes)

    choices = tuple(kept)[:MOST_ENTRIES]
    about = cell_words(cell) if cell is not None else name
    return Form("Undo", about, (Field("entry", "entry", choices[0], choices=choices),), draft)


def _named(entry: Entry, bench: Bench) -> str:
    act = entry.act
    where = "" if act.cell else f" {WHOLE_BENCH}"
    about = sanitise(act.alarm or act.phase or act.text, 24)
    when = moment(act.held_at, bench.zone, bench.at)
    return f"{entry.number} {act.kind}{where} {when} {about}".strip()
