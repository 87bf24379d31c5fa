"""One test from its record to everything that is reported of it."""

from collections.abc import Mapping
from dataclasses import dataclass

from reduce.errors import ReductionError
from reduce.record import Record
from reduce.reduction.caution import Caution
from reduce.reduction.cautions import cautions_of, not_read
from reduce.reduction.propagation import standard_uncertainties
from reduce.reduction.stages import Stages, reduce_stages
from reduce.reduction.usable import usable
from reduce.shearing.table import Shape


@dataclass(frozen=True, slots=True, eq=False)
class Reduction:
    """One test, reduced."""

    record: Record
    stages: Stages
    uncertainty: Mapping[str, float]
    """Standard uncertainty by dotted name, such as "shear.peak_deviator.deviator_kPa"."""
    cautions: tuple[Caution, ...]


def reduce_test(
    record: Record, shape: Shape = "cylinder", *, with_uncertainty: bool = True
) -> Reduction:
    """Reduce one test, finished or running.

    Args:
        record: rig, specimen, plan, readings and phases.
        shape: of the corrected area.
        with_uncertainty: whether the uncertainty of calibration and reading is propagated.

    Returns:
        What could be told; a stage that could not be reduced is a caution.

    Raises:
        ReductionError: nothing at all can be computed: the specimen is no cylinder, or the record
            has no readings of any stage, times that fall, or columns of several lengths.
    """
    readings = usable(record)
    stages = reduce_stages(readings, shape)
    if not stages.told:
        lacking = ", ".join(not_read(readings))
        missed = f"; not read: {lacking}" if len(record.times_s) and lacking else ""
        why = "; ".join(stages.failed) or "no saturation, consolidation or shear in its readings"
        why += missed
        raise ReductionError(f"nothing can be reduced of {record.cell}: {why}")
    uncertainty: dict[str, float] = {}
    unstable: tuple[str, ...] = ()
    if with_uncertainty:
        uncertainty, unstable = standard_uncertainties(readings, stages, shape)
    return Reduction(readings, stages, uncertainty, cautions_of(record, stages, unstable))
