"""One test as the rows of AGS4 groups: effective stress, consolidation, total stress.

Every number is one of the reduction; what it could not tell stays empty. Where a heading can be
read in two ways, the remark beside says which number it is.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from reduce.reduction.cautions import of_shear_alone
from reduce.reduction.ends_of_phases import EndsOfPhases, ends_of_phases
from reduce.strength.specimens import Criterion
from tui.bench.failed_specimens import STATE_OF
from tui.papers.condition import condition_of
from tui.papers.exchange.ags4_identity import (
    Codes,
    Identity,
    metres_of,
    test_name,
    text_of,
)
from tui.papers.exchange.ags4_text import Row, Value
from tui.papers.subject import Subject
from tui.words import sanitise

STAGE = "1"
"""Number of the stage: a test has one."""

_METHOD = {"root_time": "root time", "log_time": "log time", "fit": "fit of the series"}
_DRAINED = {"CU": "Undrained, pore pressure measured", "CD": "Drained"}


@dataclass(frozen=True, slots=True)
class Handing:
    """How one test is handed on."""

    subject: Subject
    identity: Identity
    criterion: Criterion
    """What counts as failure."""
    strength: Mapping[str, Any] | None
    """`strength --json` of the set that this test is one of."""
    file_set: str | None
    """Of the readings that lie beside the file; None where none do."""
    codes: Codes

    @property
    def kind(self) -> str:
        """CU, CD or UU."""
        found = self.subject.found
        assert found is not None
        return found.record.kind


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
    if _part(handing, "saturation") or _part(handing, "consolidation"):
        rows["ESCG"] = [_consolidation_general(handing, ends)]
    if _part(handing, "consolidation"):
        rows["ESCT"] = [_consolidation_stage(handing, ends)]
    return rows


def _part(handing: Handing, name: str) -> Mapping[str, Any]:
    """A part of the results; empty where there is none."""
    return handing.subject.results.get(name) or {}


def _is_over(handing: Handing, phase: str) -> bool:
    """Whether something came after a phase."""
    found = handing.subject.found
    return found is not None and found.record.end_of(phase) is not None


def _percent(share: float | None) -> float | None:
    return None if share is None else 100.0 * share


def _water(share: float | None) -> str | None:
    """Water contents are text in AGS4. [%]"""
    return None if share is None else f"{100.0 * share:.1f}"


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


def _general(handing: Handing, group: str) -> dict[str, Value]:
    """What the general groups of all tests have in common."""
    subject = handing.subject
    doubts = _doubts(handing, sheared=group != "ESCG")
    said = (
        f"Test {test_name(subject)}",
        f"carried out by {who}" if (who := text_of(subject, "operator")) else None,
        f"to be checked by {who}" if (who := text_of(subject, "checker")) else None,
        text_of(subject, "remarks"),
        "draft until it is signed",
        *doubts.others,
    )
    departures = text_of(subject, "deviation"), *doubts.departures
    return {
        **handing.identity.specimen,
        "SPEC_DESC": text_of(subject, "description"),
        "SPEC_PREP": _preparation(subject),
        f"{group}_TYPE": handing.codes.code(f"{group}_TYPE", handing.kind),
        f"{group}_COND": handing.codes.code(f"{group}_COND", condition_of(subject)),
        f"{group}_REM": _joined(said),
        f"{group}_METH": subject.results["test"]["standard"],
        f"{group}_LAB": text_of(subject, "laboratory"),
        f"{group}_CRED": text_of(subject, "accreditation"),
        "TEST_STAT": text_of(subject, "status") or _status(subject),
        "FILE_FSET": handing.file_set,
        "SPEC_BASE": _base(handing),
        f"{group}_DEV": _joined(departures),
    }


class _Doubts(NamedTuple):
    departures: tuple[str, ...]
    """From the standard, each with the clause."""
    others: tuple[str, ...]


def _doubts(handing: Handing, *, sheared: bool) -> _Doubts:
    """What is to be questioned about a test, or about the phases before its shear."""
    found = handing.subject.found
    assert found is not None
    beside = frozenset() if sheared else of_shear_alone(found.record, found.stages)
    told = [one for one in found.cautions if one not in beside]
    return _Doubts(
        tuple(f"{sanitise(one.what)} ({one.clause})" for one in told if one.departs),
        tuple(sanitise(one.what) for one in told if not one.departs),
    )


def _base(handing: Handing) -> float | None:
    """Depth of the lower end: as stated, else that of the upper end and the height. [m]"""
    stated = metres_of(handing.subject, "specimen_base")
    depth = metres_of(handing.subject, "depth")
    height: float | None = _part(handing, "specimen").get("height_mm")
    if stated is not None or depth is None or height is None:
        return stated
    return depth + height / 1000.0


def _joined(parts: tuple[str | None, ...]) -> str | None:
    return "; ".join(part for part in parts if part) or None


def _preparation(subject: Subject) -> str | None:
    settings = subject.settings
    mounting = None if settings is None else settings.specimen.mounting
    flush = None if settings is None else settings.specimen.flush
    return _joined(
        (
            text_of(subject, "preparation"),
            f"mounted {mounting}" if mounting else None,
            f"flushed with {flush}" if flush else None,
        )
    )


def _status(subject: Subject) -> str:
    over = subject.settings is not None and subject.settings.test.ended is not None
    ended = subject.found is not None and subject.found.record.begin_of("ended") is not None
    return "Finished, not checked" if over or ended else "Running, results so far"


def _effective_general(handing: Handing) -> Row:
    general, strength = _general(handing, "TREG"), handing.strength or {}
    remark = general["TREG_REM"]
    assert isinstance(remark, str)
    return {
        **general,
        "TREG_REM": _joined((remark, *_envelope_words(strength))),
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
    specimen, shear = _part(handing, "specimen"), _part(handing, "shear")
    saturation, consolidation = _part(handing, "saturation"), _part(handing, "consolidation")
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
        "TRET_IMC": _water(specimen.get("water_content")),
        "TRET_FMC": _water(_part(handing, "after_test").get("water_content")),
        "TRET_BDEN": specimen.get("moist_density_Mg_m3"),
        "TRET_DDEN": specimen.get("dry_density_Mg_m3"),
        "TRET_SAT": _saturated_how(handing),
        "TRET_CONS": _consolidated_how(handing),
        "TRET_CONP": consolidated if before_shear is None else before_shear,
        "TRET_CELL": shear.get("cell_pressure_kPa"),
        "TRET_PWPI": shear.get("pore_pressure_kPa"),
        "TRET_STRR": None if rate is None else 60.0 * rate,
        "TRET_STRN": _percent(failed.get("axial_strain")),
        "TRET_DEVF": failed.get("deviator_kPa"),
        "TRET_PWPF": failed.get("pore_kPa"),
        "TRET_STV": _percent(failed.get("volumetric_strain")) if handing.kind == "CD" else None,
        "TRET_MODE": handing.codes.code("TRET_MODE", text_of(handing.subject, "failure_mode")),
        "TRET_REM": _joined(
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
        "TRET_VOLM": _percent(ended.get("volumetric_strain")),
        "TRET_RATE": ends.flow_percent_per_hour,
        "TRET_BVAL": saturation.get("B") if _is_over(handing, "saturation") else None,
        "TRET_DRN": _DRAINED[handing.kind],
        "TRET_MEMB": failed.get("membrane_kPa"),
        "TRET_FILC": failed.get("side_drains_kPa"),
        "TRET_IVR": specimen.get("void_ratio"),
        "TRET_SATR": _percent(specimen.get("saturation")),
        "TRET_CVP": consolidated,
        "TRET_CRP": consolidated,
        "TRET_MEAN": ends.greatest_mean_effective_kPa,
        "TRET_CU": _undrained(handing, failed) if handing.kind == "CU" else None,
        "TRET_EP50": _percent(ends.strain_at_half) if failed else None,
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
        strength: float | None = _part(handing, "shear").get("undrained_strength_kPa")
        return strength
    deviator = failed.get("deviator_kPa")
    return None if deviator is None else deviator / 2.0


def _saturated_how(handing: Handing) -> str | None:
    saturation = _part(handing, "saturation")
    if not saturation:
        return None
    checks, back = len(saturation["checks"]), saturation.get("back_pressure_kPa")
    return _joined(
        (
            "back pressure" if back is None else f"back pressure to {back:.0f} kPa",
            f"B checked {checks} time{'' if checks == 1 else 's'}"
            + (f", last {saturation['B']:.2f}" if saturation.get("B") is not None else ""),
            None
            if saturation.get("taken_below_target") is None
            else f"B below its target taken by {saturation['taken_below_target']}",
        )
    )


def _consolidated_how(handing: Handing) -> str | None:
    consolidation = _part(handing, "consolidation")
    if not consolidation:
        return None
    settings = handing.subject.settings
    drainage = None if settings is None else settings.specimen.drainage
    return _joined(
        (
            "isotropic",
            f"drainage: {drainage}" if drainage else None,
            None if consolidation["ended"] else "not ended",
        )
    )


def _consolidation_general(handing: Handing, ends: EndsOfPhases) -> Row:
    specimen, saturation = _part(handing, "specimen"), _part(handing, "saturation")
    settings = handing.subject.settings
    assert settings is not None
    given = settings.specimen
    density = specimen.get("particle_density_Mg_m3")
    cell, back = ends.saturated_cell_kPa, ends.saturated_back_kPa
    gauges = settings.log.channels.get("pore_pressure", ())
    rises = sorted(check["delta_cell_kPa"] for check in saturation.get("checks", ()))
    return {
        **_general(handing, "ESCG"),
        "ESCG_CELL": "Triaxial cell",
        "ESCG_SDIA": specimen.get("diameter_mm"),
        "ESCG_HIGT": specimen.get("height_mm"),
        "ESCG_MCI": _water(specimen.get("water_content")),
        "ESCG_MCF": _water(_part(handing, "after_test").get("water_content")),
        "ESCG_BDEN": specimen.get("moist_density_Mg_m3"),
        "ESCG_DDEN": specimen.get("dry_density_Mg_m3"),
        "ESCG_PDEN": None
        if density is None
        else f"{'#' if given.particle_density_assumed else ''}{density:.2f}",
        "ESCG_IVR": specimen.get("void_ratio"),
        "ESCG_SATR": _percent(specimen.get("saturation")),
        "ESCG_LOAD": "Isotropic, stress controlled",
        "ESCG_DRAG": given.drainage,
        "ESCG_PPM": next((one.measured_at for one in gauges if one.measured_at), None),
        "ESCG_SATM": _saturated_how(handing),
        "ESCG_SINC": rises[len(rises) // 2] if rises else None,
        "ESCG_SDIF": None if cell is None or back is None else cell - back,
        "ESCG_CELF": cell,
        "ESCG_BACF": back,
        "ESCG_BVAL": saturation.get("B") if _is_over(handing, "saturation") else None,
        "ESCG_SVOL": saturation.get("inflow_ml"),
    }


def _consolidation_stage(handing: Handing, ends: EndsOfPhases) -> Row:
    specimen, found = _part(handing, "specimen"), _part(handing, "consolidation")
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
        "ESCT_DISS": _percent(found.get("dissipation")),
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


def _total_general(handing: Handing) -> Row:
    return _general(handing, "TRIG")


def _total_stage(handing: Handing) -> Row:
    specimen, shear = _part(handing, "specimen"), _part(handing, "shear")
    failed, remark = failure_of(handing.subject.results, handing.criterion)
    return {
        **handing.identity.specimen,
        "TRIT_TESN": STAGE,
        "TRIT_SDIA": specimen.get("diameter_mm"),
        "TRIT_SLEN": specimen.get("height_mm"),
        "TRIT_IMC": _water(specimen.get("water_content")),
        "TRIT_FMC": _water(_part(handing, "after_test").get("water_content")),
        "TRIT_CELL": shear.get("cell_pressure_kPa"),
        "TRIT_DEVF": failed.get("deviator_kPa"),
        "TRIT_BDEN": specimen.get("moist_density_Mg_m3"),
        "TRIT_DDEN": specimen.get("dry_density_Mg_m3"),
        "TRIT_STRN": _percent(failed.get("axial_strain")),
        "TRIT_CU": _undrained(handing, failed),
        "TRIT_MODE": handing.codes.code("TRIT_MODE", text_of(handing.subject, "failure_mode")),
        "TRIT_REM": _joined((remark, f"failure: {_criterion_words(handing).lower()}")),
        "FILE_FSET": handing.file_set,
        "TRIT_RATE": shear.get("rate_percent_per_min"),
    }
