"""A reduction as a page for a person: every number with its unit, its uncertainty, its origin."""

from collections.abc import Iterator
from datetime import tzinfo
from typing import TYPE_CHECKING

from tui.commands.page import SIGNED, Page
from tui.commands.sheared_text import print_shear
from tui.words import SAFETY, Manner, date_and_time, measured
from tui.words.reduced import BELOW_TARGET, GROUND_WORDS, METHOD_WORDS

if TYPE_CHECKING:
    from reduce.record import Record
    from reduce.reduction.whole import Reduction
    from tui.bench.one_test import OneTest


def print_reduction(test: "OneTest", found: "Reduction", zone: tzinfo, manner: Manner) -> None:
    """Everything that an engineer needs to redo the numbers, in the order of the test."""
    page = Page(manner, found.uncertainty)
    record = found.record
    named = " · ".join(
        word for word in (record.cell, record.test_id, record.kind) if word is not None
    )
    stated = "" if record.standard else " (assumed: none is stated)"
    page.line(f"{named} · after {record.followed_standard}{stated}", "bold")
    rows = len(record.times_s)
    page.line(f"{rows} readings, {test.unused} rows or fields not used", indent=1)
    _print_specimen(page, found)
    _print_saturation(page, found, zone)
    _print_consolidation(page, found, zone)
    print_shear(page, found, zone)
    _print_after(page, found)
    if found.cautions:
        page.head("cautions")
        for caution in found.cautions:
            page.line(f"△ {caution.what} ({caution.clause})", indent=1)
    page.blank()
    page.line("± is one standard uncertainty, from the readings and the usual calibration.")
    page.line(f"{SIGNED} {SAFETY}")


def _print_specimen(page: Page, found: "Reduction") -> None:
    specimen = found.stages.specimen
    page.head("specimen at set-up")
    slenderness = specimen.height_mm / specimen.diameter_mm
    pairs = [
        ("height", "height_mm", "mm"),
        ("diameter", "diameter_mm", "mm"),
        ("area", "area_mm2", "mm²"),
        ("volume", "volume_ml", "ml"),
        ("moist density", "moist_density_Mg_m3", "Mg/m³"),
        ("dry density", "dry_density_Mg_m3", "Mg/m³"),
        ("water content", "water_content", "%"),
        ("void ratio", "void_ratio", ""),
        ("degree of saturation", "saturation", "%"),
    ]
    rows = [
        (label, page.value(f"specimen.{name}", getattr(specimen, name), unit))
        for label, name, unit in pairs
    ]
    page.rows([*rows[:2], ("height over diameter", f"{slenderness:.2f}"), *rows[2:]])
    page.line("; ".join(_around(page, found.record)), indent=1)


def _around(page: Page, record: "Record") -> Iterator[str]:
    """What was given beside the readings and goes into the numbers."""
    given, piston = record.specimen, record.rig.piston
    if given.particle_density_Mg_m3 is not None:
        word = " (assumed)" if given.particle_density_assumed else ""
        yield f"particle density {given.particle_density_Mg_m3:.3f} Mg/m³{word}"
    if record.kind != "UU":
        yield f"drainage {given.drainage or 'not stated'}"
    if given.membrane is not None:
        thick = measured(given.membrane.thickness_mm, None, "mm", page.manner)
        yield f"membrane {thick} of {given.membrane.modulus_kPa:g} kPa"
    if given.side_drains is not None:
        carries = given.side_drains.load_per_perimeter_kN_m
        force = "by the table of the standard" if carries is None else f"{carries:g} kN/m"
        wide = measured(given.side_drains.perimeter_mm, None, "mm", page.manner)
        yield f"side drains over {wide}, {force}"
    if piston is not None:
        freed = ""
        if piston.load_cell == "external":
            at = f" at {piston.zeroed_at_kPa:g} kPa" if "zeroed" in (piston.uplift or "") else ""
            freed = f", uplift {piston.uplift}{at}, friction {piston.friction_N:g} N"
        wide = measured(piston.diameter_mm, None, "mm", page.manner)
        yield f"piston {wide}, load cell {piston.load_cell}{freed}"
    if record.rig.frame_compliance_mm_N:
        yield f"frame gives {record.rig.frame_compliance_mm_N:g} mm/N"


