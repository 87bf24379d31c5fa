"""What is made of columns of unknown loggers: by name, unit and behaviour; what stays in doubt.

The trade words are common practice, no source. The rehearsed logs carry their own truth: the
settings that they were written by.
"""

import random
import tomllib
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from tui.feed.adopting.adoption import cell_name, propose_adoption
from tui.feed.adopting.cell_text import cell_text, quoted
from tui.feed.adopting.phases_seen import phases_of
from tui.feed.adopting.proposals import Adoption, NothingToAdoptError, Proposal
from tui.feed.adopting.samples import HEAD_BYTES, read_sample
from tui.feed.adopting.vocabulary import meaning, unit_in_name
from tui.settings.cell_toml import Log
from tui.settings.document import decode, parse_document
from tui.settings.reading import cell_from_document

UTC = ZoneInfo("UTC")


def adoption_of(folder: Path, text: str | bytes, name: str = "log.csv") -> Adoption:
    folder.mkdir(parents=True, exist_ok=True)
    content = text if isinstance(text, bytes) else text.encode()
    (folder / name).write_bytes(content)
    return propose_adoption(folder, UTC)


def by_column(adoption: Adoption) -> dict[str, Proposal]:
    return {one.column.name: one for one in adoption.columns}


def log_of(adoption: Adoption) -> Log:
    """What our own settings reader makes of the text."""
    content = cell_text(adoption).encode()
    found = cell_from_document(parse_document(*decode(content), shown_as="cell.toml"))
    assert found.settings is None
    assert found.log is not None, found.problems
    assert [one.severity for one in found.problems] == ["note"]
    return found.log


def saturating(rows: int = 60) -> dict[str, list[float]]:
    """Steps of a saturation: cell pressure rises, pores answer, back pressure and water follow.

    By hand, from what the trade's usual cycle is.
    """
    cell, back, pore, inflow = 20.0, 10.0, 10.0, 0.0
    course: dict[str, list[float]] = {"cell": [], "back": [], "pore": [], "inflow": []}
    for row in range(rows):
        at = row % 20
        if at == 4:
            cell += 50.0
            pore += 40.0
        if at == 12:
            back += 50.0
        if at > 12:
            inflow += 0.1 * (back - pore) / 10.0
            pore += 0.5 * (back - pore)
        for name, value in (("cell", cell), ("back", back), ("pore", pore), ("inflow", inflow)):
            course[name].append(value)
    return course


def written(columns: dict[str, list[float]], time: str = "Time", **shown: str) -> str:
    names = list(columns)
    lines = [",".join([time, *names])]
    for row in range(len(columns[names[0]])):
        stamp = f"2031-02-03T{8 + row // 60:02d}:{row % 60:02d}:00"
        lines.append(",".join([stamp, *(f"{columns[name][row]:.3f}" for name in names)]))
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("name", "channel"),
    [
        ("σ3", "cell_pressure"), ("Pc", "cell_pressure"), ("PWP", "pore_pressure"),
        ("u", "pore_pressure"), ("b.p.", "back_pressure"), ("V_b", "back_volume"),
        ("F2", "axial_load"), ("dH", "axial_displacement"),
    ],
)  # fmt: skip
def test_signs_of_the_trade(name: str, channel: str) -> None:
    assert meaning(name).channel == channel


@pytest.mark.parametrize(
    ("name", "quantity", "side"),
    [
        ("Zelldruck", "pressure", "cell"), ("Porendruck 1", "pressure", "pore"),
        ("Pression interstitielle", "pressure", "pore"), ("Contropressione", "pressure", "back"),
        ("Presión de cámara", "pressure", "cell"), ("chamberPressure", "pressure", "cell"),
        ("Load cell", "force", "cell"), ("Setzung", "length", None),
        ("Cell volume change", "volume", "cell"), ("Tilbaketrykk back", "pressure", "back"),
    ],
)  # fmt: skip
def test_words_of_the_trade(name: str, quantity: str, side: str | None) -> None:
    told = meaning(name)
    assert (told.quantity, told.side) == (quantity, side)


@pytest.mark.parametrize("name", ["Deviator stress", "Axial strain", "Scan no", "Cell target", "q"])
def test_what_is_computed_or_counted_is_no_gauge(name: str) -> None:
    assert meaning(name).not_read


