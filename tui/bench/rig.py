"""Cell, specimen and plan of the settings as the reduction wants them."""

from reduce.phase_relations import particle_density
from reduce.record import Membrane, Piston, Planned, Rig, SideDrains, SpecimenRecord
from reduce.reduction.dimensions import Cylinder
from reduce.shearing.load import freeing
from reduce.specimen import cylinder_area, cylinder_volume
from tui.settings.cell_toml import CellToml, Hardware, Specimen


def rig_of(hardware: Hardware) -> Rig:
    """The cell as far as a reduction corrects for it."""
    piston = hardware.piston
    return Rig(
        piston=None
        if piston is None
        else Piston(
            diameter_mm=piston.diameter_mm,
            load_cell=piston.load_cell,
            uplift=piston.uplift,
            zeroed_at_kPa=piston.zeroed_at_kPa,
            friction_N=piston.friction_N,
        ),
        frame_compliance_mm_N=hardware.frame_compliance_mm_N,
    )


def specimen_record(specimen: Specimen) -> SpecimenRecord:
    """The specimen as measured, weighed and mounted."""
    density = specimen.particle_density_Mg_m3
    if density is None and specimen.specific_gravity is not None:
        density = particle_density(specimen.specific_gravity)
    membrane, drains = specimen.membrane, specimen.side_drains
    stated = drains is not None and "load_per_perimeter_kN_m" in drains.model_fields_set
    return SpecimenRecord(
        diameters_mm=specimen.diameter_readings_mm,
        heights_mm=specimen.height_readings_mm,
        mass_g=specimen.mass_g,
        water_content=specimen.water_content,
        final_water_content=specimen.final_water_content,
        dry_mass_g=specimen.dry_mass_g,
        particle_density_Mg_m3=density,
        particle_density_assumed=specimen.particle_density_assumed,
        drainage=specimen.drainage,
        mounted_dry=specimen.mounting == "dry",
        membrane=None
        if membrane is None
        else Membrane(membrane.thickness_mm * membrane.count, membrane.modulus_kPa),
        side_drains=None
        if drains is None
        else SideDrains(drains.perimeter_mm, drains.load_per_perimeter_kN_m if stated else None),
    )


def planned(settings: CellToml) -> Planned:
    """What the test was to do."""
    plan = settings.plan
    return Planned(
        effective_stress_kPa=plan.effective_stress_kPa,
        cell_step_kPa=plan.cell_step_kPa,
        b_target=plan.b_target,
        strain_limit=plan.strain_limit,
        strain_rate_percent_min=plan.strain_rate_percent_min,
    )


def at_set_up(settings: CellToml) -> Cylinder:
    """As measured before the test."""
    specimen = settings.specimen
    area = float(cylinder_area(specimen.diameter_mm))
    volume = float(cylinder_volume(specimen.diameter_mm, specimen.height_mm)) / 1000.0
    return Cylinder(specimen.height_mm, area, volume)


def uplift_area(settings: CellToml) -> float:
    """Area on which cell pressure lifts the piston against an external load cell. [mm²]"""
    return freeing(rig_of(settings.cell).piston).N_per_kPa * 1000.0
