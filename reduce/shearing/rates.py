"""How fast a standard lets a specimen be sheared, from how long it took to consolidate."""

from dataclasses import dataclass

from reduce.drainage import DRAINAGES, lambda_factor
from reduce.errors import ReductionError, require_positive
from reduce.shearing.pore_pressure_times import drainage_eta

FAILURE_STRAIN = 0.04
"""At which failure is expected where nothing better is known, after ASTM D4767. [-]"""
ASTM_FACTORS = {"CU": ("ASTM D4767", 10.0, "t50"), "CD": ("ASTM D7181", 16.0, "t90")}
"""Time to failure as a multiple of t50 or t90 (from memory)."""
BS_FACTORS = {
    ("CU", "one end"): 0.53,
    ("CU", "both ends"): 2.1,
    ("CU", "radial"): 1.43,
    ("CU", "radial + one end"): 1.8,
    ("CU", "radial + both ends"): 2.3,
    ("CD", "one end"): 8.5,
    ("CD", "both ends"): 8.5,
    ("CD", "radial"): 12.7,
    ("CD", "radial + one end"): 14.2,
    ("CD", "radial + both ends"): 15.8,
}
"""F of tf = F t100 for H/D = 2, after BS 1377-8:1990 table 1 (from memory)."""
BS_LEAST_MIN = 120.0
"""Least time to failure, after BS 1377-8 (from memory). [min]"""
ISO_FACTORS = {
    ("CU", "one end"): 2.1,
    ("CU", "both ends"): 8.4,
    ("CU", "radial"): 7.2,
    ("CD", "ends"): 34.0,
    ("CD", "radial"): 56.0,
}
"""F of tf = F t50, after ISO 17892-9 (from memory, with little confidence).

Only four are remembered: 2.1, 7.2, 34 and 56. 2.1 is 0.53 t100 in terms of t50, thus that of one
drained end. With both ends drained t50 is a quarter of it while pore pressure needs as long as
before to even out, hence 8.4.
"""
UU_PERCENT_PER_MIN = {False: 1.0, True: 0.3}
"""Of plastic soil, of brittle soil that fails at 3 to 6 %: after ASTM D2850 (from memory)."""


@dataclass(frozen=True, slots=True)
class AdvisedRate:
    """What a standard advises."""

    rate_percent_per_min: float | None
    """None: it cannot be told, see `basis`."""
    time_to_failure_min: float | None
    """The shortest."""
    basis: str
    """The rule in words, or what it lacks."""


def as_travel(rate_percent_per_min: float | None, height_mm: float) -> float | None:
    """A rate of strain as travel of the ram: dr = ε̇ Hc/100.

    Args:
        rate_percent_per_min: ε̇; None: not known. [%/min]
        height_mm: Hc, after consolidation. [mm]

    Returns:
        dr; None where the rate is not known. [mm/min]

    Raises:
        ReductionError: the height is not above zero.

    Source:
        BS 1377-8 (from memory): dr = εf Lc/tf.

    Example:
        >>> round(as_travel(0.03333, 74.0), 5)
        0.02466
    """
    require_positive("height", height_mm, "mm")
    return None if rate_percent_per_min is None else rate_percent_per_min / 100.0 * height_mm


def bs_factor(kind: str, drainage: str, slenderness: float = 2.0) -> float:
    """F of tf = F t100: the printed factor, carried over to other H/D by theory.

    Without radial drainage F does not depend on H/D. With it, F grows with λ of the t100
    (`reduce.drainage.lambda_factor`), in CD also with the time to drain
    (`reduce.shearing.pore_pressure_times.drainage_eta`).

    Args:
        kind: "CU" or "CD".
        drainage: one of `reduce.drainage.DRAINAGES`.
        slenderness: H/D. [-]

    Returns:
        F. [-]

    Raises:
        ReductionError: an unknown kind or drainage, or a slenderness that is not above zero.

    Source:
        BS 1377-8:1990, table 1 (from memory) for H/D = 2; else derived.

    Example:
        >>> bs_factor("CU", "radial + both ends"), bs_factor("CD", "one end", 2.3)
        (2.3, 8.5)
    """
    if (kind, drainage) not in BS_FACTORS:
        raise ReductionError(f"no factor is known for a {kind} test with drainage {drainage!r}")
    if slenderness == 2.0:
        return BS_FACTORS[kind, drainage]
    grown = _relative(kind, drainage, slenderness) / _relative(kind, drainage, 2.0)
    return BS_FACTORS[kind, drainage] * grown


