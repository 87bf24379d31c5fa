"""What stands on a plot, in words: places on its axes with their units."""

from datetime import tzinfo

from tui.bench.picture import Figure, Plot
from tui.words.plain import Manner, plain, sanitise
from tui.words.quantities import b_value, measured, shown
from tui.words.times import age, to_the_second

_HOUR_MIN = 60.0
"""From here on minutes are said as hours as well. [min]"""


def x_words(plot: Plot, x: float, zone: tzinfo, manner: Manner) -> str:
    """A place on the axis of x: "ε₁ 4.32 %", "√t 2.10 √min (4.41 min)", a moment."""
    if plot.x_is_time:
        return to_the_second(x, zone)
    number, unit = shown(x, plot.x_unit, manner)
    text = f"{plain(sanitise(plot.x_label, 20), manner)} {number} {unit}".rstrip()
    if plot.x_unit == "√min":
        return f"{text} ({_minutes(x * x)})"
    return f"{text} ({_minutes(x)})" if plot.x_unit == "min" and x >= _HOUR_MIN else text


def _minutes(minutes: float) -> str:
    return f"{minutes:.2f} min" if minutes < _HOUR_MIN else age(60.0 * minutes)


def y_words(plot: Plot, y: float, manner: Manner) -> str:
    """A place on the axis of y: "118.2 kPa"; B has three decimals."""
    if not plot.y_unit:
        return b_value(y, manner)
    number, unit = shown(y, plot.y_unit, manner)
    return f"{number} {unit}"


def figure_words(figure: Figure, manner: Manner) -> str:
    """A number that was read off, with its standard uncertainty: "553 ± 12 min"."""
    return measured(figure.value, figure.uncertainty, figure.unit, manner)
