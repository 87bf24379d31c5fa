"""What is expected of cv before anything has flowed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

_LIKE = 0.5
"""Deviation of ln cv in a set, whose stresses differ: common practice, no source."""
_WORTH = 4.0
"""How many specimens that is worth beside the set's own scatter."""


@dataclass(frozen=True, slots=True)
class CvPrior:
    """A lognormal expectation."""

    median_m2_year: float
    factor: float
    """Of one standard deviation. [-]"""
    words: str
    """What it rests on."""


BROAD = CvPrior(3.0, 30.0, "cv of soils at large, from clay to sand")
"""From stiff clay to silt; sands lie at two deviations: common practice, no source."""


def prior_of_set(cvs_m2_year: Sequence[float]) -> CvPrior:
    """Expectation by the cv of the other specimens of a set; `BROAD` where there is none.

    The deviation of ln cv is that of the set, with a common one of 0.5 weighed like four specimens.

    Example:
        >>> prior_of_set([1.4, 2.1]).words
        'cv of 2 specimens of the set, 1.4 … 2.1 m²/year'
    """
    found = [cv for cv in cvs_m2_year if math.isfinite(cv) and cv > 0.0]
    if not found:
        return BROAD
    logs, count = np.log(found), len(found)
    spread = float(((logs - logs.mean()) ** 2).sum())
    variance = (_WORTH * _LIKE**2 + spread) / (_WORTH + count - 1) * (1 + 1 / count)
    low, high = min(found), max(found)
    words = f"{low:.2g}" if count == 1 else f"{low:.2g} … {high:.2g}"
    many = "specimen" if count == 1 else "specimens"
    return CvPrior(
        float(np.exp(logs.mean())),
        math.exp(math.sqrt(variance)),
        f"cv of {count} {many} of the set, {words} m²/year",
    )
