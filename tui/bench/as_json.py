"""The picture as `porewatch.status/1`: plain values for programs, always in SI.

Every key is there; unknown is null, never 0, NaN or infinity; times are ISO 8601 with the offset
of the bench's zone; numbers are not rounded.
"""

import math
from datetime import datetime, tzinfo
from typing import Any

from tui.bench.alarms.spells import Alarm
from tui.bench.picture import (
    Bench,
    Cell,
    Hand,
    Live,
    Phase,
    Projection,
    Quantities,
    ScheduleCount,
    Visit,
)
from tui.settings.problems import Problem

SCHEMA = "porewatch.status/1"

Json = dict[str, Any]


def status_json(bench: Bench) -> Json:
    """The whole picture.

    Args:
        bench: as the views get it.

    Returns:
        Dictionaries, lists, texts, finite numbers, booleans and None only.
    """
    return {
        "schema": SCHEMA,
        "at": time_text(bench.at, bench.zone),
        "bench": _text(bench.name),
        "worst": bench.worst,
        "guard": {
            "on_duty": bench.guard.on_duty,
            "host": _text(bench.guard.host),
            "beat_age_s": number(bench.guard.beat_age_s),
        },
        "alarms": [alarm_json(alarm, bench.zone) for alarm in bench.alarms],
        "not_adopted": [_text(folder) for folder in bench.not_adopted],
        "problems": [problem_json(problem) for problem in bench.problems],
        "cells": [_cell(cell, bench.at, bench.zone) for cell in bench.cells],
        "hands": [_hand(hand, bench.zone) for hand in bench.hands],
        "visits": [_visit(visit, bench.zone) for visit in bench.visits],
    }


def time_text(at: float | None, zone: tzinfo) -> str | None:
    """A moment as ISO 8601 with the zone's offset; None when unknown or beyond the calendar.

    Args:
        at: the moment. [s since the epoch]

    Example:
        >>> from datetime import UTC
        >>> time_text(90.5, UTC)
        '1970-01-01T00:01:30.500000+00:00'
    """
    if at is None or not math.isfinite(at):
        return None
    try:
        return datetime.fromtimestamp(at, zone).isoformat()
    except (OverflowError, ValueError, OSError):
        return None


def number(value: float | None) -> float | None:
    """A number that JSON can hold, or None."""
    if value is None or not math.isfinite(value):
        return None
    return value if isinstance(value, int) else float(value)


def problem_json(problem: Problem) -> Json:
    """One complaint."""
    return {
        "severity": problem.severity,
        "file": _text(problem.file),
        "line": problem.line,
        "key": _text(problem.key),
        "what": _text(problem.what),
        "remedy": _text(problem.remedy),
    }


def alarm_json(alarm: Alarm, zone: tzinfo) -> Json:
    """One alarm; `cells` only of one that several cells share."""
    found: Json = {
        "kind": _text(alarm.kind),
        "about": _text(alarm.about),
        "priority": alarm.priority,
        "state": alarm.state,
        "since": time_text(alarm.since, zone),
        "raised_at": time_text(alarm.raised_at, zone),
        "cleared_at": time_text(alarm.cleared_at, zone),
        "shelved_until": time_text(alarm.shelved_until, zone),
        "acknowledged_by": _text(alarm.acknowledged_by),
        "consequences": [_text(one) for one in alarm.consequences],
        "message": _text(alarm.message),
        "cause": _text(alarm.cause),
        "effect": _text(alarm.effect),
        "action": _text(alarm.action),
        "respond_within_s": number(alarm.respond_s),
    }
    return found | ({"cells": [_text(one) for one in alarm.cells]} if alarm.cells else {})


def _text(text: str | None) -> str | None:
    # A file name may hold bytes that are no text; JSON must not.
    return None if text is None else text.encode("utf-8", "replace").decode("utf-8")


def _cell(cell: Cell, at: float, zone: tzinfo) -> Json:
    return {
        "cell": _text(cell.cell),
        "folder": _text(cell.folder),
        "test_id": _text(cell.test_id),
        "specimen": _text(cell.specimen),
        "test": _text(cell.test),
        "phase": _phase(cell.phase, zone),
        "live": _live(cell.live, at, zone),
        "schedule": _schedule(cell.schedule, cell.advice, zone),
        "quantities": _quantities(cell.quantities),
        "projection": _projection(cell.projection, zone),
        "ahead": [_projection(one, zone) for one in cell.ahead],
        "alarms": [alarm_json(alarm, zone) for alarm in cell.alarms],
        "blind": [{"kind": _text(one.kind), "why": _text(one.why)} for one in cell.blind],
        "rows": {"used": cell.rows_used, "unused": cell.rows_unused},
        "problems": [problem_json(problem) for problem in cell.problems],
    }


def _phase(phase: Phase | None, zone: tzinfo) -> Json | None:
    if phase is None:
        return None
    return {
        "name": phase.name,
        "step": _text(phase.step),
        "since": time_text(phase.since, zone),
        "previous": phase.previous,
        "from": phase.source,
    }


def _live(live: Live | None, at: float, zone: tzinfo) -> Json | None:
    if live is None:
        return None
    return {
        "at": time_text(live.at, zone),
        "age_s": number(at - live.at),
        "cell_pressure_kPa": number(live.cell_pressure_kPa),
        "back_pressure_kPa": number(live.back_pressure_kPa),
        "pore_pressure_kPa": number(live.pore_pressure_kPa),
        "effective_stress_kPa": number(live.effective_stress_kPa),
        "back_volume_ml": number(live.back_volume_ml),
        "stroke_left_ml": number(live.stroke_left_ml),
        "cell_volume_ml": number(live.cell_volume_ml),
        "axial_displacement_mm": number(live.axial_displacement_mm),
        "axial_load_N": number(live.axial_load_N),
        "temperature_C": number(live.temperature_C),
    }


def _schedule(schedule: ScheduleCount | None, advice: tuple[str, ...], zone: tzinfo) -> Json | None:
    if schedule is None:
        return None
    return {
        "kind": _text(schedule.kind),
        "slots": schedule.slots,
        "taken": schedule.taken,
        "missed": schedule.missed,
        "extra": schedule.extra,
        "next_at": time_text(schedule.next_at, zone),
        "last_at": time_text(schedule.last_at, zone),
        "advice": [_text(line) for line in advice],
    }


def _quantities(quantities: Quantities) -> Json:
    return {
        "B": number(quantities.B),
        "U": number(quantities.U),
        "axial_strain": number(quantities.axial_strain),
        "volumetric_strain": number(quantities.volumetric_strain),
        "deviator_kPa": number(quantities.deviator_kPa),
    }


def _projection(projection: Projection, zone: tzinfo) -> Json:
    return {
        "event": _text(projection.event),
        "at": time_text(projection.at, zone),
        "earliest": time_text(projection.earliest, zone),
        "latest": time_text(projection.latest, zone),
        "confidence": number(projection.confidence),
        "progress": number(projection.progress),
        "basis": _text(projection.basis),
    }


def _hand(hand: Hand, zone: tzinfo) -> Json:
    return {
        "cell": _text(hand.cell),
        "what": _text(hand.what),
        "at": time_text(hand.at, zone),
        "earliest": time_text(hand.earliest, zone),
        "latest": time_text(hand.latest, zone),
        "attended_at": time_text(hand.attended_at, zone),
        "good_until": time_text(hand.good_until, zone),
    }


def _visit(visit: Visit, zone: tzinfo) -> Json:
    return {
        "at": time_text(visit.at, zone),
        "until": time_text(visit.until, zone),
        "hands": [_hand(hand, zone) for hand in visit.hands],
    }
