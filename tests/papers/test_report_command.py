"""`porewatch report` on tests that are unfinished, broken, of another kind, hostile or missing."""

import re
import shutil
import unicodedata
from pathlib import Path

import pikepdf
import pytest
from calling import call
from reported import SAMPLES, html, write
from test_report_files import text_of

WRITTEN, NOTHING, WRONG_USAGE = 0, 1, 64
HOSTILE = "=1+1 \x1b]0;own\x07\x1b[31m</td><script>alert(1)</script> $x^2$ \u202eevil {{ 7*7 }}"


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """C4 and C6 of the samples."""
    folder = tmp_path / "bench"
    for cell in ("C4", "C6"):
        shutil.copytree(SAMPLES / cell, folder / cell)
    (folder / "bench.toml").write_text('zone = "Europe/Oslo"\nnow = "last row"\n', "utf-8")
    return folder


def changed(bench: Path, cell: str, key: str, line: str) -> None:
    """Put another line in the place of a key of the settings."""
    path = bench / cell / "cell.toml"
    text, count = re.subn(rf"(?m)^{key} = .*\n", lambda _: line, path.read_text("utf-8"))
    assert count == 1, key
    path.write_text(text, "utf-8")


def toml(text: str) -> str:
    """As TOML writes it, in quotes."""
    return '"' + "".join(f"\\u{ord(sign):04x}" for sign in text) + '"'


def test_a_test_that_has_only_been_set_up(tmp_path: Path) -> None:
    page = html(tmp_path / "a.html", "C6")
    assert "No saturation is in the readings yet." in page.text
    assert "No shear is in the readings yet." in page.text
    assert "nothing can be reduced of C6" in page.text
    assert "firm grey silty CLAY" in page.text
    assert "setup: vented" in page.text


def test_a_running_shear_says_so(tmp_path: Path) -> None:
    page = html(tmp_path / "a.html", "C4")
    assert "goes on: what is greatest is so only so far" in page.text
    assert "Greatest so far, by criterion" in page.text
    assert "at the strain limit: strain reached" in page.text


def test_what_nobody_recorded_is_left_to_be_written(tmp_path: Path) -> None:
    page = html(tmp_path / "a.html", "C4")
    assert "mode of failure (bulge, shear plane, both) not recorded" in page.text
    listed = page.text.partition("Asked for, and not recorded:")[2].partition(".")[0]
    for label in ("tested by", "edition of the standard", "final water content", "photographs"):
        assert label in listed
    assert "liquid limit" not in listed


def test_identity_is_shown_with_keys_nobody_knows(bench: Path, tmp_path: Path) -> None:
    changed(bench, "C4", "hole", 'hole = "BH2"\noperator = "A. Tester"\nfield_crew = "two"\n')
    page = html(tmp_path / "a.html", "C4", bench=bench)
    assert "field crew two" in page.text
    assert "tested by A. Tester" in page.text
    assert "Tested by: A. Tester" in page.text


def test_a_type_of_sample_that_is_a_condition_says_it(bench: Path, tmp_path: Path) -> None:
    asked = "condition (intact, remoulded, reconstituted: how)"
    told = html(tmp_path / "a.html", "C4", bench=bench).text
    assert f"{asked} undisturbed as the type of sample says" in told
    changed(bench, "C4", "type", 'type = "tube"\ncondition = "intact"\n')
    told = html(tmp_path / "b.html", "C4", bench=bench).text
    assert f"{asked} intact liquid limit" in told
    changed(bench, "C4", "condition", "")
    told = html(tmp_path / "c.html", "C4", bench=bench).text
    assert f"{asked} not recorded" in told


def test_corrections_say_whether_and_how_much(tmp_path: Path) -> None:
    page = html(tmp_path / "a.html", "C4")
    table = page.text.partition("Corrections")[2].partition("Figure")[0]
    assert re.search(
        r"membrane, 0\.3 mm in all, 1400 kPa yes 0\.63\d* ± \S+ kPa 1\.4 % of q", table
    )
    assert "uplift of the piston no: the load cell is inside" in table


