# ruff: noqa: E501 (a table reads one case a line)
"""The bench on disk, with real folders: what is a cell, what is not, what is wrong."""

import os
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from written_settings import CELL, line_of, put, spoiled

from tui.settings import folders
from tui.settings.places import (
    UnknownCellError,
    find_bench,
    find_place,
    layout_signature,
    read_earlier,
    read_layout,
)
from tui.settings.problems import SettingsError
from tui.settings.zones import moment_s


def cell(root: Path, folder: str, name: str | None = None) -> Path:
    exchanged = f'name = "{name}"\n' if name else ""
    return put(root, f"{folder}/cell.toml", spoiled('name = "C1"\n', exchanged))


def test_cells_are_sorted_the_way_people_count(tmp_path: Path) -> None:
    for folder in ("C10", "C2", "c1", "lab/shelf/C3"):
        cell(tmp_path, folder)
    layout = read_layout(tmp_path)
    assert [place.name for place in layout.places] == ["c1", "C2", "C3", "C10"]
    assert [place.folder for place in layout.places][2] == "lab/shelf/C3"
    assert layout.problems == ()
    assert layout.not_adopted == ()


def test_logs_without_a_cell_are_listed_and_only_those(tmp_path: Path) -> None:
    cell(tmp_path, "C1")
    for name in (
        "C1/2031.csv", "C1/raw/2031.csv", "C1/tests/T1.txt", "incoming/a.CSV", "incoming/deep/b.dat",
        ".porewatch/x.log", ".git/y.csv", "notes/readme.txt", "pictures/a.png", "top.csv",
    ):  # fmt: skip
        put(tmp_path, name, "x")
    assert read_layout(tmp_path).not_adopted == ("incoming", "incoming/deep")


def test_a_cell_too_deep_is_told_not_skipped(tmp_path: Path) -> None:
    cell(tmp_path, "a/b/c/C1")
    cell(tmp_path, "C2")
    layout = read_layout(tmp_path)
    assert [place.name for place in layout.places] == ["C2"]
    (problem,) = layout.problems
    assert problem.file == "a/b/c/C1/cell.toml"
    assert problem.severity == "warning"


def test_a_broken_cell_is_a_place_and_the_others_go_on(tmp_path: Path) -> None:
    cell(tmp_path, "C1")
    put(tmp_path, "C2/cell.toml", "[cell\n")
    put(tmp_path, "C3/cell.toml", spoiled("1700 kPa", "1700"))
    good, broken, wrong = read_layout(tmp_path).places
    assert good.settings is not None
    assert not good.problems
    for place in (broken, wrong):
        assert place.settings is None
        assert not place.idle
        assert [problem.severity for problem in place.problems] == ["error"]
    assert wrong.problems[0].file == "C3/cell.toml"


def test_two_cells_of_one_name_both_stay_and_both_say_so(tmp_path: Path) -> None:
    cell(tmp_path, "left", "C1")
    cell(tmp_path, "right", "C1")
    places = read_layout(tmp_path).places
    assert [place.folder for place in places] == ["left", "right"]
    for place in places:
        assert place.settings is not None
        (problem,) = place.problems
        assert "left" in problem.what
        assert "right" in problem.what
        assert problem.key == "cell.name"
        assert problem.file == f"{place.folder}/cell.toml"
    with pytest.raises(UnknownCellError, match="left, right"):
        find_place(read_layout(tmp_path), "C1")
    assert find_place(read_layout(tmp_path), "right").folder == "right"


def test_an_empty_bench_says_how_to_begin(tmp_path: Path) -> None:
    (problem,) = read_layout(tmp_path).problems
    assert problem.severity == "error"
    assert "porewatch demo" in problem.remedy
    put(tmp_path, "in/a.csv", "x")
    (problem,) = read_layout(tmp_path).problems
    assert "in/cell.toml" in problem.remedy


def test_a_bench_that_is_not_there(tmp_path: Path) -> None:
    layout = read_layout(tmp_path / "gone")
    assert layout.places == ()
    assert any("cannot be read" in problem.what for problem in layout.problems)


def test_links_that_lead_in_a_circle_do_not_hang(tmp_path: Path) -> None:
    cell(tmp_path, "C1")
    (tmp_path / "C1" / "loop").symlink_to(tmp_path)
    (tmp_path / "A1").symlink_to(tmp_path / "C1")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    assert [place.folder for place in read_layout(tmp_path).places] == ["C1"]


def test_a_link_to_a_cell_elsewhere_is_followed(tmp_path: Path) -> None:
    cell(tmp_path, "share/C7")
    (tmp_path / "bench").mkdir()
    (tmp_path / "bench" / "C7").symlink_to(tmp_path / "share" / "C7")
    assert [place.folder for place in read_layout(tmp_path / "bench").places] == ["C7"]


