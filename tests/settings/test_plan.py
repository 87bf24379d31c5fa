# ruff: noqa: E501 (a table reads one case a line)
"""Plans that contradict themselves → exactly these findings.

The figures come from the laboratory's reading sheet of the standards; those marked "after" in
the words are from memory of the texts, except the piston's sixth of D4767 (found in a public
fragment of ASTM D4767-11).
"""

from pathlib import Path

import pytest
from written_settings import CELL, put, spoiled

from tui.settings.problems import Problem
from tui.settings.reading import read_cell


def findings(tmp_path: Path, text: str) -> tuple[Problem, ...]:
    found = read_cell(put(tmp_path, "C1/cell.toml", text), "C1/cell.toml")
    assert found.problems == ()
    return found.plan_problems


# Exchanges, then severity, key, words.
CASES = [
    ([('rating = "1700 kPa"\n', "")], "warning", "cell.rating", "over-pressure cannot be judged"),
    ([('"1700 kPa"', '"700 kPa"')], "error", "plan.back_pressure_limit", "make 750 kPa of cell pressure, above the cell's rating of 700 kPa"),
    ([('"1700 kPa"', '"750 kPa"')], "warning", "plan.back_pressure_limit", "above 95 % of the cell's rating"),
    ([('"1700 kPa"', '"655 kPa"'), ('"150 kPa"', '"61 kPa"')], "error", "plan.back_pressure_limit", "make 661 kPa"),
    ([('"0 to 2000 kPa"', '"0 to 110 psi"')], "warning", "log.channels.cell_pressure.range", "the plan leads to 750 kPa"),
    ([('excess = "10 kPa"', 'excess = "150 kPa"'), ("D4767", "D7181"), ('"CU"', '"CD"')], "error", "plan.excess", "pre-stress"),
    ([('excess = "10 kPa"', 'excess = "40 kPa"')], "warning", "plan.excess", "after ASTM D4767"),
    ([("ASTM D4767", "BS 1377-8"), ('excess = "10 kPa"', 'excess = "25 kPa"')], "warning", "plan.excess", "after BS 1377-8 it is 5 to 20 kPa"),
    ([('"150 kPa"', '"55 kPa"')], "warning", "plan.cell_step", "above effective_stress, 55 kPa"),
    ([('cell_step = "50 kPa"', 'cell_step = "145 kPa"'), ('"150 kPa"', '"300 kPa"')], "warning", "plan.cell_step", "at most about 140 kPa"),
    ([('back_pressure_limit = "600 kPa"\n', "")], "note", "plan.back_pressure_limit", "not given"),
    ([("ASTM D4767", "ISO 17892-9"), ('"600 kPa"', '"250 kPa"')], "note", "plan.back_pressure_limit", "300 kPa or more"),
    ([('effective_stress = "150 kPa"\n', "")], "warning", "plan.effective_stress", "not given"),
    ([('excess = "10 kPa"', 'b_target = 0.9')], "warning", "plan.b_target", "it is 0.95"),
    ([('["100.2 mm", "100.4 mm"]', '"95 mm"'), ('"377.9 g"', '"358 g"')], "warning", "specimen.height", "1.90; after ASTM D4767 it is 2 to 2.5"),
    ([("ASTM D4767", "BS 1377-8"), ('["100.2 mm", "100.4 mm"]', '"107 mm"'), ('"377.9 g"', '"403 g"')], "warning", "specimen.height", "nominally 2"),
    ([("ASTM D4767", "ASTM D7181"), ('"CU"', '"CD"'), ('"50.0 mm"', '"48.0 mm"'), ('"377.9 g"', '"348 g"')], "warning", "specimen.diameter", "at least 50 mm"),
    ([('"50.0 mm"', '["50 mm", "50 mm", "44 mm", "50 mm"]'), ('"377.9 g"', '"355 g"')], "warning", "specimen.diameter#3", "9% off the mean"),
    ([('mass = "377.9 g"\n', "")], "warning", "specimen.mass", "neither mass nor dry_mass"),
    ([('"377.9 g"', '"3.779 kg"')], "warning", "specimen.mass", "which no soil has"),
    ([("water_content = 0.312\n", "")], "warning", "specimen.water_content", "neither water_content nor dry_mass"),
    ([("water_content = 0.312\n", 'dry_mass = "400 g"\n')], "error", "specimen.dry_mass", "not below mass"),
    ([("water_content = 0.312\n", "water_content = 0.40\n")], "warning", "specimen.water_content", "initial saturation of 112%"),
    ([('particle_density = "2.70 Mg/m3"\n', "")], "warning", "specimen.particle_density", "neither particle_density nor specific_gravity"),
    ([('"2.70 Mg/m3"', '"2.70 kg/m3"')], "warning", "specimen.particle_density", "0.0027 Mg/m³"),
    ([('drainage = "both ends"\n', "")], "warning", "specimen.drainage", "cv and the advised rate"),
    ([('"both ends"', '"radial"')], "warning", "specimen.drainage", "without side_drains"),
    ([('"both ends"', '"radial"\nside_drains = { perimeter = "90 mm" }')], "warning", "specimen.side_drains.perimeter", "57.3% of the perimeter; after ASTM D4767 at most 50 %"),
    ([('"both ends"', '"radial"\nside_drains = { perimeter = "200 mm" }')], "error", "specimen.side_drains.perimeter", "more than the specimen's 157.1 mm"),
    ([('membrane = { thickness = "0.30 mm" }\n', "")], "warning", "specimen.membrane", "not taken out"),
    ([('"0.30 mm"', '"0.6 mm"')], "note", "specimen.membrane.thickness", "at most 1 % of the diameter, 0.5 mm"),
    ([('"both ends"', '"both ends"\nflush = "CO2"')], "warning", "specimen.flush", "mounting is not given"),
    ([('piston = { diameter = "20 mm", load_cell = "internal" }\n', "")], "warning", "cell.piston", "not given"),
    ([('diameter = "20 mm"', 'diameter = "2 in"')], "error", "cell.piston.diameter", "not below the specimen's"),
    ([('diameter = "20 mm"', 'diameter = "8 mm"')], "note", "cell.piston.diameter", "a sixth of the specimen's, 8.33 mm"),
    ([('load_cell = "internal"', 'load_cell = "external", uplift = "zeroed at pressure"')], "warning", "cell.piston.zeroed_at", "0 kPa is assumed"),
    ([("ASTM D4767", "ASTM D7181")], "error", "test.standard", "kind is CU, and ASTM D7181 is for CD"),
    ([('standard = "ASTM D4767"\n', "")], "note", "test.standard", "not given"),
    ([("ratio = 2.0, slots = 16", 'ratio = 2.0, slots = 16, per = "step"')], "error", "schedule.consolidation.per", "only saturation restarts"),
    ([('{ kind = "log", first = "0.1 min", ratio = 2.0, slots = 16 }', '{ kind = "strain", step = "1 %", slots = 9 }')], "error", "schedule.consolidation.kind", "consolidation has none"),
    ([('strain_limit = "15 %"', 'step_time = "7 h"')], "note", "schedule.saturation", "ends after 6.667 h"),
    ([('strain_limit = "15 %"', 'consolidation_end = "72 h"')], "warning", "schedule.consolidation", "ends after 54.61 h; consolidation_end is 72 h"),
    ([('strain_limit = "15 %"', 'consolidation_end = "dissipation 95 %"')], "warning", "plan.consolidation_end", "both ends drain"),
    ([("slots = 220", "slots = 120")], "warning", "schedule.shear", "(12.0%), before strain_limit, 15.0%"),
    ([('kind = "strain", step = "0.1 %", slots = 220', 'kind = "every", step = "1 min", slots = 200'), ('strain_limit = "15 %"', 'strain_rate = "0.05 %/min"')], "warning", "schedule.shear", "ends after 3.333 h; at 0.05 %/min strain_limit takes 5 h"),
    ([('"15 %"', '"22 %"'), ("0 to 25 mm", "0 to 50 mm")], "note", "plan.strain_limit", "20 % after BS 1377-8"),
    ([("0 to 25 mm", "0 to 16 mm")], "warning", "log.channels.axial_displacement", "takes 15 mm of travel; the gauge has 16 mm"),
    ([('axial_load = { column = "F", unit = "N" }\n', "")], "warning", "log.channels", "no axial_load is read"),
]  # fmt: skip


