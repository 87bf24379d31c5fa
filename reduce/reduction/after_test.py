"""The specimen when it was taken out, and whether its masses agree with what drained."""

from reduce.errors import ReductionError
from reduce.phase_relations import void_ratio_if_full
from reduce.record import Record
from reduce.reduction.results import AfterTest, ConsolidationReduced, SaturationReduced
from reduce.specimen import SpecimenAtSetUp
from reduce.specimen_after import SpecimenAfter, specimen_after, water_balance


def reduce_after_test(
    record: Record,
    specimen: SpecimenAtSetUp,
    saturation: SaturationReduced | None,
    consolidation: ConsolidationReduced | None,
    shear_change_ml: float | None,
) -> AfterTest:
    """Void ratio and saturation at the end, and the balance of water.

    Args:
        record: the test.
        specimen: at set-up.
        saturation: for what flowed in.
        consolidation: for the volume after it and for what drained.
        shear_change_ml: drained in shear; None where nothing was.
    """
    final = record.specimen.final_water_content
    particles = record.specimen.particle_density_Mg_m3
    volume = specimen.volume_ml if record.kind == "UU" else None
    if consolidation is not None and consolidation.volume_ml is not None:
        volume = consolidation.volume_ml - (shear_change_ml or 0.0)
    after: SpecimenAfter | None = None
    if volume is not None:
        try:
            after = specimen_after(
                specimen,
                volume,
                water_content=final,
                particle_density_Mg_m3=particles,
            )
        except ReductionError:
            after = None  # no voids would be left: the masses are wrong, which the balance shows
    drained = None if consolidation is None else consolidation.volume_change_ml
    inflow = None if saturation is None else saturation.inflow_ml
    balance = None
    metered = not record.specimen.mounted_dry
    if final is not None and drained is not None and inflow is not None and metered:
        balance = water_balance(
            specimen, final, drained_ml=drained + (shear_change_ml or 0.0), inflow_ml=inflow
        )
    dry = None if after is None else after.dry_density_Mg_m3
    return AfterTest(
        water_content=final,
        saturation=None if after is None else after.saturation,
        void_ratio=None if after is None else after.void_ratio,
        water_content_full=None if after is None else after.water_content_full,
        water_read_ml=None if balance is None else balance.read_ml,
        water_weighed_ml=None if balance is None else balance.weighed_ml,
        water_balance_ml=None if balance is None else balance.difference_ml,
        void_ratio_if_full=None
        if final is None or particles is None
        else void_ratio_if_full(final, particles),
        dry_density_Mg_m3=dry,
        moist_density_Mg_m3=None if dry is None or final is None else dry * (1.0 + final),
    )
