"""A reduction as `porewatch.reduction/1`: plain values for programs, always in SI.

Every key of the contract is there; unknown is null, never 0, NaN or infinity; times are ISO 8601
with the offset of the bench's zone; numbers are not rounded. Keys beyond the contract's say how a
number was come by.
"""

from dataclasses import fields
from datetime import tzinfo
from typing import Any

from reduce.construction import Line
from reduce.record import Record
from reduce.reduction.results import (
    ConsolidationReduced,
    SaturationReduced,
    ShearReduced,
)
from reduce.reduction.whole import Reduction
from reduce.shearing.failure import FailureState
from reduce.specimen import SpecimenAtSetUp
from tui.bench.as_json import number, time_text

SCHEMA = "porewatch.reduction/1"

Json = dict[str, Any]


def reduction_json(found: Reduction, zone: tzinfo) -> Json:
    """The whole reduction of one test.

    Args:
        found: the reduction.
        zone: of the times.

    Returns:
        Dictionaries, lists, texts, finite numbers, booleans and None only.
    """
    record, stages = found.record, found.stages
    return {
        "schema": SCHEMA,
        "test": {
            "cell": _text(record.cell),
            "id": _text(record.test_id),
            "kind": record.kind,
            "standard": record.followed_standard,
            "standard_stated": record.standard is not None,
        },
        "specimen": _specimen(stages.specimen, record),
        "phases": _phases(record, zone),
        "saturation": None if stages.saturation is None else _saturation(stages.saturation, zone),
        "consolidation": None
        if stages.consolidation is None
        else _consolidation(stages.consolidation),
        "shear": None if stages.shear is None else _shear(stages.shear),
        "after_test": _plain(stages.after_test),
        "uncertainty": {name: number(value) for name, value in found.uncertainty.items()},
        "cautions": [
            {"what": _text(caution.what), "clause": caution.clause} for caution in found.cautions
        ],
    }


def _specimen(specimen: SpecimenAtSetUp, record: Record) -> Json:
    return _plain(specimen) | {
        "particle_density_Mg_m3": number(record.specimen.particle_density_Mg_m3)
    }


def _phases(record: Record, zone: tzinfo) -> list[Json]:
    last = float(record.times_s[-1]) if len(record.times_s) else None
    return [
        {
            "name": stage.name,
            "step": _text(stage.step),
            "start": time_text(stage.start_s, zone),
            "end": time_text(last if stage.end_s is None else stage.end_s, zone),
            "lasts": stage.end_s is None,
            "from": stage.source,
        }
        for stage in record.stages
    ]


def _saturation(found: SaturationReduced, zone: tzinfo) -> Json:
    checks = [
        {"at": time_text(check.at_s, zone)}
        | {name: value for name, value in _plain(check).items() if name != "at_s"}
        for check in found.checks
    ]
    return {"checks": checks} | {
        name: value for name, value in _plain(found).items() if name != "checks"
    }


def _consolidation(found: ConsolidationReduced) -> Json:
    plain = _plain(found)
    plain["dimensions"] = {name: _plain(one) for name, one in found.dimensions.items()}
    plain["headline_from"] = dict(found.headline_from)
    methods = found.methods
    plain["methods"] = {
        name: _plain(method)
        | {
            "lines": [_line(line) for line in method.lines],
            "line_choice": {key: number(share) for key, share in method.line_choice.items()},
        }
        for name, method in (("root_time", methods.root_time), ("log_time", methods.log_time))
    }
    plain["methods"]["fit"] = _plain(methods.fit) | {
        "curve": [[number(x), number(y)] for x, y in methods.fit.curve]
    }
    return plain


def _line(line: Line) -> Json:
    return {
        "name": line.name,
        "axis": line.axis,
        "points": [[number(x), number(y)] for x, y in line.points],
    }


def _shear(found: ShearReduced) -> Json:
    plain = _plain(found)
    for name in ("peak_deviator", "peak_ratio", "at_strain_limit"):
        state: FailureState | None = getattr(found, name)
        plain[name] = None if state is None else _plain(state)
    return plain


def _plain(value: Any) -> Json:
    """The fields of a dataclass that are numbers, texts or truths; the rest is for the caller."""
    found: Json = {}
    for field in fields(value):
        one = getattr(value, field.name)
        if one is None or isinstance(one, bool):
            found[field.name] = one
        elif isinstance(one, int | float):
            found[field.name] = number(one)
        elif isinstance(one, str):
            found[field.name] = _text(one)
    return found


def _text(text: str | None) -> str | None:
    # A name may hold bytes that are no text; JSON must not.
    return None if text is None else text.encode("utf-8", "replace").decode("utf-8")
