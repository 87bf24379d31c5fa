"""The end of a consolidation that is told by volume alone: what has to speak for it.

A stone that blocks stops the flow as the end of consolidation does. Where both ends drain no gauge
measures what is left inside, and a pore pressure that has fallen at a drained end tells nothing;
one that still stands tells that nothing has drained. Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import isnan, log

from reduce.forecast import ConsolidationForecast, ending
from tui.bench.readings import Reading

STANDS = 0.5
"""Of the excess when drainage opened: while so much is left at any end it has not gone. [-]"""
GRID = 0.22
"""Flow is judged between readings so far apart in ln t. [-]"""
FADING, FEW = (0.12, 0.9), 2
"""Shares of the greatest flow per e-fold of time between which it fades, and how often it is seen
to: a stone that blocks shows one such flow at most, that of the interval in which it did. [-]"""
READ_ML = 0.03
"""Less is not told from the noise of a gauge. [ml]"""
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
    soon = kind == "dissipation" and 60.0 * passed_min < PATIENCE_S
    if not why and soon and not _fades([one for one in volume if one[0] ** 2 <= passed_min]):
        why = "flow was not seen to slow down, it was there and then it was not"
    if not why:
        return found
    return replace(
        found, at=None, earliest=None, latest=None, confidence=None, progress=None,
        basis=f"cannot say yet, because {why}",
    )  # fmt: skip


def _fades(volume: Points) -> bool:
    """Whether flow per e-fold of time was seen on its way from its greatest to nothing.

    While √t rules it grows; beyond half of consolidation it falls, ever faster, by any drainage.
    """
    kept: list[tuple[float, float]] = []
    for root, ml in volume:
        if root > 0.0 and not isnan(ml):
            ln_time = 2.0 * log(root)
            if not kept or ln_time - kept[-1][0] >= GRID:
                kept.append((ln_time, ml))
    flows = [((b - a) / (later - sooner), b - a) for (sooner, a), (later, b) in pairwise(kept)]
    if not flows:
        return False
    peak = max(flow for flow, _ in flows)
    since = next(place for place, (flow, _) in enumerate(flows) if flow == peak)
    low, high = (share * peak for share in FADING)
    fading = [flow for flow, ml in flows[since + 1 :] if low < flow < high and ml > READ_ML]
    return len(fading) >= FEW
