"""Schedules, ends and standard of a test against each other and against the channels."""

import math
from collections.abc import Iterator

from tui.settings.cell_toml import (
    CellToml,
    EverySchedule,
    LogSchedule,
    RootSchedule,
    StrainSchedule,
    TimesSchedule,
)
from tui.settings.doubts import Doubt
from tui.settings.quantities import RefusedError, read_quantity
from tui.settings.resolved import resolve_channels

_KINDS_OF = {
    "ASTM D4767": ("CU",),
    "ASTM D7181": ("CD",),
    "ASTM D2850": ("UU",),
    "ISO 17892-8": ("UU",),
    "ISO 17892-9": ("CU", "CD"),
    "BS 1377-8": ("CU", "CD"),
}
_NEEDED = {
    "CU": ("cell_pressure", "pore_pressure", "axial_load", "axial_displacement"),
    "CD": ("cell_pressure", "back_volume", "axial_load", "axial_displacement"),
    "UU": ("cell_pressure", "axial_load", "axial_displacement"),
}

Schedule = RootSchedule | LogSchedule | StrainSchedule | TimesSchedule | EverySchedule


def last_slot_min(schedule: Schedule) -> float | None:
    """When the last slot is due after the start of phase or step; None for strains. [min]"""
    match schedule:
        case RootSchedule():
            return (schedule.step * schedule.slots) ** 2
        case LogSchedule():
            return schedule.first_min * math.exp(math.log(schedule.ratio) * (schedule.slots - 1))
        case TimesSchedule():
            return schedule.at_s[-1] / 60.0
        case EverySchedule():
            return schedule.step_s * schedule.slots / 60.0
        case _:
            return None


def schedule_doubts(settings: CellToml) -> Iterator[Doubt]:
    """All findings of this kind."""
    yield from _standard(settings)
    yield from _kinds(settings)
    yield from _saturation(settings)
    yield from _consolidation(settings)
    yield from _shear(settings)
    yield from _channels(settings)


def _standard(settings: CellToml) -> Iterator[Doubt]:
    kind, standard = settings.test.kind, settings.test.standard
    if standard is None:
        yield Doubt(
            "note",
            ("test", "standard"),
            "standard is not given: acceptance, corrections and constructions follow none",
            'add standard = "ASTM D4767" or another',
        )
    elif kind not in _KINDS_OF[standard]:
        fitting = [name for name, kinds in _KINDS_OF.items() if kind in kinds]
        yield Doubt(
            "error",
            ("test", "standard"),
            f"kind is {kind}, and {standard} is for {' and '.join(_KINDS_OF[standard])}",
            f"for {kind} write one of: {', '.join(fitting)}; or correct kind",
        )


def _kinds(settings: CellToml) -> Iterator[Doubt]:
    for phase in ("saturation", "consolidation", "shear"):
        schedule: Schedule | None = getattr(settings.schedule, phase)
        if schedule is None:
            continue
        path = ("schedule", phase)
        if phase != "shear" and isinstance(schedule, StrainSchedule):
            yield Doubt(
                "error",
                (*path, "kind"),
                f"the schedule of {phase} counts strains, and {phase} has none",
                'write kind = "root", "log", "times" or "every"',
            )
        if phase != "saturation" and schedule.per == "step":
            yield Doubt(
                "error",
                (*path, "per"),
                f'per = "step" in the schedule of {phase}: only saturation restarts its count '
                "at every step",
                'remove per, or write per = "phase"',
            )
        if phase != "shear" and settings.test.kind == "UU":
            yield Doubt(
                "warning",
                path,
                f"there is a schedule of {phase}, and a UU test has none",
                "remove it",
            )


def _saturation(settings: CellToml) -> Iterator[Doubt]:
    schedule, step_time = settings.schedule.saturation, settings.plan.step_time_s
    if schedule is None or step_time is None or schedule.per != "step":
        return
    end = last_slot_min(schedule)
    if end is not None and end * 60.0 < step_time * (1 - 1e-9):
        yield Doubt(
            "note",
            ("schedule", "saturation"),
            f"the schedule of a step ends after {_duration(end)}; step_time allows a step "
            f"{_duration(step_time / 60.0)}",
            "add slots, or shorten step_time",
        )


