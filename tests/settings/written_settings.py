"""Settings files of an invented cell, to be spoiled one key at a time."""

from pathlib import Path

CELL = """\
[cell]
name = "C1"
rating = "1700 kPa"
piston = { diameter = "20 mm", load_cell = "internal" }

[log]
files = "*.csv"
time = { column = "Time" }
[log.channels]
cell_pressure = { column = "Pc", unit = "kPa", range = "0 to 2000 kPa" }
pore_pressure = { column = "u", unit = "kPa", measured_at = "base" }
back_pressure = { column = "Pb", unit = "kPa" }
back_volume = { column = "V", unit = "ml", stroke = "0 to 100 ml" }
axial_displacement = { column = "d", unit = "mm", range = "0 to 25 mm" }
axial_load = { column = "F", unit = "N" }

[test]
id = "T015"
kind = "CU"
standard = "ASTM D4767"
started = "2031-02-03T08:10"

[specimen]
label = "BH4-U12-a"
diameter = "50.0 mm"
height = ["100.2 mm", "100.4 mm"]
mass = "377.9 g"
water_content = 0.312
particle_density = "2.70 Mg/m3"
drainage = "both ends"
membrane = { thickness = "0.30 mm" }

[plan]
effective_stress = "150 kPa"
cell_step = "50 kPa"
excess = "10 kPa"
back_pressure_limit = "600 kPa"
strain_limit = "15 %"

[schedule]
saturation = { kind = "root", step = 0.5, slots = 40, per = "step" }
consolidation = { kind = "log", first = "0.1 min", ratio = 2.0, slots = 16 }
shear = { kind = "strain", step = "0.1 %", slots = 220 }
"""


def spoiled(old: str, new: str, text: str = CELL) -> str:
    """The text with one line or word exchanged, which must be there exactly once."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the file"
    return text.replace(old, new)


def line_of(needle: str, text: str) -> int:
    """The line, from 1, of a word that stands in one line."""
    lines = [number for number, line in enumerate(text.split("\n"), 1) if needle in line]
    assert len(lines) == 1, f"{needle!r} stands in lines {lines}"
    return lines[0]


def put(root: Path, name: str, text: str | bytes = CELL) -> Path:
    """Write one file of a bench."""
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path
