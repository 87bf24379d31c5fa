"""The ends of the gauges: a reading at the end of a range or stroke measures nothing any more."""

import numpy as np

from tui.bench.readings import Reading
from tui.feed.rows import Column
from tui.settings.cell_toml import NUMERIC_CHANNELS, Log
from tui.settings.resolved import ResolvedChannel, resolve_channels

Ends = dict[str, tuple[float, float]]
"""By channel: the least and the greatest value that it can show, in its internal unit."""


def ends_of(log: Log) -> Ends:
    """The ends that the settings name; of several gauges the widest."""
    found: Ends = {}
    for name, gauges in resolve_channels(log).items():
        spans = [span for span in map(_span, gauges) if span is not None]
        if name in NUMERIC_CHANNELS and spans:
            found[name] = min(low for low, _ in spans), max(high for _, high in spans)
    return found


def _span(gauge: ResolvedChannel) -> tuple[float, float] | None:
    low, high = gauge.range_low, gauge.range_high
    if gauge.stroke_low is not None and gauge.stroke_high is not None:
        low, high = gauge.stroke_low, gauge.stroke_high
    if low is None or high is None:
        return None
    # A gauge that begins at nothing wanders about its zero: only its far end is an end.
    near = 0.02 * (high - low)
    return (-np.inf if abs(low) <= near else low), (np.inf if abs(high) <= near else high)


def within(columns: dict[str, Column], shown: dict[str, Column], ends: Ends) -> dict[str, Column]:
    """The columns with NaN where a gauge stands at an end. (n,) each

    Args:
        columns: readings, which go on where a gauge's zero has moved.
        shown: the same as the gauges showed them: an end is the gauge's own.
        ends: of the gauges.
    """
    return {
        name: np.where(
            (shown[name] > ends[name][0]) & (shown[name] < ends[name][1]), column, np.nan
        )
        if name in ends
        else column
        for name, column in columns.items()
    }


def at_an_end(reading: Reading, ends: Ends) -> tuple[str, ...]:
    """Channels whose gauge stands at an end, with that end in words.

    Args:
        reading: as the gauges showed it.
        ends: of the gauges.
    """
    found = []
    for name, (low, high) in ends.items():
        value = getattr(reading, name)
        unit = NUMERIC_CHANNELS[name]
        if value >= high:
            found.append(f"{name} at {value:.4g} {unit} (its gauge ends at {high:.4g} {unit})")
        elif value <= low:
            found.append(f"{name} at {value:.4g} {unit} (its gauge ends at {low:.4g} {unit})")
    return tuple(found)
