"""Strength of a set: which specimens count, what is doubted, and which one does not fit."""

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reduce.errors import ReductionError
from reduce.record import Kind
from reduce.strength.envelope import (
    Envelope,
    line_through_tops_pq,
    tangent_to_circles,
    weighted_line_pq,
)
from reduce.strength.interval import Interval
from reduce.strength.of_set import SetStrength, strength_of_set
from reduce.strength.specimens import FailedSpecimen

CRAIG = {"C1": (150.0, 192.0, 80.0), "C2": (300.0, 341.0, 154.0), "C3": (450.0, 504.0, 222.0)}
"""Cell pressure, q, u of the CU example in Craig, Soil Mechanics (from memory)."""


def consolidated(name: str, cell: float, q: float, u: float, kind: Kind = "CU") -> FailedSpecimen:
    total = (cell + q, cell) if kind == "CU" else (None, None)
    return FailedSpecimen(name, kind, cell + q - u, cell - u, *total)


def craig(kind: Kind = "CU") -> list[FailedSpecimen]:
    return [consolidated(name, *row, kind=kind) for name, row in CRAIG.items()]


def drained(*pairs: tuple[float, float]) -> list[FailedSpecimen]:
    """CD specimens S1, S2 … of (σ′3, q)."""
    return [
        FailedSpecimen(f"S{i + 1}", "CD", sigma3 + q, sigma3) for i, (sigma3, q) in enumerate(pairs)
    ]


def unconsolidated(*pairs: tuple[float, float]) -> list[FailedSpecimen]:
    """UU specimens of (σ3, q)."""
    return [
        FailedSpecimen(f"U{i + 1}", "UU", sigma1_total_kPa=sigma3 + q, sigma3_total_kPa=sigma3)
        for i, (sigma3, q) in enumerate(pairs)
    ]


def strong(sigma3: float, c: float = 10.0, phi: float = 30.0, times: float = 1.0) -> float:
    """q at failure by Mohr and Coulomb, times a factor."""
    flow = math.tan(math.radians(45.0 + phi / 2.0)) ** 2
    return times * (sigma3 * (flow - 1.0) + 2.0 * c * math.sqrt(flow))


def told(found: SetStrength, words: str) -> bool:
    return any(words in what for what, _ in found.cautions)


def peak(specimens: list[FailedSpecimen], **options: bool) -> SetStrength:
    return strength_of_set(specimens, criterion="peak_deviator", **options)  # type: ignore[arg-type]


def all_numbers(value: object) -> list[float]:
    """Every float in an answer."""
    if isinstance(value, float):
        return [value]
    if isinstance(value, tuple):
        return [number for part in value for number in all_numbers(part)]
    if dataclasses.is_dataclass(value):
        parts = (getattr(value, field.name) for field in dataclasses.fields(value))
        return [number for part in parts for number in all_numbers(part)]
    return []


def test_headline_total_and_methods_of_a_cu_set() -> None:
    found = peak(craig())
    s1, s3 = [262.0, 487.0, 732.0], [70.0, 146.0, 228.0]
    headline, tangent = line_through_tops_pq(s1, s3), tangent_to_circles(s1, s3)
    assert (found.c_effective_kPa, found.phi_effective_deg) == (headline.c_kPa, headline.phi_deg)
    assert found.methods.weighted == headline
    assert found.methods.mohr_tangent == found.methods.stress_points == tangent
    total = line_through_tops_pq([342.0, 641.0, 954.0], [150.0, 300.0, 450.0])
    assert (found.c_total_kPa, found.phi_total_deg) == (total.c_kPa, total.phi_deg)
    assert found.total_by is not None
    assert found.total_by.endswith("total stresses less the pore pressure at zero strain")
    assert found.r == headline.r
    assert isinstance(found.interval, Interval)
    assert found.interval.confidence == 0.9
    assert not found.weighted
    assert found.misfit is None
    assert found.cautions == ()
    assert [one.name for one in found.specimens] == ["C1", "C2", "C3"]
    assert found.specimens[0].phi_effective_deg_c0 == pytest.approx(
        math.degrees(math.asin(192.0 / 332.0)), rel=1e-12
    )


