"""The strength of a set as `porewatch.strength/1`: plain values for programs, always in SI."""

from typing import Any

from reduce.strength.envelope import Envelope
from reduce.strength.of_set import SetStrength
from tui.bench.as_json import number

SCHEMA = "porewatch.strength/1"

Json = dict[str, Any]


def strength_json(found: SetStrength) -> Json:
    """The strength of a set.

    Returns:
        Dictionaries, lists, texts, finite numbers, booleans and None only.
    """
    interval = found.interval
    unconsolidated = all(one.sigma1_effective_kPa is None for one in found.specimens)
    of = "total" if unconsolidated else "effective"
    return {
        "schema": SCHEMA,
        "criterion": found.criterion,
        "c_effective_kPa": number(found.c_effective_kPa),
        "phi_effective_deg": number(found.phi_effective_deg),
        "c_total_kPa": number(found.c_total_kPa),
        "phi_total_deg": number(found.phi_total_deg),
        "total_by": found.total_by,
        "undrained_strength_kPa": number(found.undrained_strength_kPa),
        "r": number(found.r),
        "weighted_by_uncertainty": found.weighted,
        "interval": None
        if interval is None
        else {
            "c_effective_kPa": [number(end) for end in interval.c_kPa],
            "phi_effective_deg": [number(end) for end in interval.phi_deg],
            "confidence": interval.confidence,
        },
        "methods": {
            "mohr_tangent": _envelope(found.methods.mohr_tangent, of),
            "stress_points": _envelope(found.methods.stress_points, of),
            "weighted": _envelope(found.methods.weighted, of),
        },
        "specimens": [
            {
                "cell": one.name,
                "phi_effective_deg_c0": number(one.phi_effective_deg_c0),
                "sigma1_effective_kPa": number(one.sigma1_effective_kPa),
                "sigma3_effective_kPa": number(one.sigma3_effective_kPa),
            }
            for one in found.specimens
        ],
        "misfit": None if found.misfit is None else found.misfit.what,
        "cautions": [{"what": what, "clause": clause} for what, clause in found.cautions],
    }


def _envelope(found: Envelope | None, of: str) -> Json | None:
    """One method; of effective stresses, or of total ones where no pore pressure was measured."""
    if found is None:
        return None
    return {
        f"c_{of}_kPa": number(found.c_kPa),
        f"phi_{of}_deg": number(found.phi_deg),
        "plane": found.plane,
        "intercept_kPa": number(found.line.intercept),
        "slope": number(found.line.slope),
        "r": number(found.r),
    }
