"""The volume gauge that comes to the end of its stroke."""

from math import inf, isnan

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.settings.resolved import resolve_channels

KIND, CHANNEL = "volume-gauge-end", "back_volume"
MOVED = 0.01
"""A gauge has come nearer to an end by this share of its stroke, else it was set there: common
practice, no source. [-]"""
HANDLED = 0.5
"""From one reading to the next a change by this share of the stroke is handling, no flow. [-]"""
REFILLED = 0.005
"""A zero that moved by this share of the stroke was refilled or exchanged. [-]"""


class GaugeEnd(Rule):
    """Told by what the gauge itself shows, and only of an end that it has moved towards.

    A gauge that was just refilled stands near an end and moves away from it: that is as it should
    be. How far it once was from each end is counted from its last refill.
    """

    every_s = 0.0  # two rows raise it, however near they lie

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits = scene.limits
        self._left = limits(KIND, "left")
        self._clear = self._left + limits(KIND, "clear")
        self._span = _stroke(scene)
        self._conditions = {
            end: board.condition(KIND, "urgent", reason=end, rows=limits(KIND, "rows"))
            for end in ("low", "high")
        }
        self._farthest = {"low": -inf, "high": -inf}
        """Share of the stroke that once was left to each end. [-]"""
        self._offset: float | None = None
        self._last: float | None = None
        if self._span is None:
            self.blind = {KIND: "needs stroke of [log.channels] back_volume"}

    def add(self, now: Moment) -> None:
        value = now.reading.back_volume
        if self._span is None or isnan(value) or now.live:
            return
        low, high = self._span
        stroke = high - low
        shown = now.gauge(CHANNEL)
        self._forget_if_handled(shown, shown - value, stroke)
        for end, left in (("low", (shown - low) / stroke), ("high", (high - shown) / stroke)):
            farthest = self._farthest[end] = max(self._farthest[end], left)
            one = self._conditions[end]
            if left > self._clear and one.quiet:
                continue
            near = left < (self._clear if one.raised else self._left)
            so = near and (one.raised or farthest - left > MOVED)
            if not so and one.quiet:
                self.board.tell(one, False, now.time)
                continue
            said = (
                f"the volume gauge shows {shown:.1f} ml, {100.0 * max(left, 0.0):.1f} % of its "
                f"stroke ({low:.0f} … {high:.0f} ml) before its {end} end, "
                f"limit {100.0 * self._left:g} %"
            )
            self.board.tell(one, so, now.time, said)

    def _forget_if_handled(self, shown: float, offset: float, stroke: float) -> None:
        moved = self._offset is not None and abs(offset - self._offset) > REFILLED * stroke
        jumped = self._last is not None and abs(shown - self._last) > HANDLED * stroke
        self._offset, self._last = offset, shown
        if moved or jumped:
            self._farthest = {"low": -inf, "high": -inf}


def _stroke(scene: Scene) -> tuple[float, float] | None:
    """Its ends by the settings, as values of the channel. [ml]"""
    for gauge in resolve_channels(scene.settings.log).get(CHANNEL, ()):
        for low, high in (
            (gauge.stroke_low, gauge.stroke_high),
            (gauge.range_low, gauge.range_high),
        ):
            if low is not None and high is not None and high > low:
                return low, high
    return None
