# ruff: noqa: E501 (a table reads one case a line)
"""Every key and every form of value that the settings files have is accepted."""

from datetime import datetime
from pathlib import Path

import pytest
from written_settings import put

from tui.settings.places import read_layout
from tui.settings.reading import read_bench, read_cell_toml
from tui.settings.resolved import resolve_channels

CELL = """\
[cell]
name = "C1"
rating = "1700 kPa"
piston = { diameter = "20 mm", load_cell = "external", uplift = "zeroed at pressure", zeroed_at = "450 kPa", friction = "8 N" }
expansion = [["0 kPa", "0 ml"], ["1000 kPa", "4.1 ml"]]
line_compliance = "0.002 ml/kPa"
frame_compliance = "0.00001 mm/N"

[log]
files = "*.csv"
rows = "scheduled"
live = "live.csv"
time = { column = "Time", format = "%d.%m.%Y %H:%M", zone = "Europe/Oslo", offset = "-95 s" }
phases = { "SAT" = "saturation", "CHK" = "saturation/b-check" }
separator = ";"
decimal = ","
encoding = "cp1252"
header_row = 3
[log.channels]
cell_pressure = { column = "Pc", unit = "psi", zero = "0.3 psi", range = "0 to 150 psi" }
pore_pressure = { column = "u", unit = "kPa", measured_at = "base", datum = "35 mm" }
back_pressure = { same_as = "pore_pressure" }
back_volume = { columns = ["V1", "V2"], combine = "sum", unit = "ml", sign = -1, stroke = "0 to 100 ml", refill = "3 ml" }
cell_volume = { column = "Vc", unit = "cm³", gain = 0.5 }
axial_displacement = { column = "d", unit = "in", table = [[0, 0], [1.5, 0.1], [3, 0.25]] }
axial_load = [ { column = "F1", unit = "N", range = "0 to 500 N" }, { column = "F2", unit = "kN", range = "0 to 10 kN" } ]
temperature = { column = "T", unit = "°C" }
phase = { column = "Stage" }
drainage = { column = "Valve" }

[test]
id = "T015"
kind = "CU"
standard = "ASTM D4767"
started = "2031-02-03T08:10"
ended = 2031-02-10T09:30:00+01:00

[identity]
project = "Quay"
liquid_limit = "36 %"
anything = [1, 2]

[specimen]
label = "BH4-U12-a"
set = "BH4-U12"
diameter = "50.0 mm"
height = ["100.2 mm", "100.4 mm"]
mass = "377.9 g"
water_content = "31.2 %"
final_water_content = 0.298
dry_mass = "288.0 g"
specific_gravity = 2.70
particle_density_assumed = true
drainage = "radial + one end"
mounting = "dry"
flush = "CO2"
membrane = { thickness = "0.30 mm", modulus = "1400 kPa", count = 1 }
side_drains = { perimeter = "78 mm", load_per_perimeter = "0.19 kN/m" }

[plan]
effective_stress = "150 kPa"
cell_step = "50 kPa"
excess = "10 kPa"
b_target = 0.95
back_pressure_limit = "600 kPa"
step_time = "6 h"
consolidation_end = "dissipation 95 %"
strain_limit = "15 %"
strain_rate = "0.05 %/min"

[schedule]
saturation = { kind = "root", step = 0.5, slots = 40, per = "step" }
consolidation = { kind = "log", first = "0.1 min", ratio = 2.0, slots = 16 }
shear = { kind = "strain", step = "0.1 %", slots = 220 }

[alarms.limits.effective-stress-low]
min = "2 kPa"
on = "60 s"
"""

BENCH = """\
name = "Ferry quay, phase 2"
zone = "Europe/Oslo"
units = "SI"
now = "clock"
attended = "Mon-Fri 07:30-16:00"
[[supply]]
name = "main"
feeds = ["C1"]
[alarms]
repeat = "30 min"
heartbeat = { url = "env:POREWATCH_HEARTBEAT", every = "5 min" }
[[alarms.routes]]
name = "night phone"
to = "env:POREWATCH_ROUTE_NIGHT"
from = "urgent"
days = "Mon-Sun"
hours = "20:00-07:00"
after = "0 min"
kinds = ["*"]
[alarms.limits.effective-stress-low]
min = "2 kPa"
on = "60 s"
"""