@pytest.mark.parametrize(("exchanges", "severity", "key", "words"), CASES)
def test_one_finding(
    tmp_path: Path, exchanges: list[tuple[str, str]], severity: str, key: str, words: str
) -> None:
    text = CELL
    for old, new in exchanges:
        text = spoiled(old, new, text)
    found = findings(tmp_path, text)
    assert [(problem.severity, problem.key) for problem in found] == [(severity, key)]
    assert words in found[0].what
    assert found[0].remedy
    assert found[0].file == "C1/cell.toml"


def test_the_maker_and_local_rules_decide_about_pressure(tmp_path: Path) -> None:
    (problem,) = findings(tmp_path, spoiled('"1700 kPa"', '"700 kPa"'))
    assert "maker's plate" in problem.remedy
    assert "local rules" in problem.remedy


def test_a_standard_is_never_claimed_to_be_met_or_broken(tmp_path: Path) -> None:
    text = spoiled('["100.2 mm", "100.4 mm"]', '"95 mm"')
    for problem in findings(tmp_path, text):
        said = f"{problem.what} {problem.remedy}".casefold()
        assert not any(word in said for word in ("complian", "complies", "conform", "violat"))


def test_an_undrained_quick_test_needs_no_back_pressure(tmp_path: Path) -> None:
    text = spoiled('kind = "CU"', 'kind = "UU"').replace("ASTM D4767", "ASTM D2850")
    text = text[: text.index("saturation = {")] + text[text.index("shear = {") :]
    text = spoiled('back_pressure_limit = "600 kPa"', 'back_pressure_limit = "6000 kPa"', text)
    assert findings(tmp_path, text) == ()


def test_sizes_on_a_bound_pass(tmp_path: Path) -> None:
    # 99.9 mm by 50 mm is a slenderness of 1.998: nominally 2.
    text = spoiled('["100.2 mm", "100.4 mm"]', '"99.9 mm"')
    assert findings(tmp_path, text) == ()