def test_cd_has_no_total_strength() -> None:
    found = peak(craig("CD"))
    assert found.c_total_kPa is found.phi_total_deg is found.total_by is None
    assert found.c_effective_kPa == peak(craig()).c_effective_kPa
    assert found.cautions == ()


def test_cohesion_that_scatter_does_not_tell_from_none_is_doubted() -> None:
    """Told in both directions by specimens on and off the line of c′ = 10 kPa."""
    confining = (50.0, 100.0, 200.0, 400.0)
    named = [f"C{n}" for n in range(1, 5)]
    exact = [
        consolidated(name, s3, strong(s3), 0.0) for name, s3 in zip(named, confining, strict=True)
    ]
    assert not told(peak(exact), "is not told from 0")
    apart = [
        consolidated(name, s3, strong(s3, times=times), 0.0)
        for name, s3, times in zip(named, confining, (1.1, 0.9, 1.1, 0.95), strict=True)
    ]
    found = peak(apart)
    assert found.interval is not None and found.interval.c_kPa[0] < 0.0 < found.c_effective_kPa
    assert told(found, f"c′ of {found.c_effective_kPa:.1f} kPa is not told from 0")
    assert not told(peak(apart, cohesionless=True), "is not told from 0")


def test_mixed_kinds_are_doubted_and_have_no_total_strength() -> None:
    found = peak([*craig()[:2], consolidated("C3", *CRAIG["C3"], kind="CD")])
    assert told(found, "kinds of test are mixed: CD, CU")
    assert found.c_effective_kPa == peak(craig()).c_effective_kPa
    assert found.c_total_kPa is None


def test_uu_among_consolidated_ones_is_left_out() -> None:
    found = peak([*craig(), *unconsolidated((200.0, 150.0))])
    assert told(found, "left out")
    assert found.phi_effective_deg == peak(craig()).phi_effective_deg
    assert found.specimens[-1].name == "U1"
    assert found.specimens[-1].phi_effective_deg_c0 is None
    assert found.undrained_strength_kPa is None


def test_one_specimen_has_its_own_angle_and_no_envelope() -> None:
    found = peak(craig()[:1])
    assert found.c_effective_kPa is found.phi_effective_deg is found.c_total_kPa is None
    assert found.methods.weighted is found.interval is found.r is None
    assert found.specimens[0].phi_effective_deg_c0 == pytest.approx(35.33, abs=0.01)
    assert told(found, "one specimen; a set is 3")
    tied = peak(craig()[:1], cohesionless=True)
    assert tied.c_effective_kPa == 0.0
    assert tied.phi_effective_deg == pytest.approx(35.33, abs=0.01)
    assert tied.interval is None


def test_two_specimens_have_an_envelope_and_no_interval() -> None:
    found = peak(craig()[:2])
    assert found.phi_effective_deg is not None
    assert found.interval is found.r is found.misfit is None
    assert told(found, "2 specimens; a set is 3")
    assert peak(craig()[:2], cohesionless=True).interval is not None


def test_cohesion_below_zero_is_doubted() -> None:
    soil = drained(*((sigma3, strong(sigma3, c=-5.0)) for sigma3 in (100.0, 200.0, 400.0)))
    found = peak(soil)
    assert found.c_effective_kPa == pytest.approx(-5.0, abs=1e-6)
    assert told(found, "c′ is -5.0 kPa, below 0")
    tied = peak(soil, c_not_negative=True)
    assert tied.c_effective_kPa == 0.0
    assert not told(tied, "below 0: as fitted")


