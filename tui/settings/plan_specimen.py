"""The specimen against the standard, its own weights and what is mounted around it.

Figures "after" a standard are from memory of its text unless said otherwise; the laboratory's own
copy decides.
"""

import math
from collections.abc import Iterator

from tui.settings.cell_toml import CellToml, Specimen
from tui.settings.doubts import Doubt

WATER_MG_M3 = 0.9982
"""Density of water at 20 °C (IAPWS-95). [Mg/m³]"""

_SLENDERNESS = {
    "ASTM D4767": (2.0, 2.5),
    "ASTM D7181": (2.0, 2.5),
    "ASTM D2850": (2.0, 2.5),
    "ISO 17892-9": (1.8, 2.5),
}
_LEAST_DIAMETER_MM = {
    "ASTM D4767": 33.0,
    "ASTM D2850": 33.0,
    "ASTM D7181": 50.0,
    "ISO 17892-9": 34.0,
    "BS 1377-8": 38.0,
}
_BY_A_HAIR = 0.005
"""Relative slack for sizes that are nominally on a bound: 33.0 mm measured as 32.9. [-]"""


def specimen_doubts(settings: CellToml) -> Iterator[Doubt]:
    """All findings of this kind."""
    specimen, standard = settings.specimen, settings.test.standard
    yield from _shape(specimen, standard)
    yield from _scatter(specimen)
    yield from _weights(specimen)
    if settings.test.kind != "UU":
        yield from _drains(specimen)
    yield from _membrane(specimen)
    yield from _piston(settings)
    if specimen.flush is not None and specimen.mounting != "dry":
        yield Doubt(
            "warning",
            ("specimen", "flush"),
            f"flush is given, and mounting is {specimen.mounting or 'not given'}",
            'write mounting = "dry", or remove flush',
        )


def _shape(specimen: Specimen, standard: str | None) -> Iterator[Doubt]:
    diameter, height = specimen.diameter_mm, specimen.height_mm
    ratio = height / diameter
    remedy = "measure again; if it is so, it is reported as a departure"
    if standard in _SLENDERNESS:
        low, high = _SLENDERNESS[standard]
        if not low * (1 - _BY_A_HAIR) <= ratio <= high * (1 + _BY_A_HAIR):
            yield Doubt(
                "warning",
                ("specimen", "height"),
                f"height / diameter is {ratio:.2f}; after {standard} it is {low:g} to {high:g}",
                remedy,
            )
    elif standard == "BS 1377-8":
        if abs(ratio - 2.0) > 0.1:
            yield Doubt(
                "warning",
                ("specimen", "height"),
                f"height / diameter is {ratio:.2f}; after BS 1377-8 it is nominally 2",
                remedy,
            )
    elif not 1.5 <= ratio <= 3.0:
        yield Doubt(
            "warning",
            ("specimen", "height"),
            f"height / diameter is {ratio:.2f}; about 2 is usual (common practice, no source)",
            remedy,
        )
    least = _LEAST_DIAMETER_MM.get(standard or "")
    if least is not None and diameter < least * (1 - _BY_A_HAIR):
        yield Doubt(
            "warning",
            ("specimen", "diameter"),
            f"diameter is {diameter:.4g} mm; after {standard} it is at least {least:g} mm",
            remedy,
        )


def _scatter(specimen: Specimen) -> Iterator[Doubt]:
    for key, readings, middle in (
        ("diameter", specimen.diameter_readings_mm, specimen.diameter_mm),
        ("height", specimen.height_readings_mm, specimen.height_mm),
    ):
        for place, reading in enumerate(readings):
            off = abs(reading / middle - 1.0)
            if off > 0.05:
                yield Doubt(
                    "warning",
                    ("specimen", key, place),
                    f"{key} reading {reading:.4g} mm is {off:.0%} off the mean of {middle:.4g} mm; "
                    "after ASTM D4767 none is more than 5 % off",
                    "measure again, or trim the specimen",
                )


def _weights(specimen: Specimen) -> Iterator[Doubt]:
    volume_ml = math.pi / 4 * specimen.diameter_mm**2 * specimen.height_mm / 1000.0
    if specimen.mass_g is None and specimen.dry_mass_g is None:
        yield Doubt(
            "warning",
            ("specimen", "mass"),
            "neither mass nor dry_mass is given: no density, void ratio or saturation",
            'add mass = "377.9 g" as weighed at set-up',
        )
    if specimen.mass_g is not None and specimen.dry_mass_g is not None:
        if specimen.dry_mass_g >= specimen.mass_g:
            yield Doubt(
                "error",
                ("specimen", "dry_mass"),
                f"dry_mass is {specimen.dry_mass_g:g} g, not below mass, {specimen.mass_g:g} g",
                "check both weighings and the tare",
            )
            return
    elif specimen.water_content is None and specimen.dry_mass_g is None:
        yield Doubt(
            "warning",
            ("specimen", "water_content"),
            "neither water_content nor dry_mass is given: no void ratio or saturation",
            "add water_content = 0.312 from the trimmings",
        )
    if specimen.mass_g is not None and not 1.0 <= specimen.mass_g / volume_ml <= 2.8:
        yield Doubt(
            "warning",
            ("specimen", "mass"),
            f"mass and size make a density of {specimen.mass_g / volume_ml:.2f} Mg/m³, "
            "which no soil has",
            "check the units of mass, diameter and height",
        )
        return
    yield from _particles(specimen, volume_ml)


