"""Forecast of consolidation against invented readings whose truth comes from finite volumes.

The solver below knows no series and no product of series: one eigenproblem of rings and layers.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from time import process_time

import numpy as np
import pytest
from scipy import linalg, optimize

from reduce.drainage import DRAINAGES, SECONDS_PER_YEAR
from reduce.errors import ReductionError
from reduce.forecast import (
    ConsolidationForecast,
    consolidation,
    consolidation_curves,
    consolidation_end,
    drainage_evidence,
    ending,
    reading_doubts,
)
from reduce.forecast.outcome import lasting

CELLS = 18


@lru_cache(maxsize=32)
def modes(kind: str, slenderness: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rates and weights of the modes: of the average, and of the mean over the base."""
    # Cells get smaller towards the drained surface, where the pressure bends first.
    grade = np.sin(np.linspace(0, np.pi / 2, CELLS + 1))
    radius = 0.5 * (grade if "radial" in kind else np.linspace(0, 1, CELLS + 1))
    height = slenderness * (
        0.5 * (1 - np.cos(np.linspace(0, np.pi, CELLS + 1))) if "both" in kind else grade
    )
    ring = np.pi * np.diff(radius**2)
    r, z = (radius[1:] + radius[:-1]) / 2, (height[1:] + height[:-1]) / 2
    layer = np.diff(height)
    volume = np.outer(ring, layer)
    number = np.arange(CELLS * CELLS).reshape(CELLS, CELLS)
    K = np.zeros((number.size, number.size))

    def join(a: np.ndarray, b: np.ndarray, conductance: np.ndarray) -> None:
        for i, j, g in zip(a.ravel(), b.ravel(), conductance.ravel(), strict=True):
            K[i, i] += g
            K[j, j] += g
            K[i, j] -= g
            K[j, i] -= g

    join(number[:-1], number[1:], np.outer(2 * np.pi * radius[1:-1] / np.diff(r), layer))
    join(number[:, :-1], number[:, 1:], np.outer(ring, 1 / np.diff(z)))
    at = np.diag_indices_from(K)
    loss = np.zeros((CELLS, CELLS))
    if "radial" in kind:
        loss[-1] += np.pi / (0.5 - r[-1]) * layer
    if "end" in kind:
        loss[:, -1] += ring / (slenderness - z[-1])
    if "both" in kind:
        loss[:, 0] += ring / z[0]
    K[at] += loss.ravel()
    root = np.sqrt(volume.ravel())
    rates, shapes = linalg.eigh(K / np.outer(root, root))
    amplitude = shapes.T @ root
    base = (ring[:, None] * (shapes / root[:, None]).reshape(CELLS, CELLS, -1)[:, 0]).sum(axis=0)
    return rates, amplitude**2 / volume.sum(), amplitude * base / ring.sum()


@dataclass(frozen=True)
class Truth:
    """One invented specimen and its readings."""

    drainage: str
    height: float
    diameter: float
    cv: float
    v100: float
    ends: float
    times: np.ndarray
    volumes: np.ndarray

    @property
    def volume(self) -> float:
        return float(np.pi / 4 * self.diameter**2 * self.height / 1000)

    def degree(self, times: np.ndarray) -> np.ndarray:
        rates, weights, _ = modes(self.drainage, self.height / self.diameter)
        scale = self.cv * 1e6 / SECONDS_PER_YEAR / self.diameter**2
        return 1 - np.exp(-np.outer(times * scale, rates)) @ weights

    def dissipation(self, times: np.ndarray) -> np.ndarray:
        rates, _, base = modes(self.drainage, self.height / self.diameter)
        scale = self.cv * 1e6 / SECONDS_PER_YEAR / self.diameter**2
        return 1 - np.exp(-np.outer(times * scale, rates)) @ base

    def forecast(self, now: float, **given: object) -> ConsolidationForecast:
        keep = self.times <= now
        asked = {"drainage": self.drainage, "end": "dissipation 95 %"} | given
        if "dissipation" in asked:
            asked["dissipation"] = asked["dissipation"][keep]
        return consolidation(
            1000.0,
            1000.0 + self.times[keep],
            self.volumes[keep],
            now=1000.0 + now,
            height_mm=self.height,
            diameter_mm=self.diameter,
            volume_ml=self.volume,
            **asked,
        )