def test_temperature_and_saturation_hold_no_forbidden_word() -> None:
    assert not meaning("Temperature").not_read
    assert not meaning("Saturation pressure").not_read


def test_units_behind_names() -> None:
    assert unit_in_name("cell_pressure_kPa") == ("kPa", "cell_pressure")
    assert unit_in_name("Raum (°C)") == ("degC", "Raum")
    assert unit_in_name("Kraft [KN]") == ("kN", "Kraft")
    assert unit_in_name("valve open") is None


def test_odd_names_are_told(tmp_path: Path) -> None:
    course = saturating()
    adoption = adoption_of(
        tmp_path,
        written(
            {
                "Zelldruck [kPa]": course["cell"],
                "Gegendruck [kPa]": course["back"],
                "Porendruck [kPa]": course["pore"],
                "Wasser ein [ml]": [50.0 - x for x in course["inflow"]],
                "Kraft [kN]": [0.001] * 60,
                "Weg [mm]": [1.5] * 60,
                "Deviator [kPa]": [0.0] * 60,
            }
        ),
    )
    told = by_column(adoption)
    assert told["Zelldruck [kPa]"].channel == "cell_pressure"
    assert told["Gegendruck [kPa]"].channel == "back_pressure"
    assert told["Porendruck [kPa]"].channel == "pore_pressure"
    assert told["Kraft [kN]"].channel == "axial_load"
    assert told["Weg [mm]"].channel == "axial_displacement"
    assert told["Deviator [kPa]"].channel is None
    volume = told["Wasser ein [ml]"]
    assert (volume.channel, volume.sign) == ("back_volume", -1)
    assert "it falls when water enters the specimen, hence sign = -1" in volume.why
    assert adoption.doubts == ()
    log = log_of(adoption)
    assert log.channels["back_volume"][0].sign == -1
    assert set(log.channels) == {
        "cell_pressure", "back_pressure", "pore_pressure", "back_volume", "axial_load",
        "axial_displacement",
    }  # fmt: skip


def test_units_alone_tell_what_only_one_column_can_be(tmp_path: Path) -> None:
    course = saturating()
    adoption = adoption_of(
        tmp_path,
        written(
            {
                "A [kPa]": course["pore"],
                "B [kPa]": course["cell"],
                "C [kPa]": course["back"],
                "D [mm]": [1.0] * 60,
                "E [N]": [0.0] * 60,
                "G [°C]": [21.0] * 60,
            }
        ),
    )
    told = by_column(adoption)
    assert {name: one.channel for name, one in told.items()} == {
        "A [kPa]": "pore_pressure", "B [kPa]": "cell_pressure", "C [kPa]": "back_pressure",
        "D [mm]": "axial_displacement", "E [N]": "axial_load", "G [°C]": "temperature",
    }  # fmt: skip
    # What rests on behaviour alone is shown, and never taken without a person.
    assert {name for name, one in told.items() if one.doubts} == {"A [kPa]", "B [kPa]", "C [kPa]"}
    assert set(log_of(adoption).channels) == {"axial_displacement", "axial_load", "temperature"}


def test_no_unit_is_a_doubt_with_its_key(tmp_path: Path) -> None:
    course = saturating()
    adoption = adoption_of(tmp_path, written({"Pc": course["cell"], "temp": [21.0] * 60}))
    assert [doubt.key for doubt in adoption.doubts] == ["log.channels.cell_pressure.unit"]
    assert by_column(adoption)["temp"].unit == "degC"
    assert '# cell_pressure = { column = "Pc", unit = "kPa" }' in cell_text(adoption)


def test_a_unit_against_the_name_is_a_doubt(tmp_path: Path) -> None:
    adoption = adoption_of(tmp_path, written({"Pc [mm]": [1.0] * 9, "Load [kg]": [1.0] * 9}))
    assert [(doubt.key, doubt.what) for doubt in adoption.doubts] == [
        ("log.channels.axial_displacement", '"Pc [mm]" is named as a pressure, and mm is a length'),
        ("log.channels.axial_load.unit", 'no unit of force stands with "Load [kg]"'),
    ]


