"""Tests as a workbook: a sheet a phase with its charts, every reading, cautions and journal.

Text from outside is written as text and nothing else: no formula, no link, no number is made of
it. Numbers are those of `reduce --json`, unrounded; their cells show fewer digits.
"""

import io
import math
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from reduce.strength.specimens import Criterion
from tui.bench.failed_specimens import STATE_OF
from tui.journal.entries import Entry
from tui.papers.exchange.envelopes import Envelopes
from tui.papers.exchange.quantities import Quantity
from tui.papers.exchange.workbook_charts import (
    CURVES,
    add_line,
    chart_of,
    curve_chart,
    place_charts,
)
from tui.papers.exchange.workbook_curves import curve_table, curves_of
from tui.papers.exchange.workbook_readings import write_readings
from tui.papers.exchange.workbook_sheets import Sheets
from tui.papers.exchange.workbook_tables import (
    Cell,
    Column,
    Scale,
    Table,
    part_of_each,
    quantity_table,
    records,
    time_column,
)
from tui.papers.subject import Subject
from tui.words import SAFETY, Manner
from tui.words.entries import said

DRAFT = (
    f"A draft until it is signed. {SAFETY} Units stand in the headers; u(…) is one standard "
    "uncertainty; an empty cell is not known."
)
NOTHING_READ = "Nothing of this was read, or nothing could be reduced."

Rows = list[tuple[Sequence[Cell], Mapping[str, Quantity]]]


