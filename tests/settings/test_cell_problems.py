# ruff: noqa: E501 (a table reads one case a line)
"""Broken cell.toml → exactly these problems: line, key, words of the finding and of the remedy."""

import re
from pathlib import Path

import pytest
from written_settings import CELL, line_of, put, spoiled

from tui.settings.problems import Problem, SettingsError
from tui.settings.reading import read_cell, read_cell_toml

JARGON = re.compile(
    r"Input should|Value error|valid (string|integer|dictionary)|pydantic|Field required|Extra inputs"
    r"|value_error|\bstr\b|\bNone\b|\bTrue\b|\bFalse\b|tuple|dict\b",
)


def problems(tmp_path: Path, text: str | bytes) -> tuple[Problem, ...]:
    with pytest.raises(SettingsError) as caught:
        read_cell_toml(put(tmp_path, "C1/cell.toml", text), "C1/cell.toml")
    return caught.value.problems


def test_a_good_file_has_none(tmp_path: Path) -> None:
    found = read_cell(put(tmp_path, "C1/cell.toml"), "C1/cell.toml")
    assert found.problems == ()
    assert found.plan_problems == ()
    assert found.settings is not None
    assert found.settings.specimen.height_mm == pytest.approx(100.3)


# What to exchange, the key and a word in whose line it stands, what is said, what the remedy says.
ONE_KEY = [
    ('rating = "1700 kPa"', "rating = 1700", "cell.rating", "1700, a number without a unit", '"1700 kPa"'),
    ('"1700 kPa"', '"1700"', "cell.rating", "without a unit", "psi"),
    ('"1700 kPa"', '"1700 mm"', "cell.rating", "measures length, not pressure", "kPa"),
    ('"1700 kPa"', '"1700 KPA"', "cell.rating", 'unknown unit "KPA"', 'did you mean "kPa"?'),
    ('"1700 kPa"', '"1700,5 kPa"', "cell.rating", "decimal comma", '"1700.5 kPa"'),
    ('"1700 kPa"', '"-3 kPa"', "cell.rating", '"-3 kPa"', "above 0"),
    ('"1700 kPa"', '"1e999 kPa"', "cell.rating", "1e999", "kPa"),
    ('"1700 kPa"', "true", "cell.rating", "is true", "kPa"),
    ('"1700 kPa"', "[1, 2]", "cell.rating", "is [1, 2]", "kPa"),
    ("rating =", "ratign =", "cell.ratign", "unknown", 'did you mean "rating"?'),
    ("effective_stress =", "rating =", "plan.rating", "unknown", "belongs into [cell]"),
    ("cell_step =", "zzz =", "plan.zzz", "unknown", "known here: b_target"),
    ('load_cell = "internal"', 'load_cell = "inside"', "cell.piston.load_cell", '"inside"', '"internal", "external"'),
    ('load_cell = "internal"', 'load_cell = "external"', "cell.piston", "lifts the piston", 'uplift = "computed"'),
    ('diameter = "20 mm", ', "", "cell.piston.diameter", "missing", 'diameter = "50.0 mm"'),
    ('name = "C1"', 'name = "C/1"', "cell.name", "file name", "without"),
    ('name = "C1"', 'name = "C\\u001b[31m"', "cell.name", "do not show", "plain letters"),
    ('name = "C1"', 'name = " "', "cell.name", "empty", "write a name"),
    ('time = { column = "Time" }', 'time = { column = "Time", kind = "elapsed s" }', "log.time", "count began", '"file name"'),
    ('time = { column = "Time" }', 'time = { column = "Time", zone = "Europe/Olso" }', "log.time.zone", "no time zone", 'did you mean "Europe/Oslo"?'),
    ('time = { column = "Time" }', 'time = { offset = 95 }', "log.time.offset", "without a unit", '"95 s"'),
    ('files = "*.csv"', 'files = ""', "log.files", "empty", "*.csv"),
    ('files = "*.csv"', 'encoding = "utf-9"', "log.encoding", "not known", "cp1252"),
    ('files = "*.csv"', 'phases = { SAT = "saturatoin" }', "log.phases.SAT", "no phase", 'did you mean "saturation"?'),
    ('files = "*.csv"', "header_row = 0", "log.header_row", "is 0", "above 0"),
    ("cell_pressure = {", "cell_presure = {", "log.channels.cell_presure", "not a channel", 'did you mean "cell_pressure"?'),
    ('"Pc", unit = "kPa", range', '"Pc", range', "log.channels.cell_pressure", "no unit", 'unit = "kPa"'),
    ('"Pc", unit = "kPa"', '"Pc", unit = "mm"', "log.channels.cell_pressure.unit", "length, not pressure", "psi"),
    ('"F", unit = "N"', '"F", unit = "kg"', "log.channels.axial_load.unit", "mass, not force", 'did you mean "kgf"?'),
    ('"0 to 2000 kPa"', '"2000 kPa"', "log.channels.cell_pressure.range", "two ends", '"0 to 100 kPa"'),
    ('"0 to 2000 kPa"', '"2000 to 0 kPa"', "log.channels.cell_pressure.range", "does not rise", "lower end"),
    ('"0 to 100 ml"', '"0 to 100 mm"', "log.channels.back_volume.stroke", "length, not volume", "ml"),
    ('column = "Pb"', 'column = "Pc"', "log.channels.back_pressure", "cell_pressure reads already", "same_as"),
    ('column = "Pb"', 'column = "Time"', "log.channels.back_pressure", "the time reads already", "own column"),
    ('column = "Pb"', 'zero = "1 kN", column = "Pb"', "log.channels.back_pressure.zero", "force, not pressure", "kPa"),
    ('column = "Pb"', 'gain = 0, column = "Pb"', "log.channels.back_pressure.gain", "gain is 0", "true gain"),
    ('column = "Pb"', 'sign = 2, column = "Pb"', "log.channels.back_pressure.sign", "sign is 2", "1, -1"),
    ('column = "Pb"', 'table = [[0, 0], [5, 9], [4, 10]], column = "Pb"', "log.channels.back_pressure.table", "raw numbers", "sort"),
    ('column = "Pb"', 'table = [[0, 0], [4, 9], [5, 8]], column = "Pb"', "log.channels.back_pressure.table", "value numbers", "sort"),
    ('column = "Pb"', 'table = [[0, 0]], column = "Pb"', "log.channels.back_pressure.table", "1 pair", "two pairs"),
    ('column = "Pb", ', "", "log.channels.back_pressure", "no column", "column ="),
    ('column = "Pb", unit = "kPa"', 'same_as = "pore_presure"', "log.channels.back_pressure.same_as", "not in [log.channels]", 'did you mean "pore_pressure"?'),
    ('column = "Pb", unit = "kPa"', 'same_as = "back_pressure"', "log.channels.back_pressure.same_as", "leads back", "must name the column"),
    ('column = "Pb", unit = "kPa"', 'same_as = "axial_load"', "log.channels.back_pressure.same_as", "something else", "kPa"),
    ('column = "Pb"', 'columns = ["a", "b"]', "log.channels.back_pressure", "several columns", 'combine = "sum"'),
    ('column = "Pb", unit = "kPa"', 'column = "a", same_as = "pore_pressure"', "log.channels.back_pressure", "column and same_as", "exactly one"),
    ('kind = "CU"', 'kind = "cu"', "test.kind", '"cu"', 'did you mean "CU"?'),
    ('kind = "CU"', 'kind = "oedometer"', "test.kind", "does not reduce", "never treated as one"),
    ('kind = "CU"', 'kind = "stress-controlled"', "test.kind", "does not reduce", "CU, CD and UU"),
    ('id = "T015"', "id = 15", "test.id", "15, not text", "quotation marks"),
    ('id = "T015"', 'id = "../x"', "test.id", "file name", "without"),
    ("ASTM D4767", "D4767", "test.standard", '"D4767"', 'did you mean "ASTM D4767"?'),
    ('"2031-02-03T08:10"', '"3 Feb 2031"', "test.started", "not a date", "2031-02-03T08:10"),
    ('"2031-02-03T08:10"', "2031-02-03", "test.started", "without a time of day", "2031-02-03T08:10"),
    ('"2031-02-03T08:10"', "1927872600", "test.started", "not a date", "2031-02-03T08:10"),
    ('"2031-02-03T08:10"', '"2031-02-03T08:10"\nended = "2031-02-03T08:00"', "test.ended", "not after started", "later"),
    ('diameter = "50.0 mm"', 'diameter = ["50 mm", 50]', "specimen.diameter#2", "without a unit", '"50 mm"'),
    ('diameter = "50.0 mm"', "diameter = []", "specimen.diameter", "empty list", "at least one"),
    ('mass = "377.9 g"', 'mass = "3.7 N"', "specimen.mass", "force, not mass", "kg"),
    ("water_content = 0.312", 'water_content = "31.2 mm"', "specimen.water_content", "not a ratio", '"31.2 %"'),
    ("water_content = 0.312", "water_content = nan", "specimen.water_content", "nan", "finite"),
    ("water_content = 0.312", "water_content = -0.1", "specimen.water_content", "-0.1", "at least 0"),
    ('drainage = "both ends"', 'drainage = "both end"', "specimen.drainage", '"both end"', 'did you mean "both ends"?'),
    ('drainage = "both ends"', 'drainage = "both ends"\nside_drains = { perimeter = "78 mm" }', "specimen.side_drains", "side drains", "radial + both ends"),
    ("water_content = 0.312", "water_content = 0.312\nspecific_gravity = 2.7", "specimen.specific_gravity", "both given", "keep one"),
    ('label = "BH4-U12-a"', "particle_density_assumed = 1", "specimen.particle_density_assumed", "not true or false", "true or false"),
    ('strain_limit = "15 %"', 'strain_limit = "15"', "plan.strain_limit", '"15"', '"15 %"'),
    ('strain_limit = "15 %"', 'consolidation_end = "t100"', "plan.consolidation_end", '"t100"', '"dissipation 95 %"'),
    ('strain_limit = "15 %"', 'consolidation_end = "dissipation 120 %"', "plan.consolidation_end", "120", '"24 h"'),
    ('strain_limit = "15 %"', 'consolidation_end = "flow 0.1 %"', "plan.consolidation_end", "flow 0.1 %", '"flow 0.1 %/h"'),
    ("ratio = 2.0", "ratio = 1", "schedule.consolidation.ratio", "is 1", "above 1"),
    ("ratio = 2.0", 'ratio = "2"', "schedule.consolidation.ratio", "not a number", "bare number"),
    ("slots = 16", "slots = 1600", "schedule.consolidation", "ten years", "fewer slots"),
    ("slots = 16", "slots = 1.5", "schedule.consolidation.slots", "not a whole number", "whole number"),
    ("slots = 16", "slots = true", "schedule.consolidation.slots", "true", "whole number"),
    (', slots = 16', "", "schedule.consolidation.slots", "missing", "slots ="),
    ('kind = "root"', 'kind = "rot"', "schedule.saturation.kind", '"rot"', 'did you mean "root"?'),
    ('kind = "root", ', "", "schedule.saturation.kind", "no kind", "root"),
    ('{ kind = "root", step = 0.5, slots = 40, per = "step" }', '{ kind = "times", at = ["6 s", "5 s"] }', "schedule.saturation.at", "do not rise", "sort"),
    ("per =", "pre =", "schedule.saturation.pre", "unknown", 'did you mean "per"?'),
    ("[schedule]", "[shcedule]", "shcedule", "unknown", 'did you mean "schedule"?'),
    ("[schedule]", "[alarms.limits.over-presure]\n[schedule]", "alarms.limits.over-presure", "no kind of alarm", 'did you mean "over-pressure"?'),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "what", "remedy"), ONE_KEY)