def _relative(kind: str, drainage: str, slenderness: float) -> float:
    """tf/t100 up to a constant: t100 is π D²/(λ cv)."""
    factor = lambda_factor(drainage, slenderness)
    if kind == "CD":
        return factor / drainage_eta(drainage, slenderness)
    return factor if "radial" in drainage else factor * slenderness**2


def advised_rate(
    standard: str,
    kind: str,
    *,
    drainage: str | None = None,
    slenderness: float = 2.0,
    t50_min: float | None = None,
    t90_min: float | None = None,
    t100_min: float | None = None,
    failure_strain: float = FAILURE_STRAIN,
    brittle: bool = False,
) -> AdvisedRate:
    """Greatest rate of strain that a standard advises: failure strain over time to failure.

    ASTM D4767 (CU): tf = 10 t50. D7181 (CD): 16 t90. BS 1377-8: F t100, at least 120 min.
    ISO 17892-9: F t50. UU: about 1 %/min, of brittle soil 0.3 %/min.

    Args:
        standard: such as "ASTM D4767"; of two that belong together the kind of test decides.
        kind: "CU", "CD" or "UU".
        drainage: one of `reduce.drainage.DRAINAGES`, or None for not known; BS and ISO want it.
        slenderness: H/D. [-]
        t50_min: time for half of primary consolidation.
        t90_min: time for nine tenths of it.
        t100_min: where the early root-time line meets the final volume.
        failure_strain: at which failure is expected. [-]
        brittle: of UU.

    Returns:
        The rate, and the rule in words; no rate where something it needs is not known.

    Raises:
        ReductionError: the failure strain or the slenderness is not above zero.

    Source:
        The standards named, all from memory: words on a screen are "after" them.

    Example:
        >>> advice = advised_rate("ASTM D4767", "CU", t50_min=12.0)
        >>> round(advice.rate_percent_per_min, 5), advice.basis
        (0.03333, 'after ASTM D4767: 4 % in 10 t50')
    """
    require_positive("failure strain", failure_strain, "")
    percent = 100.0 * failure_strain
    if kind == "UU":
        return _unconsolidated(standard, percent, brittle)
    if kind not in ASTM_FACTORS:
        return AdvisedRate(None, None, f"no rate is known of a test {kind}")
    times = {"t50": t50_min, "t90": t90_min, "t100": t100_min}
    if standard.startswith("ASTM"):
        name, factor, time = ASTM_FACTORS[kind]
        return _multiple(name, percent, factor, time, times[time])
    if not standard.startswith(("BS", "ISO")):
        return AdvisedRate(None, None, f"no rate is known after {standard}")
    if drainage is None or drainage not in DRAINAGES:
        return AdvisedRate(None, None, f"after {standard} the rate needs the drainage")
    if standard.startswith("ISO"):
        return _multiple("ISO 17892-9", percent, _iso_factor(kind, drainage), "t50", t50_min)
    factor = bs_factor(kind, drainage, slenderness)
    return _multiple("BS 1377-8", percent, factor, "t100", t100_min, BS_LEAST_MIN)


def _iso_factor(kind: str, drainage: str) -> float:
    if "radial" in drainage:
        return ISO_FACTORS[kind, "radial"]
    return ISO_FACTORS[kind, "ends" if kind == "CD" else drainage]


def _multiple(
    standard: str,
    percent: float,
    factor: float,
    name: str,
    minutes: float | None,
    least: float = 0.0,
) -> AdvisedRate:
    rule = f"after {standard}: {percent:g} % in {factor:.3g} {name}"
    if minutes is None or not 0.0 < minutes < float("inf"):
        return AdvisedRate(None, None, f"{rule}; {name} is not known")
    wanted = factor * minutes
    if wanted < least:
        rule = f"after {standard}: {percent:g} % in no less than {least:g} min"
    longest = max(wanted, least)
    return AdvisedRate(percent / longest, longest, rule)


def _unconsolidated(standard: str, percent: float, brittle: bool) -> AdvisedRate:
    if not standard.startswith(("ASTM", "ISO")):
        return AdvisedRate(None, None, f"no rate of an unconsolidated test is known: {standard}")
    rate = UU_PERCENT_PER_MIN[brittle]
    name = "ASTM D2850" if standard.startswith("ASTM") else "ISO 17892-8"
    of = " of brittle soil" if brittle else ""
    return AdvisedRate(rate, percent / rate, f"after {name}: about {rate:g} %/min{of}")
