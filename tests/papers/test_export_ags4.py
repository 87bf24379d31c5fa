"""AGS4 files of every kind of test: the reference checker finds no error, numbers are the results'.

Reference: python-ags4, the checker and dictionary of the AGS data format working group. It wants
older versions of libraries than ours, so it runs in an environment of its own, made once.
"""

import csv
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from calling import call
from exported import HOSTILE, SAMPLES, exported, groups, subject, with_identity

from reduce.reduction.whole import reduce_test
from tui.bench.reduction_json import reduction_json
from tui.papers.exchange import ags4_dictionary
from tui.papers.exchange.ags4_file import ags4_file
from tui.papers.exchange.ags4_text import ascii_text
from tui.papers.exchange.guarded import unguarded

UNREACHABLE = re.compile(
    r"NewConnectionError|NameResolutionError|ConnectTimeoutError|ReadTimeoutError|ProxyError"
    r"|Connection refused|Network is unreachable|Temporary failure in name resolution"
)
CHECK = """
import json, sys
from python_ags4 import AGS4
found = {}
for file in sys.argv[1:]:
    told = AGS4.check_file(file)
    found[file] = {k: v for k, v in told.items() if k not in ("Metadata", "Summary of data")}
print(json.dumps(found))
"""


class Written(NamedTuple):
    """A file of the command."""

    path: Path
    rows: dict[str, list[dict[str, str]]]
    told: str
    """On stderr."""