def test_one_wrong_key(
    tmp_path: Path, old: str, new: str, key: str, what: str, remedy: str
) -> None:
    text = spoiled(old, new)
    (problem,) = problems(tmp_path, text)
    assert (problem.file, problem.key, problem.severity) == ("C1/cell.toml", key, "error")
    assert what in problem.what
    assert remedy in problem.remedy
    assert not JARGON.search(f"{problem.what} {problem.remedy}")
    assert problem.line is not None
    # The line names the last key itself, or the table in which it is missing.
    word = key.rsplit(".", maxsplit=1)[-1].partition("#")[0]
    table = key.split(".")[-2] if "." in key else word
    written = text.split("\n")[problem.line - 1]
    assert word in written or table in written


def test_all_problems_come_at_once_in_the_order_of_the_lines(tmp_path: Path) -> None:
    text = CELL
    for old, new in (
        ('rating = "1700 kPa"', "rating = 1700"),
        ('column = "Pb"', 'column = "Pc"'),
        ('unit = "N"', 'unit = "kg"'),
        ('kind = "CU"', 'kind = "extension"'),
        ("height =", "hieght ="),
        ("slots = 16", "slots = 0"),
    ):
        text = spoiled(old, new, text)
    found = problems(tmp_path, text)
    assert [problem.key for problem in found] == [
        "cell.rating",
        "log.channels.back_pressure",
        "log.channels.axial_load.unit",
        "test.kind",
        "specimen.height",
        "specimen.hieght",
        "schedule.consolidation.slots",
    ]
    assert [problem.line for problem in found] == sorted(problem.line or 0 for problem in found)
    assert found[-1].line == line_of("slots = 0", text)


