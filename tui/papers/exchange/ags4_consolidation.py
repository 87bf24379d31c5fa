"""Saturation and consolidation of one test as rows of AGS4: ESCG and ESCT.

Every number is one of the reduction; what it could not tell stays empty.
"""

from reduce.reduction.ends_of_phases import EndsOfPhases
from tui.papers.exchange.ags4_general import (
    STAGE,
    Handing,
    general_of,
    is_over,
    part,
    percent,
    saturated_how,
    water,
)
from tui.papers.exchange.ags4_text import Row

_METHOD = {"root_time": "root time", "log_time": "log time", "fit": "fit of the series"}


def consolidation_general(handing: Handing, ends: EndsOfPhases) -> Row:
    """The row in ESCG."""
    specimen, saturation = part(handing, "specimen"), part(handing, "saturation")
    settings = handing.subject.settings
    assert settings is not None
    given = settings.specimen
    density = specimen.get("particle_density_Mg_m3")
    cell, back = ends.saturated_cell_kPa, ends.saturated_back_kPa
    gauges = settings.log.channels.get("pore_pressure", ())
    rises = sorted(check["delta_cell_kPa"] for check in saturation.get("checks", ()))
    return {
        **general_of(handing, "ESCG"),
        "ESCG_CELL": "Triaxial cell",
        "ESCG_SDIA": specimen.get("diameter_mm"),
        "ESCG_HIGT": specimen.get("height_mm"),
        "ESCG_MCI": water(specimen.get("water_content")),
        "ESCG_MCF": water(part(handing, "after_test").get("water_content")),
        "ESCG_BDEN": specimen.get("moist_density_Mg_m3"),
        "ESCG_DDEN": specimen.get("dry_density_Mg_m3"),
        "ESCG_PDEN": None
        if density is None
        else f"{'#' if given.particle_density_assumed else ''}{density:.2f}",
        "ESCG_IVR": specimen.get("void_ratio"),
        "ESCG_SATR": percent(specimen.get("saturation")),
        "ESCG_LOAD": "Isotropic, stress controlled",
        "ESCG_DRAG": given.drainage,
        "ESCG_PPM": next((one.measured_at for one in gauges if one.measured_at), None),
        "ESCG_SATM": saturated_how(handing),
        "ESCG_SINC": rises[len(rises) // 2] if rises else None,
        "ESCG_SDIF": None if cell is None or back is None else cell - back,
        "ESCG_CELF": cell,
        "ESCG_BACF": back,
        "ESCG_BVAL": saturation.get("B") if is_over(handing, "saturation") else None,
        "ESCG_SVOL": saturation.get("inflow_ml"),
    }


def consolidation_stage(handing: Handing, ends: EndsOfPhases) -> Row:
    """The row in ESCT."""
    specimen, found = part(handing, "specimen"), part(handing, "consolidation")
    method = found["headline_from"].get("cv_m2_per_year")
    permeability = found.get("permeability_m_per_s")
    return {
        **handing.identity.specimen,
        "ESCT_INCN": STAGE,
        "ESCT_REM": None if found["ended"] else "consolidation lasts: results so far",
        "ESCT_INCC": ends.consolidated_cell_kPa,
        "ESCT_INCB": ends.consolidated_back_kPa,
        "ESCT_PWP0": ends.loaded_pore_kPa,
        "ESCT_PWPF": ends.consolidated_pore_kPa if found["ended"] else None,
        "ESCT_INCF": found.get("effective_stress_kPa") if found["ended"] else None,
        "ESCT_VR0": specimen.get("void_ratio"),
        "ESCT_VRE": found.get("void_ratio") if found["ended"] else None,
        "ESCT_DISS": percent(found.get("dissipation")),
        "ESCT_DSET": ends.settled_mm if found["ended"] else None,
        "ESCT_DVOL": found.get("volume_change_ml"),
        "ESCT_INMV": found.get("mv_m2_per_MN"),
        "ESCT_INCV": found.get("cv_m2_per_year"),
        "ESCT_CVME": None
        if method is None or found.get("cv_m2_per_year") is None
        else _METHOD[method],
        "ESCT_TEMP": ends.consolidating_temperature_C,
        "FILE_FSET": handing.file_set,
        "ESCT_INK": None if permeability is None else f"{permeability:.1E}",
    }
