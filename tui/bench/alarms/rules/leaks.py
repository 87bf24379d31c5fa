"""Leaks of membrane, cell and back-pressure line, by what goes on flowing at a steady rate.

Volumes count as everywhere: back volume what enters the specimen, cell volume what enters the cell.
A shrinking specimen sends water out of the drainage and draws as much into the cell, and so does a
membrane that leaks: their sum stands still, and only the shape of the flow tells creep (with the
logarithm of time) from a leak (linear). A leaking fitting shows in the sum.

Source: the limits are the contract's; the discrimination follows soil.md 7, numbers 5 to 7.
"""

from math import inf, isnan, nan

import numpy as np

from tui.bench.alarms.board import Board, Condition
from tui.bench.alarms.rules.gauge_scatter import WIDTH_S
from tui.bench.alarms.rules.leak_begins import (
    ALIKE,
    BEGINS,
    CELL_WARMTH,
    LINE_WARMTH,
    LeakBegins,
)
from tui.bench.alarms.rules.past_primary import PastPrimary
from tui.bench.alarms.rules.steady_flow import Array, Mean, Means, Rate, steady
from tui.bench.alarms.rules.sudden_flow import KEPT, Sudden
from tui.bench.alarms.scene import Moment, Rule, Scene

LOOK_S = 10.0
"""Readings nearer to each other tell no more of a flow that takes hours. [s]"""
SETTLES_S = 600.0
"""What flows so soon after a valve was opened is no leak: tubes, bedding, stones. [s]"""
NEARLY = 0.85
"""Of the time after which flow is judged: from there on it is looked at. [-]"""
GAS_S = (7200.0, 48.0 * 3600.0)
"""Gas dissolves as fast and as slowly as this; in between it is a mixture: common practice. [s]"""
GAS_SHARE, SOFT = 0.08, 4e-4
"""Gas that a specimen may hold at first, and the compressibility of the softest skeleton that is
usual: common practice, no source. [-], [1/kPa]"""
LATELY_S = 7200.0
"""While water is squeezed out, only so much of the past or a fifth of the time is looked at. [s]"""
REFILL_ML = 0.01
"""By more a gauge has been refilled. What flowed meanwhile is not known, and would look as if
nothing had: what comes after it is compared with nothing before it. [ml]"""
NOISE_ML = 0.004
"""Least scatter of a mean of the usual volume gauges: 0.01 ml is one count. [ml]"""


