"""Whether a series of B checks says that a specimen is saturated enough to consolidate."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

B_TARGET = 0.95
"""B at which a specimen passes, after ASTM D4767, BS 1377-8 and ISO 17892-9. [-]"""
B_TOO_HIGH = 1.02
"""Beyond this a check shows a leak or a wrong zero, not saturation (common practice). [-]"""
B_UNCHANGED = 0.01
"""A rise of B below this is none (common practice, no source). [-]"""
B_FLOOR = 0.90
"""Below this an unchanged B passes by a person's word only. [-]"""
UNCHANGED_INCREMENTS = {
    "ASTM D4767": 2,
    "ASTM D7181": 2,
    "BS 1377-8": 3,
    "ISO 17892-9": 3,
}
"""Over how many successive increments of back pressure B must stay unchanged.

BS 1377-8: three, for stiff fissured clay (from memory). ASTM says "further increments", which are
two at least. ISO gives no number (from memory); it gets the stricter one.
"""

Ground = Literal["no check", "not settled", "too high", "target", "unchanged", "below target"]


@dataclass(frozen=True, slots=True)
class Check:
    """One B check, as far as acceptance goes."""

    B: float
    """From the settled reading. [-]"""
    settled: bool
    """Whether pore pressure had stopped moving."""
    back_pressure_kPa: float | None
    """At which it was made; None where it is not known."""


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Whether saturation is accepted, and on which ground."""

    accepted: bool
    ground: Ground


def judge_checks(
    checks: Sequence[Check],
    *,
    target: float = B_TARGET,
    standard: str | None = None,
    increment_kPa: float = 25.0,
    floor: float = B_FLOOR,
) -> Acceptance:
    """Judge saturation by the B checks made so far, the last one first.

    The last check must have settled and lie at or below 1.02. It passes at the target; or, after
    the standard, where B stayed unchanged (within 0.01, neither rising nor falling) over several
    increments of back pressure: a very stiff soil is saturated at a B below the target. Such a
    pass is not given below `floor`, because there a soft soil with gas in it looks the same.

    Args:
        checks: in the order they were made.
        target: B that passes. [-]
        standard: as in `UNCHANGED_INCREMENTS`; another, or None, knows no "unchanged".
        increment_kPa: rise of back pressure that counts as an increment.
        floor: least B that passes as unchanged. [-]

    Returns:
        Accepted or not, and the ground.

    Source:
        ASTM D4767 and D7181, BS 1377-8, ISO 17892-9 (from memory); Chaney, Stevens and Sheth
        (1979), Geotech. Testing J. 2(3), 158-162, method C, for stiff soils with B below 0.90.
        Floor and tolerance are common practice, no source.

    Example:
        >>> stiff = [Check(b, True, p) for b, p in [(0.91, 200.0), (0.912, 250.0), (0.913, 300.0)]]
        >>> judge_checks(stiff, standard="ASTM D4767")
        Acceptance(accepted=True, ground='unchanged')
        >>> judge_checks(stiff, standard="BS 1377-8").accepted
        False
    """
    if not checks:
        return Acceptance(False, "no check")
    last = checks[-1]
    if not last.settled:
        return Acceptance(False, "not settled")
    b = last.B
    if b > B_TOO_HIGH:
        return Acceptance(False, "too high")
    if b >= target:
        return Acceptance(True, "target")
    increments = UNCHANGED_INCREMENTS.get(standard or "")
    if increments and b >= floor and _unchanged(checks, increments, increment_kPa):
        return Acceptance(True, "unchanged")
    return Acceptance(False, "below target")


def _unchanged(checks: Sequence[Check], increments: int, increment_kPa: float) -> bool:
    """Whether B stood still over the last increments; repeats at one back pressure are one."""
    last = checks[-1]
    level = last.back_pressure_kPa
    seen = 0
    for check in reversed(checks):
        at = check.back_pressure_kPa
        if level is None or at is None or not check.settled or abs(check.B - last.B) >= B_UNCHANGED:
            return False
        if at <= level - increment_kPa:
            seen, level = seen + 1, at
            if seen == increments:
                return True
    return False