def _print_saturation(page: Page, found: "Reduction", zone: tzinfo) -> None:
    saturation = found.stages.saturation
    if saturation is None:
        return
    page.head("saturation")
    page.rows(
        (
            (
                date_and_time(check.at_s, zone),
                page.value("", check.back_pressure_kPa, "kPa", bare=True),
                page.value("", check.delta_cell_kPa, "kPa", bare=True),
                page.value("", check.delta_pore_kPa, "kPa", bare=True),
                f"{check.B:.3f}",
                f"{check.B_last:.3f}",
                "settled" if check.settled else "not settled",
            )
            for check in saturation.checks
        ),
        (
            "check",
            page.label("back", "kPa"),
            page.label("Δσ3", "kPa"),
            page.label("Δu", "kPa"),
            "B",
            "B last",
            "",
        ),
    )
    verdict = "accepted" if saturation.accepted else "not accepted"
    ground = GROUND_WORDS[saturation.ground]
    if saturation.taken_below_target is not None and saturation.ground == BELOW_TARGET:
        ground += f", taken as it is by {saturation.taken_below_target}"
    rows = [
        (
            "B before consolidation" if found.stages.curve else "B of the latest check",
            page.value("saturation.B", saturation.B, ""),
        ),
        ("saturation", f"{verdict}: {ground}"),
        ("target of B", f"{saturation.b_target:g}"),
        ("B of this soil if saturated", page.value("", saturation.B_of_saturated_soil, "")),
        ("degree at set-up", page.value("", saturation.degree_at_set_up, "%")),
        ("degree by B, at least", page.value("", saturation.degree_by_B, "%")),
        ("degree by inflow", page.value("", saturation.degree_by_inflow, "%")),
        (
            "back pressure for S = 1 (Boyle, Henry)",
            page.value("", saturation.back_pressure_to_saturate_kPa, "kPa"),
        ),
        ("back pressure reached", page.value("", saturation.back_pressure_kPa, "kPa")),
        ("inflow", page.value("saturation.inflow_ml", saturation.inflow_ml, "ml")),
        ("volume change by height", page.value("", saturation.volume_change_ml, "ml")),
    ]
    page.rows(row for row in rows if row[1] != page.nothing)
    if saturation.solution:
        page.line(saturation.solution, indent=1)


def _print_consolidation(page: Page, found: "Reduction", zone: tzinfo) -> None:
    consolidation = found.stages.consolidation
    if consolidation is None:
        return
    page.head("consolidation")
    end = "at the end" if found.stages.shear or consolidation.ended else "so far"
    zero = found.record.zero_consolidation_s
    if zero is not None:
        page.line(f"counted from {date_and_time(zero, zone)}", indent=1)
    units = {
        "effective_stress_kPa": (f"effective stress {end}", "kPa"),
        "volume_change_ml": ("volume change", "ml"),
        "volumetric_strain": ("volumetric strain", "%"),
        "height_mm": ("height after", "mm"),
        "area_mm2": ("area after", "mm²"),
        "volume_ml": ("volume after", "ml"),
        "void_ratio": ("void ratio after", ""),
        "dry_density_Mg_m3": ("dry density after", "Mg/m³"),
        "dissipation": ("dissipation of pore pressure", "%"),
        "mv_m2_per_MN": ("mv", "m²/MN"),
        "permeability_m_per_s": ("k = cv mv γw, as warm as the test", "m/s"),
        "cv_at_20_C_m2_per_year": ("cv at 20 °C", "m²/year"),
    }
    page.rows(
        (label, page.value(f"consolidation.{name}", getattr(consolidation, name), unit))
        for name, (label, unit) in units.items()
    )
    if consolidation.dimensions_by is not None:
        page.line(f"dimensions: {METHOD_WORDS[consolidation.dimensions_by]}", indent=1)
        page.rows(
            (
                (
                    METHOD_WORDS[name],
                    page.value("", one.height_mm, "mm"),
                    page.value("", one.area_mm2, "mm²"),
                    page.value("", one.volume_ml, "ml"),
                )
                for name, one in consolidation.dimensions.items()
            ),
            ("", "height", "area", "volume"),
        )
    numbers = {"t50_min": "min", "t90_min": "min", "t100_min": "min", "cv_m2_per_year": "m²/year"}
    methods = consolidation.methods
    rows = [
        (
            METHOD_WORDS[method],
            *(
                page.value(
                    f"consolidation.methods.{method}.{name}",
                    getattr(getattr(methods, method), name, None),
                    unit,
                    bare=True,
                )
                for name, unit in numbers.items()
            ),
        )
        for method in ("root_time", "log_time", "fit")
    ]
    rows.append(
        (
            "after the standard",
            *(
                page.value(f"consolidation.{name}", getattr(consolidation, name), unit, bare=True)
                for name, unit in numbers.items()
            ),
        )
    )
    heads = (page.label(name.split("_")[0], unit) for name, unit in numbers.items())
    page.rows(rows, ("", *heads))
    page.line(
        f"drainage: {methods.root_time.drainage or 'not stated'}; cv from "
        f"{METHOD_WORDS[consolidation.headline_from['cv_m2_per_year']]}",
        indent=1,
    )


def _print_after(page: Page, found: "Reduction") -> None:
    after = found.stages.after_test
    if after.water_content is None:
        return
    page.head("after the test")
    page.rows(
        (
            ("water content", page.value("", after.water_content, "%")),
            ("void ratio by volumes", page.value("", after.void_ratio, "")),
            ("void ratio by water, w Gs", page.value("", after.void_ratio_if_full, "")),
            ("dry density", page.value("", after.dry_density_Mg_m3, "Mg/m³")),
            ("moist density", page.value("", after.moist_density_Mg_m3, "Mg/m³")),
            ("degree of saturation", page.value("", after.saturation, "%")),
            ("water content that fills all voids", page.value("", after.water_content_full, "%")),
            ("water in it by the readings", page.value("", after.water_read_ml, "ml")),
            ("water in it as weighed", page.value("", after.water_weighed_ml, "ml")),
            ("water read less water weighed", page.value("", after.water_balance_ml, "ml")),
        )
    )
