"""How many sets of strength tests a stratum wants, by how well one set agrees.

A set is three specimens at different cell pressures. The numbers are the least recommended, for
strata without, with medium and with extensive comparable experience.
"""

from typing import NamedTuple

from reduce.errors import require_positive


class Sets(NamedTuple):
    """Least number of sets recommended."""

    no_experience: int
    medium_experience: int
    extensive_experience: int


def sets_for_angle(r: float) -> Sets:
    """For the effective angle, by the correlation coefficient r of the failure envelope.

    Args:
        r: of the fitted envelope. [-]

    Returns:
        The numbers.

    Source:
        EN 1997-2, annex P (by way of a digest, not read in the standard itself).

    Example:
        >>> sets_for_angle(0.97)
        Sets(no_experience=3, medium_experience=2, extensive_experience=1)
    """
    if r <= 0.95:
        return Sets(4, 3, 2)
    return Sets(3, 2, 1) if r < 0.98 else Sets(2, 1, 1)


def sets_for_undrained_strength(greatest_kPa: float, least_kPa: float) -> Sets:
    """For the undrained strength, by the ratio of the greatest to the least of one set.

    Args:
        greatest_kPa: cu.
        least_kPa: cu.

    Returns:
        The numbers.

    Raises:
        ReductionError: the least is not above zero.

    Source:
        EN 1997-2, annex P (by way of a digest, not read in the standard itself).

    Example:
        >>> sets_for_undrained_strength(60.0, 40.0)
        Sets(no_experience=4, medium_experience=3, extensive_experience=2)
    """
    ratio = greatest_kPa / require_positive("least undrained strength", least_kPa, "kPa")
    if ratio > 2.0:
        return Sets(6, 4, 3)
    return Sets(4, 3, 2) if ratio > 1.25 else Sets(3, 2, 1)