def test_specimens_at_one_stress_tell_no_slope() -> None:
    found = peak(drained((100.0, 250.0), (100.0, 250.0), (100.0, 250.0)))
    assert found.c_effective_kPa is found.phi_effective_deg is found.interval is None
    assert told(found, "no effective strength")
    assert told(found, "greatest σ′3 at failure is 1.00 times the least")
    assert found.specimens[0].phi_effective_deg_c0 is not None
    tied = peak(drained((100.0, 250.0), (100.0, 250.0), (100.0, 250.0)), cohesionless=True)
    assert tied.phi_effective_deg == pytest.approx(33.75, abs=0.01)
    assert not told(tied, "hardly tell a slope")
    assert not told(peak(drained((100.0, 250.0), (130.0, 300.0), (200.0, 420.0))), "hardly")


def test_a_line_that_falls_is_no_strength() -> None:
    found = peak(drained((100.0, 350.0), (200.0, 250.0), (300.0, 120.0)))
    assert found.phi_effective_deg is found.misfit is None
    assert told(found, "slope of q on p is -")


@pytest.mark.parametrize(
    ("last", "words"),
    [(560.0, None), (450.0, "below 0.98: 3 sets"), (300.0, "below 0.98: 4 sets")],
)
def test_r_against_annex_p(last: float, words: str | None) -> None:
    found = peak(drained((100.0, 235.0), (150.0, 335.0), (200.0, 435.0), (265.0, last)))
    assert found.r is not None
    doubts = [(what, clause) for what, clause in found.cautions if what.startswith("r is")]
    if words is None:
        assert doubts == []
    else:
        assert words in doubts[0][0]
        assert doubts[0][1] == "after EN 1997-2, annex P"


def test_weighting_by_the_uncertainties_of_all() -> None:
    soil = drained((100.0, 235.0), (200.0, 420.0), (400.0, 850.0))
    known = [
        dataclasses.replace(one, u_p_kPa=u_p, u_q_kPa=u_q)
        for one, u_p, u_q in zip(soil, (2.0, 4.0, 9.0), (4.0, 9.0, 20.0), strict=True)
    ]
    found = peak(known)
    assert found.weighted
    p, q = [100 + 235 / 3, 200 + 140, 400 + 850 / 3], [235.0, 420.0, 850.0]
    covariance = [4.0**2 / 3, 9.0**2 / 3, 20.0**2 / 3]
    theirs = weighted_line_pq(
        p, q, u_p=[2.0, 4.0, 9.0], u_q=[4.0, 9.0, 20.0], covariance=covariance
    )
    assert found.phi_effective_deg == pytest.approx(theirs.phi_deg, rel=1e-9)
    assert found.phi_effective_deg != peak(soil).phi_effective_deg
    partly = peak([*known[:2], soil[2]])
    assert not partly.weighted
    assert told(partly, "not weighted")
    assert partly.phi_effective_deg == peak(soil).phi_effective_deg


@pytest.mark.parametrize("u", [(math.nan, 5.0), (-1.0, 5.0), (5.0, 0.0), (5.0, math.inf)])
def test_an_uncertainty_that_is_none_does_not_weigh(u: tuple[float, float]) -> None:
    soil = [
        dataclasses.replace(one, u_p_kPa=u[0], u_q_kPa=u[1])
        for one in drained((100.0, 235.0), (200.0, 420.0), (400.0, 850.0))
    ]
    found = peak(soil)
    assert not found.weighted
    assert found.phi_effective_deg is not None


def test_undrained_strength_of_uu() -> None:
    found = peak(unconsolidated((100.0, 160.0), (200.0, 164.0), (400.0, 168.0)))
    assert found.c_effective_kPa is found.phi_effective_deg is found.interval is None
    assert found.undrained_strength_kPa == pytest.approx(82.0, rel=1e-12)
    line = line_through_tops_pq([260.0, 364.0, 568.0], [100.0, 200.0, 400.0])
    assert (found.c_total_kPa, found.phi_total_deg) == (line.c_kPa, line.phi_deg)
    assert found.total_by == "plain least squares of q on p, total stresses"
    assert isinstance(found.methods.weighted, Envelope)
    assert peak(unconsolidated((100.0, 160.0)), cohesionless=True).c_total_kPa == 80.0


