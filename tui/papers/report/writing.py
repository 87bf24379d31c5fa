"""Numbers of a test as a report writes them: those of `reduce --json`, in the reader's units."""

from collections.abc import Mapping, Sequence
from typing import Any

from reduce.units import convert
from tui.papers.report.said import Axis, Fact, Points, Said, Value
from tui.words import NOTHING, Manner, measured, result_unit, sanitise

LEAST_SPREAD = 1e-4
"""An uncertainty below this share of its number is not written: its digits would tell nothing."""


class Writer:
    """Writes the numbers of one JSON answer."""

    def __init__(self, results: Mapping[str, Any], manner: Manner) -> None:
        self.results = results
        self.manner = manner
        self._spread: Mapping[str, float | None] = results.get("uncertainty") or {}

    def raw(self, key: str) -> Any:
        """What the JSON has under a dotted name; None where it has nothing."""
        found: Any = self.results
        for part in key.split("."):
            if isinstance(found, list):
                found = found[int(part)] if int(part) < len(found) else None
            elif isinstance(found, Mapping):
                found = found.get(part)
            else:
                return None
        return found

    def value(self, key: str, unit: str = "", *, bare: bool = False) -> Said:
        """A number by its dotted name with its standard uncertainty; a ratio in % for that unit.

        Args:
            key: of the JSON.
            unit: in which the JSON has it, or "%" for a ratio.
            bare: leave the unit to a head.
        """
        number = self.raw(key)
        if number is None:
            return NOTHING
        by = 100.0 if unit == "%" else 1.0
        spread = self._spread.get(key)
        if spread is not None and spread < LEAST_SPREAD * abs(number):
            spread = None
        words = measured(
            by * number, None if spread is None else by * spread, unit, self.manner, bare=bare
        )
        return Value(words, key, float(number))

    def fixed(self, key: str, unit: str, digits: int) -> Said:
        """A number by its dotted name with so many decimals, one more in psi than in kPa."""
        number = self.raw(key)
        if number is None:
            return NOTHING
        return Value(self.rounded(float(number), unit, digits), key, float(number))

    def rounded(self, number: float, unit: str, digits: int) -> str:
        """A number of our own with so many decimals and its unit."""
        shown = result_unit(unit, self.manner)
        digits += 1 if shown != unit else 0
        text = f"{self.scale(unit) * number:.{digits}f}"
        text = text.lstrip("-") if float(text) == 0.0 else text
        return f"{text} {shown}".replace("-", "−").strip()

    def fact(self, label: str, key: str, unit: str = "", remark: str = "") -> Fact:
        """A line with a number."""
        return Fact(label, self.value(key, unit), remark)

    def facts(self, prefix: str, named: Mapping[str, tuple[str, str]]) -> tuple[Fact, ...]:
        """Lines of all numbers that could be told: by name of the field its label and unit."""
        found = (
            self.fact(label, f"{prefix}.{name}", unit) for name, (label, unit) in named.items()
        )
        return tuple(fact for fact in found if fact.said != NOTHING)

    def plain(self, number: float | None, unit: str, *, bare: bool = False) -> str:
        """A number that the JSON does not have."""
        return measured(number, None, unit, self.manner, bare=bare)

    def given(self, number: float | None, unit: str) -> str:
        """A number that somebody wrote, with no more digits than it has."""
        if number is None:
            return NOTHING
        return f"{self.scale(unit) * number:.4g} {result_unit(unit, self.manner)}"

    def readings(self, numbers: Sequence[float], unit: str) -> str:
        """Several readings of one size, all to the decimals of the finest."""
        scaled = [self.scale(unit) * number for number in numbers]
        decimals = max(len(f"{one:.4g}".partition(".")[2]) for one in scaled)
        written = ", ".join(f"{one:.{decimals}f}" for one in scaled)
        return f"{written} {result_unit(unit, self.manner)}"

    def head(self, label: str, unit: str) -> str:
        """The head of a column of bare numbers."""
        return f"{label} [{result_unit(unit, self.manner)}]" if unit else label

    def axis(self, label: str, unit: str, *, log: bool = False, downwards: bool = False) -> Axis:
        """An axis in the reader's unit."""
        return Axis(label, result_unit(unit, self.manner), log, downwards)

    def scale(self, unit: str) -> float:
        """By what a number in a unit is multiplied for the reader."""
        shown = result_unit(unit, self.manner)
        return 1.0 if shown == unit else convert(1.0, unit, shown)

    def points(self, points: Points, x_unit: str, y_unit: str) -> Points:
        """Points in the reader's units."""
        x_by, y_by = self.scale(x_unit), self.scale(y_unit)
        return tuple((x * x_by, y * y_by) for x, y in points)


def text(value: Any) -> str:
    """Anything of settings or journal as one harmless line.

    Example:
        >>> text(["a", "b\\x1b[31m"]), text(True), text(5.25)
        ('a, b', 'yes', '5.25')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(map(text, value))
    if isinstance(value, Mapping):
        return ", ".join(f"{sanitise(str(name))} {text(one)}" for name, one in value.items())
    return sanitise(str(value))