def workbook(
    subjects: Sequence[Subject],
    criterion: Criterion,
    envelopes: Envelopes,
    manner: Manner,
    produced: datetime,
) -> bytes:
    """The whole file.

    Args:
        subjects: tests that were reduced, one or more.
        criterion: what counts as failure in the envelope.
        envelopes: of their sets.
        manner: for the units.
        produced: when, on the bench's clock.
    """
    from xlsxwriter import Workbook  # noqa: PLC0415 (only for this file)

    page = io.BytesIO()
    book = Workbook(
        page,
        {
            # A row goes to disk when the next begins: a week of readings needs no gigabytes
            "constant_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    created = produced.replace(tzinfo=None)
    book.set_properties({"title": "Triaxial tests", "comments": DRAFT, "created": created})
    _Contents(Sheets(book), subjects, Scale(manner)).write(criterion, envelopes)
    book.close()
    return page.getvalue()


class _Contents:
    """What stands on which sheet."""

    def __init__(self, sheets: Sheets, subjects: Sequence[Subject], scale: Scale) -> None:
        self._sheets = sheets
        self._book = sheets.book
        self._subjects = subjects
        self._scale = scale
        self._zone = subjects[0].layout.zone
        self._curves = [curve for one in subjects for curve in curves_of(one, scale)]

    def write(self, criterion: Criterion, envelopes: Envelopes) -> None:
        """All sheets in their order."""
        self._test()
        self._sheets.tables("Phases", [("", self._phases())], NOTHING_READ)
        specimen = [
            ("", self._of_each("specimen")),
            ("After the test", self._of_each("after_test")),
        ]
        self._sheets.tables("Specimen", specimen, NOTHING_READ)
        self._saturation()
        self._consolidation()
        self._shear()
        if envelopes:
            self._envelope(envelopes, criterion)
        write_readings(self._sheets, self._subjects, self._scale, self._zone)
        self._sheets.tables("Cautions", [("", self._cautions(envelopes))], "There are none.")
        self._sheets.tables("Journal", [("", self._journal())], "Nobody entered anything.")
        self._sheets.tables(CURVES, [("", curve_table(self._curves))], NOTHING_READ)

    def _of_each(self, part: str) -> Table:
        return quantity_table(("test",), part_of_each(self._subjects, part), self._scale)

    def _parts(self, within: str, names: Sequence[str] | None = None) -> Rows:
        """Parts of one part of the results, of every test that has them."""
        rows: Rows = []
        for one in self._subjects:
            stage, _, kind = within.partition(".")
            found = one.results[stage] or {}
            known = (found.get(kind) or {}) if kind else found
            rows += [
                ((one.name, name.replace("_", " ")), records(one.results, f"{within}.{name}"))
                for name in names or known
                if isinstance(known.get(name), Mapping)
            ]
        return rows

    def _test(self) -> None:
        identities = [
            {} if one.settings is None else one.settings.identity for one in self._subjects
        ]
        keys = list(dict.fromkeys(key for identity in identities for key in identity))
        columns = [Column("test", width=16.0), Column("cell"), Column("id"), Column("kind")]
        columns += [
            Column("standard", width=18.0),
            time_column("first reading", self._zone),
            time_column("last reading", self._zone),
            *(Column(str(key), width=20.0) for key in keys),
        ]
        rows: list[list[Cell]] = []
        for one, identity in zip(self._subjects, identities, strict=True):
            assert one.found is not None
            about, times = one.results["test"], one.found.record.times_s
            row: list[Cell] = [one.name, about["cell"], about["id"], about["kind"]]
            row.append(about["standard"])
            row += [datetime.fromtimestamp(float(times[end]), self._zone) for end in (0, -1)]
            rows.append(row + [None if key not in identity else str(identity[key]) for key in keys])
        table = Table(tuple(columns), rows)
        sheet, begins = self._sheets.tables("Test", [("", table)], NOTHING_READ)
        self._sheets.cell(sheet, begins[-1], 0, DRAFT, "")

    def _phases(self) -> Table:
        rows: list[list[Cell]] = [
            [
                one.name,
                phase["name"],
                phase["step"],
                self._moment(phase["start"]),
                self._moment(phase["end"]),
                phase["from"],
            ]
            for one in self._subjects
            for phase in one.results["phases"]
        ]
        times = time_column("start", self._zone), time_column("end", self._zone)
        heads = Column("test"), Column("phase"), Column("step"), *times, Column("known from")
        return Table(heads, rows)

    def _moment(self, text: str | None) -> datetime | None:
        return None if text is None else datetime.fromisoformat(text).astimezone(self._zone)

    def _saturation(self) -> None:
        rows: Rows = []
        places: dict[str, tuple[int, int]] = {}
        for one in self._subjects:
            count = len((one.results["saturation"] or {}).get("checks", ()))
            places[one.name] = len(rows), len(rows) + count - 1
            rows += [
                ((one.name, float(number)), records(one.results, f"saturation.checks.{number}"))
                for number in range(1, count + 1)
            ]
        checks = quantity_table(("test", "check"), rows, self._scale)
        tables = [("", self._of_each("saturation")), ("B checks", checks)]
        sheet, (_, begin, free) = self._sheets.tables("Saturation", tables, NOTHING_READ)
        heads = [column.header for column in checks.columns]
        x = next((n for n, head in enumerate(heads) if head.startswith("back pressure")), None)
        if x is None:
            return
        y = heads.index("B [-]")
        chart = chart_of(self._book, "B at each check", {"name": heads[x]}, {"name": "B"})
        for name, (first, last) in places.items():
            if last >= first:
                add_line(chart, name, "Saturation", (x, y), (begin + first, begin + last), "both")
        place_charts(sheet, [chart], free)

    def _consolidation(self) -> None:
        methods, dimensions = (
            quantity_table(("test", "by"), self._parts(f"consolidation.{part}"), self._scale)
            for part in ("methods", "dimensions")
        )
        tables = [
            ("", self._of_each("consolidation")),
            ("By method", methods),
            ("Dimensions after consolidation", dimensions),
        ]
        sheet, begins = self._sheets.tables("Consolidation", tables, NOTHING_READ)
        charts = [
            curve_chart(
                self._book, self._curves, kind, f"Volume change against {kind}", falling=True
            )
            for kind in ("root time", "log time")
        ]
        place_charts(sheet, charts, begins[-1])

    def _shear(self) -> None:
        states = self._parts("shear", tuple(STATE_OF.values()))
        tables = [
            ("", self._of_each("shear")),
            ("Failure", quantity_table(("test", "criterion"), states, self._scale)),
        ]
        sheet, begins = self._sheets.tables("Shear", tables, NOTHING_READ)
        charts = [
            curve_chart(self._book, self._curves, kind, title, strains=strains)
            for kind, title, strains in (
                ("deviator", "Deviator against axial strain", ("x",)),
                ("pore pressure", "Excess pore pressure against axial strain", ("x",)),
                ("volume", "Volumetric strain against axial strain", ("x", "y")),
                ("stress path", "Stress path: s′ = (σ′1 + σ′3)/2, t′ = (σ′1 − σ′3)/2", ()),
            )
        ]
        place_charts(sheet, charts, begins[-1])

    def _envelope(self, envelopes: Envelopes, criterion: Criterion) -> None:
        heads: Rows = [((name,), _head_of(found)) for name, found in envelopes.items()]
        methods: Rows = [
            ((name, method.replace("_", " ")), records(found, f"methods.{method}"))
            for name, found in envelopes.items()
            for method in found["methods"]
        ]
        members: Rows = [
            ((name, one["cell"]), _without(records(found, f"specimens.{count}"), "cell"))
            for name, found in envelopes.items()
            for count, one in enumerate(found["specimens"], 1)
        ]
        tops = {name: self._tops(found, criterion) for name, found in envelopes.items()}
        tables = [
            ("", quantity_table(("set",), heads, self._scale)),
            ("By method", quantity_table(("set", "method"), methods, self._scale)),
            ("Specimens", quantity_table(("set", "test"), members, self._scale)),
            *((f"At failure, and the line of {name}", table) for name, table in tops.items()),
        ]
        sheet, begins = self._sheets.tables("Envelope", tables, NOTHING_READ)
        charts = []
        for (name, table), begin in zip(tops.items(), begins[3:], strict=False):
            if table.rows:
                axes = [{"name": column.header} for column in table.columns[1:]]
                chart = chart_of(self._book, "Stress points at failure", axes[0], axes[1])
                last = begin + len(table.rows) - 1
                add_line(chart, name, "Envelope", (1, 2), (begin, last - 2), "points")
                add_line(chart, "envelope", "Envelope", (1, 2), (last - 1, last))
                charts.append(chart)
        place_charts(sheet, charts, begins[-1])

    def _tops(self, strength: Mapping[str, Any], criterion: Criterion) -> Table:
        """Stress points of a set at failure, and the ends of its envelope's line."""
        kind, end, sign = "effective", "_effective", "′"
        if strength["c_effective_kPa"] is None:
            kind, end, sign = "total", "", ""
        taken = {one["cell"] for one in strength["specimens"]}
        cohesion, angle = strength[f"c_{kind}_kPa"], strength[f"phi_{kind}_deg"]
        points: list[tuple[str, float, float]] = []
        for one in self._subjects:
            state = (one.results["shear"] or {}).get(STATE_OF[criterion])
            if one.name in taken and state is not None:
                major, minor = state[f"sigma1{end}_kPa"], state[f"sigma3{end}_kPa"]
                points.append((one.name, (major + minor) / 2.0, (major - minor) / 2.0))
        if cohesion is None or angle is None:
            points = []
        if points:
            slope, start = math.sin(math.radians(angle)), math.cos(math.radians(angle)) * cohesion
            farthest = 1.1 * max(s for _, s, _ in points)
            points += [("envelope", s, start + slope * s) for s in (0.0, farthest)]
        rows: list[list[Cell]] = [
            [name, self._scale.of(s, "kPa"), self._scale.of(t, "kPa")] for name, s, t in points
        ]
        across, up = (self._scale.column(f"{axis}{sign}", "kPa") for axis in "st")
        return Table((Column("test"), across, up), rows)

    def _cautions(self, envelopes: Envelopes) -> Table:
        told = [(one.name, one.results["cautions"]) for one in self._subjects]
        told += [(f"set {name}", found["cautions"]) for name, found in envelopes.items()]
        rows = [[name, one["what"], one["clause"]] for name, found in told for one in found]
        heads = Column("test"), Column("caution", width=100.0), Column("clause", width=44.0)
        return Table(heads, rows)

    def _journal(self) -> Table:
        heads = (
            Column("test"),
            time_column("holds", self._zone),
            time_column("entered", self._zone),
            Column("entry", "0", 8.0),
            Column("what", width=44.0),
            Column("who", width=18.0),
            Column("at", width=18.0),
            Column("text", width=60.0),
        )
        rows = [self._entry(one, entry) for one in self._subjects for entry in one.entries]
        return Table(heads, rows)

    def _entry(self, subject: Subject, entry: Entry) -> list[Cell]:
        act = entry.act
        times = [datetime.fromtimestamp(at, self._zone) for at in (act.held_at, act.entered_at)]
        what = said(act, self._zone)
        return [subject.name, *times, float(act.entry), what, act.who, act.host, act.text]


def _head_of(strength: Mapping[str, Any]) -> dict[str, Quantity]:
    """The envelope itself with the ends of its interval."""
    head = _without(records(strength, ""), "schema")
    for name, bound in (("c_effective_kPa", "c_{}_kPa"), ("phi_effective_deg", "phi_{}_deg")):
        ends = records(strength, f"interval.{name}")
        head |= {bound.format(word): ends[at] for at, word in _ENDS if at in ends}
    return head | {f"interval_{k}": one for k, one in records(strength, "interval").items()}


def _without(found: Mapping[str, Quantity], name: str) -> dict[str, Quantity]:
    return {key: one for key, one in found.items() if key != name}


_ENDS = (("1", "from"), ("2", "to"))
"""Places in an interval, and the words for them."""
