"""What to know before anybody relies on a test: departures, cautions, rows not used, notes."""

from collections.abc import Sequence
from datetime import tzinfo

from tui.papers.report.said import Fact, Facts, Part, Remarks, Section, Table
from tui.papers.subject import Subject
from tui.settings.problems import Problem
from tui.words import Manner, date_and_time, problem_words, sanitise
from tui.words.entries import said as entry_said

TOLD = ("mark", "rebase", "note", "acknowledge", "shelve", "accept", "close", "raised", "cleared")
"""Kinds of entries that a report shows; what was sent to whom at night is none of its matter."""
MOST_ENTRIES = 60
"""Of the journal; the newest."""


def doubts(subject: Subject, missing: Sequence[str], manner: Manner) -> Section:
    """Departures from the standard, other cautions, what nobody recorded, problems of settings."""
    cautions = () if subject.found is None else subject.found.cautions
    departures = [one for one in cautions if one.departs]
    others = [one for one in cautions if not one.departs]
    parts: list[Part] = []
    if subject.why is not None:
        parts.append(Remarks((f"What keeps it from being reduced: {sanitise(subject.why)}",), "△"))
    listed = tuple(f"{sanitise(one.what)} ({sanitise(one.clause)})" for one in departures)
    if subject.found is not None:
        parts.append(
            _titled(
                "Departures from the standard, as far as readings and settings show them", listed
            )
        )
        parts.append(
            _titled(
                "Other cautions",
                tuple(f"{sanitise(one.what)} ({sanitise(one.clause)})" for one in others),
            )
        )
    problems = _problems(subject)
    if problems:
        parts.append(
            _titled("Settings and logs", tuple(problem_words(one, manner) for one in problems))
        )
    if missing:
        names = "; ".join(missing)
        parts.append(Remarks((f"Asked for, and not recorded: {names}.",)))
    return Section("Departures, cautions and what is missing", tuple(parts), about=subject.name)


def _titled(title: str, lines: tuple[str, ...]) -> Remarks:
    return Remarks(lines or ("none",), "△" if lines else "", title)


def _problems(subject: Subject) -> tuple[Problem, ...]:
    found = subject.place.problems if subject.test is None else subject.test.problems
    return tuple(dict.fromkeys((*found, *subject.place.plan_problems)))


def rows_not_used(subject: Subject) -> Section | None:
    """By reason how many, and the newest by file and line."""
    if subject.test is None:
        return None
    left_out = subject.test.left_out
    used = len(subject.test.record.times_s)
    parts: list[Part] = [
        Facts(
            (
                Fact("readings used", f"{used}"),
                Fact("rows or fields not used", f"{left_out.count}"),
            )
        )
    ]
    if left_out.count:
        parts.append(
            Table(
                "By reason",
                ("reason", "number"),
                tuple((sanitise(reason), str(number)) for reason, number in left_out.reasons),
            )
        )
        parts.append(
            Table(
                "The newest of them",
                ("file", "line", "reason"),
                tuple(
                    (sanitise(row.file), str(row.line), sanitise(row.reason))
                    for row in left_out.newest
                ),
                "porewatch check lists all of them.",
                words=(0, 2),
            )
        )
    return Section("Rows not used", tuple(parts), about=subject.name)


def journal(subject: Subject, zone: tzinfo) -> Section:
    """Notes, marks, alarms that were raised and what people answered."""
    shown = [entry for entry in subject.entries if entry.act.kind in TOLD]
    if not shown:
        none = "Nothing is in the journal about this test."
        return Section("Notes and alarms", (Remarks((none,)),), about=subject.name)
    rows = tuple(
        (
            date_and_time(entry.act.held_at, zone),
            entry_said(entry.act, zone),
            sanitise(entry.act.text),
            sanitise(entry.act.who),
        )
        for entry in shown[-MOST_ENTRIES:]
    )
    left = len(shown) - len(rows)
    remark = "Alarms are in the journal while the night watch is kept (porewatch guard)."
    if left > 0:
        remark = f"{left} earlier entries are not shown: porewatch journal has them. {remark}"
    table = Table("From the journal", ("when", "what", "text", "who"), rows, remark, (0, 1, 2, 3))
    return Section("Notes and alarms", (table,), about=subject.name)
