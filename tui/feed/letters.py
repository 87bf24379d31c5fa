"""The letters of rows, kept until it is known which of them have to be compared."""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Keys = NDArray[np.int64]
Places = NDArray[np.intp]

_SPREAD = np.int64(-7046029254386353131)
_LAST_BYTES = 64 * 1024
"""Of a block, in which its last rows are looked for first."""


class Letters(Protocol):
    """The texts of a stretch of rows."""

    def texts(self, places: Places) -> list[str]:
        """Of some rows, by their index."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Rows that were taken line by line."""

    lines: Sequence[str]

    def texts(self, places: Places) -> list[str]:
        """See `Letters`."""
        return [self.lines[place] for place in places.tolist()]


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Rows that were taken as one block of ASCII, a row a line."""

    block: bytes
    count: int
    blanks: str
    """What does not belong to a row at the ends of its line."""

    def texts(self, places: Places) -> list[str]:
        """See `Letters`."""
        if not len(places):
            return []
        lines = self.block[-_LAST_BYTES:].split(b"\n")[:-1]
        first = self.count - len(lines) + 1  # the first of them may be cut
        if int(places.min()) < first:
            lines = self.block.split(b"\n")[:-1]
        skipped = self.count - len(lines)
        found = [lines[place - skipped] for place in places.tolist()]
        return [line.decode("ascii").strip(self.blanks) for line in found]


@dataclass(frozen=True, slots=True, eq=False)
class Joined:
    """Stretches one behind the other."""

    parts: tuple[tuple[int, Letters], ...]
    """How many rows each has, and their letters."""

    def texts(self, places: Places) -> list[str]:
        """See `Letters`."""
        found: list[str] = [""] * len(places)
        begin = 0
        for count, letters in self.parts:
            here = np.flatnonzero((places >= begin) & (places < begin + count))
            for at, text in zip(here.tolist(), letters.texts(places[here] - begin), strict=True):
                found[at] = text
            begin += count
        return found


def keys_of(texts: Sequence[str], times: NDArray[np.float64]) -> Keys:
    """Rows as numbers that are equal for rows that are equal to the letter, time included.

    They are the same in every process: a checkpoint hands them on.

    Args:
        texts: n, of the rows.
        times: (n,) [s]

    Returns:
        (n,)
    """
    digests = b"".join(
        blake2b(text.encode("utf-8", "surrogatepass"), digest_size=8).digest() for text in texts
    )
    # An elapsed count begins again in every file: only text and moment together are a repeat.
    moments = times.view(np.int64) * _SPREAD
    keys: Keys = np.frombuffer(digests, np.int64) ^ moments
    return keys