OTHER_FORMS = [
    ('uplift = "zeroed at pressure", zeroed_at = "450 kPa"', 'uplift = "computed"'),
    ('load_cell = "external", uplift = "zeroed at pressure"', 'load_cell = "internal"'),
    ('rows = "scheduled"', 'rows = "steady"'),
    ('column = "Time", format', 'column = ["Date", "Time"], format'),
    ('format = "%d.%m.%Y %H:%M"', 'kind = "elapsed min", start = "2031-02-03T08:00:00"'),
    ('format = "%d.%m.%Y %H:%M"', 'kind = "elapsed h", start = 2031-02-03T08:00:00'),
    ('format = "%d.%m.%Y %H:%M"', 'kind = "elapsed s", start = "file name"'),
    ('format = "%d.%m.%Y %H:%M"', 'kind = "elapsed s", start = "banner"'),
    ('combine = "sum"', 'combine = "mean"'),
    ('measured_at = "base"', 'measured_at = "mid"'),
    ('kind = "CU"', 'kind = "CD"'),
    ('kind = "CU"', 'kind = "UU"'),
    *(
        ("ASTM D4767", standard)
        for standard in ("ASTM D7181", "ASTM D2850", "ISO 17892-8", "ISO 17892-9", "BS 1377-8")
    ),
    ("specific_gravity = 2.70", 'particle_density = "2.70 Mg/m3"'),
    ("specific_gravity = 2.70", 'particle_density = "168.6 pcf"'),
    ('drainage = "radial + one end"', 'drainage = "radial"'),
    ('drainage = "radial + one end"', 'drainage = "radial + both ends"'),
    ('"dissipation 95 %"', '"t100 + 1 log cycle"'),
    ('"dissipation 95 %"', '"flow 0.1 %/h"'),
    ('"dissipation 95 %"', '"24 h"'),
    ('{ kind = "strain", step = "0.1 %", slots = 220 }', '{ kind = "times", at = ["6 s", "15 s"] }'),
    ('{ kind = "strain", step = "0.1 %", slots = 220 }', '{ kind = "every", step = "10 s", slots = 4000 }'),
]  # fmt: skip


def test_all_of_a_cell(tmp_path: Path) -> None:
    settings = read_cell_toml(put(tmp_path, "C1/cell.toml", CELL), "C1/cell.toml")
    assert settings.cell.piston is not None
    assert settings.cell.piston.zeroed_at_kPa == 450.0
    assert settings.cell.expansion[1] == (1000.0, pytest.approx(4.1))
    assert settings.log.time.offset_s == -95.0
    assert settings.specimen.height_mm == pytest.approx(100.3)
    assert settings.specimen.water_content == pytest.approx(0.312)
    assert settings.plan.step_time_s == 21_600.0
    assert settings.plan.strain_rate_percent_min == 0.05
    assert settings.test.started == datetime.fromisoformat("2031-02-03T08:10")
    assert settings.test.ended is not None
    assert settings.test.ended.tzinfo is not None
    assert settings.alarms.limits["effective-stress-low"]["min"] == "2 kPa"
    assert len(resolve_channels(settings.log)) == 10


@pytest.mark.parametrize(("old", "new"), OTHER_FORMS)
def test_every_other_form(tmp_path: Path, old: str, new: str) -> None:
    assert CELL.count(old) == 1
    read_cell_toml(put(tmp_path, "C1/cell.toml", CELL.replace(old, new)), "C1/cell.toml")


def test_all_of_a_bench(tmp_path: Path) -> None:
    put(tmp_path, "C1/cell.toml", CELL)
    found = read_bench(put(tmp_path, "bench.toml", BENCH))
    assert found.problems == ()
    assert found.settings.alarms.repeat_s == 1800.0
    (route,) = found.settings.alarms.routes
    assert (route.to, route.least, route.after_s) == ("env:POREWATCH_ROUTE_NIGHT", "urgent", 0.0)
    layout = read_layout(tmp_path)
    assert layout.problems == ()
    assert str(layout.zone) == "Europe/Oslo"


@pytest.mark.parametrize("line", range(BENCH.count("\n")))
@pytest.mark.parametrize("junk", ["1", '"x"', "[]", "{}", "nan", "[[1]]", "[{ a = 1 }]"])
def test_no_value_of_a_bench_breaks_it(tmp_path: Path, line: int, junk: str) -> None:
    lines = BENCH.split("\n")
    if "=" not in lines[line]:
        lines.insert(line, f"extra = {junk}")
    else:
        lines[line] = f"{lines[line].partition('=')[0]}= {junk}"
    put(tmp_path, "C1/cell.toml", CELL)
    put(tmp_path, "bench.toml", "\n".join(lines))
    layout = read_layout(tmp_path)
    assert layout.places[0].settings is not None
    assert all(problem.what and problem.remedy for problem in layout.problems)