def test_two_columns_alike_are_a_doubt_on_both(tmp_path: Path) -> None:
    course = saturating()
    adoption = adoption_of(
        tmp_path,
        written(
            {
                "Cell kPa": course["cell"],
                "Pore 1 kPa": course["pore"],
                "Pore 2 kPa": [x + 0.2 for x in course["pore"]],
            }
        ),
    )
    (doubt,) = adoption.doubts
    assert doubt.key == "log.channels.pore_pressure"
    assert "they read alike to 0.2 kPa" in doubt.what
    assert set(log_of(adoption).channels) == {"cell_pressure"}


def test_exchanged_hoses_are_a_doubt(tmp_path: Path) -> None:
    course = saturating()
    adoption = adoption_of(
        tmp_path,
        written(
            {
                "Cell kPa": course["cell"], "Back kPa": course["pore"], "Pore kPa": course["back"],
            }
        ),
    )  # fmt: skip
    assert {doubt.key for doubt in adoption.doubts} == {
        "log.channels.pore_pressure", "log.channels.back_pressure",
    }  # fmt: skip
    assert all("exchanged?" in doubt.what for doubt in adoption.doubts)


def test_a_cell_that_does_not_lead_is_a_doubt(tmp_path: Path) -> None:
    course = saturating()
    adoption = adoption_of(
        tmp_path, written({"Cell kPa": course["pore"], "Pore kPa": course["cell"]})
    )
    assert "log.channels.cell_pressure" in {doubt.key for doubt in adoption.doubts}


def test_a_volume_that_no_row_explains_is_a_doubt(tmp_path: Path) -> None:
    adoption = adoption_of(tmp_path, written({"Cell kPa": [0.0] * 9, "Vb [ml]": [50.0] * 9}))
    assert [doubt.key for doubt in adoption.doubts] == ["log.channels.back_volume.sign"]


def test_a_name_that_speaks_against_its_readings_is_a_doubt(tmp_path: Path) -> None:
    course = saturating()
    columns = {
        "Cell kPa": course["cell"],
        "Pore kPa": course["pore"],
        "Water out [ml]": course["inflow"],
    }
    adoption = adoption_of(tmp_path, written(columns))
    assert [doubt.key for doubt in adoption.doubts] == ["log.channels.back_volume.sign"]


@pytest.mark.parametrize(("sign_mm", "sign_N"), [(1, 1), (-1, 1), (1, -1), (-1, -1)])
def test_the_ram_tells_which_way_travel_and_load_count(
    tmp_path: Path, sign_mm: int, sign_N: int
) -> None:
    pressed = [0.0] * 20 + [0.1 * k for k in range(40)]
    columns = {
        "travel mm": [2.0 + sign_mm * x for x in pressed],
        "load N": [1.0 + sign_N * 90.0 * x for x in pressed],
    }
    told = by_column(adoption_of(tmp_path, written(columns)))
    assert (told["travel mm"].sign, told["load N"].sign) == (sign_mm, sign_N)


def test_dates_that_could_be_either_are_a_doubt(tmp_path: Path) -> None:
    rows = "".join(f"02/03/2031 08:{k:02d}:00,{k}\n" for k in range(9))
    adoption = adoption_of(tmp_path, "Time,Cell kPa\n" + rows)
    (doubt,) = adoption.doubts
    assert doubt.key == "log.time.format"
    assert '"%d/%m/%Y %H:%M:%S"' in doubt.remedy
    text = cell_text(adoption)
    assert '# time = { column = "Time", format = "%d/%m/%Y %H:%M:%S" }' in text
    assert '# time = { column = "Time", format = "%m/%d/%Y %H:%M:%S" }' in text


@pytest.mark.parametrize(
    ("name", "first", "expected"),
    [
        ("log.csv", "13/02/2031", "%d/%m/%Y %I:%M %p"),
        ("log.csv", "2/13/2031", "%m/%d/%Y %I:%M %p"),
        ("20310302.csv", "02/03/2031", "%d/%m/%Y %I:%M %p"),
        ("20310203.csv", "02/03/2031", "%m/%d/%Y %I:%M %p"),
    ],
)
def test_dates_or_file_names_settle_the_order(
    tmp_path: Path, name: str, first: str, expected: str
) -> None:
    adoption = adoption_of(tmp_path, f"Time,Cell kPa\n{first} 01:05 PM,3\n", name)
    assert adoption.doubts == ()
    assert log_of(adoption).time.format == expected


