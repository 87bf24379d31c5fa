"""Rows of a stretch of lines and where they stood, until repeats are told from them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from tui.feed.letters import Joined, Letters, Lines
from tui.feed.rows import Column, Rows, UnusedRow

Numbers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """What a stretch of lines gave."""

    rows: Rows
    lines: Numbers
    """(n,) line of the file of every row, from 1."""
    letters: Letters
    """Of every row, to tell repeats."""
    unused: tuple[UnusedRow, ...] = ()
    file: str = ""
    """Path relative to the bench."""


NOTHING = Batch(Rows(np.empty(0), {}), np.empty(0, np.int64), Lines(()))


def joined_rows(batches: Sequence[Rows]) -> Rows:
    """Batches one behind the other; a channel that one of them lacks has no readings there."""
    if len(batches) == 1:
        return batches[0]
    channels = dict.fromkeys(name for rows in batches for name in rows.channels)
    words = dict.fromkeys(name for rows in batches for name in rows.words)
    return Rows(
        np.concatenate([rows.times for rows in batches]) if batches else np.empty(0),
        {
            name: np.concatenate(
                [rows.channels.get(name, np.full(len(rows), np.nan)) for rows in batches]
            )
            for name in channels
        },
        {
            name: tuple(
                chain.from_iterable(rows.words.get(name) or (None,) * len(rows) for rows in batches)
            )
            for name in words
        },
        None
        if all(rows.stamps is None for rows in batches)
        else np.concatenate(
            [rows.times if rows.stamps is None else rows.stamps for rows in batches]
        ),
    )


def joined(batches: Sequence[Batch]) -> Batch:
    """Batches of one file one behind the other; what was not used is left to the caller."""
    filled = [batch for batch in batches if len(batch.rows)]
    if len(filled) <= 1:
        return filled[0] if filled else NOTHING
    return Batch(
        joined_rows([batch.rows for batch in filled]),
        np.concatenate([batch.lines for batch in filled]),
        Joined(tuple((len(batch.rows), batch.letters) for batch in filled)),
    )


def chosen(rows: Rows, keep: NDArray[np.bool_]) -> Rows:
    """The rows that are kept."""
    places = np.flatnonzero(keep)
    return Rows(
        rows.times[places],
        {name: column[places] for name, column in rows.channels.items()},
        {name: tuple(words[i] for i in places) for name, words in rows.words.items()},
    )


def timed_unused(
    unused: Iterable[UnusedRow], lines: Numbers, times: Column, before: float | None = None
) -> tuple[UnusedRow, ...]:
    """Rows that were not used, each with the time of the row read in its line or last above it.

    Args:
        unused: of the same stretch of a file.
        lines: (n,) of the rows that were read, ascending.
        times: (n,) of those. [s]
        before: of the last row above the stretch; None where there was none. [s]
    """
    told = []
    for one in unused:
        above = int(np.searchsorted(lines, one.line, "right"))
        told.append(replace(one, time=float(times[above - 1]) if above else before))
    return tuple(told)
