"""Benches made up for the screens' tests: values only, no file and no soil behind them."""

import math
from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from tui.bench.alarms.spells import Alarm, Priority, Spell
from tui.bench.picture import (
    BEING_READ,
    UNTIL_MENDED,
    BCheck,
    Bench,
    Blind,
    Cell,
    Figure,
    Guard,
    Hand,
    LaneSegment,
    Live,
    Phase,
    PhaseSpan,
    Plot,
    Projection,
    Quantities,
    ScheduleCount,
    Series,
    SetEnvelope,
)
from tui.bench.unused import Unused
from tui.bench.visits import visits
from tui.feed.rows import UnusedRow
from tui.settings.problems import Problem

ZONE = ZoneInfo("Europe/Oslo")
AT = datetime(2031, 2, 5, 13, 20, 7, tzinfo=UTC).timestamp()
"""Wednesday 5 February 2031, 14:20:07 on the bench's clock."""
H = 3600.0
BLIND = (
    Blind("leak-cell", "needs cell_volume"),
    Blind("volume-gauge-end", "needs stroke"),
)


def _ticks(taken: int, slots: int, missed: tuple[int, ...] = ()) -> str:
    return "".join("m" if k in missed else "t" if k < taken else "d" for k in range(slots))


def saturating(name: str, best: float = 0.912, stalled: bool = False) -> Cell:
    """In its saturation, some checks done."""
    began = AT - 30 * H
    wanted = 0.95
    b_values = [best - (best - 0.42) * math.exp(-0.55 * k) for k in range(7)]
    times = [began + (k + 1) * 4 * H for k in range(7)]
    checks = tuple(
        BCheck(t, t - 600, 50.0 * (k + 1), 50.0, 50.0 * b, b, b, True, True)
        for k, (t, b) in enumerate(zip(times, b_values, strict=True))
    )
    if stalled:
        projection = Projection(
            "B ≥ 0.95", None, None, None, None, 0.7, "B stands at 0.88 since three checks"
        )
        what = "decide: B no longer rises"
        hands = (Hand(name, what, AT - 2 * H, None, None, good_until=AT),)
    else:
        projection = Projection(
            "B ≥ 0.95", AT + 9.2 * H, AT + 6 * H, AT + 14 * H, 0.8, 0.78, "trend of seven checks"
        )
        due, soonest, latest = AT + 1.6 * H, AT + 1.2 * H, AT + 2.1 * H
        hands = (Hand(name, "B check 8", due, soonest, latest, good_until=due + 2 * H),)
    back = tuple((50.0 * (k + 1), b) for k, b in enumerate(b_values))
    curve = tuple(
        (p, best - (best - 0.42) * math.exp(-0.011 * (p - 50))) for p in range(50, 600, 10)
    )
    cell_line = tuple((began + k * 600.0, 60 + 50 * (k // 24) + 10.0) for k in range(180))
    pore_line = tuple((began + k * 600.0, 50.0 + 49 * (k // 24)) for k in range(180))
    return Cell(
        name,
        name,
        "T015",
        "BH4-U12-a",
        "CU",
        Phase("saturation", "hold", began, AT - 2.2 * H, "setup", "inferred"),
        (
            PhaseSpan("setup", "mount", began - 3 * H, began, "inferred"),
            PhaseSpan("saturation", "hold", began, None, "inferred"),
        ),
        checks,
        Live(AT - 12.0, 371.4, 350.2, 349.8, 21.6, 6.42, 41.0, None, None, None, 21.3),
        ScheduleCount("root", 40, 17, 1, 0, AT + 245.0, AT + 7 * H, _ticks(18, 40, (5,))),
        Quantities(B=b_values[-1]),
        projection,
        (
            LaneSegment("setup", began - 3 * H, began, "σ′", "kPa", 0.0, 50.0, None,
                        ((began - 3 * H, 4.0), (began - 1 * H, 18.0), (began, 20.0))),
            LaneSegment("saturation", began, None, "B", "", 0.0, 1.0, wanted,
                        tuple(zip(times, b_values, strict=True))),
        ),
        (
            Plot("B against back pressure", "back pressure", "kPa", "B", "", (
                Series("checks", "readings", back), Series("trend", "fit", curve),
            ), ("target 0.95", wanted)),
            Plot("Pressures", "time", "s", "pressure", "kPa", (
                Series("cell", "readings", cell_line),
                Series("pore", "readings", pore_line),
            ), None, True),
        ),
        hands,
        BLIND,
        1240,
        3,
    )  # fmt: skip


def consolidating(name: str) -> Cell:
    """Draining, with a fit and a construction."""
    began = AT - 7.3 * H
    t90 = 9.5 * H

    def degree(t: float) -> float:
        return 1 - math.exp(-2.3 * (t / t90) ** 0.8) if t > 0 else 0.0

    times = [began + 60.0 * 1.35**k for k in range(21) if began + 60.0 * 1.35**k < AT]
    root = [((t - began) / 60.0) ** 0.5 for t in times]
    volume = [-8.4 * degree(t - began) for t in times]
    fine = [0.3 * k for k in range(100)]
    return Cell(
        name,
        name,
        "T009",
        "BH2-U07-c",
        "CD",
        Phase("consolidation", "drained", began, began, "saturation", "marks"),
        (
            PhaseSpan("saturation", "hold", AT - 60 * H, began, "inferred"),
            PhaseSpan("consolidation", "drained", began, None, "marks"),
        ),
        (),
        Live(AT - 4.0, 550.3, 400.1, 431.2, 119.1, -7.1, 62.0, None, 0.84, None, 21.1),
        ScheduleCount("log", 16, 12, 0, 1, AT + 1.9 * H, AT + 30 * H, _ticks(12, 16)),
        Quantities(B=0.968, U=degree(AT - began), volumetric_strain=0.0362),
        Projection("dissipation 95 %", AT + 5.1 * H, AT + 4.2 * H, AT + 6.6 * H, 0.8, 0.61,
                   "fitted drainage curve, radial and one end"),
        (
            LaneSegment("saturation", AT - 60 * H, began, "B", "", 0.0, 1.0, 0.95,
                        ((AT - 50 * H, 0.7), (AT - 30 * H, 0.9), (AT - 9 * H, 0.968))),
            LaneSegment("consolidation", began, None, "U", "", 0.0, 1.0, 0.95,
                        tuple((t, degree(t - began)) for t in times)),
        ),
        (
            Plot("Volume against root time", "√t", "√min", "volume out", "ml", (
                Series("readings", "readings", tuple(zip(root, volume, strict=True))),
                Series("fit", "fit", tuple((x, -8.4 * degree(x * x * 60)) for x in fine)),
                Series("early line", "construction", ((0.0, -0.2), (18.0, -8.4))),
            ), None),
        ),
        (Hand(name, "end of consolidation", AT + 5.1 * H, AT + 4.2 * H, AT + 6.6 * H,
              good_until=AT + 9.1 * H),),
        BLIND,
        812,
        0,
        ahead=(
            Projection("strain 15 %", AT + 20 * H, AT + 16 * H, AT + 25 * H, 0.8, None, "planned"),
            Projection("end of the test", AT + 21 * H, AT + 16.5 * H, AT + 27 * H, 0.8, None, ""),
        ),
    )  # fmt: skip


def shearing(name: str, kind: str = "CU") -> Cell:
    """In shear, near its peak."""
    began = AT - 5.5 * H
    strain = [0.0011 * k for k in range(85)]
    q = [118 * e / (0.006 + e) * (1 - 0.9 * e) for e in strain]
    u = [400 + 60 * e / (0.01 + e) for e in strain]
    times = [began + k * 5.5 * H / 85 for k in range(85)]
    percent, excess = [100 * e for e in strain], [pore - 400 for pore in u]
    return Cell(
        name,
        name,
        "T011",
        "BH4-U12-b",
        kind,
        Phase("shear", "shear", began, began + 900, "consolidation", "log",
              "the readings look like dock"),
        (
            PhaseSpan("consolidation", "drained", AT - 40 * H, began, "log"),
            PhaseSpan("shear", "shear", began, None, "log"),
        ),
        (),
        Live(AT - 2.0, 500.2, 400.0, 451.7, 48.5, 0.0, 50.0, None, 9.11, 214.6, 21.4),
        ScheduleCount("strain", 220, 84, 0, 0, AT + 38.0, AT + 9 * H, _ticks(84, 220)),
        Quantities(B=0.971, U=0.99, axial_strain=0.0934, volumetric_strain=0.0, deviator_kPa=q[-1]),
        Projection("strain 15 %", AT + 3.4 * H, AT + 3.3 * H, AT + 3.5 * H, 0.9, 0.62,
                   "strain rate"),
        (
            LaneSegment("consolidation", AT - 40 * H, began, "U", "", 0.0, 1.0, 0.95,
                        ((AT - 40 * H, 0.0), (AT - 36 * H, 0.6), (AT - 28 * H, 0.93),
                         (began, 0.99))),
            LaneSegment("shear", began, None, "ε₁", "", 0.0, 0.2, 0.15,
                        tuple(zip(times, strain, strict=True))),
        ),
        (
            Plot("Deviator and pore pressure against strain", "axial strain", "%", "stress", "kPa",
                 (Series("q", "readings", tuple(zip(percent, q, strict=True))),
                  Series("Δu", "fit", tuple(zip(percent, excess, strict=True))))),
        ),
        (Hand(name, "strain limit: stop and save", AT + 3.4 * H, AT + 3.3 * H, AT + 3.5 * H,
              good_until=AT + 3.65 * H),),
        BLIND,
        9034,
        1,
    )  # fmt: skip


def mounting(name: str) -> Cell:
    """In its set-up: little is known yet."""
    return Cell(
        name,
        name,
        "T021",
        "BH5-U03-a",
        "CU",
        Phase("setup", "flush", AT - 1.4 * H, AT - 0.5 * H, None, "marks"),
        (PhaseSpan("setup", "flush", AT - 1.4 * H, None, "marks"),),
        (),
        Live(AT - 31.0, 20.1, 0.2, 12.0, 8.1, 0.0, None, None, None, None, 20.9),
        None,
        Quantities(),
        Projection("", None, None, None, None, None, "set-up has no end of its own"),
        (
            LaneSegment("setup", AT - 1.4 * H, None, "σ′", "kPa", 0.0, 50.0, None,
                        ((AT - 1.4 * H, 0.0), (AT - 1.0 * H, 7.5), (AT - 60.0, 8.1))),
        ),
        (),
        (),
        BLIND,
        74,
        0,
    )  # fmt: skip


def broken(name: str = "C3") -> Cell:
    """Its settings cannot be used."""
    return Cell(
        name,
        name,
        problems=(
            Problem("error", "unknown unit 'kpaa' in pore_pressure",
                    "write one of: Pa, kPa, MPa, bar, psi", "C3/cell.toml", 14,
                    "log.channels.pore_pressure.unit"),
            Problem("error", "specimen has no height", 'add height = "100 mm"', "C3/cell.toml",
                    None, "specimen.height"),
        ),
        projection=Projection("", None, None, None, None, None, UNTIL_MENDED),
    )  # fmt: skip


def bench(cells: tuple[Cell, ...], **more: object) -> Bench:
    """A bench of these cells, its hands sorted."""
    hands = sorted(
        (hand for cell in cells for hand in cell.hands), key=lambda h: h.at if h.at else AT
    )
    made = Bench(
        AT,
        "quay",
        "Ferry quay, phase 2",
        ZONE,
        "SI",
        cells,
        hands=tuple(hands),
        visits=visits(hands, AT, None),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def all_well() -> Bench:
    """Six cells, one of each kind of day."""
    return bench(
        (
            saturating("C1"),
            saturating("C2", 0.882, stalled=True),
            consolidating("C3"),
            shearing("C4"),
            replace(
                shearing("C5", "CD"), phase=Phase("shear", "shear", AT - 5.5 * H, AT, None, "log")
            ),
            mounting("C6"),
        )
    )


def a_set() -> Bench:
    """Three specimens of one set, sheared, with what is known of them together."""
    cells = []
    for name, stress in (("C1", 100.0), ("C2", 200.0), ("C3", 50.0)):
        strain = [0.002 * k for k in range(76)]
        q = [1.3 * stress * e / (0.006 + e) * (1 - 2.0 * e) for e in strain]
        u = [0.4 * stress * e / (0.01 + e) for e in strain]
        percent = [100.0 * e for e in strain]
        path = tuple((stress - v + d / 2, d / 2) for d, v in zip(q, u, strict=True))
        plots = (
            Plot("Deviator against axial strain", "ε₁", "%", "q", "kPa",
                 (Series("deviator", "readings", tuple(zip(percent, q, strict=True))),),
                 of_set=True),
            Plot("Stress path t′ against s′", "s′", "kPa", "t′", "kPa",
                 (Series("stress path", "readings", path),), is_path=True, of_set=True),
            Plot("Pressures against time", "time", "", "pressure", "kPa", tuple(
                Series(line, "readings", tuple((AT - 9 * H + 400.0 * k, level + 0.4 * k)
                                               for k in range(76)))
                for line, level in (("cell", 500.0), ("back", 400.0), ("pore", 402.0))),
                 x_is_time=True),
        )  # fmt: skip
        figures = (
            Figure("greatest q", max(q), "kPa", None, "at 5 % axial strain"),
            Figure("t90", 81.8, "min", 1.3, "root time to t90"),
        )
        top = max(path, key=lambda point: point[1])
        unused = Unused((("OVER", 1),), (UnusedRow(f"{name}/a.csv", 417, "OVER", "Pc"),))
        cells.append(
            replace(shearing(name), plots=plots, figures=figures, failure=top, unused=unused,
                    set_name="BH4-U12")
        )  # fmt: skip
    points = tuple((cell.folder, *cell.failure) for cell in cells if cell.failure)
    line = SetEnvelope("BH4-U12", points, 3.0, 0.51, 3.5, 30.7)
    return bench(tuple(cells), envelopes=(line,))


def one_broken() -> Bench:
    """A broken cell, folders that nobody adopted, a complaint about the bench."""
    well = all_well()
    cells = (*well.cells[:2], broken("C3"), *well.cells[3:])
    return bench(
        cells,
        not_adopted=("oldrig", "C9 copy"),
        problems=(
            Problem("warning", "zone is not set", 'add zone = "Europe/Oslo"', "bench.toml", None,
                    "zone"),
        ),
    )  # fmt: skip


def sixty_four() -> Bench:
    """Many cells."""
    makers = (saturating, consolidating, shearing, mounting)
    return bench(tuple(makers[k % 4](f"C{k + 1}") for k in range(64)))


def empty() -> Bench:
    """A bench without a cell."""
    return bench((), not_adopted=("logger A",))


def nothing_known() -> Bench:
    """Everything that may be None is None."""
    bare = Cell("C1", "C1")
    started = Cell(
        "C2", "C2", None, None, None,
        Phase("saturation", None, AT, AT, None, "inferred"),
        (PhaseSpan("saturation", None, AT, None, "inferred"),), (),
        Live(AT), ScheduleCount("root", 0, 0, 0, 0, None, None), Quantities(),
        Projection("", None, None, None, None, None, ""),
        (LaneSegment("saturation", AT, None, "B", "", 0.0, 1.0, None, ()),),
        (Plot("", "", "", "", "", ()),
         Plot("one", "x", "", "y", "", (Series("s", "readings", ((1.0, 1.0),)),))),
        (Hand("C2", "", None, None, None),),
    )  # fmt: skip
    return bench((bare, started))


def being_read() -> Bench:
    """Just opened: of one cell something is known, of the others nothing has been read yet."""
    note = Problem("note", "its logs are being read; what is shown is as of then", "wait a moment")
    unread = [
        Cell(
            name, name, f"T0{name}", "BH2-U07", "CU", being_read=True, problems=(note,),
            projection=Projection("", None, None, None, None, None, BEING_READ),
        )
        for name in ("C2", "C3")
    ]  # fmt: skip
    return bench((saturating("C1"), *unread))


HOSTILE = "[bold red]C1[/] \x1b[31mred\x1b[0m\x07 \u202e[kPa]"
HOSTILE_SHOWN = "[bold red]C1[/] red [kPa]"


def hostile() -> Bench:
    """Names and texts that would like to be markup or escapes."""
    cell = replace(
        saturating("C1"),
        cell=HOSTILE,
        folder=HOSTILE,
        specimen=HOSTILE,
        phase=Phase("saturation", "[red]hold", AT - H, AT - H, None, "log", HOSTILE),
        problems=(Problem("warning", HOSTILE, "[link=x]y[/]", "[b]a.csv", 3, "Pc [kPa]"),),
        hands=(Hand(HOSTILE, HOSTILE, AT + H, None, None),),
        projection=Projection(HOSTILE, AT + H, None, AT + 2 * H, None, None, HOSTILE),
        ahead=(Projection(HOSTILE, None, None, None, None, None, HOSTILE),),
        advice=(HOSTILE, HOSTILE),
        slots_end_early=True,
    )
    return bench((cell, broken(HOSTILE)), name=HOSTILE, not_adopted=(HOSTILE,))


def long_names() -> Bench:
    """Names longer than any column, some of double width."""
    first = replace(
        saturating("C1"), cell="The second cell from the window, the one with the new valve"
    )
    second = replace(consolidating("C2"), cell="三軸試験機の二番目のセル", specimen="試料" * 30)
    return bench((first, second), name="A bench with a name that goes on and on " * 4)


def alarm(kind: str, since: float, **more: object) -> Alarm:
    """One that stands and that nobody knows, so many seconds old."""
    made = Alarm(
        kind, None, "urgent", "unacknowledged", AT - since, AT - since + 60.0,
        "what was read and its limit", "what brings it about", "what comes of it",
        "what to do, with the usual cautions", 1800.0, announced_at=AT - since + 60.0,
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]


def alarmed() -> Bench:
    """Alarms in every state, one shared by two cells; somebody keeps the watch."""
    own = {
        "C2": (alarm("saturation-stalled", 5_040.0,
                     message="B 0.88 after 0.88, though back pressure rose from 210 to 260 kPa",
                     consequences=("reading-missed", "pressure-unsteady")),),
        "C3": (alarm("leak-drainage", 9 * H, priority="warning"),
               alarm("temperature-swing", 2 * H, priority="warning", state="shelved",
                     shelved_until=AT + 2 * H)),
        "C4": (alarm("pressure-drift", 1_860.0, about="cell_pressure", state="acknowledged",
                     acknowledged_by="Ada"),
               alarm("log-silent", 11 * H, state="returned", cleared_at=AT - 10 * H)),
        "C6": (alarm("watch-sparse", 3 * H, priority="note"),),
    }  # fmt: skip
    well = all_well()
    cells = tuple(replace(cell, alarms=own.get(cell.cell, ())) for cell in well.cells)
    shared = alarm("supply-lost", 130.0, about="main", cells=("C1", "C5"))
    return replace(
        well, cells=cells, alarms=(shared,), guard=Guard(True, "watch-pc", 12.0), worst="urgent"
    )


def hostile_alarms() -> Bench:
    """What alarms say would like to be markup or escapes."""
    told = alarm(
        "log-silent", H, about=HOSTILE, message=HOSTILE, action=HOSTILE, cause=HOSTILE,
        effect=HOSTILE, state="acknowledged", acknowledged_by=HOSTILE,
    )  # fmt: skip
    return replace(bench((replace(saturating("C1"), alarms=(told,)),)), guard=Guard(True, HOSTILE))


def marked() -> Bench:
    """Everything that a lane marks: checks, one of them unsettled, alarms that stand or stood."""

    def spell(kind: str, priority: Priority, since_h: float, until_h: float | None) -> Spell:
        cleared = None if until_h is None else AT - until_h * H
        return Spell(kind, None, priority, AT - since_h * H, AT - since_h * H + 60.0, cleared)

    first, second, third, fourth = (
        saturating("C1"), consolidating("C2"), shearing("C3"), mounting("C4")
    )  # fmt: skip
    unsettled = replace(first.checks[-1], at=AT - 0.9 * H, began=AT - 1.1 * H, settled=False)
    curve = first.lane[-1]
    points = (*curve.points, (unsettled.at, unsettled.B))
    cells = (
        replace(
            first,
            checks=(*first.checks, unsettled),
            lane=(first.lane[0], replace(curve, points=points)),
            spells=(
                spell("log-silent", "urgent", 26.0, 25.0),
                spell("pressure-drift", "warning", 12.0, 9.0),
                spell("watch-sparse", "note", 18.0, 17.0),
                replace(spell("reading-missed", "warning", 20.0, 19.0), held_back="log-silent"),
            ),
        ),
        replace(second, spells=(spell("leak-drainage", "warning", 4.0, None),)),
        replace(third, spells=(spell("load-not-taken", "urgent", 5.5, 5.0),)),
        fourth,
    )
    shared = replace(spell("supply-lost", "urgent", 3.0, 2.0), cells=("C2", "C4"))
    return replace(bench(cells), spells=(shared,))


def later(before: Bench) -> Bench:
    """The same three minutes later: other values everywhere, and a membrane has burst in C3."""
    cells = tuple(
        replace(cell, live=replace(cell.live, at=AT + 183.0, cell_pressure_kPa=999.9))
        for cell in before.cells
        if cell.live is not None
    )
    told = "cell pressure fell from 550 to 431 kPa within 2 min"
    burst = alarm("membrane-burst", -100.0, message=told)
    cells = tuple(replace(one, alarms=(burst,)) if one.cell == "C3" else one for one in cells)
    return replace(before, at=AT + 185.0, cells=cells, worst="urgent")
