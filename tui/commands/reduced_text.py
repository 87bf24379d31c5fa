"""A reduction as a page for a person: every number with its unit, its uncertainty, its origin."""

import shutil
import sys
from collections.abc import Iterable, Sequence
from datetime import tzinfo
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from tui.words import SAFETY, Manner, date_and_time, measured, plain, sanitise

if TYPE_CHECKING:
    from reduce.reduction.whole import Reduction
    from tui.bench.one_test import OneTest

SIGNED = "A draft: no number here replaces the judgement of the engineer who signs."
WIDTH = 100
"""Where there is no terminal. [columns]"""

METHOD_WORDS = {
    "root_time": "root time",
    "log_time": "log time",
    "fit": "fit of the exact series",
    "method_a": "method A after ASTM D4767",
    "method_b": "method B after ASTM D4767",
    "isotropic": "equal strain in all directions, after BS 1377-8",
}
GROUND_WORDS = {
    "no check": "no check was made",
    "not settled": "pore pressure had not settled",
    "too high": "B is too high",
    "target": "target reached",
    "unchanged": "unchanged over further increments",
    "below target": "below the target",
}


class Page:
    """A console that writes to standard output in the user's manner."""

    def __init__(self, manner: Manner, uncertainty: "Reduction | None" = None) -> None:
        terminal = sys.stdout.isatty()
        width = shutil.get_terminal_size((WIDTH, 24)).columns if terminal else WIDTH
        self.manner = manner
        self._known = uncertainty.uncertainty if uncertainty is not None else {}
        self._console = Console(
            width=max(width, 40),
            no_color=not manner.colour,
            force_terminal=manner.colour,
            highlight=False,
            legacy_windows=False,
        )

    def line(self, words: str, style: str = "", indent: int = 0) -> None:
        """One line, wrapped; nothing in it is markup."""
        text = Text(plain(sanitise(words), self.manner), style=style)
        self._console.print(Padding(text, (0, 0, 0, indent), expand=False))

    def blank(self) -> None:
        """A line with nothing on it."""
        self._console.print()

    def head(self, words: str) -> None:
        """The title of a part."""
        self.blank()
        self.line(words, "bold")

    def value(self, name: str, value: float | None, unit: str) -> str:
        """A number of the reduction by its dotted name, with its uncertainty."""
        return measured(value, self._known.get(name), unit, self.manner)

    def rows(self, rows: Iterable[Sequence[str]], heads: Sequence[str] = ()) -> None:
        """A table without lines."""
        table = Table(box=None, show_header=bool(heads), header_style="dim", pad_edge=False)
        listed = [[plain(sanitise(one), self.manner) for one in row] for row in rows]
        if not listed:
            return
        table.add_column("")
        for number in range(len(listed[0])):
            head = plain(heads[number], self.manner) if heads else ""
            table.add_column(Text(head), justify="left" if number == 0 else "right")
        for row in listed:
            table.add_row("", *(Text(one) for one in row))
        self._console.print(table)


def print_reduction(test: "OneTest", found: "Reduction", zone: tzinfo, manner: Manner) -> None:
    """Everything that an engineer needs to redo the numbers, in the order of the test."""
    page = Page(manner, found)
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
    _print_consolidation(page, found)
    _print_shear(page, found)
    _print_after(page, found)
    if found.cautions:
        page.head("cautions")
        for caution in found.cautions:
            page.line(f"△ {caution.what} ({caution.clause})", indent=1)
    page.blank()
    page.line("± is one standard uncertainty, from the readings and the usual calibration.")
    page.line(f"{SIGNED} {SAFETY}")


def _print_specimen(page: Page, found: "Reduction") -> None:
    specimen, given = found.stages.specimen, found.record.specimen
    page.head("specimen at set-up")
    pairs = [
        ("height", "height_mm", "mm"),
        ("diameter", "diameter_mm", "mm"),
        ("area", "area_mm2", "mm²"),
        ("volume", "volume_ml", "ml"),
        ("moist density", "moist_density_Mg_m3", "Mg/m³"),
        ("dry density", "dry_density_Mg_m3", "Mg/m³"),
        ("water content", "water_content", ""),
        ("void ratio", "void_ratio", ""),
        ("degree of saturation", "saturation", ""),
    ]
    page.rows(
        (label, page.value(f"specimen.{name}", getattr(specimen, name), unit))
        for label, name, unit in pairs
    )
    if given.particle_density_Mg_m3 is not None:
        word = " (assumed)" if given.particle_density_assumed else ""
        page.line(f"particle density {given.particle_density_Mg_m3:.3f} Mg/m³{word}", indent=1)


def _print_saturation(page: Page, found: "Reduction", zone: tzinfo) -> None:
    saturation = found.stages.saturation
    if saturation is None:
        return
    page.head("saturation")
    page.rows(
        (
            (
                date_and_time(check.at_s, zone),
                page.value("", check.back_pressure_kPa, "kPa"),
                page.value("", check.delta_cell_kPa, "kPa"),
                page.value("", check.delta_pore_kPa, "kPa"),
                f"{check.B:.3f}",
                f"{check.B_last:.3f}",
                "settled" if check.settled else "not settled",
            )
            for check in saturation.checks
        ),
        ("check", "back pressure", "Δσ3", "Δu", "B", "B last", ""),
    )
    verdict = "accepted" if saturation.accepted else "not accepted"
    rows = [
        ("B before consolidation", page.value("saturation.B", saturation.B, "")),
        ("saturation", f"{verdict}: {GROUND_WORDS[saturation.ground]}"),
        ("target of B", f"{saturation.b_target:g}"),
        ("B of this soil if saturated", page.value("", saturation.B_of_saturated_soil, "")),
        ("degree at set-up", page.value("", saturation.degree_at_set_up, "")),
        ("degree by B", page.value("", saturation.degree_by_B, "")),
        ("degree by inflow", page.value("", saturation.degree_by_inflow, "")),
        (
            "back pressure for S = 1 (Boyle, Henry)",
            page.value("", saturation.back_pressure_to_saturate_kPa, "kPa"),
        ),
        ("back pressure reached", page.value("", saturation.back_pressure_kPa, "kPa")),
        ("inflow", page.value("saturation.inflow_ml", saturation.inflow_ml, "ml")),
        ("volume change by height", page.value("", saturation.volume_change_ml, "ml")),
    ]
    page.rows(rows)
    if saturation.solution:
        page.line(saturation.solution, indent=1)