def test_a_folder_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cell(tmp_path, "C1")
    cell(tmp_path, "C2")
    look = os.scandir

    def refusing(path: Path) -> object:
        if Path(path).name == "C2":
            raise PermissionError(13, "Permission denied")
        return look(path)

    monkeypatch.setattr(folders.os, "scandir", refusing)  # root may read everything
    layout = read_layout(tmp_path)
    assert [place.name for place in layout.places] == ["C1"]
    (problem,) = layout.problems
    assert "C2 cannot be read: Permission denied" in problem.what


def test_a_cell_file_that_leads_nowhere_is_shown(tmp_path: Path) -> None:
    (tmp_path / "C1").mkdir()
    (tmp_path / "C1" / "cell.toml").symlink_to(tmp_path / "nowhere.toml")
    (place,) = read_layout(tmp_path).places
    assert "cannot be read" in place.problems[0].what


def test_names_with_escapes_stay_harmless_and_apart(tmp_path: Path) -> None:
    cell(tmp_path, "C\x1b[31m1")
    cell(tmp_path, "C[31m1")
    names = {place.folder for place in read_layout(tmp_path).places}
    assert names == {"C\\x1b[31m1", "C[31m1"}


BENCH = """\
name = "Quay"
zone = "Europe/Oslo"
[[supply]]
name = "main"
feeds = ["C1"]
"""

BROKEN_BENCH = [
    ('"Europe/Oslo"', '"Europe/Olso"', "zone", "no time zone", 'did you mean "Europe/Oslo"?'),
    ('"Europe/Oslo"', "1", "zone", "1, not text", "quotation marks"),
    ('name = "Quay"', 'units = "si"', "units", '"si"', 'did you mean "SI"?'),
    ('name = "Quay"', 'now = "last"', "now", '"last"', '"last row"'),
    ('name = "Quay"', 'attended = "always"', "attended", "not days and hours", "Mon-Fri 07:30-16:00"),
    ('name = "Quay"', 'colour = "red"', "colour", "unknown", "remove it"),
    ('feeds = ["C1"]', 'feed = ["C1"]', "supply#1.feed", "unknown", 'did you mean "feeds"?'),
    ('feeds = ["C1"]', 'feeds = ["C1"]\n[alarms]\nrepeat = 30', "alarms.repeat", "without a unit", "s, "),
    ('feeds = ["C1"]', 'feeds = ["C1"]\n[[alarms.routes]]\nname = "n"\nto = "https://x/secret"', "alarms.routes#1.to", "environment variable", '"env:NAME"'),
    ('feeds = ["C1"]', 'feeds = ["C1"]\n[[alarms.routes]]\nname = "n"\nto = "env:A"\nhours = "8-16"', "alarms.routes#1.hours", "not hours", "20:00-07:00"),
    ('feeds = ["C1"]', 'feeds = ["C1"]\n[[alarms.routes]]\nname = "n"\nto = "env:A"\nkinds = ["leek-cell"]', "alarms.routes#1.kinds#1", "no kind of alarm", "leak-cell"),
    ('feeds = ["C1"]', 'feeds = ["C1"]\n[alarms]\nheartbeat = { url = "http://x" }', "alarms.heartbeat.url", "environment variable", "env:NAME"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "what", "remedy"), BROKEN_BENCH)
def test_a_broken_bench_file_costs_a_key_and_no_cell(
    tmp_path: Path, old: str, new: str, key: str, what: str, remedy: str
) -> None:
    cell(tmp_path, "C1")
    text = spoiled(old, new, BENCH)
    put(tmp_path, "bench.toml", text)
    layout = read_layout(tmp_path)
    found = {problem.key: problem for problem in layout.problems}
    assert key in found
    assert what in found[key].what
    assert remedy in found[key].remedy
    assert "secret" not in f"{found[key].what}{found[key].remedy}".replace("secrets", "")
    assert found[key].file == "bench.toml"
    assert found[key].line is not None
    assert layout.places[0].settings is not None
    if key != "zone":
        assert layout.zone == ZoneInfo("Europe/Oslo")


def test_a_bench_file_that_is_not_toml_leaves_defaults(tmp_path: Path) -> None:
    cell(tmp_path, "C1")
    put(tmp_path, "bench.toml", "name = Quay\n")
    layout = read_layout(tmp_path)
    problem, zone = layout.problems
    assert (problem.file, problem.line) == ("bench.toml", 1)
    assert "are read in this machine's zone" in zone.what
    assert layout.bench.units == "SI"
    assert len(layout.places) == 1


