"""One test on its way to AGS4 groups: how it is handed on, and what its general rows share."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from reduce.reduction.cautions import of_shear_alone
from reduce.strength.specimens import Criterion
from tui.papers.condition import condition_of
from tui.papers.exchange.ags4_identity import (
    Codes,
    Identity,
    metres_of,
    test_name,
    text_of,
)
from tui.papers.exchange.ags4_text import Value
from tui.papers.subject import Subject
from tui.words import sanitise
from tui.words.reduced import BELOW_TARGET

STAGE = "1"
"""Number of the stage: a test has one."""


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


def part(handing: Handing, name: str) -> Mapping[str, Any]:
    """A part of the results; empty where there is none."""
    return handing.subject.results.get(name) or {}


def is_over(handing: Handing, phase: str) -> bool:
    """Whether something came after a phase."""
    found = handing.subject.found
    return found is not None and found.record.end_of(phase) is not None


def percent(share: float | None) -> float | None:
    """A ratio as AGS4 has it; None stays None. [%]"""
    return None if share is None else 100.0 * share


def water(share: float | None) -> str | None:
    """Water contents are text in AGS4. [%]"""
    return None if share is None else f"{100.0 * share:.1f}"


def general_of(handing: Handing, group: str) -> dict[str, Value]:
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
        f"{group}_REM": joined(said),
        f"{group}_METH": subject.results["test"]["standard"],
        f"{group}_LAB": text_of(subject, "laboratory"),
        f"{group}_CRED": text_of(subject, "accreditation"),
        "TEST_STAT": text_of(subject, "status") or _status(subject),
        "FILE_FSET": handing.file_set,
        "SPEC_BASE": _base(handing),
        f"{group}_DEV": joined(departures),
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
    height: float | None = part(handing, "specimen").get("height_mm")
    if stated is not None or depth is None or height is None:
        return stated
    return depth + height / 1000.0


def joined(parts: tuple[str | None, ...]) -> str | None:
    """Remarks as one text; None where there are none."""
    return "; ".join(one for one in parts if one) or None


def _preparation(subject: Subject) -> str | None:
    settings = subject.settings
    mounting = None if settings is None else settings.specimen.mounting
    flush = None if settings is None else settings.specimen.flush
    return joined(
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


def saturated_how(handing: Handing) -> str | None:
    """Method of saturation, with its last B and who took one below its target."""
    saturation = part(handing, "saturation")
    if not saturation:
        return None
    checks, back = len(saturation["checks"]), saturation.get("back_pressure_kPa")
    return joined(
        (
            "back pressure" if back is None else f"back pressure to {back:.0f} kPa",
            f"B checked {checks} time{'' if checks == 1 else 's'}"
            + (f", last {saturation['B']:.2f}" if saturation.get("B") is not None else ""),
            f"B below its target taken by {taken}"
            if (taken := saturation.get("taken_below_target")) is not None
            and saturation["ground"] == BELOW_TARGET
            else None,
        )
    )