def invent(seed: int, drainage: str | None = None) -> Truth:
    """A specimen, a schedule, and readings with noise, offset, the day's warmth and some creep."""
    rng = np.random.default_rng(seed)
    kind = drainage or str(rng.choice(DRAINAGES))
    diameter = float(rng.choice([38.0, 50.0, 70.0]))
    height = diameter * float(rng.choice([1.9, 2.0, 2.2]))
    bare = Truth(
        kind, height, diameter, float(np.exp(rng.normal(np.log(2), np.log(5)))), 1, 0,
        np.zeros(0), np.zeros(0),
    )  # fmt: skip
    per_day = 86400 * bare.cv * 1e6 / SECONDS_PER_YEAR / diameter**2
    end = optimize.brentq(
        lambda t: bare.degree(np.array([t]))[0] - 0.95, 1e-3, 100 * 86400 / per_day
    )
    schedule = rng.integers(3)
    if schedule == 0:  # by hand: log schedule, and no more than every 4 h at last
        times = 6.0 * 2.0 ** np.arange(40)
        times = np.concatenate([times[times < 4 * 3600], np.arange(4 * 3600, 2 * end, 4 * 3600)])
    elif schedule == 1:  # root time
        times = 60 * (0.5 * np.arange(1, 400)) ** 2
    else:  # a logger at a steady pace
        times = np.arange(1, 300) * end / 150
    times = times[times < 1.5 * end]
    v100 = bare.volume * float(rng.uniform(0.008, 0.08))
    clean = v100 * bare.degree(times) + rng.normal(0, 0.02)
    # C_α / C_c of 0.04 is about a tenth of v100 a log cycle; nobody knows when creep sets in.
    sets_in = end * float(rng.uniform(0.3, 1.0))
    cycles = np.log10(1 + times / sets_in)
    if rng.random() < 0.5:
        cycles = np.maximum(np.log10(times / sets_in), 0.0)
    creep = v100 * float(rng.uniform(0.0, 0.1)) * cycles
    warmth = rng.uniform(0, 0.02) * np.sin(2 * np.pi * (times / 86400 + rng.uniform()))
    noise = rng.normal(0, rng.uniform(0.003, 0.015), len(times))
    read = np.round((clean + creep + warmth + noise) / 0.005) * 0.005
    return Truth(kind, height, diameter, bare.cv, v100, end, times, read)


def well_read(seed: int, drainage: str) -> Truth:
    """The first from this seed on of which ten readings or more lie before its half."""
    tries = (invent(s, drainage) for s in range(seed, seed + 50))
    return next(t for t in tries if np.sum(t.times < 0.5 * t.ends) >= 10)


SEEDS = range(150)


@lru_cache(maxsize=1)
def cases() -> tuple[Truth, ...]:
    return tuple(invent(seed) for seed in SEEDS)


def test_the_solver_itself() -> None:
    """t95 of end drainage is T = 1.129 Hd²/cv, of radial 0.4543 a²/cv (handbook tables)."""
    for kind, factor in (("one end", 1.129 * 4), ("both ends", 1.129), ("radial", 0.45426 / 4)):
        rates, weights, _ = modes(kind, 2.0)
        assert 1 - np.exp(-factor * rates) @ weights == pytest.approx(0.95, abs=0.0015)


def graded(part: float) -> tuple[float, float, float, float]:
    """Told, held, median error over the time left, median of latest over earliest."""
    inside, errors, widths = [], [], []
    for truth in cases():
        found = truth.forecast(part * truth.ends)
        if found.at is None:
            assert found.basis.startswith("cannot say yet")
            continue
        assert found.earliest <= found.at <= found.latest
        inside.append(found.earliest <= 1000 + truth.ends <= found.latest)
        errors.append(abs(found.at - 1000 - truth.ends) / ((1 - part) * truth.ends))
        widths.append((found.latest - 1000) / (found.earliest - 1000))
    return len(inside), np.mean(inside), np.median(errors), np.median(widths)


