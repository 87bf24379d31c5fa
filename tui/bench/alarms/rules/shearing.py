"""The ram: stopped, gauges near their ends, the strain limit reached."""

from itertools import pairwise
from math import inf, isnan, nan
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.rules.levels import spoken
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.alarms.spells import Priority
from tui.bench.alarms.strained import sheared_height_mm, strain_of
from tui.settings.cell_toml import NUMERIC_CHANNELS

PIECE_S, PIECE_MM = 120.0, 0.012
"""A rate is told over this time and this travel at least: common practice, no source."""
RATES, LEAST_RATES = 41, 3
"""Rates of which the median is taken, and without how many there is none."""
NOISE_MM = 0.004
"""Readings of travel differ by less though the ram stands: common practice, no source. [mm]"""
RECENT = 60
"""Readings among which the begin of a stop is looked for."""
NEAR_LIMIT = 0.98
"""Of the strain limit: who stops there has done what the plan says."""


class ShearStopped(Rule):
    """Travel against half of what the ram made so far.

    Travel less half of the usual travel grows while the ram runs and falls once it stands: since
    when is where that was greatest.
    """

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "shear-stopped"
        self._share = limits(kind, "share")
        self._stopped = board.condition(kind, "urgent", delay_s=limits(kind, "on"))
        self._limit = NEAR_LIMIT * scene.settings.plan.strain_limit
        self._begin()

    def _begin(self) -> None:
        self._height_mm = self.scene.aims.height_mm
        self._rates: tuple[float, ...] = ()
        self._piece: tuple[float, float] | None = None
        self._recent: list[tuple[float, float]] = []
        """Since the ram was last seen to run: (time, travel)."""
        self._usual: float | None = None

    def begin(self, now: Moment) -> None:
        if now.phase != "shear" or now.step != "shear":
            self._begin()
        self._height_mm = sheared_height_mm(self.scene, now.told)

    def add(self, now: Moment) -> None:
        travel = now.reading.axial_displacement
        if now.step != "shear" or isnan(travel):
            return
        time = now.time
        strain = strain_of(now, now.told.zero_strain, self._height_mm)
        if strain >= self._limit:
            self.board.tell(self._stopped, False, time)
            return
        if self._stopped.quiet:
            self._learn(time, travel)
        if self._usual is None:
            return
        least = self._share * self._usual
        since = self._since(time, travel, least)
        if since is None:
            self.board.tell(self._stopped, False, time)
            return
        begun, begun_mm = self._recent[0]
        rate = (travel - begun_mm) / max(time - begun, 1.0)
        said = (
            f"the ram makes {60.0 * max(rate, 0.0):.4f} mm/min "
            f"for {(time - since) / 60.0:.0f} min, "
            f"less than {self._share:.0%} of its usual {60.0 * self._usual:.4f} mm/min"
        )
        if self._stopped.quiet:
            self.board.tell(self._stopped, True, since, said)
        self.board.tell(self._stopped, True, time, said)

    def _learn(self, time: float, travel: float) -> None:
        if self._piece is None:
            self._piece = time, travel
            return
        begun, begun_mm = self._piece
        if time - begun >= PIECE_S and travel - begun_mm >= PIECE_MM:
            rate = (travel - begun_mm) / (time - begun)
            self._rates = (*self._rates[-RATES + 1 :], rate)
            self._piece = time, travel
            if len(self._rates) >= LEAST_RATES:
                self._usual = median(self._rates)

    def _since(self, time: float, travel: float, least: float) -> float | None:
        """The first reading of a stop; None while the ram runs."""
        recent = self._recent
        if not recent:
            recent.append((time, travel))
            return None
        begun, begun_mm = recent[0]
        ahead = travel - begun_mm - least * (time - begun)
        if ahead >= 0.0:
            recent[:] = [(time, travel)]
            return None
        lowest = min(range(len(recent)), key=lambda k: recent[k][1] - least * recent[k][0])
        low_s, low_mm = recent[lowest]
        runs = travel - low_mm - least * (time - low_s)
        if runs > max(NOISE_MM, 20.0 * least):
            recent[:] = [(time, travel)]  # it goes on after a rest
            return None
        recent.append((time, travel))
        slow = least * self._stopped.delay_s < 4.0 * NOISE_MM
        if slow and self._stopped.quiet and ahead > -2.0 * NOISE_MM:
            return None  # so slow a ram is not told from noise within the delay
        if len(recent) > RECENT:
            del recent[1 : len(recent) - RECENT + 1]
        return recent[1][0]


