"""`porewatch journal --kpi`: the measures of the alarms, as a page and for programs."""

from datetime import tzinfo
from typing import Any

from tui.bench.as_json import number, time_text
from tui.bench.doubts import lasting
from tui.journal.measures import COMPARED, Measures
from tui.words import date_and_time, sanitise

SCHEMA = "porewatch.kpi/1"


def kpi_json(found: Measures, zone: tzinfo) -> dict[str, Any]:
    """Every measure; unknown is null."""
    return {
        "schema": SCHEMA,
        "begins": time_text(found.begins, zone),
        "ends": time_text(found.ends, zone),
        "alarms": found.alarms,
        "notes": found.notes,
        "by_priority": found.by_priority,
        "per_day": number(found.per_day),
        "nights": [{"night": night, "alarms": count} for night, count in found.nights],
        "chattering": [{"alarm": _plain(n), "within_a_minute": c} for n, c in found.chattering],
        "standing": [{"alarm": _plain(n), "for_s": s} for n, s in found.standing],
        "most_frequent": [{"alarm": _plain(n), "times": c} for n, c in found.most_frequent],
        "floods": found.floods,
        "time_to_acknowledge_s": {
            "median": number(found.to_acknowledge_s),
            "longest": number(found.longest_to_acknowledge_s),
        },
        "never_acknowledged": found.never_acknowledged,
    }


def kpi_lines(found: Measures, zone: tzinfo) -> list[str]:
    """The same as a page, beside the figures that the standards name."""
    if found.begins is None or found.ends is None:
        return ["the night watch has written nothing yet: `porewatch guard`"]
    says = dict(COMPARED)
    lines = [
        f"from {date_and_time(found.begins, zone)} to {date_and_time(found.ends, zone)}",
        f"{found.alarms} alarms, {found.notes} notes; after EEMUA 191 and ISA-18.2 (from memory):",
    ]
    each_day = "not a day yet" if found.per_day is None else f"{found.per_day:.1f}"
    lines += _compared("per day", each_day, says["per day"])
    share = ", ".join(f"{count} {priority}" for priority, count in found.by_priority.items())
    lines += _compared("priorities", share or "none", says["priorities"])
    lines += _compared("floods", str(found.floods), says["floods"])
    chatter = ", ".join(f"{sanitise(n)} {c} ×" for n, c in found.chattering) or "none"
    lines += _compared("chattering", chatter, says["chattering"])
    stood = ", ".join(f"{sanitise(n)} {lasting(s)}" for n, s in found.standing) or "none"
    lines += _compared("standing over a day", stood, says["standing"])
    often = ", ".join(f"{sanitise(n)} {c} ×" for n, c in found.most_frequent) or "none"
    lines += _compared("most frequent", often, says["most frequent"])
    answered = "nobody has acknowledged any"
    if found.to_acknowledge_s is not None and found.longest_to_acknowledge_s is not None:
        answered = (
            f"median {lasting(found.to_acknowledge_s)}, "
            f"longest {lasting(found.longest_to_acknowledge_s)}"
        )
    lines.append(f"  until acknowledged: {answered}; never: {found.never_acknowledged}")
    lines += [f"  night of {night}: {count}" for night, count in found.nights]
    return lines


def _compared(what: str, found: str, standard: str) -> list[str]:
    return [f"  {what}: {found}", f"      compare: {standard}"]


def _plain(name: str) -> str:
    return name.encode("utf-8", "replace").decode("utf-8")