@pytest.fixture(scope="session")
def checker(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A Python that has the checker."""
    folder = tmp_path_factory.mktemp("checker")
    subprocess.run([sys.executable, "-m", "venv", folder], check=True, timeout=300)
    python = folder / ("Scripts" if sys.platform == "win32" else "bin") / "python"
    install = [python, "-m", "pip", "install", "--quiet", "python-ags4>=1.2,<2"]
    ended = subprocess.run(install, capture_output=True, text=True, timeout=600, check=False)
    if ended.returncode and UNREACHABLE.search(ended.stderr):
        pytest.skip("the package index cannot be reached, so the AGS4 checker cannot be had")
    assert ended.returncode == 0, ended.stderr
    return python


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Written]:
    """One file of each kind."""
    folder = tmp_path_factory.mktemp("ags4")
    uu, cu = folder / "uu", folder / "cu"
    for bench, *words in ((uu, "UU", "1"), (cu, "CU", "3")):
        kind, cells = words
        made = call(
            "rehearse", "--out", str(bench), "--kind", kind, "--cells", cells, "--seed", "3"
        )
        assert made.exit_code == 0, made.stderr
    bare = with_identity(folder / "bare", "C4", {}, None)
    hostile = with_identity(folder / "hostile", "C4", HOSTILE, '=a"b,c" |d')

    def file(name: str, *arguments: str, **where: Path) -> Written:
        path = folder / name / "out.ags"
        ended = exported("ags4", path, *arguments, **where)
        assert ended.exit_code == 0, ended.stderr
        return Written(path, groups(path.read_bytes()), ended.stderr)

    def of_samples(name: str, *cells: str) -> Written:
        path = folder / name
        when = datetime(2031, 2, 6, 9, 30, tzinfo=UTC)
        content, notes = ags4_file(
            [subject(cell) for cell in cells], "peak_deviator", {}, when, "porewatch"
        )
        path.write_bytes(content)
        return Written(path, groups(content), "\n".join(notes))

    return {
        "CU": of_samples("one.ags", "C4"),
        "CD": of_samples("two.ags", "C5"),
        "unfinished": of_samples("three.ags", "C1"),
        "all sorts": of_samples("four.ags", "C1", "C4", "C5"),
        "UU": file("five", "C1", bench=uu),
        "set": file("six", "C1", "C2", "C3", "--readings", bench=cu),
        "bare": file("seven", "C4", bench=bare),
        "hostile": file("eight", "C4", bench=hostile),
    }


def test_the_reference_checker_finds_nothing(checker: Path, files: dict[str, Written]) -> None:
    paths = {str(one.path): kind for kind, one in files.items()}
    ended = subprocess.run(
        [checker, "-c", CHECK, *paths], capture_output=True, text=True, timeout=300, check=False
    )
    assert ended.returncode == 0, ended.stderr
    found = json.loads(ended.stdout)
    assert {paths[path] for path in found} == set(files)
    assert {paths[path]: told for path, told in found.items() if told} == {}


def test_the_checker_is_not_asleep(checker: Path, files: dict[str, Written]) -> None:
    spoilt = files["CU"].path.with_name("spoilt.ags")
    text = files["CU"].path.read_bytes()
    spoilt.write_bytes(text.replace(b'"UNIT","","m"', b'"UNIT","","fathom"', 1))
    ended = subprocess.run(
        [checker, "-c", CHECK, spoilt], capture_output=True, text=True, timeout=300, check=False
    )
    assert "fathom" in json.dumps(json.loads(ended.stdout)[str(spoilt)]["AGS Format Rule 15"])


def test_headings_types_units_and_codes_are_those_of_the_published_dictionary(
    checker: Path,
) -> None:
    where = "import python_ags4, pathlib; print(pathlib.Path(python_ags4.__file__).parent)"
    ended = subprocess.run([checker, "-c", where], capture_output=True, text=True, check=True)
    dictionary = Path(ended.stdout.strip()) / "Standard_dictionary_v4_1_1.ags"
    published: dict[str, list[tuple[str, str, str, str]]] = {}
    listed: dict[str, set[tuple[str, ...]]] = {"TYPE": set(), "UNIT": set(), "ABBR": set()}
    group = ""
    with dictionary.open(encoding="utf-8", newline="") as file:
        for row in csv.reader(file):
            if row[:1] == ["GROUP"]:
                group = row[1]
            elif row[:2] == ["DATA", "HEADING"]:
                published.setdefault(row[2], []).append((row[3], row[4], row[5], row[7]))
            elif row[:1] == ["DATA"] and group in listed:
                listed[group].add(tuple(row[1 : 4 if group == "ABBR" else 3]))
    for name, headings in ags4_dictionary.GROUPS.items():
        ours = [tuple(heading) for heading in headings]
        assert [one for one in published[name] if one in ours] == ours, name
        every = {one[0] for one in published[name] if "KEY" in one[1] or "REQUIRED" in one[1]}
        assert every <= {heading.name for heading in headings}, name
        if name in ("TREG", "TRET", "ESCG", "ESCT", "TRIG", "TRIT"):
            assert ours == published[name]
    assert set(ags4_dictionary.TYPES.items()) <= listed["TYPE"]
    assert set(ags4_dictionary.UNITS.items()) <= listed["UNIT"]
    codes = {
        (heading, code, means)
        for heading, known in ags4_dictionary.CODES.items()
        for code, means in known.items()
    }
    assert codes <= listed["ABBR"]


# Heading, dotted name in `reduce --json`, factor to the unit of AGS4, digits of its type.
UNDRAINED = [
    ("TRET_SDIA", "specimen.diameter_mm", 1, 2),
    ("TRET_BDEN", "specimen.moist_density_Mg_m3", 1, 2),
    ("TRET_IVR", "specimen.void_ratio", 1, 3),
    ("TRET_SATR", "specimen.saturation", 100, 0),
    ("TRET_CONP", "shear.effective_stress_kPa", 1, 0),
    ("TRET_CELL", "shear.cell_pressure_kPa", 1, 0),
    ("TRET_PWPI", "shear.pore_pressure_kPa", 1, 0),
    ("TRET_STRR", "shear.rate_percent_per_min", 60, 1),
    ("TRET_STRN", "shear.peak_deviator.axial_strain", 100, 1),
    ("TRET_DEVF", "shear.peak_deviator.deviator_kPa", 1, 0),
    ("TRET_PWPF", "shear.peak_deviator.pore_kPa", 1, 0),
    ("TRET_MEMB", "shear.peak_deviator.membrane_kPa", 1, 0),
    ("TRET_FILC", "shear.peak_deviator.side_drains_kPa", 1, 0),
    ("TRET_VOLM", "consolidation.volumetric_strain", 100, 1),
    ("TRET_BVAL", "saturation.B", 1, 2),
    ("TRET_CVP", "consolidation.effective_stress_kPa", 1, 0),
    ("TRET_E50", "shear.E50_MPa", 1, 2),
]


def inside(found: Mapping[str, Any], name: str) -> Any:
    one: Any = found
    for part in name.split("."):
        one = one[part]
    return one


def test_numbers_of_an_undrained_test_are_those_of_the_reduction(
    files: dict[str, Written],
) -> None:
    results = subject("C4").results
    (row,) = files["CU"].rows["TRET"]
    for heading, name, factor, digits in UNDRAINED:
        assert row[heading] == f"{inside(results, name) * factor:.{digits}f}", heading
    assert row["TRET_CU"] == f"{results['shear']['peak_deviator']['deviator_kPa'] / 2:.0f}"
    assert row["TRET_STV"] == ""  # drained only
    (stage,) = files["CU"].rows["ESCT"]
    consolidation = results["consolidation"]
    assert stage["ESCT_INCV"] == f"{consolidation['cv_m2_per_year']:.2g}"
    assert stage["ESCT_DVOL"] == f"{consolidation['volume_change_ml']:.1f}"
    assert stage["ESCT_VRE"] == f"{consolidation['void_ratio']:.3f}"
    # From the definition: what came out of the specimen is what its voids lost.
    lost = consolidation["volume_change_ml"] / results["specimen"]["solids_volume_ml"]
    assert float(stage["ESCT_VR0"]) - float(stage["ESCT_VRE"]) == pytest.approx(lost, abs=0.001)
    assert stage["ESCT_CVME"] == "log time"  # ASTM D4767 has t50 from log time


def test_a_drained_test_has_its_volumetric_strain_and_no_undrained_strength(
    files: dict[str, Written],
) -> None:
    state = subject("C5").results["shear"]["peak_deviator"]
    (row,) = files["CD"].rows["TRET"]
    assert row["TRET_STV"] == f"{100 * state['volumetric_strain']:.2f}"
    assert float(row["TRET_STV"]) < 0.0  # dense sand dilates
    assert row["TRET_CU"] == ""
    assert files["CD"].rows["TREG"][0]["TREG_TYPE"] == "CD"


def test_a_number_with_a_sign_or_a_choice_says_which(files: dict[str, Written]) -> None:
    (drained,), (undrained,) = files["CD"].rows["TRET"], files["CU"].rows["TRET"]
    assert "of shear alone, positive where the specimen shrank" in drained["TRET_REM"]
    assert "positive" not in undrained["TRET_REM"]
    # No ram followed this specimen, so its height was not measured
    how = "vertical strain of consolidation: a third of the volumetric strain, not measured"
    assert how in undrained["TRET_REM"]
    assert float(undrained["TRET_VERT"]) == pytest.approx(
        float(undrained["TRET_VOLM"]) / 3, abs=0.07
    )
    assert files["CU"].rows["ESCT"][0]["ESCT_DSET"] == ""


def test_the_settlement_is_the_travel_of_a_ram_that_followed() -> None:
    stood = subject("C4")
    assert stood.found is not None
    record = stood.found.record
    zero, end = record.zero_consolidation_s, record.begin_of("shear")
    assert zero is not None
    assert end is not None
    lowered = 1.7  # [mm]: 5 % of volume are 1.7 % of 100 mm
    share = np.clip((record.times_s - zero) / (0.9 * (end - zero)), 0.0, 1.0)
    travel = record.channels["axial_displacement"] + lowered * share
    moved = replace(record, channels={**record.channels, "axial_displacement": travel})
    found = reduce_test(moved)
    followed = replace(stood, found=found, results=reduction_json(found, UTC))
    when = datetime(2031, 2, 6, 9, 30, tzinfo=UTC)
    rows = groups(ags4_file([followed], "peak_deviator", {}, when, "porewatch").content)
    assert float(rows["ESCT"][0]["ESCT_DSET"]) == pytest.approx(lowered, abs=0.01)
    assert "from the travel of the ram" in rows["TRET"][0]["TRET_REM"]
    assert float(rows["TRET"][0]["TRET_VERT"]) == pytest.approx(1.7, abs=0.06)


def test_deviations_of_consolidation_are_not_those_of_shear(files: dict[str, Written]) -> None:
    (whole,), (before,) = files["CU"].rows["TREG"], files["CU"].rows["ESCG"]
    assert "sooner than" in whole["TREG_DEV"]  # failure came early
    assert "deviator" not in before["ESCG_DEV"]
    assert "shear" not in before["ESCG_REM"]
    assert "root-time rule" in before["ESCG_REM"]
    # A correction that the standard wants and that was made is no deviation
    assert "corrected for" in whole["TREG_REM"]
    assert "corrected for" not in whole["TREG_DEV"]


def test_a_b_taken_below_its_target_is_a_deviation(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(SAMPLES, bench)
    said = ("--when", "2031-02-05T11:50", "--by", "K. Berg", "--bench", str(bench))
    assert call("accept", "C2", "saturation", "--why", "soft hose", *said).exit_code == 0
    when = datetime(2031, 2, 6, 9, 30, tzinfo=UTC)
    content, _ = ags4_file([subject("C2", bench)], "peak_deviator", {}, when, "porewatch")
    rows = groups(content)
    assert "taken as it is: K. Berg: soft hose" in rows["TREG"][0]["TREG_DEV"]
    assert "taken as it is: K. Berg: soft hose" in rows["ESCG"][0]["ESCG_DEV"]
    assert "B below its target taken by K. Berg" in rows["ESCG"][0]["ESCG_SATM"]


def test_a_b_that_passed_after_all_was_taken_by_nobody(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(SAMPLES, bench)
    said = ("--when", "2031-02-03T22:30", "--by", "K. Berg", "--bench", str(bench))
    assert call("accept", "C4", "saturation", "--why", "no time", *said).exit_code == 0
    when = datetime(2031, 2, 6, 9, 30, tzinfo=UTC)
    content, _ = ags4_file([subject("C4", bench)], "peak_deviator", {}, when, "porewatch")
    rows = groups(content)
    assert float(rows["TRET"][0]["TRET_BVAL"]) > 0.95
    assert "K. Berg" not in content.decode("ascii")


def test_the_base_of_a_specimen_is_its_top_and_its_height(
    files: dict[str, Written], tmp_path: Path
) -> None:
    for kind, group in (("CU", "TREG"), ("CU", "ESCG"), ("UU", "TRIG")):
        for row in files[kind].rows[group]:
            assert float(row["SPEC_BASE"]) == pytest.approx(float(row["SPEC_DPTH"]) + 0.10)
    assert files["bare"].rows["TREG"][0]["SPEC_BASE"] == ""  # no depth, no base
    stated = {"depth": "5.20 m", "specimen_base": "5.45 m"}
    bench = with_identity(tmp_path / "bench", "C4", stated, "a")
    when = datetime(2031, 2, 6, 9, 30, tzinfo=UTC)
    content, _ = ags4_file([subject("C4", bench)], "peak_deviator", {}, when, "porewatch")
    assert groups(content)["TREG"][0]["SPEC_BASE"] == "5.45"


def test_a_test_under_total_stresses_has_groups_of_its_own(files: dict[str, Written]) -> None:
    rows = files["UU"].rows
    assert {"TRIG", "TRIT"} <= set(rows)
    assert not {"TREG", "TRET", "ESCG", "ESCT"} & set(rows)
    (row,) = rows["TRIT"]
    assert float(row["TRIT_CU"]) == pytest.approx(float(row["TRIT_DEVF"]) / 2, abs=1)
    assert row["TRIT_CELL"] == "100"


def test_what_has_not_come_yet_is_empty(files: dict[str, Written]) -> None:
    rows = files["unfinished"].rows
    assert "ESCT" not in rows
    (row,) = rows["TRET"]
    for heading in ("TRET_CONP", "TRET_DEVF", "TRET_STRN", "TRET_BVAL", "TRET_VOLM", "TRET_E50"):
        assert row[heading] == "", heading
    assert row["TRET_SDIA"] == "50.00"
    assert "not sheared yet" in row["TRET_REM"]
    assert rows["TREG"][0]["TEST_STAT"].startswith("Running")


def test_a_set_has_its_envelope_with_every_specimen(files: dict[str, Written]) -> None:
    rows = files["set"].rows["TREG"]
    found = json.loads(
        call(
            "strength", "C1", "C2", "C3", "--json",
            "--bench", str(files["set"].path.parents[1] / "cu"),
        ).stdout
    )  # fmt: skip
    assert {row["TREG_PHI"] for row in rows} == {f"{found['phi_effective_deg']:.1f}"}
    assert len({row["SPEC_REF"] for row in rows}) == 3
    assert all("the envelope of C1, C2, C3" in row["TREG_REM"] for row in rows)
    assert all(ascii_text(one["what"]) in rows[0]["TREG_REM"] for one in found["cautions"])


def test_files_are_named_only_if_they_lie_there(files: dict[str, Written]) -> None:
    written = files["set"]
    for row in written.rows["FILE"]:
        beside = written.path.parent / "FILE" / row["FILE_FSET"] / row["FILE_NAME"]
        with beside.open(encoding="utf-8", newline="") as file:
            assert len(list(csv.DictReader(file))) > 100
    assert {row["FILE_FSET"] for row in written.rows["FILE"]} == {
        row["FILE_FSET"] for row in written.rows["TRET"]
    }
    assert "FILE" not in files["CU"].rows
    assert not any(row.get("FILE_FSET") for rows in files["CU"].rows.values() for row in rows)


def test_keys_tell_rows_apart_and_those_that_are_text_are_never_empty(
    files: dict[str, Written],
) -> None:
    depths = ("SAMP_TOP", "SPEC_DPTH")
    for kind, written in files.items():
        for group, rows in written.rows.items():
            keys = [head.name for head in ags4_dictionary.GROUPS[group] if head.is_key]
            told = [tuple(row[key] for key in keys) for row in rows]
            assert len(set(told)) == len(told), (kind, group)
            for row in rows:
                assert all(row[key] for key in keys if key not in depths), (kind, group, row)


def test_what_the_settings_lack_is_said_and_stands_as_not_stated(
    files: dict[str, Written],
) -> None:
    bare = files["bare"]
    (sample,) = bare.rows["SAMP"]
    assert sample["LOCA_ID"] == sample["SAMP_REF"] == sample["SAMP_TYPE"] == "NOT STATED"
    assert sample["SAMP_ID"] == "C4-T014"
    assert sample["SAMP_TOP"] == ""  # a depth of 0 would be one
    assert bare.rows["PROJ"][0]["PROJ_ID"] == "NOT STATED"
    for key in ("hole", "sample", "type", "top", "depth", "project", "laboratory", "recipient"):
        assert key in bare.told


def test_text_that_means_ill_is_text_and_the_lines_are_those_of_the_format(
    files: dict[str, Written],
) -> None:
    content = files["hostile"].path.read_bytes()
    assert content.isascii()
    lines = content.split(b"\r\n")
    assert b"".join(lines).isascii()
    assert not any(byte < 32 or byte == 127 for byte in b"".join(lines))
    rows = files["hostile"].rows
    for group, found in rows.items():
        numeric = {
            head.name
            for head in ags4_dictionary.GROUPS[group]
            if re.fullmatch(r"\d(DP|SF)", head.type)
        }
        for row in found:
            for heading, field in row.items():
                if group == "TRAN" and heading == "TRAN_RCON":
                    assert field == "+"  # the format's own
                elif heading not in numeric:
                    assert field[:1] not in ("=", "+", "-", "@", "\t"), (heading, field)
    (row,) = rows["TREG"]
    assert unguarded(row["LOCA_ID"]) == '+BH "7" =1+1'
    assert row["SPEC_DPTH"] == "4.25"
    assert row["SAMP_TOP"] == ""
    assert "top of [identity] is no length" in files["hostile"].told
    described = row["SPEC_DESC"]
    assert described.startswith("sigma'")
    assert 'Skarnso "' in described
    assert "e =1+1" in described


def test_two_projects_are_refused(tmp_path: Path) -> None:
    bench = with_identity(tmp_path / "bench", "C4", {"project": "another quay"}, "a")
    out = tmp_path / "out.ags"
    ended = exported("ags4", out, "C4", "C5", bench=bench)
    assert ended.exit_code == 64
    assert "another quay" in ended.stderr
    assert not out.exists()


def test_failure_by_another_criterion() -> None:
    when = datetime(2031, 2, 6, 9, 30, tzinfo=UTC)
    content, _ = ags4_file([subject("C4")], "peak_ratio", {}, when, "porewatch")
    state = subject("C4").results["shear"]["peak_ratio"]
    rows = groups(content)
    assert rows["TRET"][0]["TRET_DEVF"] == f"{state['deviator_kPa']:.0f}"
    assert rows["TREG"][0]["TREG_FCR"] == "Maximum effective principal stress ratio"
    assert rows["TRAN"][0]["TRAN_DATE"] == "2031-02-06"
