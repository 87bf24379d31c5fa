"""The strength of a set as a page for a person."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tui.commands.page import SIGNED, Page
from tui.words import SAFETY, Manner
from tui.words.reduced import CRITERION_WORDS, LINE_WORDS

if TYPE_CHECKING:
    from reduce.strength.of_set import SetStrength
    from reduce.strength.specimens import FailedSpecimen


def print_strength(
    found: "SetStrength", specimens: "Sequence[FailedSpecimen]", manner: Manner
) -> None:
    """Envelope, methods, specimens, cautions."""
    page = Page(manner)
    names = ", ".join(one.name for one in found.specimens)
    page.line(f"strength of {names} · {CRITERION_WORDS[found.criterion]}", "bold")
    rows = (
        ("c′", page.value("", found.c_effective_kPa, "kPa"), _between(page, found, "c_kPa")),
        (
            "φ′",
            page.value("", found.phi_effective_deg, "°"),
            _between(page, found, "phi_deg"),
        ),
        ("c, total", page.value("", found.c_total_kPa, "kPa"), ""),
        ("φ, total", page.value("", found.phi_total_deg, "°"), ""),
        ("undrained strength", page.value("", found.undrained_strength_kPa, "kPa"), ""),
        ("correlation r", page.value("", found.r, ""), ""),
    )
    page.rows(row for row in rows if row[1] != page.nothing)
    if found.total_by:
        page.line(f"total: {found.total_by}", indent=1)
    if found.interval is None and found.c_effective_kPa is not None:
        page.line("how uncertain c′ and φ′ are cannot be told from so few specimens", indent=1)
    if found.methods.weighted is not None:
        _print_methods(page, found)
    _print_specimens(page, found, specimens)
    if found.misfit is not None or found.cautions:
        page.head("cautions")
    for what, clause in found.cautions:
        page.line(f"△ {what} ({clause})", indent=1)
    page.blank()
    page.line(f"{SIGNED} {SAFETY}")


def _print_methods(page: Page, found: "SetStrength") -> None:
    page.head("by method")
    methods = ((name, getattr(found.methods, name)) for name in LINE_WORDS)
    page.rows(
        (
            (
                LINE_WORDS[name],
                page.value("", None if line is None else line.c_kPa, "kPa"),
                page.value("", None if line is None else line.phi_deg, "°"),
                page.value("", None if line is None else line.r, ""),
            )
            for name, line in methods
        ),
        ("", "c", "φ", "r"),
    )


def _print_specimens(
    page: Page, found: "SetStrength", specimens: "Sequence[FailedSpecimen]"
) -> None:
    page.head("specimens")
    if any(one.kind == "UU" for one in specimens):
        page.rows(
            (
                (
                    one.name,
                    page.value("", one.sigma1_total_kPa, "kPa"),
                    page.value("", one.sigma3_total_kPa, "kPa"),
                )
                for one in specimens
            ),
            ("", "σ1", "σ3"),
        )
        return
    page.rows(
        (
            (
                one.name,
                page.value("", one.sigma1_effective_kPa, "kPa"),
                page.value("", one.sigma3_effective_kPa, "kPa"),
                page.value("", one.phi_effective_deg_c0, "°"),
            )
            for one in found.specimens
        ),
        ("", "σ′1", "σ′3", "φ′ at c′ = 0"),
    )


def _between(page: Page, found: "SetStrength", name: str) -> str:
    """The interval of c′ or φ′ in words."""
    if found.interval is None:
        return ""
    low, high = getattr(found.interval, name)
    unit = "kPa" if name == "c_kPa" else "°"
    ends = page.value("", low, unit), page.value("", high, unit)
    return f"{ends[0]} to {ends[1]} ({found.interval.confidence:.0%})"