def test_departures_are_one_list_and_worded_after(tmp_path: Path) -> None:
    text = html(tmp_path / "a.html", "C4").text
    listed = text.partition("Departures from the standard, as far as")[2]
    departures, _, others = listed.partition("Other cautions")
    assert departures.count("△") >= 1
    assert "sooner than" in departures
    # A correction that the standard wants and that was made is no departure
    assert "corrected for" not in departures
    assert "corrected for" in others
    assert departures.count("(after ASTM D4767, ") == departures.count("△")
    assert "common practice" in others.partition("Asked for")[0]
    for word in ("complies", "compliance", "conforms"):
        assert text.count(word) == (1 if word == "complies" else 0)  # "and not that … complies"


def test_notes_and_answers_to_alarms_are_in_it(bench: Path, tmp_path: Path) -> None:
    when = ("--when", "2031-02-05T11:00", "--bench", str(bench), "--by", "Q. Checker")
    assert call("note", "C4", "ticked at 3 %", *when).exit_code == 0
    assert call("note", "C4", "a slip", *when).exit_code == 0
    assert call("undo", "2", "--bench", str(bench)).exit_code == 0
    text = html(tmp_path / "a.html", "C4", bench=bench).text
    assert "ticked at 3 %" in text
    assert "Q. Checker" in text
    assert "a slip" not in text


def test_a_rebased_gauge_is_told_with_its_numbers_by_whom_and_why(
    bench: Path, tmp_path: Path
) -> None:
    said = ("--from", "2031-02-04T12:00", "--to", "2031-02-04T12:30", "--by", "L. Moe")
    why = ("--text", "burette refilled", "--bench", str(bench))
    assert call("rebase", "C4", "back_volume", *said, *why).exit_code == 0
    text = html(tmp_path / "a.html", "C4", bench=bench).text
    consolidation, _, shear = text.partition("Consolidation counted from")[2].partition(" Shear ")
    assert shear
    assert "gauge that was rebased △ back_volume" in consolidation
    assert "by L. Moe: burette refilled" in consolidation
    assert "as entered in the journal (L. Moe: burette refilled)" in shear  # among the cautions
    assert text.count("gauge that was rebased") == 1


def test_a_b_below_its_target_says_who_took_it_and_why(bench: Path, tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / "C2", bench / "C2")
    said = ("--when", "2031-02-05T11:50", "--by", "K. Berg", "--bench", str(bench))
    why = ("--why", "hose behind the base is soft")
    assert call("accept", "C2", "saturation", *why, *said).exit_code == 0
    text = html(tmp_path / "a.html", "C2", bench=bench).text
    departures = text.partition("Departures from the standard, as far")[2].partition("Other")[0]
    assert "taken as it is: K. Berg: hose behind the base is soft" in departures
    assert "taken below its target by K. Berg" in text


def test_a_log_without_volume_still_gives_a_report(bench: Path, tmp_path: Path) -> None:
    changed(bench, "C4", "back_volume", 'back_volume = { column = "None of these", unit = "cc" }\n')
    ended = write(tmp_path / "a.pdf", "C4", bench=bench)
    assert ended.exit_code == WRITTEN, ended.stderr
    printed = " ".join(" ".join(text_of(tmp_path / "a.pdf")).split())
    text = html(tmp_path / "a.html", "C4", bench=bench).text
    for page in (printed, text):
        assert "what needs back_volume is missing" in page
        assert 'back_volume needs the column "None of these"' in page
        assert "Taken are" not in page
        assert "greatest deviator" in page
    assert "Volume change against root time" not in text  # a chart of nothing


def test_what_was_corrected_by_an_unknown_amount_has_no_share(bench: Path, tmp_path: Path) -> None:
    changed(bench, "C4", "axial_load", 'axial_load = { column = "None", unit = "lbf" }\n')
    text = html(tmp_path / "a.html", "C4", bench=bench).text
    corrections = text.partition("Corrections")[2].partition("All corrections")[0]
    assert "membrane" in corrections
    assert "of q" not in corrections
    assert "of the area" not in corrections


