"""What a standard, or a careful colleague, would question about the strength of a set."""

from collections.abc import Sequence

import numpy as np

from reduce.columns import Column
from reduce.strength.envelope import Envelope
from reduce.strength.interval import Interval
from reduce.strength.sets_of_tests import Sets, sets_for_angle, sets_for_undrained_strength

Pair = tuple[str, str]
"""What, and the clause behind it."""

FEWEST_SPECIMENS = 3
"""Of a set."""
CLOSE_TOGETHER = 1.25
"""Greatest over least σ′3 of a set below which they hardly tell a slope (common practice)."""
SMALL_C_KPA = 0.05
"""A fitted c′ below this is printed as 0.0. [kPa]"""
COMMON_PRACTICE = "common practice"
_THREE = "after ISO 17892-9, three relatable tests at least; EN 1997-2, annex P"
_ANNEX_P = "after EN 1997-2, annex P"


def about_set(kinds: Sequence[str]) -> list[Pair]:
    """Doubts about which specimens stand together."""
    cautions: list[Pair] = []
    if len(kinds) < FEWEST_SPECIMENS:
        count = "one specimen" if len(kinds) == 1 else f"{len(kinds)} specimens"
        cautions.append((f"{count}; a set is {FEWEST_SPECIMENS}", _THREE))
    if len(set(kinds)) > 1:
        cautions.append(
            (f"kinds of test are mixed: {', '.join(sorted(set(kinds)))}", COMMON_PRACTICE)
        )
    if "UU" in kinds and set(kinds) != {"UU"}:
        cautions.append(("UU specimens have no effective stresses: left out", COMMON_PRACTICE))
    return cautions


def about_lines(sigma3: Column, headline: Envelope | None, failed: str | None) -> list[Pair]:
    """Doubts about the effective strength."""
    cautions: list[Pair] = []
    if failed is not None:
        cautions.append((f"no effective strength: {failed}", COMMON_PRACTICE))
    fixed = headline is not None and headline.c_fixed
    spread = float(np.max(sigma3) / np.min(sigma3))
    if len(sigma3) > 1 and spread < CLOSE_TOGETHER and not fixed:
        cautions.append(
            (
                f"greatest σ′3 at failure is {spread:.2f} times the least; below "
                f"{CLOSE_TOGETHER:g} the specimens hardly tell a slope",
                COMMON_PRACTICE,
            )
        )
    if headline is None:
        return cautions
    if headline.c_kPa < 0.0:
        cautions.append((f"c′ is {headline.c_kPa:.1f} kPa, below 0: as fitted", COMMON_PRACTICE))
    if headline.r is not None and headline.r < 0.98:
        wanted = _number(sets_for_angle(headline.r))
        cautions.append((f"r is {headline.r:.3f}, below 0.98: {wanted}", _ANNEX_P))
    return cautions


def about_cohesion(headline: Envelope | None, interval: Interval | None) -> list[Pair]:
    """Doubts about an intercept that the scatter of the specimens does not tell from none.

    Strength that rests on it is on the unsafe side at low stresses: whoever signs has to decide.

    Args:
        headline: the line; None where there is none.
        interval: of its c and φ; None where nothing tells the scatter.
    """
    if headline is None or interval is None or headline.c_fixed:
        return []
    low, high = interval.c_kPa
    if headline.c_kPa < SMALL_C_KPA or low > 0.0:
        return []
    return [
        (
            f"c′ of {headline.c_kPa:.1f} kPa is not told from 0: {low:.1f} to {high:.1f} kPa with "
            f"{interval.confidence:.0%} confidence; cohesionless leads the envelope through the "
            "origin",
            COMMON_PRACTICE,
        )
    ]


def about_undrained(strengths: Column, interval: Interval | None) -> list[Pair]:
    """Doubts about the strength of unconsolidated specimens.

    Args:
        strengths: (n,) q/2. [kPa]
        interval: of the fitted total strength; None where there is none.
    """
    cautions: list[Pair] = []
    greatest, least = float(np.max(strengths)), float(np.min(strengths))
    if greatest > 1.25 * least:
        wanted = _number(sets_for_undrained_strength(greatest, least))
        cautions.append(
            (
                f"greatest cu is {greatest / least:.2f} times the least, above 1.25: {wanted}",
                _ANNEX_P,
            )
        )
    if interval is not None and interval.phi_deg[0] > 0.0:
        cautions.append(
            (
                f"φu is above 0 ({interval.phi_deg[0]:.1f} to {interval.phi_deg[1]:.1f}°): "
                "the specimens were not saturated",
                "after UFC 3-220-10, ch. 3: φ = 0 if saturated",
            )
        )
    return cautions


def _number(sets: Sets) -> str:
    return (
        f"{sets.no_experience} sets are recommended without comparable experience, "
        f"{sets.medium_experience} with some, {sets.extensive_experience} with much"
    )