def test_date_and_time_in_two_columns(tmp_path: Path) -> None:
    adoption = adoption_of(tmp_path, "Date,Time,Cell kPa\n13/02/2031,08:05:10,3\n")
    time = log_of(adoption).time
    assert (time.column, time.format) == (("Date", "Time"), "%d/%m/%Y %H:%M:%S")


def test_a_time_without_a_name_is_left_to_the_reader(tmp_path: Path) -> None:
    adoption = adoption_of(tmp_path, ",Cell kPa\n13/02/2031 08:05:10,3\n")
    time = log_of(adoption).time
    assert (time.column, time.format) == (None, "%d/%m/%Y %H:%M:%S")


@pytest.mark.parametrize(
    ("name", "banner", "start"),
    [
        ("run_2031-02-03_0810.csv", "", "file name"),
        ("run.csv", "Started 2031-02-03 08:10:00\n", "banner"),
        ("run.csv", "", None),
    ],
)
def test_elapsed_time_needs_a_start(
    tmp_path: Path, name: str, banner: str, start: str | None
) -> None:
    rows = "".join(f"{k},{k}\n" for k in range(9))
    adoption = adoption_of(tmp_path, f"{banner}t (min),Cell kPa\n{rows}", name)
    assert adoption.time.kind == "elapsed min"
    assert adoption.time.start == start
    assert [doubt.key for doubt in adoption.doubts] == ([] if start else ["log.time.start"])


def test_a_count_without_unit_is_a_doubt(tmp_path: Path) -> None:
    adoption = adoption_of(tmp_path, "Elapsed,Cell kPa\n1,3\n2,4\n", "run_2031-02-03_0810.csv")
    assert [doubt.key for doubt in adoption.doubts] == ["log.time.kind"]


def test_a_second_clock_is_named(tmp_path: Path) -> None:
    rows = "2031-02-03T08:00:00,2031-02-03T07:58:00,3\n"
    adoption = adoption_of(tmp_path, f"Logger time,PC time,Cell kPa\n{rows}")
    assert any("two clocks" in note for note in adoption.notes)
    assert by_column(adoption)["PC time"].channel is None


def test_commas_that_may_part_thousands_are_a_doubt(tmp_path: Path) -> None:
    one = adoption_of(tmp_path / "a", "Time;Cell kPa\n2031-02-03 08:00:00;1,234\n")
    assert [doubt.key for doubt in one.doubts] == ["log.decimal"]
    two = adoption_of(tmp_path / "b", "Time;Cell kPa\n2031-02-03 08:00:00;1,23\n")
    assert two.doubts == ()


def test_utf_16_is_read(tmp_path: Path) -> None:
    text = "Zeit\tZelldruck\tPorendruck\n\tkPa\tkPa\n03.02.2031 08:00:00\t1,5\t2,5\n"
    adoption = adoption_of(tmp_path, text.encode("utf-16"), "log.txt")
    assert adoption.files == "*.txt"
    assert by_column(adoption)["Porendruck"].column.unit_from == "the units line"
    assert adoption.doubts == ()


def test_phase_words() -> None:
    told, doubts = phases_of(("SAT", "CONS", "saturation/raise", "X7"))
    assert told == {"SAT": "saturation", "CONS": "consolidation"}
    assert [doubt.key for doubt in doubts] == ["log.phases"]
    assert '"X7"' in doubts[0].what


def test_drainage_in_other_words_is_a_doubt(tmp_path: Path) -> None:
    adoption = adoption_of(tmp_path, "Time,Cell kPa,Ventil\n2031-02-03 08:00:00,3,zu\n")
    assert [doubt.key for doubt in adoption.doubts] == ["log.channels.drainage"]