def test_rows_that_were_not_used_are_listed(bench: Path, tmp_path: Path) -> None:
    log = sorted((bench / "C6").glob("*.csv"))[0]
    lines = log.read_text("utf-8").splitlines()
    separator = ";" if ";" in lines[-1] else ","
    fields = lines[-3].split(separator)
    fields[2] = "OVER"
    lines[-3] = separator.join(fields)
    log.write_text("\n".join(lines) + "\n", "utf-8")
    text = html(tmp_path / "a.html", "C6", bench=bench).text
    assert "rows or fields not used 1" in text
    assert "C6/run.csv" in text


@pytest.mark.parametrize("kind", ["html", "pdf"])
def test_hostile_words_are_only_words(bench: Path, tmp_path: Path, kind: str) -> None:
    for key in ("project", "description", "label", "set"):
        changed(bench, "C6", key, f"{key} = {toml(HOSTILE)}\n")
    changed(bench, "C6", "sample", f'sample = "U"\n{toml(HOSTILE)} = {toml(HOSTILE)}\n')
    noted = call("note", "C6", HOSTILE, "--when", "2031-02-05T11:30", "--bench", str(bench))
    assert noted.exit_code == 0, noted.stderr
    out = tmp_path / f"a.{kind}"
    ended = write(out, "C6", bench=bench)
    assert ended.exit_code == WRITTEN, ended.stderr
    if kind == "pdf":
        text = " ".join(text_of(out))
        with pikepdf.open(out) as document:
            assert document.check_pdf_syntax() == []
            assert not [one for one in document.objects if "JavaScript" in repr(one)]
    else:
        written = out.read_text("utf-8")
        assert "<script" not in written
        assert "\x1b" not in written
        text = html(out, "C6", bench=bench).text
    assert "{{ 7*7 }}" in text
    assert "$x^2$" in text
    hidden = {sign for sign in text if unicodedata.category(sign) in ("Cf", "Cc", "Co")}
    assert not hidden - {"\n", "\r", "\x02", "\ufffe"}  # pdfium's own marks of broken words


def test_a_name_with_formulas_does_not_stop_a_figure(bench: Path, tmp_path: Path) -> None:
    """`$` begins a formula for matplotlib, if it is let; here it is a dollar."""
    changed(bench, "C4", "label", 'label = "$\\\\frac{a$ _x"\n')
    changed(bench, "C4", "set", 'set = "$_{"\n')
    assert write(tmp_path / "a.pdf", "C4", bench=bench).exit_code == WRITTEN


def test_broken_settings_are_shown_as_they_are_written(bench: Path, tmp_path: Path) -> None:
    changed(bench, "C4", "diameter", 'diameter = "50 bananas"\n')
    page = html(tmp_path / "a.html", "C4", bench=bench)
    assert "50 bananas" in page.text
    assert "bananas" in page.text.partition("What is wrong with the settings")[2]
    assert "soft grey marine CLAY" in page.text
    assert not [one for one in page.numbers if one.about == "C4"]


def test_settings_that_are_no_toml_leave_nothing_to_say(bench: Path, tmp_path: Path) -> None:
    (bench / "C4" / "cell.toml").write_text("[cell\nname=", "utf-8")
    out = tmp_path / "a.pdf"
    ended = write(out, "C4", bench=bench)
    assert ended.exit_code == NOTHING
    assert "nothing can be reported" in ended.stderr
    assert not out.exists()
    assert write(out, "C4", "C6", bench=bench).exit_code == WRITTEN  # the other can be told


def test_logs_that_are_gone(bench: Path, tmp_path: Path) -> None:
    for log in (bench / "C4").glob("*.csv"):
        log.unlink()
    page = html(tmp_path / "a.html", "C4", bench=bench)
    assert "BH2-U06-a" in page.text
    assert "No consolidation is in the readings yet." in page.text


def test_specimens_of_two_sets_get_no_common_envelope(tmp_path: Path) -> None:
    text = html(tmp_path / "a.html", "C4", "C5").text
    assert "C4 is the only specimen here of the set BH2-U06" in text
    assert "C5 is the only specimen here of the set BH5-R03" in text
    assert "number of specimens" not in text


