"""One test as the rows of AGS4 groups: effective stress, consolidation, total stress.

Every number is one of the reduction; what it could not tell stays empty. Where a heading can be
read in two ways, the remark beside says which number it is.
"""

from collections.abc import Mapping
from typing import Any

from reduce.reduction.ends_of_phases import EndsOfPhases, ends_of_phases
from reduce.strength.specimens import Criterion
from tui.bench.failed_specimens import STATE_OF
from tui.papers.exchange.ags4_consolidation import consolidation_general, consolidation_stage
from tui.papers.exchange.ags4_general import (
    STAGE,
    Handing,
    general_of,
    is_over,
    joined,
    part,
    percent,
    saturated_how,
    water,
)
from tui.papers.exchange.ags4_identity import text_of
from tui.papers.exchange.ags4_text import Row

_DRAINED = {"CU": "Undrained, pore pressure measured", "CD": "Drained"}


def rows_of(handing: Handing) -> dict[str, list[Row]]:
    """The rows of one test that was reduced, by group."""
    found = handing.subject.found
    assert found is not None
    if handing.kind == "UU":
        return {"TRIG": [_total_general(handing)], "TRIT": [_total_stage(handing)]}
    ends = ends_of_phases(found.record, found.stages)
    rows: dict[str, list[Row]] = {
        "TREG": [_effective_general(handing)],
        "TRET": [_effective_stage(handing, ends)],
    }
    if part(handing, "saturation") or part(handing, "consolidation"):
        rows["ESCG"] = [consolidation_general(handing, ends)]
    if part(handing, "consolidation"):
        rows["ESCT"] = [consolidation_stage(handing, ends)]
    return rows


def failure_of(
    results: Mapping[str, Any], criterion: Criterion
) -> tuple[Mapping[str, Any], str | None]:
    """The state at failure, and what is to be said of it; empty where the specimen has not failed.

    Args:
        results: of `reduce --json`.
        criterion: what counts as failure.
    """
    shear = results.get("shear") or {}
    state = shear.get(STATE_OF[criterion])
    if not shear:
        return {}, "not sheared yet"
    if state is None:
        return {}, f"no failure to be told: {shear.get('why') or 'not reached'}"
    if shear.get("running"):
        if shear.get("still_rising"):
            return {}, "the shear is running and the deviator still rises: no failure yet"
        return state, "the shear is running: failure is the greatest so far"
    return state, None


def _criterion_words(handing: Handing) -> str:
    if handing.criterion == "peak_deviator":
        return "Maximum deviator stress"
    if handing.criterion == "peak_ratio":
        return "Maximum effective principal stress ratio"
    settings = handing.subject.settings
    assert settings is not None
    return f"{100.0 * settings.plan.strain_limit:g} % axial strain"


def _effective_general(handing: Handing) -> Row:
    general, strength = general_of(handing, "TREG"), handing.strength or {}
    remark = general["TREG_REM"]
    assert isinstance(remark, str)
    return {
        **general,
        "TREG_REM": joined((remark, *_envelope_words(strength))),
        "TREG_COH": strength.get("c_effective_kPa"),
        "TREG_PHI": strength.get("phi_effective_deg"),
        "TREG_FCR": _criterion_words(handing),
    }


def _envelope_words(strength: Mapping[str, Any]) -> tuple[str, ...]:
    """What cohesion and angle rest on; nothing where there is no envelope."""
    if not strength:
        return ()
    tests = ", ".join(one["cell"] for one in strength["specimens"])
    doubts = (f"envelope: {one['what']}" for one in strength["cautions"])
    return f"cohesion and angle from the envelope of {tests}", *doubts