def _particles(specimen: Specimen, volume_ml: float) -> Iterator[Doubt]:
    density = specimen.particle_density_Mg_m3
    if density is None and specimen.specific_gravity is not None:
        density = specimen.specific_gravity * WATER_MG_M3
    key = "specific_gravity" if specimen.specific_gravity is not None else "particle_density"
    if density is None:
        yield Doubt(
            "warning",
            ("specimen", key),
            "neither particle_density nor specific_gravity is given: no void ratio, saturation "
            "or forecast of the back pressure that saturates",
            'add particle_density = "2.70 Mg/m3", with particle_density_assumed = true if it is '
            "not measured",
        )
        return
    if not 2.0 <= density <= 3.5:
        yield Doubt(
            "warning",
            ("specimen", key),
            f"the particles' density is {density:.3g} Mg/m³; 2.5 to 2.9 is usual "
            "(common practice, no source)",
            "check value and unit",
        )
        return
    dry = specimen.dry_mass_g
    moist = specimen.mass_g
    if dry is None and moist is not None and specimen.water_content is not None:
        dry = moist / (1.0 + specimen.water_content)
    if dry is None:
        return
    pores_ml = volume_ml - dry / density
    if pores_ml <= 0.0:
        yield Doubt(
            "warning",
            ("specimen", key),
            "the particles would fill more than the specimen: mass, size and particle density "
            "do not fit each other",
            "check mass, water content, size and particle density",
        )
    elif moist is not None and (moist - dry) / WATER_MG_M3 > 1.03 * pores_ml:
        filled = (moist - dry) / WATER_MG_M3 / pores_ml
        yield Doubt(
            "warning",
            ("specimen", "water_content"),
            f"mass, size, water content and particle density make an initial saturation of "
            f"{filled:.0%}",
            "check mass, water content, size and particle density",
        )


def _drains(specimen: Specimen) -> Iterator[Doubt]:
    if specimen.drainage is None:
        yield Doubt(
            "warning",
            ("specimen", "drainage"),
            "drainage is not given: cv and the advised rate of shear depend on it",
            'add drainage = "one end", "both ends", "radial", "radial + one end" or '
            '"radial + both ends"',
        )
    drains = specimen.side_drains
    if drains is None and specimen.drainage is not None and "radial" in specimen.drainage:
        yield Doubt(
            "warning",
            ("specimen", "drainage"),
            f'drainage is "{specimen.drainage}" without side_drains: their share of the load '
            "is not taken out",
            'add side_drains = { perimeter = "78 mm" }, or correct drainage',
        )
    if drains is None:
        return
    around = math.pi * specimen.diameter_mm
    share = drains.perimeter_mm / around
    if share > 1.0:
        yield Doubt(
            "error",
            ("specimen", "side_drains", "perimeter"),
            f"perimeter is {drains.perimeter_mm:g} mm, more than the specimen's {around:.4g} mm",
            "write the part of the perimeter that the strips cover",
        )
    elif share > 0.5 * (1 + _BY_A_HAIR):
        yield Doubt(
            "warning",
            ("specimen", "side_drains", "perimeter"),
            f"the strips cover {share:.1%} of the perimeter; after ASTM D4767 at most 50 %",
            "use narrower or fewer strips",
        )


def _membrane(specimen: Specimen) -> Iterator[Doubt]:
    membrane = specimen.membrane
    if membrane is None:
        yield Doubt(
            "warning",
            ("specimen", "membrane"),
            "membrane is not given: its share of the load is not taken out",
            'add membrane = { thickness = "0.30 mm" }',
        )
    elif membrane.thickness_mm > 0.01 * specimen.diameter_mm:
        yield Doubt(
            "note",
            ("specimen", "membrane", "thickness"),
            f"the membrane is {membrane.thickness_mm:g} mm thick; after ASTM D4767 at most 1 % "
            f"of the diameter, {0.01 * specimen.diameter_mm:.3g} mm",
            "check that this is one membrane; several are written with count",
        )


def _piston(settings: CellToml) -> Iterator[Doubt]:
    piston, diameter = settings.cell.piston, settings.specimen.diameter_mm
    if piston is None:
        if "axial_load" in settings.log.channels:
            yield Doubt(
                "warning",
                ("cell", "piston"),
                "piston is not given: whether cell pressure lifts it against the load cell is "
                "not known",
                'add piston = { diameter = "20 mm", load_cell = "internal" }',
            )
        return
    path = ("cell", "piston", "diameter")
    if piston.diameter_mm >= diameter:
        yield Doubt(
            "error",
            path,
            f"the piston's diameter, {piston.diameter_mm:g} mm, is not below the specimen's, "
            f"{diameter:.4g} mm",
            "check both diameters",
        )
    elif piston.diameter_mm < diameter / 6.0:
        yield Doubt(
            "note",
            path,
            f"the piston's diameter is {piston.diameter_mm:g} mm; ASTM D4767 (2011) advises at "
            f"least a sixth of the specimen's, {diameter / 6.0:.3g} mm",
            "expect bending, or use a thicker piston",
        )
    if piston.uplift == "zeroed at pressure" and "zeroed_at_kPa" not in piston.model_fields_set:
        yield Doubt(
            "warning",
            ("cell", "piston", "zeroed_at"),
            "the load cell was zeroed at pressure, and zeroed_at is not given: 0 kPa is assumed",
            'add zeroed_at = "450 kPa", the cell pressure at which it was zeroed',
        )
