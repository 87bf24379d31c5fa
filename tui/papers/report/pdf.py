"""A report as a PDF: text set by ReportLab in DejaVu, matplotlib's figures put in as vectors.

ReportLab breaks tables over pages and embeds the fonts, and is pure Python. It takes no vector
figures of others; room is left for them, and pypdf lays each figure's page there as a form.
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from matplotlib import get_data_path
from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    StreamObject,
)
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
)
from reportlab.platypus import Table as Grid

from tui.papers.report.figures import Size, as_pdf_pages, size_of
from tui.papers.report.said import (
    ByHand,
    Chart,
    Charts,
    Fact,
    Facts,
    Paper,
    Part,
    Remarks,
    Said,
    Section,
    Signature,
    Table,
    Value,
)

_INK, _SOFT, _RULE, _BLUE, _RED = map(
    HexColor, ("#111111", "#444444", "#d0d0d0", "#123f6d", "#a01818")
)
_FONT, _BOLD = "DejaVu", "DejaVu-Bold"
_EMBEDDED = ("FONT", (0, 0), (-1, -1), _FONT, 7)
"""Of a grid: otherwise its cells name a font of ReportLab's that no file embeds."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 20 * mm, 20 * mm, 20 * mm, 20 * mm
_PADDING = 6.0  # ReportLab's own, around what stands on a page
_WIDE = A4[0] - _LEFT - _RIGHT


def _style(name: str, size: float, **more: Any) -> ParagraphStyle:
    settings: dict[str, Any] = {"fontName": _FONT, "fontSize": size, "leading": 1.32 * size}
    return ParagraphStyle(name, **(settings | {"textColor": _INK, "splitLongWords": 1} | more))


_TITLE = _style("title", 15, fontName=_BOLD)
_SUBTITLE = _style("subtitle", 9.5, textColor=_SOFT, spaceBefore=2)
_DRAFT = _style("draft", 9.5, fontName=_BOLD, textColor=_RED, spaceBefore=2)
_HEAD = _style("head", 11.5, fontName=_BOLD, textColor=_BLUE, spaceBefore=10, spaceAfter=4)
_SUBHEAD = _style("subhead", 8.3, fontName=_BOLD, spaceBefore=6, spaceAfter=2)
_LABEL = _style("label", 7.8, textColor=_SOFT)
_TEXT = _style("text", 7.8)
_REMARK = _style("remark", 6.8, textColor=_SOFT, spaceBefore=1.5)
_LINE = _style("line", 7.8, leftIndent=10, firstLineIndent=-10, spaceBefore=2)
_PLAIN_LINE = _style("plain line", 7.8, spaceBefore=2)
_CAPTION = _style("caption", 6.8)
_COLUMN = _style("column", 7.2)
_COLUMN_RIGHT = _style("column right", 7.2, alignment=2)
_COLUMN_HEAD = _style("column head", 6.8, textColor=_SOFT)
_COLUMN_HEAD_RIGHT = _style("column head right", 6.8, textColor=_SOFT, alignment=2)
_DENSE = _style("dense", 6.2, alignment=2)
_DENSE_HEAD = _style("dense head", 5.7, textColor=_SOFT, alignment=2)


@dataclass(eq=False)
class _Places:
    """Where on which page each figure has been given room."""

    charts: list[tuple[Chart, Size]] = field(default_factory=list)
    at: dict[int, tuple[int, float, float]] = field(default_factory=dict)
    """By number of the figure: page, and its lower left corner. [pt]"""


class _Room(Flowable):
    """Room for a figure."""

    def __init__(self, number: int, size: Size, places: _Places) -> None:
        super().__init__()
        self.width, self.height = size.width * mm, size.height * mm
        self._number, self._places = number, places

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: ARG002 (reportlab's names)
        return self.width, self.height

    def draw(self) -> None:
        x, y = self.canv.absolutePosition(0, 0)
        self._places.at[self._number] = (self.canv.getPageNumber() - 1, x, y)


class _Pages(Canvas):
    """A canvas that knows at its end how many pages there are, for "page i of n"."""

    def __init__(self, *arguments: Any, paper: Paper, **named: Any) -> None:
        super().__init__(*arguments, **(named | {"initialFontName": _FONT}))
        self._paper = paper
        self._held: list[dict[str, Any]] = []

    def showPage(self) -> None:
        self._held.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined]

    def save(self) -> None:
        for number, page in enumerate(self._held, 1):
            self.__dict__.update(page)
            self._furnish(number, len(self._held))
            super().showPage()
        super().save()

    def _furnish(self, number: int, count: int) -> None:
        paper = self._paper
        self.setFont(_FONT, 6.8)
        self.setFillColor(_RED)
        self.drawRightString(A4[0] - _RIGHT, A4[1] - 12 * mm, paper.draft)
        self.setFillColor(_SOFT)
        self.setStrokeColor(_RULE)
        self.line(_LEFT, 15 * mm, A4[0] - _RIGHT, 15 * mm)
        self.drawString(_LEFT, 11.5 * mm, paper.footer)
        self.drawRightString(A4[0] - _RIGHT, 11.5 * mm, f"page {number} of {count}")


