"""Each caution comes when it should, and a test without fault has none."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from rehearsed_record import record_of_run

from reduce.record import Record
from reduce.reduction.caution import Caution
from reduce.reduction.cautions import cautions_of
from reduce.reduction.stages import reduce_stages
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.readings import ReadingPlan
from reduce.rehearsal.soils import SOILS
from reduce.rehearsal.technician import Technician


@pytest.fixture(scope="module")
def good() -> Record:
    """A slow undrained test of a stiff clay that drains at one end, read without error."""
    plan = TestPlan(
        "C1", SOILS["silty-clay"], drainage="one end", effective_kPa=200.0, rate_percent_min=0.0005,
    )  # fmt: skip
    dense = ReadingPlan(log_ratio=1.2, log_slots=64)
    return record_of_run(Technician(plan).work(), None, dense)


def found(record: Record) -> tuple[Caution, ...]:
    return cautions_of(record, reduce_stages(record))


def shifted(record: Record, channel: str, change: Callable[[np.ndarray], np.ndarray]) -> Record:
    channels = dict(record.channels)
    channels[channel] = change(channels[channel])
    return replace(record, channels=channels)


def without(record: Record, channel: str) -> Record:
    kept = {name: column for name, column in record.channels.items() if name != channel}
    return replace(record, channels=kept)


def checks_of(record: Record, b: float, *, settled: bool = True) -> Record:
    last = record.checks[-1]
    spoilt = replace(last, delta_pore_kPa=b * last.delta_cell_kPa, settled=settled)
    return replace(record, checks=(*record.checks[:-1], spoilt))


def specimen(record: Record, **changes: object) -> Record:
    return replace(record, specimen=replace(record.specimen, **changes))  # type: ignore[arg-type]


def running(record: Record) -> Record:
    """As it stood in the middle of its shear."""
    zero = record.zero_strain_s
    assert zero is not None
    stages = tuple(s for s in record.stages if s.name != "ended")
    stages = (*stages[:-1], replace(stages[-1], end_s=None))
    end = record.begin_of("ended")
    assert end is not None
    keep = record.times_s < (zero + end) / 2.0
    return replace(
        record,
        stages=stages,
        times_s=record.times_s[keep],
        channels={name: column[keep] for name, column in record.channels.items()},
        valve_open=None,
    )


CASES: dict[str, tuple[Callable[[Record], Record], str]] = {
    "no standard": (lambda r: replace(r, standard=None), "no standard is stated"),
    "BS membrane": (lambda r: replace(r, standard="BS 1377-8"), "figure 4"),
    "short": (lambda r: specimen(r, heights_mm=(80.0,)), "height over diameter is 1.60"),
    "crooked": (lambda r: specimen(r, diameters_mm=(47.0, 50.0, 53.0)), "a reading of the diam"),
    "grains assumed": (lambda r: specimen(r, particle_density_assumed=True), "is assumed"),
    "too heavy": (lambda r: specimen(r, mass_g=450.0), "degree of saturation at set-up is 1."),
    "dry above moist": (lambda r: specimen(r, dry_mass_g=900.0), "moist mass is"),
    "no checks": (lambda r: replace(r, checks=()), "no B check was found"),
    "B low": (lambda r: checks_of(r, 0.8), "B is 0.800 at consolidation, below 0.95"),
    "B high": (lambda r: checks_of(r, 1.05), "B is 1.050, above 1.02"),
    "B unsettled": (lambda r: checks_of(r, 0.96, settled=False), "had not settled"),
    "no drainage": (lambda r: specimen(r, drainage=None), "drainage of the specimen is not stated"),
    "no pore": (lambda r: without(r, "pore_pressure"), "pore_pressure was not read"),
    "no volume": (lambda r: without(r, "back_volume"), "refer to the specimen at set-up"),
    "no load": (lambda r: without(r, "axial_load"), "axial_load was not read"),
    "swelled": (
        lambda r: shifted(r, "back_volume", lambda v: -v),
        "took in",
    ),
    "other stress": (
        lambda r: replace(r, planned=replace(r.planned, effective_stress_kPa=150.0)),
        "150 kPa was planned",
    ),
    "missed": (
        lambda r: replace(r, missed_readings={"consolidation": 3}),
        "3 scheduled readings of consolidation are missing",
    ),
    "edited": (lambda r: replace(r, edited_logs=("a.csv was changed",)), "a.csv was changed"),
    "running": (running, "the shear is running, at 7."),
    "too short": (
        lambda r: replace(r, planned=replace(r.planned, strain_limit=0.2)),
        "below the limit of 20 %",
    ),
    "too fast": (
        lambda r: replace(r, times_s=np.where(
            r.times_s > (r.zero_strain_s or 0.0),
            (r.zero_strain_s or 0.0) + (r.times_s - (r.zero_strain_s or 0.0)) / 50.0,
            r.times_s,
        ), stages=tuple(s for s in r.stages if s.name != "ended")),
        "that failure should take",
    ),
    "seated": (
        lambda r: shifted(r, "axial_load", lambda load: load + 30.0),
        "at zero strain already",
    ),
    "extension": (
        lambda r: shifted(r, "axial_load", lambda load: -load),
        "no peak_deviator",
    ),
    "unsettled consolidation": (
        lambda r: shifted(r, "pore_pressure", lambda u: u + np.where(
            (r.times_s > (r.zero_consolidation_s or 0.0)), 0.2 * (u.max() - u.min()), 0.0)),
        "of the excess pore pressure had dissipated",
    ),
    "ram driven": (
        lambda r: shifted(r, "axial_displacement", lambda d: d + np.where(
            r.times_s > (r.zero_consolidation_s or 0.0) + 600.0, 9.0, 0.0)),
        "moved by more than the specimen can have shortened",
    ),
    "water astray": (
        lambda r: specimen(r, final_water_content=0.10),
        "water read and water weighed differ",
    ),
}  # fmt: skip


def test_a_test_without_fault_has_none(good: Record) -> None:
    assert [caution.what for caution in found(good)] == []


@pytest.mark.parametrize("name", sorted(CASES))
def test_a_fault_is_said(good: Record, name: str) -> None:
    spoil, words = CASES[name]
    said = found(spoil(good))
    assert any(words in caution.what for caution in said), [caution.what for caution in said]
    assert all(caution.clause for caution in said)


@pytest.mark.parametrize(
    ("b", "settled", "accepted", "told"),
    [
        (0.90, True, True, "B is 0.900, below 0.95, and was taken as it is: K. Berg: stiff"),
        (0.90, False, False, "which does not hold for this one: K. Berg: stiff"),
        (1.05, True, False, "which does not hold for this one: K. Berg: stiff"),
    ],
)
def test_a_person_takes_a_low_b_and_no_other(
    good: Record, b: float, settled: bool, accepted: bool, told: str
) -> None:
    record = replace(checks_of(good, b, settled=settled), taken_below_target="K. Berg: stiff")
    stages = reduce_stages(record)
    assert stages.saturation is not None
    assert stages.saturation.accepted is accepted
    whats = [caution.what for caution in cautions_of(record, stages)]
    assert [what for what in whats if "K. Berg" in what] == [what for what in whats if told in what]
    assert any(told in what for what in whats)


def test_a_person_takes_no_b_where_none_was_measured(good: Record) -> None:
    record = replace(good, checks=(), taken_below_target="K. Berg: stiff")
    saturation = reduce_stages(record).saturation
    assert saturation is not None
    assert saturation.accepted is False
