"""Round scales for plots, with a least span: noise must not look like an event."""

import math

_OVER = 0.01
"""Of a step: what lies so little beyond a label is drawn on it, and opens no further step."""


def round_step(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a span into at most `most` parts.

    Example:
        >>> round_step(100.0, 5), round_step(0.9, 5)
        (20.0, 0.2)
    """
    raw = span / max(1, most)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(power * m for m in (1.0, 2.0, 5.0, 10.0) if power * m >= raw * (1 - 1e-9))


def bounds(low: float, high: float, least: float, most: int) -> tuple[float, float, float]:
    """A scale around low … high, at least `least` wide, that begins and ends on its own steps.

    Returns:
        Low end, high end, step.

    Example:
        >>> bounds(399.9, 400.3, 10.0, 4), bounds(-0.03, 290.0, 20.0, 6)
        ((395.0, 410.0, 5.0), (0.0, 300.0, 50.0))
    """
    widened = high - low < least
    if widened:
        middle = (low + high) / 2
        low, high = middle - least / 2, middle + least / 2
        if low < 0 <= middle - least / 4:
            low, high = 0.0, least
    step = round_step((high - low) or 1.0, most)
    first, last = math.floor(low / step + _OVER), math.ceil(high / step - _OVER)
    while last - first > max(most, 2):  # what lies on both sides of zero takes two
        step = round_step(step * 1.5 * most, most)
        first, last = math.floor(low / step + _OVER), math.ceil(high / step - _OVER)
    if widened and (last - first) * step < least * (1 - 1e-9):
        last += 1  # the least is kept, however little it lies beyond a label
    return first * step, max(last, first + 1) * step, step


def label(value: float, step: float) -> str:
    """A value with the digits that its step has.

    Example:
        >>> label(0.4, 0.2), label(100.0, 20.0)
        ('0.4', '100')
    """
    digits = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0 else 0
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0.0 else text
