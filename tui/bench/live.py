"""The newest value of every channel of one cell."""

from math import isnan

from tui.bench.picture import Live
from tui.bench.readings import NAN, Reading
from tui.feed.rows import LiveRow
from tui.settings.cell_toml import NUMERIC_CHANNELS
from tui.settings.resolved import ResolvedChannel


def newest(
    last: Reading | None,
    live: LiveRow | None,
    gauge: ResolvedChannel | None,
    *,
    drainage_open: bool,
) -> Live | None:
    """Live values from the last row or, if it is newer, the live row.

    Args:
        last: the last reading of the log.
        live: the live file's row.
        gauge: the back-volume channel, for its stroke.
        drainage_open: whether back pressure stands for pore pressure where none is measured.
    """
    if last is not None and (live is None or live.time < last.time):
        time, values = last.time, {n: getattr(last, n) for n in NUMERIC_CHANNELS}
    elif live is not None:
        time, values = live.time, live.values
    else:
        return None

    def value(name: str) -> float | None:
        found: float = values.get(name, NAN)
        return found if not isnan(found) else None

    cell, back, pore = value("cell_pressure"), value("back_pressure"), value("pore_pressure")
    against = back if pore is None and drainage_open else pore
    volume = value("back_volume")
    return Live(
        at=time,
        cell_pressure_kPa=cell,
        back_pressure_kPa=back,
        pore_pressure_kPa=pore,
        effective_stress_kPa=None if cell is None or against is None else cell - against,
        back_volume_ml=volume,
        stroke_left_ml=_stroke_left(volume, gauge),
        cell_volume_ml=value("cell_volume"),
        axial_displacement_mm=value("axial_displacement"),
        axial_load_N=value("axial_load"),
        temperature_C=value("temperature"),
    )


def _stroke_left(volume: float | None, gauge: ResolvedChannel | None) -> float | None:
    """How far the gauge is from the nearer end of its stroke. [ml]"""
    if volume is None or gauge is None:
        return None
    if gauge.stroke_low is None or gauge.stroke_high is None:
        return None
    return min(volume - gauge.stroke_low, gauge.stroke_high - volume)
