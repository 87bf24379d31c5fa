"""Which specimen of a set does not fit the failure envelope of the others, if that can be told."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from reduce.columns import Column
from reduce.errors import ReductionError
from reduce.strength.envelope import Envelope

MISFIT_SHARE = 0.05
"""Of its own q, beyond which a specimen is off a line (common practice, no source). [-]"""


@dataclass(frozen=True, slots=True)
class Misfit:
    """A set that no straight line fits."""

    names: tuple[str, ...]
    """One: this specimen. Several: one of these. None: no single specimen explains it."""
    worst: str
    """Farthest off the line through all."""
    deviation: float
    """How far, as a share of its q; above 0 when it is stronger than the line. [-]"""

    @property
    def what(self) -> str:
        """In words."""
        off = f"the line through all misses q of {self.worst} by {abs(self.deviation):.0%}"
        if len(self.names) == 1:
            return f"{self.names[0]} does not fit the others: {off}"
        if self.names:
            return f"one of {', '.join(self.names)} does not fit the others: {off}"
        return f"the specimens scatter, not one of them alone: {off}"


def find_misfit(
    names: Sequence[str],
    p: Column,
    q: Column,
    fit: Callable[[Sequence[int]], Envelope],
) -> Misfit | None:
    """Name the specimen that does not fit, by leaving out each in turn.

    A set misfits when its line misses q of a specimen by more than `MISFIT_SHARE`. Each specimen
    is then left out: it may be the wrong one if the line through the others is possible and
    misses none of them by more than that. Often several may be: through any two of three
    specimens there is a line, so that of three it can be told only where the others' line stands
    for no angle at all.

    Args:
        names: n names.
        p: (n,) mean stress at failure. [kPa]
        q: (n,) deviator at failure, above 0. [kPa]
        fit: the envelope, on p and q, of the specimens with the indices given.

    Returns:
        The misfit; None where the line fits all, or with fewer than three specimens.

    Raises:
        ReductionError: all together have no line.

    Source:
        Common practice, no source.

    Example:
        >>> from reduce.strength.envelope import weighted_line_pq
        >>> p, q = np.array([100.0, 200.0, 300.0, 400.0]), np.array([100.0, 200.0, 390.0, 400.0])
        >>> found = find_misfit("ABCD", p, q, lambda of: weighted_line_pq(p[of], q[of]))
        >>> found.names
        ('C',)
    """
    count = len(names)
    if count < 3:
        return None
    off = _shares(fit(range(count)), p, q)
    worst = int(np.argmax(np.abs(off)))
    if abs(off[worst]) <= MISFIT_SHARE:
        return None
    explaining = []
    for left_out in range(count):
        others = [index for index in range(count) if index != left_out]
        try:
            line = fit(others)
        except ReductionError:
            continue
        if np.all(np.abs(_shares(line, p, q)[others]) <= MISFIT_SHARE):
            explaining.append(names[left_out])
    return Misfit(tuple(explaining), names[worst], float(off[worst]))


def _shares(envelope: Envelope, p: Column, q: Column) -> Column:
    return (q - envelope.line.intercept - envelope.line.slope * p) / q
