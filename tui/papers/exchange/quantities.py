"""The numbers of a reduction one by one, each under the dotted name that `reduce --json` gives it.

A name ends in its unit, so that unit and words are told from the name alone; nothing is listed
twice, and what the reduction learns to tell is handed on without a change here.
"""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

_UNITS = {
    "percent_per_min": "%/min", "mm_per_min": "mm/min", "m2_per_year": "m2/year",
    "m2_per_MN": "m2/MN", "m_per_s": "m/s", "Mg_m3": "Mg/m3", "kPa": "kPa", "MPa": "MPa",
    "mm2": "mm2", "mm": "mm", "ml": "ml", "min": "min", "deg": "deg", "deg_c0": "deg", "N": "N",
    "g": "g", "s": "s", "C": "degC", "percent": "%",
}  # fmt: skip
"""End of a name → unit, in ASCII; what ends otherwise is a ratio or a text."""
_LONGEST_FIRST = sorted(_UNITS, key=len, reverse=True)

_OTHER_TABLES = (
    "lines",
    "line_choice",
    "curve",
    "scatter",
    "phases",
    "uncertainty",
    "cautions",
    "row",
)
"""Parts that are no numbers of the test: what was drawn, and what has a table of its own."""


class Quantity(NamedTuple):
    """One result."""

    name: str
    """consolidation.cv_m2_per_year, saturation.checks.1.B …"""
    unit: str
    """In ASCII; empty for a ratio and for text."""
    value: str | float | bool | None
    """As in the JSON: unrounded, in SI; None is unknown."""
    uncertainty: float | None
    """Standard uncertainty, in the same unit."""


def words_and_unit(name: str) -> tuple[str, str]:
    """The last word of a name as words, and its unit; the place in a list is neither.

    Example:
        >>> words_and_unit("consolidation.cv_m2_per_year"), words_and_unit("saturation.B")
        (('cv', 'm2/year'), ('B', ''))
        >>> words_and_unit("interval.c_effective_kPa.1"), words_and_unit("shear.minutes_to_peak")
        (('c effective', 'kPa'), ('minutes to peak', 'min'))
        >>> words_and_unit("specimens.1.phi_effective_deg_c0")
        ('phi effective if c = 0', 'deg')
    """
    last = next((part for part in reversed(name.split(".")) if not part.isdigit()), name)
    if "minutes" in last.split("_"):
        return last.replace("_", " "), "min"
    for end in _LONGEST_FIRST:
        if last.endswith(f"_{end}"):
            words = last[: -len(end) - 1].replace("_", " ")
            return f"{words} if c = 0" if end == "deg_c0" else words, _UNITS[end]
    return last.replace("_", " "), ""


def quantities(results: Mapping[str, Any]) -> list[Quantity]:
    """Every number, text and truth of a reduction, in the order of the JSON.

    Args:
        results: of `reduce --json`, or a part of it that holds its own `uncertainty`.
    """
    uncertainty = results.get("uncertainty", {})
    return [
        Quantity(name, _unit(name, value), value, uncertainty.get(name))
        for name, value in _flat("", results)
    ]


def _unit(name: str, value: object) -> str:
    return "" if isinstance(value, str | bool) else words_and_unit(name)[1]


def _flat(within: str, part: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for key, value in part.items():
        name = f"{within}{key}"
        if key in _OTHER_TABLES:
            continue
        if isinstance(value, Mapping):
            yield from _flat(f"{name}.", value)
        elif isinstance(value, list):
            for count, one in enumerate(value, 1):
                if isinstance(one, Mapping):
                    yield from _flat(f"{name}.{count}.", one)
                else:
                    yield f"{name}.{count}", one
        else:
            yield name, value