@pytest.mark.parametrize("name", ["a.docx", "a", "a.pdf.exe", ""])
def test_an_unknown_ending_is_wrong_usage(tmp_path: Path, name: str) -> None:
    ended = write(tmp_path / name, "C4")
    assert ended.exit_code == WRONG_USAGE
    assert ".html or .pdf" in ended.stderr


def test_no_file_is_written_among_a_loggers(bench: Path, tmp_path: Path) -> None:
    assert write(bench / "C4" / "a.html", "C4", bench=bench).exit_code == WRONG_USAGE
    (tmp_path / "link").symlink_to(bench / "C4")
    assert write(tmp_path / "link" / "a.html", "C4", bench=bench).exit_code == WRONG_USAGE
    assert not list((bench / "C4").glob("*.html"))


def test_a_file_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "full").write_text("", "utf-8")
    ended = write(tmp_path / "full" / "a.html", "C6")
    assert ended.exit_code == NOTHING
    assert "cannot write" in ended.stderr


def test_cells_that_are_none_and_no_cells(tmp_path: Path) -> None:
    assert write(tmp_path / "a.html", "C9").exit_code == WRONG_USAGE
    assert write(tmp_path / "a.html").exit_code == WRONG_USAGE
    assert call("report", "C4", "--bench", str(SAMPLES)).exit_code == WRONG_USAGE


def test_a_cell_named_twice_stands_once(tmp_path: Path) -> None:
    page = html(tmp_path / "a.html", "C6", "C6")
    assert page.heads.count("Identification") == 1


def test_as_of_a_moment(tmp_path: Path) -> None:
    page = html(tmp_path / "a.html", "C4", "--at", "2031-02-04T12:00")
    assert "No shear is in the readings yet." in page.text
    assert "as of Tue 4 Feb 2031 12:00" in page.text
    assert page.text.partition("last reading")[2].strip()[:20] <= "Tue 4 Feb 2031 12:00"


def test_by_another_criterion_that_one_stands_first(tmp_path: Path) -> None:
    text = html(tmp_path / "a.html", "C4", "--criterion", "peak_ratio").text
    assert re.search(r"greatest ratio σ′1/σ′3 \(chosen\)\s+greatest deviator", text)
    assert "failure: greatest ratio" in text


def test_an_unconsolidated_test(tmp_path: Path) -> None:
    bench = tmp_path / "uu"
    made = call("rehearse", "--out", str(bench), "--cells", "2", "--kind", "UU")
    assert made.exit_code == 0, made.stderr
    page = html(tmp_path / "a.html", "C1", "C2", bench=bench)
    assert page.text.count("Not part of an unconsolidated undrained test.") == 4
    told = {one.key for one in page.numbers}
    assert {"shear.undrained_strength_kPa", "undrained_strength_kPa"} <= told
    assert not [key for key in told if "effective" in key]
    assert "σ′1 [kPa]" not in page.text.partition("C1 · Shear")[2].partition("C2 ·")[0]


def test_in_ascii_every_sign_is(tmp_path: Path) -> None:
    assert write(tmp_path / "a.html", "C4", "--ascii", "--units", "US").exit_code == WRITTEN
    assert (tmp_path / "a.html").read_text("utf-8").isascii()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("", "whether measured or assumed is not said in the settings"),
        ("particle_density_assumed = true\n", "assumed, not measured"),
        ("particle_density_assumed = false\n", "2.710 Mg/m³ measured"),
    ],
)
def test_a_density_is_called_measured_only_where_that_was_said(
    bench: Path, tmp_path: Path, line: str, said: str
) -> None:
    changed(bench, "C6", "particle_density", f'particle_density = "2.71 Mg/m3"\n{line}')
    assert said in html(tmp_path / "a.html", "C6", bench=bench).text


def test_readings_are_written_to_the_same_decimals(tmp_path: Path) -> None:
    assert "49.9, 50.0, 50.1 mm" in html(tmp_path / "a.html", "C6").text
