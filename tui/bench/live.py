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
    gauge_ml: float,
    drainage_open: bool,
) -> Live | None:
    """Live values from the last row or, if it is newer, the live row.

    Args:
        last: the last reading of the log.
        live: the live file's row, which goes on from that reading.
        gauge: the back-volume channel, for its stroke.
        gauge_ml: what its gauge itself shows in the newer of the two.
        drainage_open: whether back pressure stands for pore pressure where none is measured.
    """
    if live is not None and is_newer(live, last):
        time, values = live.time, live.values
    elif last is not None:
        time, values = last.time, {n: getattr(last, n) for n in NUMERIC_CHANNELS}
    else:
        return None

    def value(name: str) -> float | None:
        found: float = values.get(name, NAN)
        return found if not isnan(found) else None

    cell, back, pore = value("cell_pressure"), value("back_pressure"), value("pore_pressure")
    against = back if pore is None and drainage_open else pore
    return Live(
        at=time,
        cell_pressure_kPa=cell,
        back_pressure_kPa=back,
        pore_pressure_kPa=pore,
        effective_stress_kPa=None if cell is None or against is None else cell - against,
        back_volume_ml=value("back_volume"),
        stroke_left_ml=_stroke_left(gauge_ml, gauge),
        cell_volume_ml=value("cell_volume"),
        axial_displacement_mm=value("axial_displacement"),
        axial_load_N=value("axial_load"),
        temperature_C=value("temperature"),
    )


def is_newer(live: LiveRow, last: Reading | None) -> bool:
    """Whether the live row tells more than the last row of the log."""
    return last is None or live.time >= last.time


def _stroke_left(volume: float, gauge: ResolvedChannel | None) -> float | None:
    """How far the gauge is from the nearer end of its stroke. [ml]"""
    if isnan(volume) or gauge is None:
        return None
    if gauge.stroke_low is None or gauge.stroke_high is None:
        return None
    return min(volume - gauge.stroke_low, gauge.stroke_high - volume)
