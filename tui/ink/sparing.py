"""Sends the cells that changed and no others; the toolkit draws and sends more around them."""

from collections.abc import Iterator
from itertools import groupby
from time import monotonic
from typing import TYPE_CHECKING, Any

from rich.console import Console
from textual._compositor import Compositor, CompositorUpdate
from textual.geometry import Region
from textual.screen import UPDATE_PERIOD
from textual.strip import Strip

if TYPE_CHECKING:
    from textual.screen import Screen
    from textual.widget import Widget

    _Screen = Screen[Any]
else:
    _Screen = object


Spans = list[tuple[int, int]]
"""Cells of one line, from the first of each up to its end."""


class _Cells(CompositorUpdate):
    """Changed cells: parts of lines, each with the column and the line where it begins."""

    def __init__(self, parts: list[tuple[int, int, Strip]]) -> None:
        self.parts = parts

    def render_segments(self, console: Console) -> str:
        """What the terminal is sent."""
        return "".join(
            f"\x1b[{y + 1};{x + 1}H{strip.render(console)}" for x, y, strip in self.parts
        )


class SparingCompositor(Compositor):
    """Puts the parts of a screen together; of what stands nothing is drawn, nor sent."""

    # the toolkit displays whatever is a CompositorUpdate
    def render_partial_update(self) -> _Cells | None:  # type: ignore[override]
        """The cells that changed, of the foremost widget there; no others are drawn."""
        changed: dict[int, Spans] = {}
        for y, first, end in self._regions_to_spans(self._dirty_regions):
            changed.setdefault(y, []).append((first, end))
        self._dirty_regions.clear()
        parts: list[tuple[int, int, Strip]] = []
        for widget, (region, clip) in self.visible_widgets.items():
            if not changed:
                break
            seen = region.intersection(clip)
            for top, bottom, spans in _runs(changed, seen):
                behind: Spans = []
                for first, end in spans:
                    x, until = max(first, seen.x), min(end, seen.right)
                    if x >= until:
                        behind.append((first, end))
                        continue
                    part = Region(x, top, until - x, bottom - top).translate(-region.offset)
                    strips = widget.render_lines(part)
                    parts += [(x, y, strip) for y, strip in enumerate(strips, start=top)]
                    behind += [one for one in ((first, x), (until, end)) if one[0] < one[1]]
                for y in range(top, bottom):
                    if behind:
                        changed[y] = behind
                    else:
                        del changed[y]
        return _Cells(parts) if parts else None


def _runs(changed: dict[int, Spans], seen: Region) -> Iterator[tuple[int, int, Spans]]:
    """Lines one under the other that changed alike, as far as a region has part in it: the first,
    the one after the last, and what changed in each.
    """
    lines = [
        y
        for y, spans in changed.items()
        if seen.y <= y < seen.bottom
        and any(first < seen.right and end > seen.x for first, end in spans)
    ]
    alike = groupby(enumerate(sorted(lines)), lambda one: (one[1] - one[0], changed[one[1]]))
    for (_, spans), run in alike:
        in_run = [y for _, y in run]
        yield in_run[0], in_run[-1] + 1, spans


class Sparing(_Screen):
    """Part of a screen that is put together and sent so, also from behind another one."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._compositor = SparingCompositor()
        self._painted_at = 0.0

    def paint_now(self, widget: "Widget") -> None:
        """Paint what has changed on a widget in this turn, not some turns on, as often as the
        toolkit would paint by itself; that comes by as well and finds nothing left.
        """
        due = monotonic() - self._painted_at >= UPDATE_PERIOD
        if due and self is self.app.screen and not self.app._batch_count:
            self._paint_alone(widget)

    def _compositor_refresh(self) -> None:
        if self is self.app.screen:
            self._painted_at = monotonic()
            super()._compositor_refresh()
            return
        # Left to the toolkit, what changed here would put off whatever is to be painted on top, and
        # would be painted even where the screen on top hides it.
        changed = self._compositor._dirty_regions
        if changed and self in self.app._background_screens:
            if isinstance(top := self.app.screen, Sparing):
                top.paint_with(changed.copy())
            changed.clear()
            self._dirty_widgets.clear()

    def paint_with(self, shining: set[Region]) -> None:
        """Paint what changed here, with the regions of screens behind this one that changed."""
        # one that has not been laid out yet will be painted whole
        if self.styles.background.a < 1.0 and self._compositor.size:
            self._set_dirty(*shining)  # it remembers what shone through
            self._paint_alone(self)

    def _paint_alone(self, widget: "Widget") -> None:
        """Paint this one; what else has changed waits for its turn.

        Were that painted as well, a part that has just come to be shown would be laid out by the
        way and then never be painted; and the toolkit forgets what waits whenever it has painted.
        """
        waiting = self._dirty_widgets - {widget}
        self._compositor.update_widgets({widget})
        self._compositor_refresh()
        if waiting:
            self._dirty_widgets |= waiting
            self.check_idle()
