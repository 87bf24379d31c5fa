"""Beside the numbers of a stage: changes of its gauges that a person said were none."""

from dataclasses import replace
from datetime import tzinfo

from tui.journal.entries import Entry
from tui.papers.report.said import Remarks, Section
from tui.papers.subject import Subject
from tui.words import date_and_time, sanitise


def with_rebased(section: Section, subject: Subject, zone: tzinfo) -> Section:
    """The section of a stage, with what was rebased while it lasted, by whom and why."""
    if subject.test is None:
        return section
    spans = [
        (stage.start_s, stage.end_s)
        for stage in subject.test.record.stages
        if stage.name == section.title.lower()
    ]
    told = [
        _words(entry, zone)
        for entry in subject.entries
        if entry.act.kind == "rebase" and any(_within(entry, *span) for span in spans)
    ]
    if not told:
        return section
    title = "Numbers here rest on a gauge that was rebased"
    return replace(section, parts=(*section.parts, Remarks(tuple(told), "△", title)))


def _within(entry: Entry, start_s: float, end_s: float | None) -> bool:
    since = entry.act.held_at
    until = since if entry.act.until is None else max(since, entry.act.until)
    return until >= start_s and (end_s is None or since < end_s)


def _words(entry: Entry, zone: tzinfo) -> str:
    act = entry.act
    why = f": {sanitise(act.text)}" if act.text else ", who gave no reason"
    return (
        f"{sanitise(act.channel or '')} from {date_and_time(act.held_at, zone)}, by "
        f"{sanitise(act.who)}{why}; what may not be counted is among the cautions, and in no ±"
    )
