"""What a standard, or a careful colleague, would question about a test.

Limits of standards are from memory: "after" a standard is no statement that the test complies.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from reduce.acceptance import B_TOO_HIGH
from reduce.record import Record
from reduce.reduction.caution import COMMON_PRACTICE, Caution, percent
from reduce.reduction.cautions_of_loading import of_consolidation, of_shear
from reduce.reduction.cautions_of_readings import of_readings
from reduce.reduction.results import SaturationReduced
from reduce.reduction.stages import Stages
from reduce.shearing.corrections import BS_MEMBRANE_STANDS_IN

MEANT_FOR = {
    "ASTM D4767": ("CU",),
    "ASTM D7181": ("CD",),
    "ASTM D2850": ("UU",),
    "ISO 17892-8": ("UU",),
    "ISO 17892-9": ("CU", "CD"),
    "BS 1377-8": ("CU", "CD"),
}
"""Kinds of test by standard."""
SLENDERNESS = {"ISO 17892-8": (1.8, 2.5), "ISO 17892-9": (1.8, 2.5)}
"""H/D by standard; others 2 to 2.5."""
MUST_BE_FULL = 1.03
"""A degree of saturation above this says that the masses are wrong. [-]"""
TRIMMINGS = 0.1
"""Water content of the trimmings this far from the specimen's own: common practice. [-]"""
BALANCE = 0.02
"""Water that went astray, as a share of the specimen's volume. [-]"""


def cautions_of(
    record: Record, stages: Stages, unstable: tuple[str, ...] = ()
) -> tuple[Caution, ...]:
    """Everything to be questioned about a test, in the order of its stages.

    Args:
        record: the test.
        stages: as they were reduced from it.
        unstable: names of numbers that readings a little different do not give.
    """
    found = [
        *_of_standard(record),
        *_of_channels(record, stages),
        *_of_specimen(record, stages),
        *_of_saturation(record, stages.saturation, begun=stages.curve is not None),
        *of_consolidation(record, stages),
        *of_shear(record, stages),
        *of_readings(record, stages),
        *_of_masses(stages),
    ]
    told = (*record.edited_logs, *record.moved_zeros, *stages.failed)
    found += [Caution(what, COMMON_PRACTICE) for what in told]
    if unstable:
        names = ", ".join(unstable[:6]) + (" …" if len(unstable) > 6 else "")
        what = f"readings a little different give no such number, so it has no ±: {names}"
        found.append(Caution(what, COMMON_PRACTICE))
    return tuple(found)


def of_shear_alone(record: Record, stages: Stages) -> frozenset[Caution]:
    """What is to be questioned about the shear, and is no matter of the phases before it."""
    before = set(of_readings(record, replace(stages, sheared=None)))
    readings = (caution for caution in of_readings(record, stages) if caution not in before)
    return frozenset((*of_shear(record, stages), *readings))


def _of_standard(record: Record) -> Iterator[Caution]:
    if record.standard is None:
        yield Caution(
            f"no standard is stated; reduced after {record.followed_standard}", COMMON_PRACTICE
        )
    meant = MEANT_FOR.get(record.followed_standard)
    if meant is not None and record.kind not in meant:
        yield Caution(
            f"{record.followed_standard} is for {' and '.join(meant)} tests; this one is "
            f"{record.kind}: kind or standard is wrong",
            f"after {record.followed_standard}, scope",
        )
    if record.standard == "BS 1377-8" and record.specimen.membrane is not None:
        yield Caution(BS_MEMBRANE_STANDS_IN, "after BS 1377-8, membrane correction")


NEEDED = {
    "cell_pressure": "phases that are not marked, B, effective and principal stresses",
    "pore_pressure": "B, effective stresses, A",
    "back_pressure": "at which back pressure B was measured",
    "back_volume": "consolidation, volumetric strain and dimensions after it",
    "axial_displacement": "strain and corrected area",
    "axial_load": "the deviator",
}
"""By channel: what cannot be told without it."""


def not_read(record: Record) -> list[str]:
    """Channels that a test of this kind needs and that no reading was taken of."""
    wanted = ("cell_pressure", *(() if record.kind == "UU" else NEEDED))
    return [name for name in dict.fromkeys(wanted) if np.isnan(record.column(name)).all()]


def _of_channels(record: Record, stages: Stages) -> Iterator[Caution]:
    for name, what in NEEDED.items():
        shear_only = name.startswith("axial")
        consolidated = not shear_only and name != "cell_pressure"
        if not np.isnan(record.column(name)).all() or (
            shear_only and record.begin_of("shear") is None
        ):
            continue
        if (record.kind == "UU" and consolidated) or (name == "pore_pressure" and _drained(record)):
            continue
        yield Caution(f"{name} was not read, which is needed for {what}", COMMON_PRACTICE)
    if stages.shear is not None and stages.dimensions is None and record.kind != "UU":
        yield Caution(
            "the specimen after consolidation cannot be told: strains, areas and stresses of "
            "shear refer to the specimen at set-up",
            COMMON_PRACTICE,
        )


