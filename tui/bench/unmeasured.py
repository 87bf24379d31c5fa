"""The end of a consolidation that is told by volume alone: what has to speak for it.

A stone that blocks stops the flow as the end of consolidation does. Where both ends drain no gauge
measures what is left inside, and a pore pressure that has fallen at a drained end tells nothing;
one that still stands tells that nothing has drained. Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import isnan

from reduce.forecast import ConsolidationForecast, ending
from tui.bench.readings import Reading

STANDS = 0.5
"""Of the excess when drainage opened: while so much is left at any end it has not gone. [-]"""
BEND, FEW = (0.25, 0.9), 3
"""Degrees between which flow is seen to slow down, and readings by which it is."""
RECENT = 0.5
"""Of the time since drainage opened: pore pressure that was read before is of the past. [-]"""
PATIENCE_S = 3600.0
"""Where it was not seen to slow down, volume has to stand for so long after drainage opened. [s]"""

Points = Sequence[tuple[float, float]]
"""(√minutes since drainage opened, value)."""


def borne_out(
    found: ConsolidationForecast,
    end: str,
    zero: Reading,
    volume: Points,
    pore: Points,
    now: float,
    *,
    least_head_kPa: float,
) -> ConsolidationForecast:
    """A forecast by volume, unless it claims an end for which too little speaks.

    Args:
        found: the forecast.
        end: the criterion.
        zero: the last reading before drainage opened.
        volume: water that left. [ml]
        pore: pore pressure, wherever it is measured; empty: not at all. [kPa]
        now: readings after it are not looked at. [s]
        least_head_kPa: an excess below this tells nothing. [kPa]
    """
    kind = ending(end).kind
    if kind == "time" or found.progress is None or found.progress < 1.0:
        return found
    passed_min = (now - zero.time) / 60.0
    head = zero.pore_pressure - zero.back_pressure
    left = next(
        (u for root, u in reversed(pore) if RECENT * passed_min <= root**2 <= passed_min), None
    )
    why = ""
    if left is not None and head > least_head_kPa:
        share = (left - zero.back_pressure) / head
        if share > STANDS:
            why = f"{share:.0%} of the excess pore pressure still stand: is a stone blocked?"
    if not why and kind == "dissipation" and 60.0 * passed_min < PATIENCE_S:
        bends = [ml for root, ml in volume if root**2 <= passed_min and _bends(found, ml)]
        if len(bends) < FEW:
            why = "flow was not seen to slow down, it was there and then it was not"
    if not why:
        return found
    return replace(
        found, at=None, earliest=None, latest=None, confidence=None, progress=None,
        basis=f"cannot say yet, because {why}",
    )  # fmt: skip


def _bends(found: ConsolidationForecast, out_ml: float) -> bool:
    if found.v0 is None or not found.v100 or isnan(out_ml):
        return False
    return BEND[0] < (out_ml - found.v0) / found.v100 < BEND[1]
