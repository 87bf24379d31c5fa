"""Specimens of one soil at failure, as far as the strength of the set hangs on them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from reduce.columns import GREATEST, LEAST, Column
from reduce.errors import ReductionError
from reduce.record import Kind

Criterion = Literal["peak_deviator", "peak_ratio", "strain_limit"]


@dataclass(frozen=True, slots=True)
class FailedSpecimen:
    """One specimen of a set, at failure."""

    name: str
    kind: Kind
    sigma1_effective_kPa: float | None = None
    """None for UU."""
    sigma3_effective_kPa: float | None = None
    sigma1_total_kPa: float | None = None
    """Of CU less the pore pressure at zero strain; of UU as applied; None for CD."""
    sigma3_total_kPa: float | None = None
    u_p_kPa: float | None = None
    """Standard uncertainty of p′; None: not known."""
    u_q_kPa: float | None = None
    """Standard uncertainty of q; None: not known."""


def check_set(specimens: Sequence[FailedSpecimen], criterion: str, confidence: float) -> None:
    """Refuse what is no set.

    Raises:
        ReductionError: no specimen, a name twice, an unknown criterion, or a confidence that is
            not between 0 and 1.
    """
    names = [one.name for one in specimens]
    if not names:
        raise ReductionError("a set needs at least one specimen; there is none")
    for name in names:
        if names.count(name) > 1:
            raise ReductionError(f"specimen {name} is in the set twice; each counts once")
    if criterion not in get_args(Criterion):
        known = ", ".join(get_args(Criterion))
        raise ReductionError(f"criterion is {criterion!r}; it must be one of: {known}")
    if not 0.0 < confidence < 1.0:
        raise ReductionError(f"confidence is {confidence:g}; it must lie between 0 and 1")


def stresses_of(
    specimens: Sequence[FailedSpecimen], of: Literal["effective", "total"]
) -> tuple[Column, Column]:
    """(n,) σ1 and (n,) σ3 at failure, seen to be those of compression. [kPa]

    Raises:
        ReductionError: a specimen without them, or with others.
    """
    pairs = []
    for one in specimens:
        major = one.sigma1_effective_kPa if of == "effective" else one.sigma1_total_kPa
        minor = one.sigma3_effective_kPa if of == "effective" else one.sigma3_total_kPa
        if major is None or minor is None:
            raise ReductionError(f"{one.name} ({one.kind}) has no {of} stresses at failure")
        # Total σ3 is 0 in an unconfined compression; an effective σ3 of 0 is no strength at all
        confined = minor > LEAST or (of == "total" and minor == 0.0)
        if not (confined and minor < major <= GREATEST):
            raise ReductionError(
                f"{of} stresses of {one.name} at failure are σ1 {major:g} and σ3 {minor:g} kPa; "
                f"σ3 must be above 0 and σ1 above σ3, up to {GREATEST:g} kPa"
            )
        pairs.append((major, minor))
    table = np.array(pairs, dtype=np.float64)
    return table[:, 0], table[:, 1]


def uncertainties_of(
    specimens: Sequence[FailedSpecimen],
) -> tuple[Column, Column] | tuple[None, None]:
    """(n,) standard uncertainty of p′ and of q, where all specimens have both. [kPa]"""
    told = [
        (one.u_p_kPa, one.u_q_kPa)
        for one in specimens
        if one.u_p_kPa is not None
        and one.u_q_kPa is not None
        and 0.0 <= one.u_p_kPa <= GREATEST
        and LEAST < one.u_q_kPa <= GREATEST
    ]
    if len(told) < len(specimens):
        return None, None
    table = np.array(told, dtype=np.float64)
    return table[:, 0], table[:, 1]
