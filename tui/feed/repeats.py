"""Rows that came before to the letter: a logger that sent a block twice, a copied file.

A row later than every row before it cannot repeat one, so in a log that just grows nothing is
compared. Only of the newest rows the keys are kept; who meets rows from before those has to read
all again and keep the keys of all.
"""

import numpy as np
from numpy.typing import NDArray

from tui.feed.letters import Keys, Letters, keys_of
from tui.feed.rows import Column, extent

RECENT = 512
"""Newest rows that a row is always compared with."""


class LongAgoError(Exception):
    """A row may repeat one whose key was not kept."""


class SeenRows:
    """The keys of the newest rows of a cell, or of all of them."""

    def __init__(self, *, all_rows: bool = False) -> None:
        """Nothing was seen.

        Args:
            all_rows: keep the keys of all rows, 8 bytes each.
        """
        self.all_rows = all_rows
        self._times = np.empty(0)
        self._keys: Keys = np.empty(0, np.int64)
        self._runs: list[Keys] = []
        """Sorted keys of the rows before those, in runs of growing size; if all are kept."""
        self._latest = -np.inf
        self._dropped = -np.inf
        """Newest time of the rows whose keys were not kept."""

    def fresh(
        self, times: Column, letters: Letters, *, may_ask: bool = True
    ) -> NDArray[np.bool_] | None:
        """(n,) whether each row is there for the first time; None: all of them are.

        They count as seen from now on.

        Args:
            times: (n,) of the rows. [s]
            letters: of the rows.
            may_ask: whether all rows can be read again; else what cannot be told counts as new,
                because a row twice does less harm than a row lost.

        Raises:
            LongAgoError: it cannot be told; nothing has changed.
        """
        if not len(times):
            return None
        if times[0] > self._latest and (len(times) == 1 or bool((times[1:] > times[:-1]).all())):
            self._latest = float(times[-1])
            self._keep(times, letters, np.arange(len(times)))
            return None
        before = np.maximum.accumulate(np.concatenate(([self._latest], times)))
        doubtful = np.flatnonzero(times <= before[:-1])
        answer = np.ones(len(times), np.bool_)
        if len(doubtful):
            if may_ask and float(times[doubtful].min()) <= self._dropped:
                raise LongAgoError
            answer = self._first_of_each(times, letters, doubtful)
        self._latest = max(self._latest, float(times.max()))
        self._keep(times, letters, np.flatnonzero(answer))
        return answer

    def _first_of_each(
        self, times: Column, letters: Letters, doubtful: NDArray[np.intp]
    ) -> NDArray[np.bool_]:
        alike = np.flatnonzero(np.isin(times, times[doubtful]))
        keys = keys_of(letters.texts(alike), times[alike])
        _, first = np.unique(keys, return_index=True)
        repeated = np.ones(len(times), np.bool_)
        repeated[alike[first]] = False
        repeated[alike] |= self._has(keys)
        answer = np.ones(len(times), np.bool_)
        answer[doubtful] = ~repeated[doubtful]
        return answer

    def _has(self, keys: Keys) -> NDArray[np.bool_]:
        found = np.isin(keys, self._keys)
        for run in self._runs:
            places = np.minimum(np.searchsorted(run, keys), len(run) - 1)
            found |= run[places] == keys
        return found

    def _keep(self, times: Column, letters: Letters, places: NDArray[np.intp]) -> None:
        if not self.all_rows and len(places) > RECENT:
            passed, places = places[:-RECENT], places[-RECENT:]
            self._dropped = max(self._dropped, float(times[passed].max()))
        kept = times[places]
        self._times = np.concatenate((self._times, kept))
        self._keys = np.concatenate((self._keys, keys_of(letters.texts(places), kept)))
        passed_rows = len(self._times) - RECENT
        if passed_rows <= 0:
            return
        if self.all_rows:
            self._add(np.sort(self._keys[:passed_rows]))
        else:
            self._dropped = max(self._dropped, extent(self._times[:passed_rows])[1])
        self._times = self._times[passed_rows:].copy()
        self._keys = self._keys[passed_rows:].copy()

    def _add(self, run: Keys) -> None:
        # Runs at least halve from one to the next, so that adding and asking stay cheap.
        while self._runs and len(self._runs[-1]) <= 2 * len(run):
            run = np.sort(np.concatenate((self._runs.pop(), run)), kind="stable")
        self._runs.append(run)
