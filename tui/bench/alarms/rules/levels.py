"""Pressures and effective stress against their limits."""

from math import inf, isnan

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene

LEAST_ANSWER, LEAST_ANSWER_KPA = 0.1, 0.5
"""A check of which pore pressure shows less than this share, or this, is none. [-], [kPa]"""
OVERSHOOT_KPA = 3.0
"""By so much a stress may be set beyond the plan: common practice, no source."""
PRESSURES = ("cell_pressure", "back_pressure", "pore_pressure")


class OverPressure(Rule):
    """Cell pressure near the cell's rating, any pressure near the end of its gauge."""

    every_s = 0.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, rating = scene.limits, scene.settings.cell.rating_kPa
        clear = limits("over-pressure", "clear")
        self._conditions = {
            name: board.condition(
                "over-pressure",
                "urgent",
                about=name,
                delay_s=limits("over-pressure", "on"),
                rows=limits("over-pressure", "rows"),
            )
            for name in PRESSURES
        }
        self._levels: dict[str, tuple[float, float, str]] = {}
        """By channel: raised above, clears at, and what that is in words."""
        for name in PRESSURES:
            found = []
            if name == "cell_pressure" and rating is not None:
                share = limits("over-pressure", "rating")
                words = f"{share:.0%} of the rating of {rating:.0f} kPa"
                found.append((share * rating, (share - clear) * rating, words))
            high = scene.ends.get(name, (0.0, float("inf")))[1]
            if high < float("inf"):
                share = limits("over-pressure", "range")
                words = f"{share:.0%} of its gauge's range of {high:.0f} kPa"
                found.append((share * high, (share - clear) * high, words))
            if found:
                self._levels[name] = min(found)
        if "cell_pressure" not in self._levels:
            self.blind = {"over-pressure": "needs [cell] rating"}

    def add(self, now: Moment) -> None:
        for name, (above, back, words) in self._levels.items():
            value = getattr(now.reading, name)
            if isnan(value):
                continue
            one = self._conditions[name]
            if value <= back and one.quiet:
                continue
            so = value > (back if one.raised else above)
            said = f"{spoken(name)} {value:.0f} kPa, above {words}" if so else ""
            self.board.tell(one, so, now.time, said)


class StressLow(Rule):
    """Effective stress that is nearly gone."""

    every_s = 0.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "effective-stress-low"
        self._min, self._clear = limits(kind, "min"), limits(kind, "clear")
        self._warn = min(limits(kind, "warn"), limits(kind, "share") * scene.aims.excess_kPa)
        self._far = max(self._warn, self._min) + self._clear
        """Above this all is well."""
        on = limits(kind, "on")
        self._low = board.condition(kind, "warning", reason="low", delay_s=on)
        self._least = board.condition(kind, "urgent", reason="least", delay_s=on)
        self._none = board.condition(kind, "urgent", reason="none", rows=limits(kind, "rows"))

    def add(self, now: Moment) -> None:
        stress = now.effective_stress
        if stress > self._far and self._low.quiet and self._least.quiet:
            return
        if isnan(stress):
            return
        for one, limit in ((self._low, self._warn), (self._least, self._min), (self._none, 0.0)):
            below = limit + (self._clear if one.raised else 0.0)
            so = stress < below or (limit == 0.0 and stress <= below)
            said = f"effective stress {stress:.1f} kPa, limit {limit:.1f} kPa" if so else ""
            self.board.tell(one, so, now.time, said)


class StressHigh(Rule):
    """Effective stress beyond that at which the specimen is to be consolidated.

    The contract judges it in saturation. Cell pressure that creeps up while nothing is meant looks
    like the way to consolidation, so it is judged there as well, a little farther from the plan.
    """

    every_s = 0.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "effective-stress-high"
        planned = scene.aims.effective_stress_kPa
        clear = limits(kind, "clear")
        self._clear = 1.0 - clear
        self._most: dict[str, float] = {}
        """By phase. [kPa]"""
        if planned is not None:
            most = limits(kind, "stress") * planned
            self._most = {
                "saturation": most,
                "consolidation": max((1.0 + clear) * most, most + OVERSHOOT_KPA),
            }
        self._near = self._most.get("saturation", inf)
        """Below this all is well. [kPa]"""
        self._apart = limits(kind, "excess") * scene.aims.excess_kPa
        self._high = board.condition(kind, "urgent", reason="stress", rows=limits(kind, "rows"))
        self._wide = board.condition(
            kind, "warning", reason="difference", delay_s=limits(kind, "on")
        )
        if planned is None:
            self.blind = {kind: "needs plan.effective_stress"}

    def add(self, now: Moment) -> None:
        apart = now.reading.cell_pressure - now.reading.back_pressure
        quiet = self._high.quiet and self._wide.quiet
        if quiet and not (now.effective_stress > self._near or apart > self._apart):
            return
        loading = now.phase == "consolidation" and not unanswered(now)
        limit = self._most.get("consolidation" if loading else "saturation")
        stress = now.effective_stress
        if limit is not None and not isnan(stress):
            so = stress > limit * (self._clear if self._high.raised else 1.0)
            said = f"effective stress {stress:.0f} kPa, above {limit:.0f} kPa" if so else ""
            self.board.tell(self._high, so, now.time, said)
        if isnan(apart):
            return
        wide = apart > self._apart * (self._clear if self._wide.raised else 1.0)
        so = wide and now.phase == "saturation" and (now.step == "hold" or unanswered(now))
        said = f"cell pressure {apart:.0f} kPa above back pressure, limit {self._apart:.0f} kPa"
        self.board.tell(self._wide, so, now.time, said if so else "")


def unanswered(now: Moment) -> bool:
    """Whether pore pressure does not follow the rise: nobody checks B with an open valve."""
    cell = now.told.cell
    if now.step not in ("b-check", "build-up") or cell.before is None:
        return False
    answer = now.reading.pore_pressure - cell.before.pore_pressure
    return answer < max(LEAST_ANSWER * cell.rise, LEAST_ANSWER_KPA)


def spoken(channel: str) -> str:
    """A channel's name as people say it."""
    return channel.replace("_", " ")