SYNTAX = [
    ('rating = "1700 kPa"', "rating = 1700 kPa", 3, "without quotation marks", '"1700 kPa"'),
    ('rating = "1700 kPa"', "rating", 3, "not valid TOML", "key = value"),
    ('rating = "1700 kPa"', 'name = "C2"', 3, "second time", "keep one"),
    ("[log]", "[cell]", 6, "second time", "keep one"),
    ('rating = "1700 kPa"', 'rating = "1700 kPa', 3, "not valid TOML", "quotation marks"),
    ('rating = "1700 kPa"', "rating = 2031-13-41", 3, "not valid TOML", "key = value"),
]


@pytest.mark.parametrize(("old", "new", "line", "what", "remedy"), SYNTAX)
def test_what_is_not_toml_has_its_line(
    tmp_path: Path, old: str, new: str, line: int, what: str, remedy: str
) -> None:
    (problem,) = problems(tmp_path, spoiled(old, new))
    assert (problem.line, problem.key) == (line, None)
    assert what in problem.what
    assert remedy in problem.remedy


def test_escapes_in_a_file_do_not_reach_a_message(tmp_path: Path) -> None:
    for text in ('x = "\x1b[31m"\n', spoiled("rating =", '"ra\\u001b[2Jting" ='), "\x1b]0;t\x07"):
        for problem in problems(tmp_path, text):
            said = f"{problem.what}{problem.remedy}{problem.key}"
            assert not any(ord(letter) < 32 or ord(letter) == 127 for letter in said)


