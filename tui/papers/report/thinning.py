"""Rows and points chosen so that a page holds them and nothing that matters is lost."""

from collections.abc import Iterable

import numpy as np

from reduce.columns import Column
from tui.papers.report.said import Points

MOST_POINTS = 600
"""Of a line: more than a printed figure can show."""


def spread_rows(position: Column, most: int, keep: Iterable[int] = ()) -> list[int]:
    """Rows evenly spread over a rising quantity, with the first, the last and some that stay.

    Args:
        position: (n,) what they are spread over, such as strain; NaN where a row has none.
        most: rows, besides those that stay.
        keep: rows that are in it in any case.

    Example:
        >>> spread_rows(np.linspace(0.0, 1.0, 101), 3, keep=(7,))
        [0, 7, 50, 100]
    """
    known = np.flatnonzero(np.isfinite(position))
    if len(known) == 0:
        return []
    if len(known) <= most:
        return sorted({*known.tolist(), *keep})
    at = np.maximum.accumulate(position[known])
    wanted = np.linspace(float(at[0]), float(at[-1]), most)
    found = np.minimum(np.searchsorted(at, wanted), len(known) - 1)
    return sorted({int(known[0]), int(known[-1]), *known[found].tolist(), *keep})


def line_points(x: Column, y: Column, most: int = MOST_POINTS) -> Points:
    """The points of a line: of many the lowest and highest of each stretch, in their order.

    Example:
        >>> len(line_points(np.arange(10_000.0), np.sin(np.arange(10_000.0)))) <= MOST_POINTS
        True
    """
    known = np.flatnonzero(np.isfinite(x) & np.isfinite(y))
    if len(known) > most:
        parts = np.array_split(known, max(most // 4, 1))
        # Extremes of both: a path may turn in either direction
        ends = [
            (part[np.argmin(of[part])], part[np.argmax(of[part])])
            for part in parts
            for of in (x, y)
        ]
        known = np.unique(np.concatenate([*ends, known[:1], known[-1:]]))[: most + 2]
    return tuple(zip(x[known].tolist(), y[known].tolist(), strict=True))