def _consolidation(settings: CellToml) -> Iterator[Doubt]:
    if settings.test.kind == "UU":
        return
    schedule, wanted = settings.schedule.consolidation, settings.plan.consolidation_end
    end = last_slot_min(schedule) if schedule is not None else None
    if wanted is None:
        return
    path = ("plan", "consolidation_end")
    if wanted.startswith("dissipation"):
        channels = settings.log.channels
        if channels and "pore_pressure" not in channels:
            yield Doubt(
                "warning",
                path,
                f'consolidation_end is "{wanted}", and no pore_pressure is read',
                'add the channel, or write consolidation_end = "t100 + 1 log cycle"',
            )
        if settings.specimen.drainage in ("both ends", "radial + both ends"):
            yield Doubt(
                "warning",
                path,
                f'consolidation_end is "{wanted}", and both ends drain: the transducer at an end '
                "sees back pressure; after BS 1377-8 the volume change decides then",
                'write consolidation_end = "t100 + 1 log cycle" or a duration',
            )
        return
    try:
        duration_min = read_quantity(wanted, "min")
    except RefusedError:
        return  # "t100 + 1 log cycle": not known before the test
    if end is not None and end < duration_min * (1 - 1e-9):
        yield Doubt(
            "warning",
            ("schedule", "consolidation"),
            f"the schedule ends after {_duration(end)}; consolidation_end is {wanted}",
            "add slots, or a wider step or ratio",
        )


def _shear(settings: CellToml) -> Iterator[Doubt]:
    schedule, plan = settings.schedule.shear, settings.plan
    limit = plan.strain_limit
    if isinstance(schedule, StrainSchedule):
        end = schedule.step * schedule.slots
        if end < limit * (1 - 1e-9):
            yield Doubt(
                "warning",
                ("schedule", "shear"),
                f"the schedule of shear ends at {end:.4g} of strain ({end:.1%}), before "
                f"strain_limit, {limit:.1%}",
                f"write slots = {math.ceil(limit / schedule.step * (1 - 1e-9))}, or a wider step",
            )
    elif schedule is not None and plan.strain_rate_percent_min is not None:
        needed = limit * 100.0 / plan.strain_rate_percent_min
        end_min = last_slot_min(schedule)
        if end_min is not None and end_min < needed * (1 - 1e-9):
            yield Doubt(
                "warning",
                ("schedule", "shear"),
                f"the schedule of shear ends after {_duration(end_min)}; at "
                f"{plan.strain_rate_percent_min:g} %/min strain_limit takes {_duration(needed)}",
                "add slots, or a wider step",
            )
    if limit > 0.2:
        yield Doubt(
            "note",
            ("plan", "strain_limit"),
            f"strain_limit is {limit:.0%}; 15 % after ASTM D4767, ASTM D7181 and ASTM D2850, "
            "20 % after BS 1377-8 end a test",
            "check that the cell has room for it",
        )
    for gauge in resolve_channels(settings.log).get("axial_displacement", ()):
        travel = limit * settings.specimen.height_mm
        low, high = gauge.stroke_low, gauge.stroke_high
        if low is None or high is None:
            low, high = gauge.range_low, gauge.range_high
        if low is not None and high is not None and travel > 0.9 * (high - low):
            yield Doubt(
                "warning",
                ("log", "channels", "axial_displacement"),
                f"strain_limit takes {travel:.3g} mm of travel; the gauge has {high - low:.3g} mm",
                "re-set the gauge before shear, or use one of more travel",
            )


def _channels(settings: CellToml) -> Iterator[Doubt]:
    channels = settings.log.channels
    if not channels:
        return  # taken from the header, which only the feed has seen
    for name in _NEEDED[settings.test.kind]:
        if name not in channels:
            yield Doubt(
                "warning",
                ("log", "channels"),
                f"no {name} is read, which a {settings.test.kind} test needs",
                f"add {name} to [log.channels] if the logger writes it",
            )
    if settings.test.kind != "UU" and not {"back_volume", "pore_pressure"} & set(channels):
        yield Doubt(
            "warning",
            ("log", "channels"),
            "neither back_volume nor pore_pressure is read: consolidation cannot be followed",
            "add the one that the logger writes",
        )


def _duration(minutes: float) -> str:
    return f"{minutes:.4g} min" if minutes < 120 else f"{minutes / 60.0:.4g} h"