@pytest.mark.parametrize(
    ("content", "taken_for"),
    [
        (b"\xef\xbb\xbf" + CELL.encode(), None),
        (CELL.replace("\n", "\r\n").encode(), None),
        (b"\xef\xbb\xbf" + CELL.replace("\n", "\r\n").encode(), None),
        (CELL.replace("\n", "\r").encode(), None),
        (CELL.replace("BH4-U12-a", "Kvæ 4").encode("cp1252"), "Windows-1252"),
        (CELL.encode("utf-16"), "UTF-16"),
    ],
)
def test_files_of_any_editor_are_read(
    tmp_path: Path, content: bytes, taken_for: str | None
) -> None:
    found = read_cell(put(tmp_path, "C1/cell.toml", content), "C1/cell.toml")
    assert found.settings is not None
    assert found.settings.cell.rating_kPa == 1700.0
    assert [problem.severity for problem in found.problems] == ["note"] * (taken_for is not None)
    if taken_for == "Windows-1252":
        assert found.settings.specimen.label == "Kvæ 4"
    for problem in found.problems:
        assert taken_for is not None
        assert taken_for in problem.what
        assert "UTF-8" in problem.remedy


@pytest.mark.parametrize(
    "content", [b"\x00\x01\x02", b"\xff" * 100, b"[" * 30_000, b"x = " + b"9" * 5000]
)
def test_rubbish_is_one_problem(tmp_path: Path, content: bytes) -> None:
    (*_, problem) = problems(tmp_path, content)
    assert problem.severity == "error"
    assert problem.file == "C1/cell.toml"


