"""The settings of a rehearsed bench as text: `bench.toml` and each `cell.toml`."""

import json
from datetime import datetime

from tui.rehearsed.dialects import Dialect, LogColumn
from tui.rehearsed.setup import CellSetup

MARK = "# Written by porewatch rehearse: an invented bench. A new run replaces it."
"""First line of every settings file that we write, and how we know our own again."""


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def _number(value: float) -> str:
    return f"{value:.6g}"


def bench_toml(name: str, zone: str, supplies: list[list[str]], now: str, seed: int) -> str:
    """All of `bench.toml`."""
    lines = [
        MARK,
        f"name = {_text(name)}",
        f"zone = {_text(zone)}",
        'units = "SI"',
        f"now = {_text(now)}",
    ]
    for index, cells in enumerate(supplies):
        supply = "main" if index == 0 else f"main {index + 1}"
        feeds = ", ".join(_text(cell) for cell in cells)
        lines += ["", "[[supply]]", f"name = {_text(supply)}", f"feeds = [{feeds}]"]
    lines += ["", f"# seed {seed}", ""]
    return "\n".join(lines)


def cell_toml(cell: CellSetup, start: datetime, rows: str) -> str:
    """All of a `cell.toml`.

    Args:
        cell: what is tested, how, and how it is logged.
        start: first reading, in the bench's zone.
        rows: "scheduled" or "steady".
    """
    parts = [
        [MARK],
        _hardware(cell),
        _log(cell, start, rows),
        [] if cell.dialect.self_named else _channels(cell.dialect),
        _test(cell, start),
        _identity(cell),
        _specimen(cell),
        _plan(cell),
        _schedule(cell),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _hardware(cell: CellSetup) -> list[str]:
    plan, made = cell.plan, cell.made
    load_cell = "external" if made.external_load_cell else "internal"
    piston = f'diameter = "{_number(plan.piston_mm)} mm", load_cell = {_text(load_cell)}'
    if made.external_load_cell:
        piston += f', uplift = "computed", friction = "{_number(made.friction_N)} N"'
    lines = [
        "[cell]",
        f"name = {_text(plan.cell)}",
        f'rating = "{_number(plan.rating_kPa)} kPa"',
        f"piston = {{ {piston} }}",
    ]
    if any(column.channel == "cell_volume" for column in cell.dialect.columns):
        full = _number(plan.expansion_ml_kPa * 1000.0)
        lines.append(f'expansion = [["0 kPa", "0 ml"], ["1000 kPa", "{full} ml"]]')
    if made.frame_mm_N:
        lines.append(f'frame_compliance = "{made.frame_mm_N:.5f} mm/N"')
    return lines


def _log(cell: CellSetup, start: datetime, rows: str) -> list[str]:
    dialect = cell.dialect
    lines = ["[log]", f"files = {_text(dialect.files)}", f"rows = {_text(rows)}"]
    if dialect.time_style == "elapsed min":
        lines.append(
            f"time = {{ column = {_text(dialect.time_header)}, "
            f'kind = "elapsed min", start = "{start:%Y-%m-%dT%H:%M:%S}" }}'
        )
    elif not dialect.self_named:
        lines.append(
            f"time = {{ column = {_text(dialect.time_header)}, "
            f"format = {_text(dialect.time_style)} }}"
        )
    if dialect.encoding == "cp1252":
        lines.append('encoding = "cp1252"')
    if dialect.phase_words:
        words = ", ".join(f"{_text(word)} = {_text(what)}" for what, word in dialect.phase_words)
        lines.append(f"phases = {{ {words} }}")
    return lines


def _channels(dialect: Dialect) -> list[str]:
    lines = ["[log.channels]"]
    by_channel: dict[str, list[LogColumn]] = {}
    for column in dialect.columns:
        by_channel.setdefault(column.channel, []).append(column)
    for channel, columns in by_channel.items():
        entries = [_channel(column, dialect) for column in columns]
        value = entries[0] if len(entries) == 1 else f"[{', '.join(entries)}]"
        lines.append(f"{channel} = {value}")
    if dialect.drainage_header:
        lines.append(f"drainage = {{ column = {_text(dialect.drainage_header)} }}")
    if dialect.phase_header:
        lines.append(f"phase = {{ column = {_text(dialect.phase_header)} }}")
    return lines


def _channel(column: LogColumn, dialect: Dialect) -> str:
    parts = [f"column = {_text(column.header)}", f"unit = {_text(column.unit)}"]
    if column.sign == -1:
        parts.append("sign = -1")
    if column.zero:
        parts.append(f'zero = "{_number(column.zero)} {column.unit}"')
    if column.channel == "pore_pressure":
        parts.append(f"measured_at = {_text(dialect.pore_at)}")
    for key, span in (("range", column.range), ("stroke", column.stroke)):
        if span:
            parts.append(f'{key} = "{_number(span[0])} to {_number(span[1])} {column.unit}"')
    if column.refill:
        parts.append(f"refill = {_text(column.refill)}")
    return f"{{ {', '.join(parts)} }}"


def _test(cell: CellSetup, start: datetime) -> list[str]:
    return [
        "[test]",
        f"id = {_text(cell.test_id)}",
        f"kind = {_text(cell.plan.kind)}",
        f"standard = {_text(cell.plan.standard)}",
        f"started = {_text(format(start, '%Y-%m-%dT%H:%M'))}",
    ]


def _identity(cell: CellSetup) -> list[str]:
    soil = cell.plan.soil
    lines = [
        "[identity]",
        'project = "Skarnes Sound, ferry quay (invented)"',
        f"hole = {_text(cell.hole)}",
        f"sample = {_text(cell.sample)}",
        f"type = {_text('reconstituted' if soil.model == 'sand' else 'undisturbed')}",
        f"description = {_text(soil.title)}",
    ]
    if cell.depth_m:
        lines.append(f'top = "{_number(cell.depth_m)} m"')
        lines.append(f'depth = "{_number(cell.depth_m + cell.below_m)} m"')
    if soil.liquid_limit is not None and soil.plastic_limit is not None:
        lines.append(f'liquid_limit = "{_number(soil.liquid_limit * 100)} %"')
        lines.append(f'plastic_limit = "{_number(soil.plastic_limit * 100)} %"')
    return lines


def _specimen(cell: CellSetup) -> list[str]:
    plan, soil = cell.plan, cell.plan.soil
    dry = cell.mounting == "dry"
    water = 0.0 if dry else plan.water_content
    mass = plan.dry_mass_g * (1.0 + water)
    # A balance reads centigrams; one without error shows as many digits as there are.
    mass_digits, water_digits = (9, 12) if cell.exact else (2, 4)
    height, diameter = plan.height_mm, plan.diameter_mm
    lines = [
        "[specimen]",
        f"label = {_text(cell.label)}",
        f'set = "{cell.hole}-{cell.sample}"',
        f'diameter = ["{diameter - 0.1:.1f} mm", "{diameter:.1f} mm", "{diameter + 0.1:.1f} mm"]',
        f'height = ["{height - 0.2:.1f} mm", "{height + 0.2:.1f} mm"]',
        f'mass = "{mass:.{mass_digits}f} g"',
        f"water_content = {round(water, water_digits)}",
        f'particle_density = "{soil.particle_density_Mg_m3:.2f} Mg/m3"',
        *([] if plan.kind == "UU" else [f"drainage = {_text(plan.drainage)}"]),
        f"mounting = {_text(cell.mounting)}",
    ]
    if cell.flush:
        lines.append(f"flush = {_text(cell.flush)}")
    lines.append(
        f'membrane = {{ thickness = "{plan.membrane_mm:.2f} mm", '
        f'modulus = "{_number(plan.membrane_kPa)} kPa", count = {plan.membranes} }}'
    )
    if plan.drain_perimeter_mm:
        lines.append(
            f'side_drains = {{ perimeter = "{_number(plan.drain_perimeter_mm)} mm", '
            'load_per_perimeter = "0.19 kN/m" }'
        )
    return lines


def _plan(cell: CellSetup) -> list[str]:
    plan = cell.plan
    limit = f'strain_limit = "{_number(plan.strain_limit * 100)} %"'
    if plan.kind == "UU":
        return ["[plan]", limit]
    lines = [
        "[plan]",
        f'effective_stress = "{_number(plan.effective_kPa)} kPa"',
        f'cell_step = "{_number(plan.cell_step_kPa)} kPa"',
        f'excess = "{_number(plan.excess_kPa)} kPa"',
        f"b_target = {_number(plan.b_target)}",
        f'back_pressure_limit = "{_number(plan.back_limit_kPa)} kPa"',
        f'step_time = "{"12 h" if plan.holds_h else "6 h"}"',
        f"consolidation_end = {_text(plan.consolidation_end)}",
        limit,
    ]
    if plan.rate_percent_min is not None:
        lines.append(f'strain_rate = "{_number(plan.rate_percent_min)} %/min"')
    return lines


def _schedule(cell: CellSetup) -> list[str]:
    reading = cell.reading
    shear = (
        f'shear = {{ kind = "strain", step = "{_number(reading.strain_step * 100)} %", '
        f"slots = {reading.strain_slots} }}"
    )
    if cell.plan.kind == "UU":
        return ["[schedule]", shear]
    return [
        "[schedule]",
        f'saturation = {{ kind = "root", step = {_number(reading.root_step)}, '
        f'slots = {reading.root_slots}, per = "step" }}',
        f'consolidation = {{ kind = "log", first = "{_number(reading.log_first_min)} min", '
        f"ratio = {float(reading.log_ratio)!r}, slots = {reading.log_slots} }}",
        shear,
    ]