def _effective_stage(handing: Handing, ends: EndsOfPhases) -> Row:
    specimen, shear = part(handing, "specimen"), part(handing, "shear")
    saturation, consolidation = part(handing, "saturation"), part(handing, "consolidation")
    failed, remark = failure_of(handing.subject.results, handing.criterion)
    # What is told of the end of consolidation waits for it
    ended = consolidation if consolidation.get("ended") else {}
    consolidated, height = ended.get("effective_stress_kPa"), ended.get("height_mm")
    before_shear = shear.get("effective_stress_kPa")
    rate = shear.get("rate_percent_per_min")
    return {
        **handing.identity.specimen,
        "TRET_TESN": STAGE,
        "TRET_SDIA": specimen.get("diameter_mm"),
        "TRET_LEN": specimen.get("height_mm"),
        "TRET_IMC": water(specimen.get("water_content")),
        "TRET_FMC": water(part(handing, "after_test").get("water_content")),
        "TRET_BDEN": specimen.get("moist_density_Mg_m3"),
        "TRET_DDEN": specimen.get("dry_density_Mg_m3"),
        "TRET_SAT": saturated_how(handing),
        "TRET_CONS": _consolidated_how(handing),
        "TRET_CONP": consolidated if before_shear is None else before_shear,
        "TRET_CELL": shear.get("cell_pressure_kPa"),
        "TRET_PWPI": shear.get("pore_pressure_kPa"),
        "TRET_STRR": None if rate is None else 60.0 * rate,
        "TRET_STRN": percent(failed.get("axial_strain")),
        "TRET_DEVF": failed.get("deviator_kPa"),
        "TRET_PWPF": failed.get("pore_kPa"),
        "TRET_STV": percent(failed.get("volumetric_strain")) if handing.kind == "CD" else None,
        "TRET_MODE": handing.codes.code("TRET_MODE", text_of(handing.subject, "failure_mode")),
        "TRET_REM": joined(
            (
                remark,
                "saturation percentage at set-up",
                "mean effective stress: greatest during shear" if shear else None,
                _height_how(ends) if height is not None else None,
                "volumetric strain at failure: of shear alone, positive where the specimen shrank"
                if handing.kind == "CD" and failed
                else None,
            )
        ),
        "FILE_FSET": handing.file_set,
        "TRET_BACK": ends.consolidated_back_kPa if shear else None,
        "TRET_VERT": None if height is None else 100.0 * (1.0 - height / specimen["height_mm"]),
        "TRET_VOLM": percent(ended.get("volumetric_strain")),
        "TRET_RATE": ends.flow_percent_per_hour,
        "TRET_BVAL": saturation.get("B") if is_over(handing, "saturation") else None,
        "TRET_DRN": _DRAINED[handing.kind],
        "TRET_MEMB": failed.get("membrane_kPa"),
        "TRET_FILC": failed.get("side_drains_kPa"),
        "TRET_IVR": specimen.get("void_ratio"),
        "TRET_SATR": percent(specimen.get("saturation")),
        "TRET_CVP": consolidated,
        "TRET_CRP": consolidated,
        "TRET_MEAN": ends.greatest_mean_effective_kPa,
        "TRET_CU": _undrained(handing, failed) if handing.kind == "CU" else None,
        "TRET_EP50": percent(ends.strain_at_half) if failed else None,
        "TRET_E50": shear.get("E50_MPa") if failed else None,
    }


def _height_how(ends: EndsOfPhases) -> str:
    how = "a third of the volumetric strain, not measured"
    if ends.settled_mm is not None:
        how = "from the travel of the ram"
    return f"vertical strain of consolidation: {how}"


def _undrained(handing: Handing, failed: Mapping[str, Any]) -> float | None:
    """Half of the deviator at failure; of the greatest one as the reduction has it."""
    if not failed:
        return None
    if handing.criterion == "peak_deviator":
        strength: float | None = part(handing, "shear").get("undrained_strength_kPa")
        return strength
    deviator = failed.get("deviator_kPa")
    return None if deviator is None else deviator / 2.0


def _consolidated_how(handing: Handing) -> str | None:
    consolidation = part(handing, "consolidation")
    if not consolidation:
        return None
    settings = handing.subject.settings
    drainage = None if settings is None else settings.specimen.drainage
    return joined(
        (
            "isotropic",
            f"drainage: {drainage}" if drainage else None,
            None if consolidation["ended"] else "not ended",
        )
    )


def _total_general(handing: Handing) -> Row:
    return general_of(handing, "TRIG")


def _total_stage(handing: Handing) -> Row:
    specimen, shear = part(handing, "specimen"), part(handing, "shear")
    failed, remark = failure_of(handing.subject.results, handing.criterion)
    return {
        **handing.identity.specimen,
        "TRIT_TESN": STAGE,
        "TRIT_SDIA": specimen.get("diameter_mm"),
        "TRIT_SLEN": specimen.get("height_mm"),
        "TRIT_IMC": water(specimen.get("water_content")),
        "TRIT_FMC": water(part(handing, "after_test").get("water_content")),
        "TRIT_CELL": shear.get("cell_pressure_kPa"),
        "TRIT_DEVF": failed.get("deviator_kPa"),
        "TRIT_BDEN": specimen.get("moist_density_Mg_m3"),
        "TRIT_DDEN": specimen.get("dry_density_Mg_m3"),
        "TRIT_STRN": percent(failed.get("axial_strain")),
        "TRIT_CU": _undrained(handing, failed),
        "TRIT_MODE": handing.codes.code("TRIT_MODE", text_of(handing.subject, "failure_mode")),
        "TRIT_REM": joined((remark, f"failure: {_criterion_words(handing).lower()}")),
        "FILE_FSET": handing.file_set,
        "TRIT_RATE": shear.get("rate_percent_per_min"),
    }