def test_files_of_another_kind_and_the_live_file_are_told_apart(tmp_path: Path) -> None:
    head = "Time,Cell kPa\n"
    for day in (3, 4, 5):
        rows = f"2031-02-0{day}T08:00:00,3\n2031-02-0{day}T08:01:00,3\n"
        (tmp_path / f"day{day}.csv").write_text(head + rows)
    (tmp_path / "live.csv").write_text(head + "2031-02-05T08:01:30,3\n")
    (tmp_path / "balance.csv").write_text("Time,Weight g\n2031-02-05T08:01:30,3\n")
    adoption = propose_adoption(tmp_path, UTC)
    assert adoption.taken == ("day3.csv", "day4.csv", "day5.csv")
    assert adoption.live == "live.csv"
    assert adoption.files == "day*.csv"
    assert any("balance.csv" in note for note in adoption.notes)


def test_no_pattern_is_a_doubt(tmp_path: Path) -> None:
    for name in ("a.csv", "b.csv"):
        (tmp_path / name).write_text("Time,Cell kPa\n2031-02-03T08:00:00,3\n")
    (tmp_path / "c.csv").write_text("not a table\n")
    adoption = propose_adoption(tmp_path, UTC)
    assert [doubt.key for doubt in adoption.doubts] == ["log.files"]
    assert '# files = "*"' in cell_text(adoption)


@pytest.mark.parametrize("text", ["", "\n\n", "no table at all\n", "Time,Cell kPa\n", "1,2\n3,4\n"])
def test_a_log_without_rows_under_a_header_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(NothingToAdoptError, match=r"log\.csv"):
        adoption_of(tmp_path, text)


def test_a_log_without_time_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NothingToAdoptError, match="time of a row"):
        adoption_of(tmp_path, "Cell kPa,Pore kPa\n3,4\n3,4\n")


def test_samples_reach_the_end_of_a_large_file(tmp_path: Path) -> None:
    lines = [f"{k:09d}" for k in range(60_000)]
    for encoding in ("utf-8", "utf-16"):
        path = tmp_path / encoding
        path.write_bytes(("\n".join(lines) + "\n").encode(encoding))
        sample = read_sample(path, 6)
        assert sample.size > HEAD_BYTES
        assert sample.parts[-1][-1] == lines[-1]
        known = set(lines)
        assert all(line in known for part in sample.parts for line in part)
        assert len(sample.parts) == 6


def test_a_name_that_another_cell_has_is_not_taken_again(tmp_path: Path) -> None:
    folder = tmp_path / "shed" / "C1"
    folder.mkdir(parents=True)
    assert cell_name(folder) == "C1"
    assert cell_name(folder, ("c1",)) == "shed-C1"
    odd = tmp_path / 'a"b'
    odd.mkdir()
    assert cell_name(odd) == "a-b"


def test_any_letters_come_back_from_the_text() -> None:
    every = "".join(map(chr, (*range(0x300), 0x2028, 0x202E, 0xFEFF, 0x1F600)))
    assert tomllib.loads(f"a = {quoted(every)}")["a"] == every


def test_values_are_never_invented(tmp_path: Path) -> None:
    adoption = adoption_of(tmp_path, "Time,Cell kPa\n2031-02-03T08:00:00,OVER\n")
    one = by_column(adoption)["Cell kPa"]
    assert one.channel is None
    assert not np.isfinite(one.column.values).any()


def test_damaged_logs_are_proposed_or_refused(tmp_path: Path) -> None:
    """Whatever happened to the bytes: text that our own reader takes, or a reason in words."""
    chance = random.Random(7)
    samples = sorted(Path(__file__).parents[2].glob("sample_logs/C*/*[vt]"))
    refused = 0
    for number in range(90):
        source = samples[number % len(samples)]
        content = bytearray(source.read_bytes()[:4000])
        for _ in range(chance.choice([1, 5, 40])):
            at = chance.randrange(len(content))
            if chance.random() < 0.5:
                content[at] = chance.randrange(256)
            else:
                odd = chance.choice([b"\n", b'"', b",", b"\0", b"1e308", b"[bar]", b".5:00", b"/"])
                content[at:at] = odd
        try:
            log_of(adoption_of(tmp_path / str(number), bytes(content)))
        except NothingToAdoptError as why:
            refused += bool(str(why))
    assert refused < 60, "most damage costs no more than a doubt"