def test_uu_that_grows_weaker_has_no_angle() -> None:
    found = peak(unconsolidated((100.0, 200.0), (200.0, 180.0), (400.0, 140.0)))
    assert found.phi_total_deg == 0.0
    assert found.c_total_kPa == found.undrained_strength_kPa == pytest.approx(520.0 / 6.0)
    assert found.total_by == "cu the mean of q/2, φu = 0: the line of q on p falls"
    assert told(found, "greatest cu is 1.43 times the least, above 1.25: 4 sets")


def test_uu_whose_angle_is_above_zero_was_not_saturated() -> None:
    found = peak(unconsolidated((100.0, 200.0), (200.0, 251.0), (400.0, 350.0)))
    assert told(found, "not saturated")
    quiet = peak(unconsolidated((100.0, 160.0), (200.0, 170.0), (400.0, 161.0)))
    assert not told(quiet, "not saturated")


def test_one_uu_and_one_unconfined() -> None:
    one = peak(unconsolidated((200.0, 150.0)))
    assert (one.c_total_kPa, one.phi_total_deg, one.undrained_strength_kPa) == (75.0, None, 75.0)
    assert one.total_by == "cu the mean of q/2; φu not told"
    pair = peak(unconsolidated((0.0, 150.0), (200.0, 150.0)))
    assert pair.phi_total_deg == pytest.approx(0.0, abs=1e-9)
    assert pair.c_total_kPa == pytest.approx(75.0, rel=1e-9)


def test_the_one_of_five_that_does_not_fit_is_named() -> None:
    rows = [(sigma3, strong(sigma3)) for sigma3 in (50.0, 100.0, 200.0, 300.0, 400.0)]
    rows[2] = (200.0, strong(200.0, times=1.25))
    found = peak(drained(*rows))
    assert found.misfit is not None
    assert found.misfit.names == ("S3",)
    assert found.misfit.deviation > 0.05
    assert told(found, "S3 does not fit the others: the line through all misses q of S3 by")


def test_of_three_it_cannot_be_told_which() -> None:
    found = peak(
        drained((50.0, strong(50.0)), (100.0, strong(100.0, times=1.4)), (200.0, strong(200.0)))
    )
    assert found.misfit is not None
    assert found.misfit.names == ("S1", "S2", "S3")
    assert told(found, "one of S1, S2, S3 does not fit the others")


def test_of_three_it_can_be_told_where_the_others_allow_no_other() -> None:
    """Without S2 a line rises; without S1 or S3 it falls or is steeper than any angle."""
    found = peak(drained((100.0, 235.0), (90.0, 600.0), (200.0, 435.0)))
    assert found.misfit is not None
    assert found.misfit.names == ("S2",)


def test_scatter_that_no_single_specimen_explains() -> None:
    shares = (1.25, 0.75, 1.25, 0.75, 1.25, 0.75)
    stresses = (50.0, 100.0, 150.0, 200.0, 300.0, 400.0)
    found = peak(
        drained(*((s, strong(s, times=share)) for s, share in zip(stresses, shares, strict=True)))
    )
    assert found.misfit is not None
    assert found.misfit.names == ()
    assert told(found, "the specimens scatter, not one of them alone")


@given(
    share=st.floats(1.3, 2.0),
    which=st.integers(1, 4),
    noise=st.lists(st.floats(-0.005, 0.005), min_size=6, max_size=6),
    weaker=st.booleans(),
)
def test_one_wrong_specimen_inside_six_is_always_among_the_named(
    share: float, which: int, noise: list[float], weaker: bool
) -> None:
    factor = 1.0 / share if weaker else share
    rows = [
        (sigma3, strong(sigma3, times=(factor if i == which else 1.0) + noise[i]))
        for i, sigma3 in enumerate((50.0, 100.0, 200.0, 300.0, 400.0, 500.0))
    ]
    found = peak(drained(*rows))
    assert found.misfit is not None
    assert f"S{which + 1}" in found.misfit.names