class TravelLimit(Rule):
    """Displacement gauge and load cell against the ends of their ranges."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "travel-limit"
        self._clear, rows = limits(kind, "clear"), limits(kind, "rows")
        self._ends = {
            name: (0.0 if low == -inf else low, high)
            for name in ("axial_displacement", "axial_load")
            for low, high in (scene.ends.get(name, (nan, nan)),)
            if high < inf
        }
        if not self._ends:
            self.blind = {kind: "needs the range of axial_displacement or axial_load"}
        priorities: tuple[tuple[str, Priority], ...] = (("warn", "warning"), ("urgent", "urgent"))
        self._shares = {key: limits(kind, key) for key, _ in priorities}
        self._conditions = {
            (name, key): board.condition(kind, priority, about=name, rows=rows)
            for name in self._ends
            for key, priority in priorities
        }

    def add(self, now: Moment) -> None:
        if now.phase != "shear":
            return
        for (name, key), one in self._conditions.items():
            shown, share = now.gauge(name), self._shares[key]
            low, high = self._ends[name]
            if isnan(shown):
                continue
            above = share - (self._clear if one.raised else 0.0)
            so = shown > low + above * (high - low)
            said = ""
            if so:
                unit = NUMERIC_CHANNELS[name]
                said = f"{spoken(name)} {shown:.4g} {unit}, above {share:.0%} of {high:.4g} {unit}"
            self.board.tell(one, so, now.time, said)


class StrainLimit(Rule):
    """The plan's end of the shear."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        self._reached = board.condition("strain-limit", "note")
        self._limit = scene.settings.plan.strain_limit
        self._height_mm = scene.aims.height_mm

    def begin(self, now: Moment) -> None:
        self._height_mm = sheared_height_mm(self.scene, now.told)

    def add(self, now: Moment) -> None:
        if now.step != "shear":
            return
        strain = strain_of(now, now.told.zero_strain, self._height_mm)
        if isnan(strain) or (self._reached.raised and strain > 0.9 * self._limit):
            return
        said = f"axial strain {strain:.2%}, limit {self._limit:.0%}: stop and save"
        self.board.tell(self._reached, strain >= self._limit, now.time, said)


class RatesOfStrain(Rule):
    """Keeps how fast the specimen was strained; what is advised is known to the forecast."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        self._over = scene.limits("rate-too-fast", "over")
        self.rates: tuple[tuple[float, float], ...] = ()
        """(time, strain a second over the last stretch) wherever that has changed."""
        self._points: list[tuple[float, float]] = []
        """(time, strain) over the last stretch."""
        self._first: tuple[float, float] | None = None
        """The first of them: what came before may hold the end of the dock."""
        self._zero: float | None = None
        self._height_mm = scene.aims.height_mm

    def begin(self, now: Moment) -> None:
        self._height_mm = sheared_height_mm(self.scene, now.told)

    def add(self, now: Moment) -> None:
        zero = now.told.zero_strain
        if now.step != "shear" or zero is None:
            return
        if zero.time != self._zero:
            self._zero, self.rates, self._points, self._first = zero.time, (), [], None
        strain = strain_of(now, zero, self._height_mm)
        if isnan(strain) or now.time <= zero.time:
            return
        if self._first is None:
            self._first, self._points = (now.time, strain), [(now.time, strain)]
            return
        self._keep(now.time, strain)
        if self._sheared(now.time, strain, zero.time) < self._over:
            return
        points = [*self._points, (now.time, strain)]
        begun = max(strain - self._over, points[0][1])
        (earlier, least), (later, most) = next((a, b) for a, b in pairwise(points) if b[1] >= begun)
        share = 0.0 if most <= least else (begun - least) / (most - least)
        since = earlier + share * (later - earlier)
        rate = (strain - begun) / max(now.time - since, 1e-9)
        if not self.rates or abs(rate / self.rates[-1][1] - 1.0) > CHANGED:
            self.rates = (*self.rates[-KEPT_RATES + 1 :], (now.time, rate))

    def _sheared(self, time: float, strain: float, zero_s: float) -> float:
        """Strain less what the ram still came on before the first reading, by its pace since."""
        assert self._first is not None
        first_s, first = self._first
        pace = (strain - first) / max(time - first_s, 1e-9)
        return strain - max(first - pace * (first_s - zero_s), 0.0)

    def _keep(self, time: float, strain: float) -> None:
        # A fortieth of the stretch is near enough, and every reading that lies further apart.
        points = self._points
        if strain - points[-1][1] >= self._over / 40.0:
            points.append((time, strain))
            while len(points) > 2 and points[1][1] <= strain - self._over:
                del points[0]


CHANGED, KEPT_RATES = 0.01, 600
"""A rate that differs by less is the same; so many are kept."""
