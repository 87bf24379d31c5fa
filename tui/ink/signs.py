"""The few signs that frame a picture, with their ASCII stand-ins."""

from typing import NamedTuple


class Signs(NamedTuple):
    """Signs by what they mean on our screens."""

    rule: str = "─"
    now: str = "│"
    now_head: str = "▼"
    change: str = "╎"
    tick: str = "╷"
    target: str = "┈┈"
    """In a legend."""
    path: str = "╌"
    dashed: str = "╌╌"
    """In a legend."""
    faint: str = "░"
    middle: str = "▒"
    full: str = "▓"
    event: str = "◆"
    hand: str = "◇"
    beyond: str = "»"
    picked: str = "▸"
    taken: str = "▪"
    missed: str = "×"
    due: str = "·"
    marker: str = "●"
    axis: str = "│"
    corner: str = "└"
    floor: str = "─"
    notch: str = "┴"
    more: str = "…"
    check: str = "B"
    unsettled: str = "b"
    urgent: str = "▲"
    warned: str = "△"
    visit: str = "▽"
    lasting: str = "━"
    before: str = "«"
    back: str = "◂"


FULL = Signs()
ASCII = Signs(
    rule="-", now="|", now_head="v", change=":", tick="|", target=". .", path="-", dashed="- -",
    faint=".", middle="=", full="#", event="+", hand="o", beyond=">", picked=">", taken="|",
    missed="x",
    due=".", marker="o", axis="|", corner="+", floor="-", notch="+", more="~", check="B",
    unsettled="b", urgent="A", warned="a", visit="V", lasting="=", before="<", back="<",
)  # fmt: skip


def signs(ascii_only: bool) -> Signs:
    """The set to draw with."""
    return ASCII if ascii_only else FULL