class Leaks(Rule):
    """Steady flows while drainage is open."""

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits = scene.limits
        kinds = ("leak-membrane", "leak-cell", "leak-drainage")
        self._limit = {kind: limits(kind, "flow") for kind in kinds}
        self._conditions = {
            kind: board.condition(
                kind,
                "urgent" if kind == "leak-membrane" else "warning",
                reason="flow",
                delay_s=limits(kind, "on"),
            )
            for kind in kinds
        }
        self._past = PastPrimary(limits("leak-membrane", "after"))
        delays = {kind: self._conditions[kind].delay_s for kind in kinds}
        self._begins = LeakBegins(self._limit, delays, SOFT * scene.aims.volume_ml)
        self._steady: dict[str, bool] = {}
        self._sudden: dict[str, bool] = {}
        """Of each kind, whether its course over many hours tells it; whether its begin does."""
        self._means: Means | None = None
        self._fine: Means | None = None
        self._begun = nan
        """From when the courses that fall off are counted. [s]"""
        self._looked = 0.0
        self._refilled = 0.0
        """What the gauges of both volumes show more than has flowed, by their refills. [ml]"""
        hardware = scene.settings.cell
        self._line = hardware.line_compliance_ml_kPa
        self._expansion = hardware.expansion
        self._at: tuple[float, float] = (nan, 0.0)
        """Cell pressure at which the cell's expansion was looked up last, and that. [kPa], [ml]"""

    def begin(self, now: Moment) -> None:
        self._means = self._fine = None
        self._begins = self._begins.anew()
        self._steady, self._sudden = {}, {}
        self._begun = now.step_since
        self.blind = {}
        if now.phase == "shear":
            why = "shear itself moves pore pressure and volume: a leak cannot be told from it"
            self.blind = {"leak-membrane": why}

    def add(self, now: Moment) -> None:
        drained = now.phase == "consolidation" and now.step == "drained"
        if now.live or not (drained or (now.phase == "saturation" and now.step == "hold")):
            return
        if now.told.cell.moving or now.told.back.moving:
            self._means = self._fine = None
            self._begun = now.time
            return
        if now.time - self._looked < LOOK_S:
            return
        self._looked = now.time
        reading = now.reading
        zero = now.told.zero_consolidation
        if drained and zero is not None:
            self._past.add(reading, zero, self.scene)
        refilled = sum(
            now.gauge(name) - getattr(reading, name) for name in ("back_volume", "cell_volume")
        )
        if abs(refilled - self._refilled) > REFILL_ML:
            self._refilled = refilled
            if self._fine is not None:
                self._fine = self._finely()
        if self._means is None or self._fine is None:
            if drained and zero is not None and self._begun <= now.step_since:
                self._begun = zero.time
            self._means = Means(self._begun)
            self._fine = self._finely()
        volumes = (
            self._gauged(now) - self._line_ml(reading.back_pressure),
            reading.cell_volume - self._cell_ml(reading.cell_pressure),
            reading.cell_pressure - reading.pore_pressure,
        )
        if self._means.add(now.time, volumes, reading.temperature):
            if drained:
                self._judge_drained(now)
            else:
                self._judge_hold(now)
        if self._fine.add(now.time, volumes, reading.temperature):
            self._judge_begins(now, drained=drained)

    def _finely(self) -> Means:
        return Means(self._begun, width=0.0, narrowest_s=WIDTH_S, kept=KEPT)

    def _gauged(self, now: Moment) -> float:
        """Back volume, unless its gauge stands at an end: then it tells no flow. [ml]"""
        low, high = self.scene.ends.get("back_volume", (-inf, inf))
        return now.reading.back_volume if low < now.gauge("back_volume") < high else nan

    def _line_ml(self, back_kPa: float) -> float:
        return self._line * back_kPa if self._line and not isnan(back_kPa) else 0.0

    def _cell_ml(self, cell_kPa: float) -> float:
        if not self._expansion or isnan(cell_kPa):
            return 0.0
        if not abs(cell_kPa - self._at[0]) < 0.05:
            pressures, volumes = zip(*self._expansion, strict=True)
            self._at = cell_kPa, float(np.interp(cell_kPa, pressures, volumes))
        return self._at[1]

    # ------------------------------------------------------------------ what is judged

    def _judge_drained(self, now: Moment) -> None:
        assert self._means is not None
        means = self._means.newest
        passed = now.time - self._begun
        late = self._past.is_past
        early = max(SETTLES_S, 0.25 * passed)
        begun = max(early, NEARLY * ((self._past.at or 0.0) - self._begun)) if late else early
        window = [one for one in means if one.time - self._begun >= begun]
        whole = [one for one in means if one.time - self._begun >= early]
        falls = self._log(window)
        if late:
            back = _rate(window, _column(window, 0), [-falls], LINE_WARMTH)
        else:  # a specimen that consolidates hides what flows in: only what comes in after all
            since = min(now.time - max(LATELY_S, 0.2 * passed), *(o.time for o in window[-8:]), inf)
            lately = [one for one in window if one.time >= since]
            back = _rate(lately, _column(lately, 0), [-self._log(lately)], LINE_WARMTH)
        cell = _rate(window, _column(window, 1), [falls], CELL_WARMTH) if late else None
        both = _column(whole, 0) + _column(whole, 1)
        lost = _rate(whole, both, [self._log(whole)], CELL_WARMTH)
        out = _rate(window, -_column(window, 0), [falls], LINE_WARMTH) if late else None

        membrane = self._membrane(now, out, lost)
        drips = self._is("leak-drainage", back, lost)
        if drips is not None:
            self._tell(now, "leak-drainage", drips, back, "water leaves the back-pressure line")
        if lost is None:
            lost = cell
        fitting = self._is("leak-cell", lost, None)
        if fitting and back is not None and lost is not None:
            # What the line loses is not lost by the cell.
            fitting = lost.per_hour - max(back.per_hour, 0.0) > self._limit["leak-cell"]
        if fitting is not None:
            what = "water leaves the cell beyond what the specimen gives"
            self._tell(now, "leak-cell", fitting and not membrane, lost, what)

    def _judge_hold(self, now: Moment) -> None:
        """The specimen drinks for hours: only what falls off slower than any gas is a leak."""
        assert self._means is not None
        means = self._means.newest
        window = [one for one in means if one.time - self._begun >= SETTLES_S]
        if not window:
            return
        time = np.array([one.time for one in window]) - self._begun
        gas = [1.0 - np.exp(-time / slow) for slow in GAS_S]
        back = _rate(window, _column(window, 0), gas, LINE_WARMTH)
        both = _rate(window, _column(window, 0) + _column(window, 1), gas, CELL_WARMTH)
        swells = [self._log(window)]  # or shrinks, as pore pressure follows
        cell = _rate(window, _column(window, 1), swells, CELL_WARMTH, either_way=True)
        drips = self._is("leak-drainage", back, both)
        if drips and back is not None:
            hours = (time[-1] - time[0]) / 3600.0
            drips = back.per_hour * hours > self._gas_ml(now)
        if drips is not None:
            self._tell(now, "leak-drainage", drips, back, "water leaves the back-pressure line")
        fitting = self._is("leak-cell", cell, None)
        if fitting and cell is not None:
            # While pore pressure falls the specimen shrinks, and draws water into the cell.
            stress = _column(window, 2)
            shrinks = SOFT * self.scene.aims.volume_ml * float(np.ptp(stress))
            hours = (time[-1] - time[0]) / 3600.0
            fitting = cell.per_hour * hours > (self._gas_ml(now) if isnan(shrinks) else shrinks)
        if fitting is not None:
            self._tell(now, "leak-cell", fitting, cell, "water leaves the cell")

    def _judge_begins(self, now: Moment, *, drained: bool) -> None:
        """What has begun within the last hours, and flows ever since."""
        assert self._fine is not None
        means = [one for one in self._fine.newest if one.time - self._begun >= SETTLES_S]
        columns = _column(means, 0), _column(means, 1), _column(means, 2)
        found = self._begins.follow(means, *columns, drained=drained, late=self._past.is_past)
        for kind, one in found.items():
            self._say(now, kind, one, BEGINS[kind])

    def _say(self, now: Moment, kind: str, found: Sudden | None, what: str) -> None:
        one = self._conditions[kind]
        self._sudden[kind] = found is not None
        if found is None:
            if not self._steady.get(kind):
                self.board.tell(one, False, now.time)
            return
        said = (
            f"{found.per_hour - found.before:.3f} ml/h (± {2.0 * found.sd:.3f}) for "
            f"{(now.time - found.since) / 60.0:.0f} min: {what} than before; "
            f"limit {self._limit[kind]:g} ml/h"
        )
        self.board.tell(one, True, now.time, said, found.since)

    def _gas_ml(self, now: Moment) -> float:
        """Most that gas in the pores may still take up when it dissolves, by the latest B.

        B = 1/(1 + gas/(p V c)) after Boyle, with p the absolute pressure of the pores and c the
        compressibility of the skeleton.
        """
        volume = self.scene.aims.volume_ml
        most = GAS_SHARE * volume
        settled = [one for one in now.checks.finished if one.settled and one.B > 0.0]
        pressure = now.reading.back_pressure + 101.3
        if settled and not isnan(pressure):
            most = min(most, max(1.0 / settled[-1].B - 1.0, 0.02) * volume * SOFT * pressure)
        return most

    def _log(self, window: list[Mean]) -> Array:
        time = np.array([one.time for one in window]) - self._begun
        return np.log(np.maximum(time, 1.0) / 3600.0)

    # ------------------------------------------------------------------ what is told

    def _is(self, kind: str, rate: Rate | None, also: Rate | None) -> bool | None:
        """Whether a flow is above its limit; None where it cannot be said."""
        if rate is None:
            return None
        limit = self._limit[kind]
        if self._conditions[kind].raised:
            return rate.recent > 0.5 * limit
        return rate.surely_above(limit) and (also is None or also.per_hour > 0.5 * limit)

    def _membrane(self, now: Moment, out: Rate | None, lost: Rate | None) -> bool:
        """Cell water comes out of the drainage: it does not fall off, and the cell draws as much.

        What enters the cell is what leaves the drainage and what both lose together, which is
        known over a longer time than either.
        """
        kind = "leak-membrane"
        one = self._conditions[kind]
        if out is None or lost is None:
            if self._past.is_past and self._means is not None:
                last = self._means.newest[-1].value[:2]
                lacking = [n for n, v in zip(("back", "cell"), last, strict=True) if isnan(v)]
                words = " and ".join(f"{name}_volume" for name in lacking)
                self.blind = {kind: f"needs {words} while drainage is open"} if lacking else {}
            return one.raised
        so = bool(self._is(kind, out, None))
        if so and not one.raised:
            so = abs(lost.per_hour) + 2.0 * lost.sd < (1.0 - ALIKE) * out.per_hour
        said = (
            f"{out.per_hour:.3f} ml/h (± {2.0 * out.sd:.3f}) leave through the drainage and "
            f"{out.per_hour + lost.per_hour:.3f} ml/h enter the cell, steadily beyond "
            f"{self._past.factor:g} × t95; limit {self._limit[kind]:g} ml/h"
        )
        self._steady[kind] = so
        if so or not self._sudden.get(kind):
            self.board.tell(one, so, now.time, said if so else "")
        return so

    def _tell(self, now: Moment, kind: str, so: bool, rate: Rate | None, what: str) -> None:
        one: Condition = self._conditions[kind]
        self._steady[kind] = so and rate is not None
        if not so or rate is None:
            if not self._sudden.get(kind):
                self.board.tell(one, False, now.time)
            return
        flow = min(rate.per_hour, rate.recent)
        said = (
            f"{flow:.3f} ml/h (± {2.0 * rate.sd:.3f}), steadily: {what}; "
            f"limit {self._limit[kind]:g} ml/h"
        )
        self.board.tell(one, True, now.time, said)


def _column(window: list[Mean], place: int) -> Array:
    return np.array([one.value[place] for one in window])


def _rate(
    window: list[Mean],
    value: Array,
    shapes: list[Array],
    warmth: tuple[float, float],
    *,
    either_way: bool = False,
) -> Rate | None:
    """The steady rate of a column; means that lack a reading are left out."""
    known = np.isfinite(value)
    warm = np.isfinite([one.warm for one in window])
    if np.count_nonzero(known & warm) >= 0.8 * np.count_nonzero(known):
        known &= warm  # where temperature is read nearly always, it is asked for always
    places = np.flatnonzero(known)
    if len(places) < 0.5 * len(window):
        return None
    return steady(
        [window[place] for place in places],
        value[places],
        shapes=[shape[places] for shape in shapes],
        warmth=warmth,
        noise=NOISE_ML,
        either_way=either_way,
    )
