"""The printed look: fits its page, says what is known, and nothing that a terminal would obey."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.bench.alarms.spells import Alarm
from tui.bench.picture import (
    Bench,
    Blind,
    Cell,
    Guard,
    Hand,
    Live,
    Phase,
    Projection,
    Quantities,
    ScheduleCount,
    Visit,
)
from tui.commands.status import exit_code, only
from tui.settings.problems import Problem
from tui.words import Manner
from tui.words.printed import columns, print_bench, wrapped

OSLO = ZoneInfo("Europe/Oslo")
NOW = datetime(2031, 2, 3, 14, 5, tzinfo=OSLO).timestamp()
H = 3600.0
DULL = Manner(colour=False)

SATURATING = Cell(
    cell="C1",
    folder="C1",
    test_id="T015",
    specimen="BH4-U12-a",
    test="CU",
    phase=Phase("saturation", "hold", NOW - 30 * H, NOW - 2 * H, "setup", "inferred"),
    live=Live(NOW - 13.0, 371.44, 350.2, 349.8, 21.6),
    schedule=ScheduleCount("root", 40, 17, 1, 0, NOW + 245.0, NOW + 7 * H),
    quantities=Quantities(B=0.9123),
    projection=Projection("B ≥ 0.95", NOW + 2 * H, NOW + H, NOW + 4 * H, 0.8, 0.62, "trend of B"),
    blind=(Blind("leak-cell", "needs cell_volume"), Blind("leak-membrane", "needs cell_volume")),
    rows_used=800,
    rows_unused=2,
    problems=(
        Problem("warning", "OVER is no number", "look at the transducer", "C1/a.csv", 14, "Pc"),
    ),
)
BROKEN = Cell(
    cell="C2",
    folder="C2",
    problems=(
        Problem(
            "error",
            "specimen.height has no unit",
            'write "100 mm"',
            "C2/cell.toml",
            21,
            "specimen.height",
        ),
    ),
    projection=Projection("", None, None, None, None, None, "its settings cannot be read"),
)
SHEARING = replace(
    SATURATING,
    cell="C10",
    folder="C10",
    phase=Phase("shear", "shear", NOW - H, NOW - H, "consolidation", "log", "marks say dock"),
    quantities=Quantities(axial_strain=0.0312, volumetric_strain=-0.0041, deviator_kPa=187.25),
    projection=Projection("strain 15 %", None, None, None, None, None, "the ram stands still"),
    blind=(),
    problems=(),
)
BENCH = Bench(
    NOW,
    "bench",
    "Ferry quay, phase 2",
    OSLO,
    cells=(SATURATING, BROKEN, SHEARING),
    not_adopted=("new logger", "C7"),
    hands=(Hand("C1", "B check 8", NOW + H, None, None),),
    worst="unknown",
)


DRIFT = Alarm(
    "pressure-drift", "cell_pressure", "urgent", "unacknowledged", NOW - 1860.0, NOW - 1560.0,
    "cell pressure 334.7 kPa, limit 3.4 kPa", "a leak", "the stresses are lost",
    "Compare the gauge at the panel.", 1800.0, ("pressure-unsteady",),
)  # fmt: skip
SHELVED = replace(
    DRIFT, kind="temperature-swing", about=None, priority="warning", state="shelved",
    shelved_until=NOW + H,
)  # fmt: skip
RETURNED = replace(DRIFT, kind="log-silent", about=None, state="returned", cleared_at=NOW - H)


def text_of(bench: Bench, width: int = 80, manner: Manner = DULL) -> str:
    return "\n".join(print_bench(bench, manner, width))


@pytest.mark.parametrize("width", [40, 47, 60, 80, 160])
@pytest.mark.parametrize("units", ["SI", "US"])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_no_line_is_wider_than_the_page(width: int, units: str, ascii_only: bool) -> None:
    manner = Manner(units="US" if units == "US" else "SI", ascii=ascii_only, colour=False)
    lines = print_bench(BENCH, manner, width)
    assert max(columns(line) for line in lines) <= width
    if ascii_only:
        assert "\n".join(lines).isascii()
    joined = " ".join(" ".join(lines).split())
    for told in ("C1", "doubtful", "broken", "C10", "B 0.912", "17 of 40"):
        assert told in joined


def test_a_cell_reads_from_its_state_to_its_next_event() -> None:
    lines = text_of(replace(BENCH, cells=(SATURATING,), not_adopted=(), hands=())).splitlines()
    assert lines == [
        "Ferry quay, phase 2 · 1 cell · Mon 3 Feb 2031 14:05",
        "nobody on duty: nobody is told of alarms",
        "",
        "△ C1 doubtful · CU · BH4-U12-a · T015",
        "  saturation · hold · since today 12:05 · inferred",
        "  cell 371.4 kPa · back 350.2 kPa · pore 349.8 kPa · σ′3 21.6 kPa · 10 s ago",
        "  B 0.912",
        "  readings 17 of 40, next in 4 min, 1 missed",
        "  next: B ≥ 0.95 today 16:05 · today 15:05–18:05 (80 %) · 62 % done",
        "  2 of 802 rows unused",
        "  △ C1/a.csv:14 Pc: OVER is no number → look at the transducer",
        "  cannot judge leak-cell, leak-membrane: needs cell_volume",
        "",
        "Porewatch observes and advises. It moves no valve and is no safety device.",
    ]


def test_a_broken_cell_says_where_and_what_to_do_and_hides_no_other() -> None:
    text = text_of(BENCH, width=160)
    assert "✕ C2/cell.toml:21 specimen.height: specimen.height has no unit" in text
    assert 'write "100 mm"' in text
    assert "next: its settings cannot be read" in text
    assert "C10" in text
    assert "strain 15 %: the ram stands still" in text
    assert "but marks say dock" in text
    assert "ε₁ 3.12 % · εᵥ −0.41 % · deviator 187.2 kPa" in text


def test_folders_not_adopted_and_hands_are_listed() -> None:
    text = text_of(BENCH)
    assert "not adopted (logs but no cell.toml): new logger C7" in text
    assert "today 15:05 · C1 · B check 8" in text


def test_what_every_cell_is_blind_to_is_said_once() -> None:
    everywhere = tuple(Blind(f"kind-{n}", "not yet") for n in range(5))
    one = replace(SATURATING, blind=(*everywhere, Blind("leak-cell", "needs cell_volume")))
    other = replace(SATURATING, cell="C3", blind=everywhere)
    text = text_of(replace(BENCH, cells=(one, other, BROKEN)))
    assert text.count("not yet") == 1
    assert "in no cell can be judged 5 alarms: not yet" in text
    assert "  cannot judge leak-cell: needs cell_volume" in text


def test_an_empty_bench_says_so() -> None:
    text = text_of(Bench(NOW, "bench", "bench", OSLO))
    assert "bench · no cell · Mon 3 Feb 2031 14:05" in text


def test_a_picture_of_another_time_says_as_of_when() -> None:
    assert "as of Mon 3 Feb 2031 14:05" in text_of(replace(BENCH, follows_clock=False))


def test_us_units_are_shown() -> None:
    text = text_of(BENCH, manner=Manner(units="US", colour=False))
    assert "cell 53.87 psi" in text
    assert "kPa" not in text


HOSTILE = "\x1b[31mred\x1b]0;title\x07\x9b2J\r\nnew [b]line[/b] \u202eback"


def test_nothing_from_a_log_reaches_the_terminal_as_a_command() -> None:
    cell = replace(
        SATURATING,
        cell=HOSTILE,
        specimen=HOSTILE,
        test_id=HOSTILE,
        phase=Phase("saturation", HOSTILE, NOW, NOW, None, "log", HOSTILE),
        projection=Projection(HOSTILE, None, None, None, None, None, HOSTILE),
        blind=(Blind(HOSTILE, HOSTILE),),
        problems=(Problem("warning", HOSTILE, HOSTILE, HOSTILE, 1, HOSTILE),),
        alarms=(replace(DRIFT, about=HOSTILE, message=HOSTILE, action=HOSTILE),),
    )
    bench = Bench(
        NOW,
        HOSTILE,
        HOSTILE,
        OSLO,
        cells=(cell,),
        not_adopted=(HOSTILE,),
        problems=(Problem("error", HOSTILE, HOSTILE, HOSTILE),),
        hands=(Hand(HOSTILE, HOSTILE, None, None, None),),
    )
    for line in print_bench(bench, DULL, 80):
        assert line.isprintable()
    assert "[b]line[/b]" in text_of(bench)


def test_colour_only_when_wanted() -> None:
    assert "\x1b[" in text_of(BENCH, manner=Manner(colour=True))
    assert "\x1b[" not in text_of(BENCH)


@given(st.text(st.sampled_from("ab 土µ"), max_size=120), st.integers(10, 60))
def test_wrapping_keeps_every_word_and_the_width(text: str, width: int) -> None:
    line = " ".join(text.split())
    lines = wrapped(line, width, 2)
    assert all(columns(part) <= width for part in lines)
    assert "".join("".join(lines).split()) == "".join(line.split())


def test_hands_are_grouped_by_visit_and_say_when_somebody_is_there() -> None:
    strain, end, late, setting_up = (
        Hand("C4", "strain limit: stop, save", NOW + 2 * H, None, None, good_until=NOW + 2.25 * H),
        Hand("C3", "consolidation ends: dock and shear", NOW + H, None, None, None, NOW + 5 * H),
        Hand("C1", "B check 8", NOW + 12 * H, None, None, NOW + 17.4 * H),
        Hand("C6", "go on with setting up", None, None, None),
    )
    together = Visit(NOW + 2 * H, NOW + 2.25 * H, (end, strain))
    bench = replace(BENCH, hands=(end, strain, late, setting_up), visits=(together,))
    lines = text_of(bench, width=40).splitlines()
    first = lines.index("hands are needed")
    assert lines[first + 1 : first + 9] == [
        "  one visit today 16:05–16:20",
        "    serves C3, C4",
        "    today 15:05 · C3",
        "      consolidation ends: dock and shear",
        "    today 16:05 · C4",
        "      strain limit: stop, save",
        "  Tue 02:05 · C1 · B check 8",
        "    somebody is there from Tue 07:29",
    ]
    assert lines[first + 9] == "  C6 · go on with setting up"


def alarmed(*alarms: Alarm, **more: object) -> Bench:
    cell = replace(SATURATING, alarms=alarms, problems=(), blind=())
    made = replace(BENCH, cells=(cell,), not_adopted=(), hands=(), worst="ok")
    return replace(made, **more)  # type: ignore[arg-type]


def test_an_alarm_stands_in_full_and_what_is_quiet_on_one_line() -> None:
    lines = text_of(alarmed(DRIFT, RETURNED, SHELVED)).splitlines()
    first = lines.index("▲ C1 urgent! · CU · BH4-U12-a · T015")
    assert lines[first + 1 : first + 10] == [
        "  ▲ urgent · pressure drifts, cell pressure · unacknowledged",
        "    since today 13:34, 31 min",
        "    cell pressure 334.7 kPa, limit 3.4 kPa",
        "    with it: pressure unsteady",
        "    → Compare the gauge at the panel.",
        "    porewatch acknowledge C1 pressure-drift --about cell_pressure",
        "  ▲ urgent · log silent · cleared today 13:05, unacknowledged",
        "  △ warning · temperature swings · shelved until today 15:05",
        "  saturation · hold · since today 12:05 · inferred",
    ]


def test_an_alarm_of_the_bench_stands_on_top_and_in_the_state_of_its_cells() -> None:
    shared = replace(DRIFT, kind="supply-lost", about="main", cells=("C1", "C4"))
    lines = text_of(alarmed(alarms=(shared,))).splitlines()
    assert lines[2] == "▲ urgent · supply lost, main · C1, C4 · unacknowledged"
    assert "porewatch acknowledge bench supply-lost --about main" in lines[7]
    assert "▲ C1 urgent! · CU · BH4-U12-a · T015" in lines


@pytest.mark.parametrize(
    ("alarms", "state"),
    [
        ((), "● C1 well"),
        ((DRIFT,), "▲ C1 urgent!"),
        ((replace(DRIFT, state="acknowledged", acknowledged_by="Ada"),), "▲ C1 urgent ·"),
        ((replace(DRIFT, priority="warning"),), "△ C1 warning!"),
        ((replace(DRIFT, priority="note"),), "○ C1 runs"),
        ((SHELVED, RETURNED), "● C1 well"),
    ],
)
def test_only_a_cell_of_which_nothing_stands_is_well(alarms: tuple[Alarm, ...], state: str) -> None:
    assert state in text_of(alarmed(*alarms))


def test_a_cell_of_which_something_cannot_be_judged_is_not_well() -> None:
    cell = replace(SATURATING, problems=())
    assert "○ C1 runs" in text_of(replace(BENCH, cells=(cell,)))


@pytest.mark.parametrize(
    ("guard", "words"),
    [
        (Guard(), "nobody on duty: nobody is told of alarms"),
        (Guard(True, "watch-pc", 130.0), "on duty: watch-pc, last beat 2 min ago"),
        (Guard(False, "watch-pc", 7200.0), "nobody on duty (was watch-pc, last beat 2 h 00 min"),
    ],
)
def test_who_is_on_duty_is_said(guard: Guard, words: str) -> None:
    assert words in text_of(alarmed(guard=guard))


@pytest.mark.parametrize(
    ("alarms", "worst", "code"),
    [
        ((), "ok", 0),
        ((DRIFT,), "urgent", 2),
        ((replace(DRIFT, state="acknowledged"),), "urgent", 2),
        ((replace(DRIFT, priority="warning"),), "warning", 1),
        ((replace(DRIFT, priority="note"),), "note", 0),
        ((SHELVED, RETURNED), "ok", 0),
    ],
)
def test_the_exit_code_of_one_cell_goes_by_its_alarms(
    alarms: tuple[Alarm, ...], worst: str, code: int
) -> None:
    other = replace(SATURATING, cell="C9", folder="C9", alarms=(DRIFT,))
    bench = alarmed(*alarms)
    found = only(replace(bench, cells=(*bench.cells, other), worst="urgent"), "C1")
    assert (found.worst, exit_code(found)) == (worst, code)


def test_what_a_cell_shares_counts_for_it_alone() -> None:
    shared = replace(DRIFT, kind="supply-lost", about="main", cells=("C4",))
    assert only(alarmed(alarms=(shared,)), "C1").worst == "ok"
    assert only(alarmed(alarms=(replace(shared, cells=("C1",)),)), "C1").worst == "urgent"


@pytest.mark.parametrize("ascii_only", [False, True])
def test_alarms_fit_forty_columns(ascii_only: bool) -> None:
    manner = Manner(ascii=ascii_only, colour=False)
    lines = print_bench(alarmed(DRIFT, RETURNED, SHELVED), manner, 40)
    assert max(columns(line) for line in lines) <= 40
    assert not ascii_only or "\n".join(lines).isascii()
