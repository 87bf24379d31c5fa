"""The shear of a reduction as a part of its page."""

from datetime import tzinfo
from typing import TYPE_CHECKING

from tui.commands.page import Page
from tui.words import date_and_time

if TYPE_CHECKING:
    from reduce.reduction.whole import Reduction


def print_shear(page: Page, found: "Reduction", zone: tzinfo) -> None:
    """Rate, stiffness, and the state of the specimen at failure by each criterion."""
    shear = found.stages.shear
    if shear is None:
        return
    page.head("shear")
    zero = found.record.zero_strain_s
    if zero is not None:
        page.line(f"strain counted from {date_and_time(zero, zone)}", indent=1)
    page.rows(
        (
            ("cell pressure at zero strain", page.value("", shear.cell_pressure_kPa, "kPa")),
            ("pore pressure at zero strain", page.value("", shear.pore_pressure_kPa, "kPa")),
            ("effective stress at zero strain", page.value("", shear.effective_stress_kPa, "kPa")),
            ("rate of strain", page.value("", shear.rate_percent_per_min, "%/min")),
            ("the same as travel", page.value("", shear.rate_mm_per_min, "mm/min")),
            ("advised", page.value("", shear.advised_rate_percent_per_min, "%/min")),
            ("advised, as travel", page.value("", shear.advised_rate_mm_per_min, "mm/min")),
            ("greatest strain", page.value("", shear.greatest_strain, "%")),
            ("time to the greatest deviator", page.value("", shear.minutes_to_peak, "min")),
            ("time to the greatest ratio", page.value("", shear.minutes_to_peak_ratio, "min")),
            ("time to the strain limit", page.value("", shear.minutes_to_strain_limit, "min")),
            (
                "time that failure should take",
                page.value("", shear.required_minutes_to_failure, "min"),
            ),
            ("E50, secant", page.value("shear.E50_MPa", shear.E50_MPa, "MPa")),
            ("E at half of it, tangent", page.value("", shear.E_tangent_MPa, "MPa")),
            (
                "undrained strength",
                page.value("shear.undrained_strength_kPa", shear.undrained_strength_kPa, "kPa"),
            ),
        )
    )
    page.line(f"advice: {shear.advised_by}; corrected area: {shear.area_shape}", indent=1)
    heads = {
        "peak_deviator": "greatest deviator",
        "peak_ratio": "greatest ratio",
        "at_strain_limit": "strain limit",
    }
    states = {name: state for name in heads if (state := getattr(shear, name)) is not None}
    units = {
        "axial_strain": ("axial strain", "%"),
        "load_N": ("load on the specimen", "N"),
        "area_mm2": ("corrected area", "mm²"),
        "uncorrected_deviator_kPa": ("load over corrected area", "kPa"),
        "deviator_kPa": ("deviator, corrected", "kPa"),
        "pore_kPa": ("pore pressure", "kPa"),
        "excess_pore_kPa": ("excess pore pressure", "kPa"),
        "sigma1_effective_kPa": ("σ′1", "kPa"),
        "sigma3_effective_kPa": ("σ′3", "kPa"),
        "ratio": ("σ′1/σ′3", ""),
        "centre_kPa": ("s, centre of Mohr's circle", "kPa"),
        "mean_kPa": ("p", "kPa"),
        "mean_effective_kPa": ("p′", "kPa"),
        "centre_effective_kPa": ("s′, of the effective circle", "kPa"),
        "shear_stress_kPa": ("t′, their radius", "kPa"),
        "A": ("A", ""),
        "volumetric_strain": ("volumetric strain", "%"),
        "membrane_kPa": ("membrane carried", "kPa"),
        "side_drains_kPa": ("side drains carried", "kPa"),
        "uplift_N": ("uplift of the piston taken off", "N"),
    }
    told = (
        (
            page.label(label, unit),
            *(
                page.value(f"shear.{criterion}.{name}", getattr(state, name), unit, bare=True)
                for criterion, state in states.items()
            ),
        )
        for name, (label, unit) in units.items()
    )
    head = "greatest so far by" if shear.running else "at failure by"
    page.rows(
        (row for row in told if set(row[1:]) != {page.nothing}),
        (head, *(heads[name] for name in states)),
    )
