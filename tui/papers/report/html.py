"""A report as one HTML file: no script, nothing from elsewhere, figures as SVG, to be printed."""

from dataclasses import dataclass

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from tui.papers.report.figures import as_svg, size_of
from tui.papers.report.said import ByHand, Chart, Charts, Facts, Paper, Remarks, Table, Value


@dataclass(frozen=True, slots=True)
class _Numbered:
    chart: Chart
    number: int
    svg: Markup


def html_of(paper: Paper) -> bytes:
    """The report as a page."""
    environment = Environment(
        loader=PackageLoader("tui.papers.report", ""),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    kinds = {
        "number_of_json": Value,
        "facts": Facts,
        "table": Table,
        "remarks": Remarks,
        "charts": Charts,
        "by_hand": ByHand,
    }
    for name, kind in kinds.items():
        environment.tests[name] = lambda one, kind=kind: isinstance(one, kind)
    count = 0

    def figures_of(part: Charts) -> list[_Numbered]:
        nonlocal count
        found = []
        for chart in part.charts:
            count += 1
            svg = as_svg(chart, size_of(part), f"f{count}-")
            # Drawn by matplotlib, which escapes every text in it
            found.append(_Numbered(chart, count, Markup(svg)))
        return found

    page = environment.get_template("report.html.jinja").render(
        paper=paper, figures_of=figures_of, css=_css
    )
    return page.encode("utf-8", "replace")


def _css(text: str) -> Markup:
    """Text within quotes of a style sheet: every sign that is no letter or digit is escaped."""
    safe = "".join(
        sign if sign.isascii() and sign.isalnum() else f"\\{ord(sign):x} " for sign in text
    )
    return Markup(safe)
