"""What the help says on the screens over the wall: their keys, and what is drawn there."""

from tui.ink.signs import Signs

Help = tuple[str, str]
"""Keys, and what the signs mean that are drawn there."""

_CELLS = """\
  ↑ ↓ or k j     cell before, cell after
  1 … 9          the cell of that number
  enter, escape  back to the wall, with this cell in focus
"""
_OTHER_PLOTS = """\
  tab, shift tab its plots, one way and the other
"""
_ON_A_PLOT = """\
  ← →            read the plot off, with shift faster; home, end; or point
  + − 0          less of the plot, around what is read off; more; all of it
"""
_EVERYWHERE = """\
  u              SI or US units
  t              colours: dark, light, high contrast
"""
_AWAY = """\
  a              all alarms, one of them in full
  h              the handover to the next shift
"""
_LAST = """\
  ctrl+p         all that can be done here, found by a few letters
  ? q            this help, quit; ctrl+c: at once
"""


def cell_help(plots: int, signs: Signs) -> Help:
    """Where one cell has the whole screen.

    Args:
        plots: that it has; keys that would do nothing are left out.
        signs: to write with.
    """
    keys = "KEYS\n" + _CELLS
    keys += (_OTHER_PLOTS if plots > 1 else "") + (_ON_A_PLOT if plots else "")
    keys += "  page up, down  all that is known of the cell\n" + _EVERYWHERE + _AWAY + _LAST
    drawn = f"""\
A PLOT
  {signs.marker} a reading   {signs.floor * 2} many readings, or a fit
  {signs.dashed} a construction, with its name   {signs.target} a target
  {signs.due * 2} other specimens of the same set; or readings, in a low plot
  A dotted line goes down from what is constructed: t50, t90, t100.
  {signs.now} {signs.event} where it is read off; between single readings there is nothing.
  ± is one standard uncertainty.
"""
    return keys, drawn if plots else ""


def alarm_help() -> Help:
    """Where all alarms are listed."""
    keys = """\
KEYS
  ↑ ↓ or k j     alarm before, alarm after
  page up, down  all that it says
  enter          its cell
  escape         back
"""
    return keys + _LAST, ""