def _drained(record: Record) -> bool:
    """Whether back pressure can stand for pore pressure all along."""
    return record.kind == "CD" and "back_pressure" in record.channels and not record.checks


def _of_specimen(record: Record, stages: Stages) -> Iterator[Caution]:
    standard, specimen = record.followed_standard, stages.specimen
    low, high = SLENDERNESS.get(standard, (2.0, 2.5))
    slenderness = specimen.height_mm / specimen.diameter_mm
    if not low - 0.005 <= slenderness <= high + 0.005:
        yield Caution(
            f"height over diameter is {slenderness:.2f}; it should be {low:g} to {high:g}",
            f"after {standard}, specimen dimensions",
        )
    for name, readings in (
        ("diameter", record.specimen.diameters_mm),
        ("height", record.specimen.heights_mm),
    ):
        mean = sum(readings) / len(readings)
        worst = max(abs(one - mean) for one in readings) / mean
        if worst > 0.05:
            yield Caution(
                f"a reading of the {name} lies {percent(worst)} off the mean of {mean:.1f} mm; "
                "it should be within 5 %",
                f"after {standard}, specimen dimensions",
            )
    if record.specimen.particle_density_assumed:
        yield Caution("the particle density is assumed, not measured", COMMON_PRACTICE)
    yield from _of_trimmings(record, specimen.water_content)
    if specimen.saturation is not None and specimen.saturation > MUST_BE_FULL:
        yield Caution(
            f"degree of saturation at set-up is {specimen.saturation:.3f}; more than "
            f"{MUST_BE_FULL:g} says that mass, water content, dimensions or particle density "
            "is wrong",
            COMMON_PRACTICE,
        )


def _of_trimmings(record: Record, own: float | None) -> Iterator[Caution]:
    """Whether both ways to the water content agree."""
    given = record.specimen
    if own is None or given.water_content is None or None in (given.mass_g, given.dry_mass_g):
        return
    if abs(given.water_content - own) > TRIMMINGS * max(own, TRIMMINGS):
        yield Caution(
            f"water content by moist and dry mass is {percent(own)}, that of the trimmings "
            f"{percent(given.water_content)}: a mass is wrong, or the trimmings are no sample of "
            "the specimen",
            COMMON_PRACTICE,
        )


def _of_saturation(
    record: Record, found: SaturationReduced | None, *, begun: bool
) -> Iterator[Caution]:
    if record.kind == "UU":
        return
    standard = record.followed_standard
    if found is None or found.B is None:
        if begun:
            yield Caution(
                "no B check was found before consolidation", f"after {standard}, saturation"
            )
        return
    if found.degree_by_inflow is not None and found.degree_by_inflow > MUST_BE_FULL:
        yield Caution(
            f"water that flowed in would fill the voids to {percent(found.degree_by_inflow)}: "
            "lines and discs took some of it, or a line leaks",
            COMMON_PRACTICE,
        )
    last = found.checks[-1]
    if found.taken_below_target is not None and found.ground in ("not settled", "too high"):
        yield Caution(
            "B was taken below its target, which does not hold for this one: "
            f"{found.taken_below_target}",
            COMMON_PRACTICE,
        )
    if found.B > B_TOO_HIGH:
        yield Caution(
            f"B is {found.B:.3f}, above {B_TOO_HIGH:g}: cell fluid leaks in, a gauge has a wrong "
            "zero, or cell pressure still rose",
            "after ASTM D4767, B check" if standard.startswith("ASTM") else COMMON_PRACTICE,
        )
    if not last.settled:
        yield Caution(
            "pore pressure had not settled in the last B check; its B is no pass",
            f"after {standard}, saturation",
        )
    elif found.taken_below_target is not None and found.ground == "below target":
        yield Caution(
            f"B is {found.B:.3f}, below {found.b_target:g}, and was taken as it is: "
            f"{found.taken_below_target}",
            f"against {standard}, saturation; the engineer's judgement",
        )
    elif not found.accepted and found.B <= B_TOO_HIGH and begun:
        yield Caution(
            f"B is {found.B:.3f} at consolidation, below {found.b_target:g}, and was not unchanged "
            "over further increments",
            f"after {standard}, saturation",
        )
    elif found.ground == "unchanged":
        yield Caution(
            f"B is {found.B:.3f}, below {found.b_target:g}, accepted as unchanged over further "
            "increments of back pressure",
            f"after {standard}, saturation",
        )


def _of_masses(stages: Stages) -> Iterator[Caution]:
    after, volume = stages.after_test, stages.specimen.volume_ml
    if after.saturation is not None and after.saturation > MUST_BE_FULL:
        yield Caution(
            f"degree of saturation after the test is {after.saturation:.3f}; more than "
            f"{MUST_BE_FULL:g} says that a mass or a volume change is wrong",
            COMMON_PRACTICE,
        )
    if after.water_balance_ml is not None and abs(after.water_balance_ml) > BALANCE * volume:
        yield Caution(
            f"water read and water weighed differ by {after.water_balance_ml:+.2f} ml, "
            f"{percent(abs(after.water_balance_ml) / volume)} of the specimen's volume",
            COMMON_PRACTICE,
        )
