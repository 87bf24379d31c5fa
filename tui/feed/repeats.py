"""Rows that came before to the letter: a logger that sent a block twice, a copied file."""

import numpy as np
from numpy.typing import NDArray

from tui.feed.rows import Column

Keys = NDArray[np.int64]


class SeenRows:
    """The keys of all rows of a cell, 8 bytes each, in sorted runs of growing size.

    A row later than every row before it cannot repeat one, so in a log that just grows nothing is
    looked up.
    """

    def __init__(self) -> None:
        self._runs: list[Keys] = []
        self._latest = -np.inf

    def fresh(self, times: Column, keys: Keys) -> NDArray[np.bool_]:
        """(n,) whether each row is there for the first time; they count as seen from now on."""
        before = np.maximum.accumulate(np.concatenate(([self._latest], times)))
        doubtful = np.flatnonzero(times <= before[:-1])
        answer = np.ones(len(times), np.bool_)
        if len(doubtful):
            _, first = np.unique(keys, return_index=True)
            repeated = np.ones(len(keys), np.bool_)
            repeated[first] = False
            repeated[doubtful] |= self._has(keys[doubtful])
            answer[doubtful] = ~repeated[doubtful]
        self._latest = float(before[-1])
        self._add(np.sort(keys[answer]))
        return answer

    def _has(self, keys: Keys) -> NDArray[np.bool_]:
        found = np.zeros(len(keys), np.bool_)
        for run in self._runs:
            places = np.minimum(np.searchsorted(run, keys), len(run) - 1)
            found |= run[places] == keys
        return found

    def _add(self, run: Keys) -> None:
        if not len(run):
            return
        # Runs at least halve from one to the next, so that adding and asking stay cheap.
        while self._runs and len(self._runs[-1]) <= 2 * len(run):
            run = np.sort(np.concatenate((self._runs.pop(), run)), kind="stable")
        self._runs.append(run)