@pytest.mark.parametrize(
    ("part", "median_error", "widest"),
    [(0.1, None, None), (0.25, 0.70, None), (0.5, 0.12, 2.0), (0.75, 0.19, 1.45)],
)
def test_coverage(part: float, median_error: float | None, widest: float | None) -> None:
    """The interval is wider than these specimens need, as no soil is this tame.

    They follow theory to the letter, with creep. The forecast allows for cv that changes, stones
    that resist and what is smooth over log time. That costs half of the width and, early, while
    flow goes with √t, most of the error: a bend that is seen may be that of a changing cv, and v100
    stays what it was expected to be. The test below takes it away. Rehearsed tests of other
    physics (tests/campaign) need it.
    """
    told, held, error, width = graded(part)
    assert told > 0.95 * len(SEEDS)
    assert held >= 0.85
    if part in (0.25, 0.5):
        assert held < 0.99
    if median_error is not None:
        assert error < median_error
    if widest is not None:
        assert width < widest
    else:
        assert width > 1.5  # early it is honest


@pytest.mark.parametrize(
    ("part", "median_error", "widest"), [(0.25, 0.25, 2.2), (0.5, 0.12, 1.35), (0.75, 0.16, 1.25)]
)
def test_coverage_where_theory_is_believed(
    part: float, median_error: float, widest: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the ways off theory the interval is as meant for specimens that follow it."""
    plain = consolidation_curves.family("both ends", 2.0).plain[0]
    shapes = len(consolidation_curves.family("both ends", 2.0).log_chance)
    only = np.where(np.arange(shapes) == plain, 0.0, -40.0)

    def believed(drainage: str, slenderness: float) -> consolidation_curves.Family:
        return replace(family_before(drainage, slenderness), log_chance=only)

    family_before = consolidation_curves.family
    monkeypatch.setattr(drainage_evidence, "family", believed)
    monkeypatch.setattr(reading_doubts, "_AHEAD", 0.01)
    monkeypatch.setattr(reading_doubts, "_OFF_FLOW", 0.001)
    monkeypatch.setitem(consolidation_end._END_AHEAD, "dissipation", 0.0)
    _, held, error, width = graded(part)
    assert 0.75 <= held <= 0.92
    assert error < median_error
    assert width < widest


@pytest.mark.parametrize("kind", DRAINAGES)
def test_half_way_each_drainage(kind: str) -> None:
    errors, cv = [], []
    for seed in range(500, 525):
        truth = invent(seed, kind)
        found = truth.forecast(0.5 * truth.ends)
        if found.at is not None:
            errors.append(abs(found.at - 1000 - truth.ends) / (0.5 * truth.ends))
            cv.append(found.cv_m2_year / truth.cv)
    assert len(errors) >= 20
    # 0.05 … 0.12 where theory is believed; a changing cv and early creep take the rest.
    assert np.median(errors) < 0.17
    assert np.median(cv) == pytest.approx(1.0, abs=0.06)


def test_early_it_is_wide_and_says_so() -> None:
    """While the volume goes with √t, cv and the final volume cannot be told apart."""
    truth = well_read(3, "both ends")
    ratios = []
    for part in (0.05, 0.5, 0.9):
        found = truth.forecast(part * truth.ends)
        ratios.append((found.latest - 1000) / (found.earliest - 1000))
    assert ratios[0] > 5 > ratios[1] > ratios[2]
    assert "still wide" in truth.forecast(0.05 * truth.ends).basis


def test_the_set_makes_the_early_forecast_narrow() -> None:
    truth = well_read(3, "both ends")
    siblings = tuple(truth.cv * factor for factor in (0.9, 0.95, 1.0, 1.05, 1.1))
    for now in (0.0, 0.05 * truth.ends):
        broad, known = truth.forecast(now), truth.forecast(now, cv_of_set_m2_year=siblings)
        ratios = [(one.latest - 1000) / (one.earliest - 1000) for one in (broad, known)]
        assert ratios[1] < 0.6 * ratios[0]
        assert known.earliest <= 1000 + truth.ends <= known.latest
    few = truth.forecast(0.0, cv_of_set_m2_year=siblings[:2])
    assert few.basis.startswith("prior: cv of 2 specimens of the set")


@pytest.mark.parametrize("count", [0, 1, 3])
def test_there_is_an_interval_from_the_first_reading_on(count: int) -> None:
    """Soils at large: cv of 3 m²/year and a factor of 30, so that sand and clay lie within.

    These were read as drainage opened, are of larger v100 than is expected, and lie late in
    their intervals until a second reading tells the pace.
    """
    inside, words = [], {0: "no readings", 1: "1 reading ", 3: "3 readings"}[count]
    for truth in cases():
        now = 0.0 if count == 0 else float(truth.times[count - 1])
        found = truth.forecast(now)
        if found.at is None:
            assert "no water has left yet" in found.basis
            continue
        assert found.basis.startswith("prior: cv of soils at large")
        assert words in found.basis
        assert found.confidence == 0.8
        assert found.progress is None
        assert (found.latest - 1000) / (found.earliest - 1000) > 2.0
        inside.append(found.earliest <= 1000 + truth.ends <= found.latest)
    assert len(inside) > 0.95 * len(SEEDS)
    assert np.mean(inside) >= (0.6 if count == 1 else 0.75)


def test_what_a_line_gives_back_at_once_is_no_consolidation() -> None:
    truth = well_read(61, "radial + one end")
    plain, more = (
        replace(truth, volumes=truth.volumes + extra).forecast(0.5 * truth.ends)
        for extra in (0.0, 0.2)
    )
    assert more.at - 1000 == pytest.approx(plain.at - 1000, rel=0.03)
    assert more.v0 - plain.v0 == pytest.approx(0.2, abs=0.08)


def test_pore_pressure_at_the_base_decides_where_it_is_measured() -> None:
    """The stone at the base feels the mean of its section; it lags the average."""
    inside, errors = [], []
    rng = np.random.default_rng(7)
    for seed in range(200, 250):
        truth = invent(seed, str(rng.choice(["one end", "radial + one end", "radial"])))
        clean = truth.dissipation(truth.times)
        read = np.round((clean + rng.normal(0, 0.003, len(clean))) * 500) / 500
        by_gauge = optimize.brentq(
            lambda t, truth=truth: truth.dissipation(np.array([t]))[0] - 0.95, 1, 3 * truth.ends
        )
        found = truth.forecast(0.5 * by_gauge, dissipation=read)
        seen = truth.times[truth.times <= 0.5 * by_gauge]
        if found.at is None or len(seen) == 0:  # before any reading only cv at large is known
            continue
        inside.append(found.earliest <= 1000 + by_gauge <= found.latest)
        errors.append(abs(found.at - 1000 - by_gauge) / (0.5 * by_gauge))
        measured = truth.dissipation(seen[-1:])[0]
        assert found.U_now == pytest.approx(measured, abs=0.08)
    assert len(inside) >= 40
    assert np.mean(inside) >= 0.8
    assert np.median(errors) < 0.04


def test_gauge_that_passed_gives_the_time_of_passing() -> None:
    truth = well_read(11, "one end")
    read = truth.dissipation(truth.times)
    assert read[-1] > 0.9
    wanted = float(read[-3])
    found = truth.forecast(truth.times[-1], dissipation=read, end=f"dissipation {wanted:.4%}")
    assert found.at == found.earliest == found.latest
    assert truth.times[-4] < found.at - 1000 <= truth.times[-2]
    assert found.progress == 1.0


def test_drainage_not_stated() -> None:
    truth = well_read(21, "radial + both ends")
    known, unknown = (
        truth.forecast(0.6 * truth.ends, drainage=kind) for kind in (truth.drainage, None)
    )
    assert "not stated" in unknown.basis
    # Other drainages bend earlier and end sooner; a cv that changes makes them all likely.
    assert unknown.latest - unknown.earliest >= 0.75 * (known.latest - known.earliest)
    assert unknown.earliest <= 1000 + truth.ends <= unknown.latest


def test_other_ends() -> None:
    truth = well_read(33, "both ends")
    now = 0.8 * truth.ends
    scale = truth.cv * 1e6 / SECONDS_PER_YEAR / truth.diameter**2
    t100 = np.pi / 4 * (truth.height / truth.diameter / 2) ** 2 / scale
    cycle = truth.forecast(now, end="t100 + 1 log cycle")
    assert cycle.at - 1000 == pytest.approx(10 * t100, rel=0.08)
    assert 0 < cycle.progress < 0.2
    day = truth.forecast(now, end="24 h")
    first = float(truth.times[0])  # drainage was opened between the zero reading and this one
    assert (day.earliest, day.latest) == (87400.0, 87400.0 + first)
    assert day.at == 87400.0 + first / 2
    assert f"between two readings {lasting(first)} apart" in day.basis
    assert day.cv_m2_year == pytest.approx(truth.cv, rel=0.08)
    half = truth.forecast(now, end="dissipation 50 %")
    assert half.at - 1000 == pytest.approx(half.t50_s, rel=0.01)
    assert half.progress == 1.0


@pytest.mark.parametrize(
    "text",
    ["soon", "dissipation 100 %", "dissipation 0 %", "", "5 kPa", "-2 h", "flow 0 %/h", "flow 1 %"],
)
def test_an_end_that_is_not_understood(text: str) -> None:
    with pytest.raises(ReductionError, match="end of consolidation"):
        ending(text)


def test_ends_that_are_understood() -> None:
    assert ending("dissipation 97.5 %").value == pytest.approx(0.975)
    assert ending("95%").kind == "dissipation"
    assert ending("t100").value == 0.0
    assert ending("90 min").value == 5400.0
    assert ending("flow 0.05 %/h").value == pytest.approx(0.0005)


TIMES = 60 * (0.5 * np.arange(1, 41)) ** 2
RNG = np.random.default_rng(5)
NOISE = RNG.normal(0, 0.004, len(TIMES))
GIVEN = {"height_mm": 76.0, "diameter_mm": 38.0, "volume_ml": 86.2, "end": "dissipation 95 %"}


def of(volumes: np.ndarray, times: np.ndarray = TIMES, **given: object) -> ConsolidationForecast:
    asked = {"drainage": "both ends", "now": 1e9} | GIVEN | given
    return consolidation(0.0, times, volumes, **asked)


@pytest.mark.parametrize(
    ("volumes", "says"),
    [
        (NOISE, "no water has left"),
        (-0.5 * np.sqrt(TIMES / TIMES[-1]) + NOISE, "flows into"),
        (2.0 * TIMES / TIMES[-1] + NOISE, "flow is steady"),
        (np.where(TIMES > 3000, 2.0, 0.0) + NOISE, "because"),
        (2 * (1 - np.exp(-TIMES / 300)) + 1.5 * TIMES / TIMES[-1] + NOISE, "because"),
        (np.full(len(TIMES), np.nan), "neither volume nor pore pressure was read"),
        (TIMES, "is the unit of volume right"),
    ],
    ids=["none", "inflow", "steady", "late jump", "leak after the end", "no volume", "litres"],
)
def test_what_is_not_consolidation_is_not_forecast(volumes: np.ndarray, says: str) -> None:
    found = of(volumes)
    assert found.at is found.earliest is found.latest is found.confidence is None
    assert "cannot say yet" in found.basis
    assert says in found.basis
    assert found.cv_m2_year is None


def test_flow_that_fades_to_a_rate() -> None:
    """Common practice, no source: the truth is the derivative of the solver's own modes."""
    errors, inside = [], []
    for seed in range(700, 740):
        truth = invent(seed)
        rates, weights, _ = modes(truth.drainage, truth.height / truth.diameter)
        scale = truth.cv * 1e6 / SECONDS_PER_YEAR / truth.diameter**2
        bare = truth.v100 * truth.degree(truth.times)
        truth = replace(truth, volumes=np.round((bare + RNG.normal(0, 0.006, len(bare))), 2))

        def pace(t: float, truth=truth, rates=rates, weights=weights, scale=scale) -> float:
            flow = float(weights @ (rates * np.exp(-rates * scale * t))) * scale * truth.v100
            return flow - 0.001 / 3600 * truth.volume

        if pace(0.3 * truth.ends) < 0:
            continue
        at = optimize.brentq(pace, 0.3 * truth.ends, 20 * truth.ends)
        found = truth.forecast(0.6 * at, end="flow 0.1 %/h")
        if found.at is not None and len(truth.times[truth.times < 0.6 * at]) > 8:
            errors.append(abs(found.at - 1000 - at) / (0.4 * at))
            inside.append(found.earliest <= 1000 + at <= found.latest)
    assert len(errors) >= 15
    assert np.mean(inside) >= 0.7
    assert np.median(errors) < 0.25


def test_a_sand_is_done_before_the_first_reading() -> None:
    found = of(1.2 + NOISE)
    assert found.latest < TIMES[3]
    assert found.progress == 1.0
    assert found.U_now > 0.95


def test_readings_after_now_and_bad_ones_change_nothing() -> None:
    truth = well_read(40, "radial")
    plain = truth.forecast(0.6 * truth.ends)
    later = consolidation(
        1000.0, 1000 + truth.times, truth.volumes, now=1000 + 0.6 * truth.ends,
        drainage="radial", height_mm=truth.height, diameter_mm=truth.diameter,
        volume_ml=truth.volume, end="dissipation 95 %",
    )  # fmt: skip
    assert later == plain
    keep = truth.times <= 0.6 * truth.ends
    mixed = np.append(truth.times[keep], [50.0, np.nan, -20.0])
    broken = np.append(truth.volumes[keep], [np.nan, 3.0, 9.0])
    same = consolidation(
        1000.0, 1000 + mixed, broken, now=1000 + 0.6 * truth.ends,
        drainage="radial", height_mm=truth.height, diameter_mm=truth.diameter,
        volume_ml=truth.volume, end="dissipation 95 %",
    )  # fmt: skip
    assert same == plain


def test_a_night_of_readings_is_not_heard_more_than_the_first_hour() -> None:
    """The same curve read 20 times as often late: the forecast hardly moves."""
    truth = well_read(52, "both ends")
    few = np.geomspace(10, 0.7 * truth.ends, 30)
    many = np.sort(np.append(few, np.linspace(0.5, 0.7, 250) * truth.ends))
    one, other = (
        of(
            truth.v100 * truth.degree(times), times, height_mm=truth.height,
            diameter_mm=truth.diameter, volume_ml=truth.volume,
        )
        for times in (few, many)
    )  # fmt: skip
    # Not exactly: a mean of many is better known than one reading, if not as much as they are many.
    assert other.at == pytest.approx(one.at, rel=0.03)
    assert other.latest - other.earliest > 0.5 * (one.latest - one.earliest)


def test_curve_passes_through_the_readings() -> None:
    truth = well_read(61, "radial + one end")
    found = truth.forecast(0.9 * truth.ends)
    times, volumes = np.array(found.curve).T
    keep = truth.times <= 0.9 * truth.ends
    off = np.interp(truth.times[keep], times, volumes) - truth.volumes[keep]
    assert np.sqrt(np.mean(off**2)) < 0.02 * truth.v100
    assert found.v100 == pytest.approx(truth.v100, rel=0.06)
    assert found.t50_s < found.t90_s < found.t95_s


def test_refusals() -> None:
    with pytest.raises(ReductionError, match="one length"):
        of(np.zeros(3))
    with pytest.raises(ReductionError, match="drainage is"):
        of(NOISE, drainage="sideways")
    with pytest.raises(ReductionError, match="diameter is 0 mm"):
        of(NOISE, diameter_mm=0.0)


def test_cost_of_a_call() -> None:
    """At most 20 ms of CPU with 300 readings, the fastest of ten.

    It is computed off the thread that draws, and only as the time of a phase has grown by a
    hundredth; weighing shapes, creep and the moment of opening costs three times what one curve
    for each cv did (5 ms).
    """
    times = np.linspace(20, 20000, 300)
    volumes = 2.0 * np.sqrt(times / 20000)
    spent = []
    for _ in range(10):
        start = process_time()
        of(volumes, times)
        spent.append(process_time() - start)
    assert min(spent) < 0.020