def _print_consolidation(page: Page, found: "Reduction") -> None:
    consolidation = found.stages.consolidation
    if consolidation is None:
        return
    page.head("consolidation")
    units = {
        "effective_stress_kPa": ("effective stress at the end", "kPa"),
        "volume_change_ml": ("volume change", "ml"),
        "volumetric_strain": ("volumetric strain", ""),
        "height_mm": ("height after", "mm"),
        "area_mm2": ("area after", "mm²"),
        "volume_ml": ("volume after", "ml"),
        "void_ratio": ("void ratio after", ""),
        "dry_density_Mg_m3": ("dry density after", "Mg/m³"),
        "dissipation": ("dissipation of pore pressure", ""),
        "mv_m2_per_MN": ("mv", "m²/MN"),
        "permeability_m_per_s": ("k = cv mv γw", "m/s"),
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
    numbers = ("t50_min", "t90_min", "t100_min", "cv_m2_per_year")
    methods = consolidation.methods
    rows = [
        (
            METHOD_WORDS[method],
            *(
                page.value(
                    f"consolidation.methods.{method}.{name}",
                    getattr(getattr(methods, method), name, None),
                    "",
                )
                for name in numbers
            ),
        )
        for method in ("root_time", "log_time", "fit")
    ]
    rows.append(
        (
            "reported after the standard",
            *(
                page.value(f"consolidation.{name}", getattr(consolidation, name), "")
                for name in numbers
            ),
        )
    )
    page.rows(rows, ("", "t50 [min]", "t90 [min]", "t100 [min]", "cv [m²/year]"))
    page.line(
        f"drainage: {methods.root_time.drainage or 'not stated'}; cv from "
        f"{METHOD_WORDS[consolidation.headline_from['cv_m2_per_year']]}",
        indent=1,
    )


def _print_shear(page: Page, found: "Reduction") -> None:
    shear = found.stages.shear
    if shear is None:
        return
    page.head("shear")
    page.rows(
        (
            ("cell pressure at zero strain", page.value("", shear.cell_pressure_kPa, "kPa")),
            ("pore pressure at zero strain", page.value("", shear.pore_pressure_kPa, "kPa")),
            ("effective stress at zero strain", page.value("", shear.effective_stress_kPa, "kPa")),
            ("rate of strain", page.value("", shear.rate_percent_per_min, "%/min")),
            ("advised", page.value("", shear.advised_rate_percent_per_min, "%/min")),
            ("greatest strain", page.value("", shear.greatest_strain, "")),
            ("time to the greatest deviator", page.value("", shear.minutes_to_peak, "min")),
            ("E50, secant", page.value("shear.E50_MPa", shear.E50_MPa, "MPa")),
            ("E at half of it, tangent", page.value("", shear.E_tangent_MPa, "MPa")),
            (
                "undrained strength",
                page.value("shear.undrained_strength_kPa", shear.undrained_strength_kPa, "kPa"),
            ),
        )
    )
    page.line(f"advice: {shear.advised_by}; corrected area: {shear.area_shape}", indent=1)
    states = {
        "peak_deviator": shear.peak_deviator,
        "peak_ratio": shear.peak_ratio,
        "at_strain_limit": shear.at_strain_limit,
    }
    units = {
        "axial_strain": ("axial strain", ""),
        "deviator_kPa": ("deviator, corrected", "kPa"),
        "pore_kPa": ("pore pressure", "kPa"),
        "excess_pore_kPa": ("excess pore pressure", "kPa"),
        "sigma1_effective_kPa": ("σ′1", "kPa"),
        "sigma3_effective_kPa": ("σ′3", "kPa"),
        "A": ("A", ""),
        "volumetric_strain": ("volumetric strain", ""),
        "membrane_kPa": ("membrane carried", "kPa"),
        "side_drains_kPa": ("side drains carried", "kPa"),
        "uplift_N": ("uplift of the piston taken off", "N"),
    }
    page.rows(
        (
            (
                label,
                *(
                    page.value(f"shear.{criterion}.{name}", getattr(state, name, None), unit)
                    for criterion, state in states.items()
                ),
            )
            for name, (label, unit) in units.items()
        ),
        ("at failure by", "greatest deviator", "greatest ratio", "strain limit"),
    )


def _print_after(page: Page, found: "Reduction") -> None:
    after = found.stages.after_test
    if after.void_ratio is None and after.water_content is None:
        return
    page.head("after the test")
    page.rows(
        (
            ("water content", page.value("", after.water_content, "")),
            ("void ratio", page.value("", after.void_ratio, "")),
            ("degree of saturation", page.value("", after.saturation, "")),
            ("water content that fills all voids", page.value("", after.water_content_full, "")),
            ("water in it by the readings", page.value("", after.water_read_ml, "ml")),
            ("water in it as weighed", page.value("", after.water_weighed_ml, "ml")),
            ("water read less water weighed", page.value("", after.water_balance_ml, "ml")),
        )
    )