def pdf_of(paper: Paper) -> bytes:
    """The report as a PDF; the same paper gives the same bytes."""
    _register_fonts()
    places = _Places()
    stream = io.BytesIO()
    document = SimpleDocTemplate(
        stream,
        pagesize=A4,
        leftMargin=_LEFT - _PADDING,
        rightMargin=_RIGHT - _PADDING,
        topMargin=_TOP,
        bottomMargin=_BOTTOM,
        title=f"{paper.title}, {paper.subtitle}",
        author="",
        lang="en",
        invariant=1,
    )
    document.build(
        list(_story(paper, places)),
        canvasmaker=lambda *arguments, **named: _Pages(*arguments, paper=paper, **named),
    )
    return _with_figures(stream, places)


def _register_fonts() -> None:
    if _FONT in pdfmetrics.getRegisteredFontNames():
        return
    folder = Path(get_data_path()) / "fonts" / "ttf"
    pdfmetrics.registerFont(TTFont(_FONT, str(folder / "DejaVuSans.ttf")))
    pdfmetrics.registerFont(TTFont(_BOLD, str(folder / "DejaVuSans-Bold.ttf")))


def _story(paper: Paper, places: _Places) -> Iterator[Flowable]:
    yield _text(paper.title, _TITLE)
    yield _text(paper.subtitle, _SUBTITLE)
    yield _text(paper.draft, _DRAFT)
    for section in paper.sections:
        if section.chapter:
            yield PageBreak()
        yield from _section(section, places)
    yield KeepTogether(
        [
            _text("Signatures", _HEAD),
            _signatures(paper.signatures),
            *(_text(line, _PLAIN_LINE) for line in paper.closing),
        ]
    )


def _section(section: Section, places: _Places) -> Iterator[Flowable]:
    yield CondPageBreak(35 * mm)
    yield _text(section.title, _HEAD)
    for part in section.parts:
        yield from _part(part, places)


def _part(part: Part, places: _Places) -> Iterator[Flowable]:
    if isinstance(part, Facts):
        yield _facts(part.facts)
    elif isinstance(part, Table):
        yield from _table(part)
    elif isinstance(part, Remarks):
        if part.title:
            yield CondPageBreak(18 * mm)
            yield _text(part.title, _SUBHEAD)
        for line in part.lines:
            yield _text(f"{part.sign} {line}", _LINE) if part.sign else _text(line, _PLAIN_LINE)
    elif isinstance(part, Charts):
        yield _charts(part, places)
    elif isinstance(part, ByHand):
        yield Spacer(0, 3 * mm)
        yield _box(part)


def _text(words: str, style: ParagraphStyle) -> Paragraph:
    """A paragraph in which nothing is markup."""
    return Paragraph(escape(words), style)


def _words(said: Said) -> str:
    return said.words if isinstance(said, Value) else said


_SIDE_BY_SIDE = 6
"""From so many facts on they stand in two columns, down the left one first."""


def _facts(facts: tuple[Fact, ...]) -> Grid:
    lines = [_fact(fact) for fact in facts]
    if len(lines) < _SIDE_BY_SIDE:
        grid = Grid(lines, colWidths=[0.3 * _WIDE, 0.7 * _WIDE])
    else:
        half = -(-len(lines) // 2)
        right = [*lines[half:], *([["", ""]] * (2 * half - len(lines)))]
        rows = [[*one, *other] for one, other in zip(lines[:half], right, strict=True)]
        grid = Grid(rows, colWidths=[share * _WIDE for share in (0.23, 0.27, 0.23, 0.27)])
    grid.setStyle(_ruled(heads=False))
    return grid


def _fact(fact: Fact) -> list[Any]:
    if fact.said is None:
        told = [_text("not recorded ________________", _LABEL)]
    else:
        told = [_text(_words(fact.said), _TEXT)]
    if fact.remark:
        told.append(_text(fact.remark, _REMARK))
    return [_text(fact.label, _LABEL), told]


def _ruled(*, heads: bool, dense: bool = False) -> list[tuple[Any, ...]]:
    pad = 0.6 if dense else 1.3
    style: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), pad),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad),
        ("LEFTPADDING", (0, 0), (-1, -1), 2 if dense else 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2 if dense else 3),
        _EMBEDDED,
        ("LINEBELOW", (0, 0), (-1, -1), 0.25, _RULE),
    ]
    if heads:
        style += [("VALIGN", (0, 0), (-1, 0), "BOTTOM"), ("LINEBELOW", (0, 0), (-1, 0), 0.6, _SOFT)]
    return style