def test_a_supply_of_an_unknown_cell(tmp_path: Path) -> None:
    cell(tmp_path, "C1")
    text = spoiled('feeds = ["C1"]', 'feeds = [\n "C1",\n "C11"]', BENCH)
    put(tmp_path, "bench.toml", text)
    (problem,) = read_layout(tmp_path).problems
    assert problem.line == line_of('"C11"', text)
    assert problem.severity == "warning"
    assert 'did you mean "C1"?' in problem.remedy


def test_find_bench(tmp_path: Path) -> None:
    path = cell(tmp_path, "lab/bench/C1").parent
    assert find_bench(path) == path.parent  # a cell alone: the folder around it
    assert find_bench(path.parent) == path.parent
    (tmp_path / "lab" / ".porewatch").mkdir()
    assert find_bench(path) == tmp_path / "lab"
    put(tmp_path, "lab/bench/bench.toml", BENCH)
    assert find_bench(path) == path.parent


def test_find_place_by_name_folder_path_and_test(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cell(tmp_path, "lab/left", "C1")
    put(tmp_path, "lab/left/tests/T014.toml", CELL[CELL.index("[test]") :].replace("T015", "T014"))
    layout = read_layout(tmp_path)
    monkeypatch.chdir(tmp_path / "lab")
    for name in ("C1", "lab/left", "lab/left/", "./left", str(tmp_path / "lab" / "left")):
        assert find_place(layout, name).folder == "lab/left"
    for name in ("C1/T014", "lab/left/T014", "left/T014"):
        earlier = find_place(layout, name)
        assert earlier.settings is not None
        assert earlier.settings.test.id == "T014"
        assert earlier.settings.cell.rating_kPa == 1700.0
    running = find_place(layout, "C1/T015").settings
    assert running is not None
    assert running.test.id == "T015"
    with pytest.raises(UnknownCellError, match=r'did you mean "C1".*the cells are: C1'):
        find_place(layout, "c11")
    with pytest.raises(UnknownCellError, match=r'did you mean "T014".*T014, T015'):
        find_place(layout, "C1/T14")


def test_an_earlier_test_keeps_hardware_of_its_own(tmp_path: Path) -> None:
    path = cell(tmp_path, "C1")
    (place,) = read_layout(tmp_path).places
    put(tmp_path, "C1/tests/T1.toml", spoiled("1700 kPa", "1000 kPa").replace("T015", "T1"))
    path.write_text("broken [", "utf-8")
    assert read_earlier(place, "T1").cell.rating_kPa == 1000.0
    put(tmp_path, "C1/tests/T2.toml", '[test]\nkind = "XX"\n')
    path.write_text(CELL, "utf-8")
    with pytest.raises(SettingsError) as caught:
        read_earlier(place, "T2")
    assert {problem.file for problem in caught.value.problems} == {"C1/tests/T2.toml"}


def test_the_signature_changes_with_settings_and_folders_only(tmp_path: Path) -> None:
    path = cell(tmp_path, "C1")
    seen = [layout_signature(tmp_path)]
    put(tmp_path, "C1/log.csv", "a,b\n")
    first = layout_signature(tmp_path)
    put(tmp_path, "C1/log.csv", "a,b\n1,2\n")
    put(tmp_path, "C1/live.csv", "a,b\n1,2\n")
    assert layout_signature(tmp_path) == first == seen[0]

    os.utime(path, ns=(1, 1))
    seen.append(layout_signature(tmp_path))
    put(tmp_path, "bench.toml", BENCH)
    seen.append(layout_signature(tmp_path))
    put(tmp_path, "in/a.csv", "x")
    seen.append(layout_signature(tmp_path))
    put(tmp_path, "C1/tests/T1.toml", "x")
    seen.append(layout_signature(tmp_path))
    path.unlink()
    seen.append(layout_signature(tmp_path))
    assert len(set(seen)) == len(seen)


def test_naive_moments_are_in_the_zone_of_the_bench(tmp_path: Path) -> None:
    # Oslo is an hour ahead of UTC in winter and two in summer (IANA time zone database).
    zone = ZoneInfo("Europe/Oslo")
    winter = moment_s(datetime.fromisoformat("2031-02-03T08:10"), zone)
    assert winter == datetime.fromisoformat("2031-02-03T07:10:00+00:00").timestamp()
    aware = moment_s(datetime.fromisoformat("2031-02-03T08:10+05:00"), zone)
    assert aware == winter - timedelta(hours=4).total_seconds()
    text = spoiled('"2031-02-03T08:10"', "2031-02-03T08:10:00")  # TOML's own kind
    put(tmp_path, "C1/cell.toml", text)
    settings = read_layout(tmp_path).places[0].settings
    assert settings is not None
    assert settings.test.started is not None
    assert moment_s(settings.test.started, zone) == winter