@given(st.lists(st.floats(-0.01, 0.01), min_size=3, max_size=3))
def test_a_good_set_has_no_misfit(noise: list[float]) -> None:
    rows = [
        (sigma3, strong(sigma3, times=1.0 + off))
        for sigma3, off in zip((100.0, 200.0, 400.0), noise, strict=True)
    ]
    assert peak(drained(*rows)).misfit is None


@pytest.mark.parametrize(
    ("specimens", "word"),
    [
        ([], "at least one"),
        ([*craig(), craig()[0]], "C1 is in the set twice"),
        ([FailedSpecimen("X", "CU")], "X .CU. has no effective stresses"),
        ([FailedSpecimen("X", "UU", 200.0, 100.0)], "X .UU. has no total stresses"),
        ([FailedSpecimen("X", "CD", 200.0, math.nan)], "of X at failure"),
        ([FailedSpecimen("X", "CD", math.inf, 100.0)], "of X at failure"),
        ([FailedSpecimen("X", "CD", 100.0, 100.0)], "of X at failure"),
        ([FailedSpecimen("X", "CD", 80.0, 100.0)], "σ1 80 and σ3 100 kPa"),
        ([FailedSpecimen("X", "CD", 80.0, 0.0)], "of X at failure"),
        ([FailedSpecimen("X", "CU", 80.0, -3.0)], "of X at failure"),
        ([*craig(), *drained((100.0, -20.0))], "of S1 at failure"),
        (unconsolidated((-10.0, 100.0)), "of U1 at failure"),
    ],
)
def test_what_is_no_set(specimens: list[FailedSpecimen], word: str) -> None:
    with pytest.raises(ReductionError, match=word):
        peak(specimens)


def test_unknown_criterion_and_confidence() -> None:
    with pytest.raises(ReductionError, match="criterion is 'best'"):
        strength_of_set(craig(), criterion="best")  # type: ignore[arg-type]
    for confidence in (0.0, 1.0, math.nan):
        with pytest.raises(ReductionError, match="confidence"):
            strength_of_set(craig()[:1], criterion="peak_ratio", confidence=confidence)


def test_cu_without_total_stresses_says_so() -> None:
    known = craig()
    bare = dataclasses.replace(known[0], sigma1_total_kPa=None, sigma3_total_kPa=None)
    found = peak([bare, *known[1:]])
    assert found.c_total_kPa is None
    assert told(found, "no total strength: C1 (CU) has no total stresses")
    assert found.phi_effective_deg == peak(known).phi_effective_deg


@given(
    rows=st.lists(
        st.tuples(
            st.sampled_from(["CU", "CD", "UU"]), st.floats(0.01, 2000.0), st.floats(0.01, 4000.0)
        ),
        min_size=1,
        max_size=6,
    ),
    cohesionless=st.booleans(),
    c_not_negative=st.booleans(),
    known=st.booleans(),
)
def test_an_answer_never_holds_what_is_no_number(
    rows: list[tuple[Kind, float, float]], cohesionless: bool, c_not_negative: bool, known: bool
) -> None:
    soil = [
        FailedSpecimen(
            f"S{i}",
            kind,
            *((None, None) if kind == "UU" else (sigma3 + q, sigma3)),
            *((None, None) if kind == "CD" else (1.1 * sigma3 + q, 1.1 * sigma3)),
            *((0.01 * sigma3 + 0.01 * q, 0.02 * q) if known else ()),
        )
        for i, (kind, sigma3, q) in enumerate(rows)
    ]
    found = peak(soil, cohesionless=cohesionless, c_not_negative=c_not_negative)
    assert all(math.isfinite(number) for number in all_numbers(found))
    for angle in (found.phi_effective_deg, found.phi_total_deg):
        assert angle is None or 0.0 <= angle < 90.0
    if c_not_negative and found.c_effective_kPa is not None:
        assert found.c_effective_kPa >= 0.0
    if found.phi_effective_deg is None and "UU" not in {row[0] for row in rows} and len(rows) > 1:
        assert told(found, "no effective strength")
