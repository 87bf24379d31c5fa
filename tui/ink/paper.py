"""A widget that shows finished lines and repaints only the cells that changed."""

from collections.abc import Sequence

from textual.filter import ANSIToTruecolor, LineFilter
from textual.geometry import Region, Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.ink.palette import PALETTES, style
from tui.ink.sheet import Line, difference


class Paper(ScrollView, can_focus=False):
    """Finished lines; laying equal lines again costs nothing and sends nothing.

    It has neither border nor padding.
    """

    DEFAULT_CSS = """
    Paper { overflow: hidden hidden; }
    """

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.shown: list[Line] = []
        """What stands on it."""
        self.repaints = 0
        """Regions repainted so far; a test counts them."""

    def lay(self, lines: Sequence[Line]) -> None:
        """Show these lines from now on."""
        old, new = self.shown, list(lines)
        width = max((len(line.signs) for line in new), default=0)
        old_width = max((len(line.signs) for line in old), default=0)
        self.shown = new
        if len(old) != len(new) or width != old_width:
            self.virtual_size = Size(width, len(new))
            self.repaints += 1
            self.refresh()
            return
        top = self.scroll_offset.y
        changed: list[Region] = []
        for y, (before, after) in enumerate(zip(old, new, strict=True)):
            if before is not after and (cells := difference(before, after)) is not None:
                changed.append(Region(cells[0], y - top, cells[1], 1))
        height = self.size.height
        seen = [region for region in changed if 0 <= region.y < height]
        if seen:
            self.repaints += len(seen)
            self.refresh(*seen)

    def render_lines(self, crop: Region) -> list[Strip]:
        """Lines of what is in sight: finished, and so without the boxes that a paper has not."""
        theme, first, ground = self.app.theme, self.scroll_offset.y, self.styles.background
        blank, filters = style("text", theme), self._filters(theme)
        strips: list[Strip] = []
        for y in crop.line_range:
            if first + y < len(self.shown):
                strip = self.shown[first + y].strip(theme, *crop.column_span)
            else:
                strip = Strip.blank(crop.width, blank)
            for one in filters:
                strip = strip.apply_filter(one, ground)
            strips.append(strip)
        return strips

    def _filters(self, theme: str) -> list[LineFilter]:
        """Those that change anything: only themes of few colours have names of the sixteen."""
        found = self.get_line_filters()
        few = PALETTES[theme].few
        return [one for one in found if few or not isinstance(one, ANSIToTruecolor)]