def _table(table: Table) -> Iterator[Flowable]:
    head = _text(table.title, _SUBHEAD)
    remark = [_text(table.remark, _REMARK)] if table.remark else []
    if not table.heads:  # nothing is known in any column; a grid of none cannot be drawn
        yield from (head, *remark)
        return
    if table.dense:
        heads = [_text(head, _DENSE_HEAD) for head in table.heads]
        rows: list[list[Any]] = [[_words(one) for one in row] for row in table.rows]
    else:
        heads = [
            _text(head, _COLUMN_HEAD if column in table.words else _COLUMN_HEAD_RIGHT)
            for column, head in enumerate(table.heads)
        ]
        rows = [
            [
                _text(_words(one), _COLUMN if column in table.words else _COLUMN_RIGHT)
                for column, one in enumerate(row)
            ]
            for row in table.rows
        ]
    grid = Grid([heads, *rows], colWidths=_column_widths(table), repeatRows=1)
    style = _ruled(heads=True, dense=table.dense)
    if table.dense:
        style += [
            ("FONT", (0, 1), (-1, -1), _FONT, _DENSE.fontSize, _DENSE.leading),
            ("ALIGN", (0, 1), (-1, -1), "RIGHT"),
        ]
    grid.setStyle(style)
    if len(table.rows) <= 14:
        yield KeepTogether([head, grid, *remark])
        return
    yield CondPageBreak(35 * mm)
    yield head
    yield grid
    yield from remark


_LEAST, _MOST = 5, 64


def _column_widths(table: Table) -> list[float]:
    """By the longest of what stands in a column, in letters, within bounds."""
    letters = [
        max(
            (len(_words(row[column])) for row in table.rows),
            default=0,
        )
        for column in range(len(table.heads))
    ]
    heads = [max(map(len, head.split()), default=0) for head in table.heads]
    wanted = [
        min(max(count, head, _LEAST), _MOST) + (4 if column in table.words else 2)
        for column, (count, head) in enumerate(zip(letters, heads, strict=True))
    ]
    return [_WIDE * one / sum(wanted) for one in wanted]


def _charts(charts: Charts, places: _Places) -> Flowable:
    size = size_of(charts)
    cells = []
    for chart in charts.charts:
        places.charts.append((chart, size))
        number = len(places.charts)
        caption = f"Figure {number}. {chart.title}. {chart.source}".strip()
        cells.append([_Room(number - 1, size, places), _text(caption, _CAPTION)])
    grid = Grid([cells], colWidths=[size.width * mm + 1 * mm] * len(cells))
    beside = [("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 1 * mm)]
    grid.setStyle([*beside, ("VALIGN", (0, 0), (-1, -1), "TOP"), _EMBEDDED])
    return KeepTogether([Spacer(0, 2 * mm), grid])


def _box(part: ByHand) -> Grid:
    grid = Grid([[_text(part.label, _LABEL)]], colWidths=[_WIDE], rowHeights=[part.height_mm * mm])
    box = ("BOX", (0, 0), (-1, -1), 0.5, _SOFT)
    grid.setStyle([box, ("VALIGN", (0, 0), (-1, -1), "TOP"), _EMBEDDED])
    return grid


def _signatures(signatures: tuple[Signature, ...]) -> Grid:
    names = [f"{one.role}: {one.name or '_' * 24}" for one in signatures]
    lines = ["date, signature  ________________________"] * len(names)
    grid = Grid(
        [[_text(one, _TEXT) for one in names], [_text(one, _TEXT) for one in lines]],
        colWidths=[_WIDE / max(len(names), 1)] * len(names),
        rowHeights=[7 * mm, 14 * mm],
    )
    low = ("VALIGN", (0, 0), (-1, -1), "BOTTOM")
    grid.setStyle([low, ("LEFTPADDING", (0, 0), (-1, -1), 0), _EMBEDDED])
    return grid


def _with_figures(stream: io.BytesIO, places: _Places) -> bytes:
    """The pages with each figure in its room, as a form: its lines stay lines, its text text."""
    writer = PdfWriter(clone_from=PdfReader(stream))
    if places.charts:
        figures = PdfReader(io.BytesIO(as_pdf_pages(places.charts)))
        for number, page in enumerate(figures.pages):
            at, x, y = places.at[number]
            _put(writer, writer.pages[at], page, f"Figure{number + 1}", x, y)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _put(
    writer: PdfWriter, page: PageObject, figure: PageObject, name: str, x: float, y: float
) -> None:
    contents = figure.get_contents()
    form = StreamObject()
    form.set_data(b"" if contents is None else contents.get_data())
    form.update(
        {
            NameObject("/Type"): NameObject("/XObject"),
            NameObject("/Subtype"): NameObject("/Form"),
            NameObject("/BBox"): ArrayObject([FloatObject(one) for one in figure.mediabox]),
            NameObject("/Resources"): figure["/Resources"].clone(writer),
        }
    )
    known = page["/Resources"].get_object()
    assert isinstance(known, DictionaryObject)
    forms = known.setdefault(NameObject("/XObject"), DictionaryObject()).get_object()
    forms[NameObject(f"/{name}")] = writer._add_object(form.flate_encode())
    drawn = StreamObject()
    own = page.get_contents()
    before = b"" if own is None else own.get_data()
    drawn.set_data(before + f"\nq 1 0 0 1 {x:.3f} {y:.3f} cm /{name} Do Q\n".encode())
    page[NameObject("/Contents")] = writer._add_object(drawn.flate_encode())
