"""What was done in a rehearsed test, and what came of it."""

from dataclasses import dataclass

from reduce.rehearsal.compression import Compression
from reduce.rehearsal.curve import ShearCurve
from reduce.rehearsal.dissipation import Dissipation
from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.rig import Trace


@dataclass(frozen=True, slots=True)
class StepRecord:
    """One step of a phase as it was carried out."""

    phase: str
    step: str
    act_s: float
    """The act that began it: the reading then is the zero reading. [s]"""
    readings: str
    """How the logger reads: "setup", "saturation", "consolidation", "dock", "shear", "ended"."""
    continues: bool = False
    """Whether its readings go on with the count of the step before."""


@dataclass(frozen=True, slots=True)
class CheckRecord:
    """A rise of cell pressure with drainage closed."""

    began_s: float
    """The last reading before cell pressure moved. [s]"""
    stood_s: float
    """Cell pressure had arrived. [s]"""
    ended_s: float
    """The last reading before something else moved. [s]"""
    back_kPa: float
    delta_cell_kPa: float
    b_model: float
    """Of the pores, before gas dissolved: what B would be without any lag. [-]"""
    saturation: float
    """Degree of saturation when it began. [-]"""
    in_phase: str


@dataclass(slots=True)
class TestRun:
    """All that happened; the truth and every reading come from here."""

    __test__ = False

    plan: TestPlan
    trace: Trace
    steps: list[StepRecord]
    checks: list[CheckRecord]
    extra_s: list[float]
    """Further readings: a valve about to open, pressures that have arrived. [s]"""
    opened_s: float
    """Drainage opened to consolidate; of UU, where it never does, when set-up ended. [s]"""
    dissipation: Dissipation
    """Of this specimen, whether or not it was consolidated."""
    compression: Compression
    first_excess_kPa: float
    """Pore pressure above back pressure when drainage opened."""
    contact_s: float
    """End of dock. [s]"""
    curve: ShearCurve
    height_mm: float
    """After consolidation."""
    area_mm2: float
    """After consolidation."""
    volume_ml: float
    """After consolidation."""
    consolidated_ml: float
    """Volume lost in drained consolidation."""
    rate_percent_min: float
    end_s: float