def test_a_folder_or_a_giant_in_the_place_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "C1" / "cell.toml").mkdir(parents=True)
    (problem,) = read_cell(tmp_path / "C1" / "cell.toml", "C1/cell.toml").problems
    assert "not a file" in problem.what
    (problem,) = problems(tmp_path / "other", "#" * 2_000_000)
    assert "2.0 MB" in problem.what


def test_a_missing_table_is_named(tmp_path: Path) -> None:
    text = CELL[: CELL.index("[specimen]")]
    (problem,) = problems(tmp_path, text)
    assert (problem.key, problem.what) == ("specimen", "the table [specimen] is missing")


def test_a_cell_between_two_tests_is_no_error(tmp_path: Path) -> None:
    found = read_cell(put(tmp_path, "C1/cell.toml", CELL[: CELL.index("[test]")]), "C1/cell.toml")
    assert found.settings is None
    assert found.hardware is not None
    assert found.hardware.rating_kPa == 1700.0
    assert [(p.severity, p.what) for p in found.problems] == [("note", "no test is described")]


JUNK = (
    "1", "-1", "0", "1.5", "nan", "-inf", "true", '""', '"x"', '"1 kPa"', '"-1 mm"', '"0 to 1 mm"',
    "[]", "[[]]", "[1]", '["a", 2]', "{}", "{ a = 1 }", '{ column = 1 }', '[{ column = "q" }, 3]',
    "2031-02-03", "08:10:00", "2031-02-03T08:10:00Z", '"\\u0000"', '"env:X"',
)  # fmt: skip


@pytest.mark.parametrize("junk", JUNK)
def test_no_value_anywhere_breaks_the_reading_or_speaks_jargon(tmp_path: Path, junk: str) -> None:
    path = tmp_path / "cell.toml"
    lines = CELL.split("\n")
    tables = [f"{name} = {junk}" for name in ("cell", "log", "test", "specimen", "plan", "alarms")]
    texts = ["\n".join([table, *lines]) for table in tables]
    texts += [f"{table}\n" for table in tables]
    for number, line in enumerate(lines):
        if "=" in line:
            # The whole value, then every value inside an inline table.
            spots = [found.end() for found in re.finditer(r"=\s*", line)]
            for spot in spots:
                end = re.compile(r'[^,}"]*("[^"]*")?').match(line, spot)
                assert end is not None
                cut = len(line) if spot == spots[0] else end.end()
                changed = line[:spot] + junk + line[cut:]
                texts.append("\n".join([*lines[:number], changed, *lines[number + 1 :]]))
    for text in texts:
        path.write_text(text, "utf-8")
        found = read_cell(path, "cell.toml")
        assert (found.settings is None) >= any(p.severity == "error" for p in found.problems)
        for problem in (*found.problems, *found.plan_problems):
            said = f"{problem.what} {problem.remedy}"
            assert not JARGON.search(said), said
            assert not re.search(r"[\x00-\x1f\x7f]", said)
