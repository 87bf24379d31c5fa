"""The page that one shift hands to the next."""

from collections import Counter
from datetime import tzinfo

from tui.bench.handover import Before, Handover
from tui.bench.picture import PhaseSpan
from tui.journal.entries import Entry
from tui.words.entries import said
from tui.words.plain import Manner, sanitise
from tui.words.printed import print_bench
from tui.words.times import age, moment

_MOST_SPANS = 12


def handover_lines(handed: Handover, manner: Manner, width: int) -> list[str]:
    """The whole page, no line longer than it is wide (40 columns at least)."""
    bench, zone, now = handed.bench, handed.bench.zone, handed.bench.at
    since = moment(handed.since, zone, now)
    more = {
        folder: _cell_lines(before, zone, now, since) for folder, before in handed.before.items()
    }
    return print_bench(bench, manner, width, more, f"Handover of what was since {since}")


def _cell_lines(before: Before, zone: tzinfo, now: float, since: str) -> list[list[str]]:
    lines = []
    spans = before.spans
    if spans:
        left = f"… {len(spans) - _MOST_SPANS} more" if len(spans) > _MOST_SPANS else ""
        told = [*([left] if left else []), *map(_span_words, spans[-_MOST_SPANS:])]
        lines.append([f"before, since {since}: {told[0]}", *told[1:]])
    phases = Counter(span.name for span in spans if span.step == "b-check")
    if phases:
        number = sum(phases.values())
        lines.append([f"{number} B check{'' if number == 1 else 's'} since then"])
    lines += [_entry_words(entry, zone, now) for entry in before.entries]
    return lines


def _span_words(span: PhaseSpan) -> str:
    step = f"/{span.step}" if span.step else ""
    assert span.end is not None
    return f"{span.name}{step} {age(span.end - span.start)}"


def _entry_words(entry: Entry, zone: tzinfo, now: float) -> list[str]:
    act = entry.act
    words = [f"{moment(act.held_at, zone, now)}: {said(act, zone)}"]
    if act.text:
        words.append(f"“{sanitise(act.text)}”")
    return [*words, f"{sanitise(act.who)} at {sanitise(act.host)}, entry {entry.number}"]
