"""The keys by which somebody looks along the time of the wall, or lets it stand still."""

from dataclasses import replace

from textual import events
from textual.binding import Binding, BindingType

from tui.bench.picture import Bench
from tui.ink.times import SPANS_S
from tui.panes.pane import Frozen, urgent
from tui.panes.stretch import SCROLLBAR, at_begin, moved, span_of
from tui.screens.acting import Acting

_STEP, _LEAP = 1 / 12, 1 / 2
"""Shares of the axis that a key, or a notch of the wheel, goes along; with shift."""

TIME_KEYS: tuple[BindingType, ...] = (
    Binding("left", f"along({-_STEP})", "back along the time of the lanes"),
    Binding("right", f"along({_STEP})", "on along the time of the lanes"),
    Binding("shift+left", f"along({-_LEAP})", show=False),
    Binding("shift+right", f"along({_LEAP})", show=False),
    Binding("home", "begin", "the lanes from their first reading"),
    Binding("end", "now", "the lanes with now"),
    Binding("plus,equals_sign", "zoom(-1)", "less time across the lanes"),
    Binding("minus", "zoom(1)", "more time across the lanes"),
    Binding("0", "fit", "now, and as much time as shows all that matters"),
    Binding("f", "freeze", "the wall stands still, alarms go on; again: it goes on"),
)


class WallTime(Acting):
    """Part of the screen that has the wall; it reads `shown`, the picture that the wall has."""

    shown: Bench | None

    def _width(self) -> int:
        """Columns of the wall."""
        return self.size.width - SCROLLBAR

    def action_along(self, by: float) -> None:
        """So many shares of the axis into the past or the future."""
        if self.shown is not None:
            held = moved(self.shown, self.view, self._width(), by)
            self.view = replace(self.view, held_s=held)

    def action_begin(self) -> None:
        """The first moment that is known, at the left end."""
        if self.shown is not None:
            held = at_begin(self.shown, self.view, self._width())
            self.view = replace(self.view, held_s=held)

    def action_now(self) -> None:
        """With now again."""
        self.view = replace(self.view, held_s=None)

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """With shift the wheel goes along the time."""
        if event.shift:
            self.action_along(_STEP)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The same, back."""
        if event.shift:
            self.action_along(-_STEP)

    def on_mouse_scroll_right(self) -> None:
        """A wheel, or a finger, that goes sideways."""
        self.action_along(_STEP)

    def on_mouse_scroll_left(self) -> None:
        """The same, back."""
        self.action_along(-_STEP)

    def action_zoom(self, by: int) -> None:
        """More or less time across the lanes."""
        if self.shown is None:
            return
        here = span_of(self.shown, self.view)
        nearest = min(range(len(SPANS_S)), key=lambda i: abs(SPANS_S[i] - here))
        index = max(0, min(nearest + by, len(SPANS_S) - 1))
        self.view = replace(self.view, span_s=SPANS_S[index])

    def action_fit(self) -> None:
        """As much time as shows every phase and what comes, with now."""
        self.view = replace(self.view, span_s=None, held_s=None)

    def action_freeze(self) -> None:
        """Keep the picture that the wall has, or let it go on."""
        if self.view.frozen is not None:
            self.view = replace(self.view, frozen=None)
            self.shown = self.bench
        elif self.bench is not None:
            known = frozenset(one.key for one in urgent(self.bench))
            self.view = replace(self.view, frozen=Frozen(self.bench.at, known))
