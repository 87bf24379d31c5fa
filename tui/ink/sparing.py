"""Sends the cells that changed and no others; the toolkit begins at the left end of their part."""

from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.control import Control
from textual._compositor import ChopsUpdate, Compositor

if TYPE_CHECKING:
    from textual.geometry import Region
    from textual.screen import Screen

    _Screen = Screen[Any]
else:
    _Screen = object


class _Cells(ChopsUpdate):
    """Changed cells of some lines."""

    def render_segments(self, console: Console) -> str:
        """What the terminal is sent."""
        sent: list[str] = []
        for y, first, end in self.spans:
            for part_end, (part, strip) in zip(
                self.chop_ends[y], self.chops[y].items(), strict=True
            ):
                x, until = max(part, first), min(part_end, end)
                if strip is not None and x < until:
                    sent.append(Control.move_to(x, y).segment.text)
                    sent.append(strip.crop(x - part, until - part).render(console))
        return "".join(sent)


class SparingCompositor(Compositor):
    """Puts the parts of a screen together; what changed is sent sparingly."""

    def render_partial_update(self) -> ChopsUpdate | None:
        """The cells that changed."""
        update = super().render_partial_update()
        return update and _Cells(update.chops, update.spans, update.chop_ends)


class Sparing(_Screen):
    """Part of a screen that is put together and sent so, also from behind another one."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._compositor = SparingCompositor()

    def _compositor_refresh(self) -> None:
        if self is self.app.screen:
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

    def paint_with(self, shining: "set[Region]") -> None:
        """Paint what changed here, with the regions of screens behind this one that changed."""
        # one that has not been laid out yet will be painted whole
        if self.styles.background.a < 1.0 and self._compositor.size:
            self._set_dirty(*shining)  # it remembers what shone through
            self._dirty_widgets.add(self)
            self._compositor.update_widgets(self._dirty_widgets)
            self._compositor_refresh()
