"""Flow that has begun within the last hours: told from all that only falls off by its begin.

Creep, gas that dissolves and a specimen that swells flow ever slower. What flows faster than
before, for as long as the on-delay, and neither by warmth nor by a change of stress, is a leak.
`steady_flow` needs no begin, but many hours; this needs an hour, and a leak that is large enough
for the scatter of the gauge: about the limit and five times the scatter of a mean by the hour.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, isfinite, isnan, nan, pi

import numpy as np

from tui.bench.alarms.rules.gauge_scatter import UNKNOWN_ML, WIDTH_S, scatter, scatter_by, single
from tui.bench.alarms.rules.steady_flow import DAY_S, HOUR_S, SWING_C, Array, Mean

KEPT = 48
"""So many means are kept."""
SURELY = 4.0
"""Standard uncertainties by which the flow has to exceed what is allowed. [-]"""
SHOWN = 1.0
"""Scatters of a difference of two readings by which the first of a flow that is sure by now rather
showed it than not. [-]"""
SPREAD = 0.5
"""Each half of the time has at least this share of the mean flow, or it is a jump. [-]"""
SPREAD_OF_FEW = 0.15
"""The same where readings are so rare that it may have begun anywhere between two. [-]"""
BEFORE = 3
"""What flowed before is told by so many gaps between means at least: in one it is an accident."""
JUMP_SHOWS = 4
"""With so many means between its begin and now a jump shows wherever in that time it lies."""
SEEN = 0.4
"""It is looked at after this share of the time that it has to last: much is seen early. [-]"""
LATELY = 3.0
"""It began not longer ago than so many times as it has to last; or three readings. [-]"""
STANDS_KPA = 0.2
"""Effective stress that changes by less stands. [kPa]"""
MOVES_KPA = 5.0
"""While it changes by more, the specimen and its gas take what they take: no flow is sudden then.
Common practice, no source. [kPa]"""


@dataclass(frozen=True, slots=True)
class Sudden:
    """A flow that has begun."""

    since: float
    before: float
    """What flowed that way until then. [per hour]"""
    per_hour: float
    """What flows since, with that."""
    sd: float
    """Standard uncertainty of how much more it is."""

    turned: tuple[float, float]
    """What was compared: from the first to the second moment with from there until now."""

    def change(self, means: Sequence[Mean], value: Array) -> float:
        """By how much another flow is more since then than before; NaN: not known. [per hour]"""
        before, after = self._flows(means, value)
        return after - before

    def leaves(self, means: Sequence[Mean], value: Array) -> float:
        """By how much more leaves another way since then than before; NaN: not known. [per hour]

        That less comes in is nothing that leaves.
        """
        before, after = self._flows(means, value)
        more = max(-after, 0.0) - max(-before, 0.0)
        return nan if isnan(before + after) else max(more, 0.0)

    def _flows(self, means: Sequence[Mean], value: Array) -> tuple[float, float]:
        """Before and since. [per hour]"""
        at = [self._place(means, moment) for moment in self.turned]
        begin, turn, last = *at, len(means) - 1
        if not begin < turn < last:
            return nan, nan
        before = float(value[turn] - value[begin]) / self._hours(means, begin, turn)
        return before, float(value[last] - value[turn]) / self._hours(means, turn, last)

    def hidden(self, means: Sequence[Mean], warmth: tuple[float, float]) -> float:
        """What warmth and scatter may hide of another flow since then, at most. [per hour]"""
        turn, last = self._place(means, self.turned[1]), len(means) - 1
        hours = max(self._hours(means, turn, last), 0.1)
        warmer = means[last].warm - means[turn].warm
        most = abs(warmer) if isfinite(warmer) else SWING_C * 2.0 * pi * HOUR_S / DAY_S * hours
        return ((abs(warmth[0]) + 2.0 * warmth[1]) * most + 3.0 * UNKNOWN_ML) / hours

    @staticmethod
    def _place(means: Sequence[Mean], moment: float) -> int:
        return min(range(len(means)), key=lambda place: abs(means[place].time - moment))

    @staticmethod
    def _hours(means: Sequence[Mean], first: int, last: int) -> float:
        return float(means[last].time - means[first].time) / HOUR_S


class Begins:
    """Of one kind of leak: the flow that has begun, for as long as it goes on."""

    __slots__ = ("_found", "_lasts_s", "_limit", "_soft", "_warmth")

    def __init__(
        self, limit: float, lasts_s: float, warmth: tuple[float, float], soft: float
    ) -> None:
        self._limit, self._lasts_s, self._warmth, self._soft = limit, lasts_s, warmth, soft
        self._found: Sudden | None = None

    def copy(self) -> "Begins":
        """Independent of this one, in the same state."""
        other = self.anew()
        other._found = self._found
        return other

    def anew(self) -> "Begins":
        """The same with nothing found."""
        return Begins(self._limit, self._lasts_s, self._warmth, self._soft)

    def follow(
        self,
        means: Sequence[Mean],
        value: Array,
        stress: Array,
        agrees: Callable[[Sudden], bool],
        known_scatter: float = inf,
    ) -> Sudden | None:
        """The flow that goes on, as it was when it was found; None: none, or it has stopped.

        Args:
            means, value, stress, known_scatter: as in `begun`.
            agrees: whether the other flows agree with it; asked once, when it is found.
        """
        found, how = self._found, (self._limit, self._lasts_s, self._warmth)
        if found is None:
            new = begun(means, value, stress, *how, self._soft, known_scatter)
            self._found = new if new is not None and agrees(new) else None
        elif not still_flows(means, value, found, *how):
            self._found = None
        return self._found


def begun(
    means: Sequence[Mean],
    value: Array,
    stress: Array,
    limit: float,
    lasts_s: float,
    warmth: tuple[float, float],
    soft: float,
    known_scatter: float = inf,
) -> Sudden | None:
    """The flow upward that has begun, if it exceeds a limit surely and has lasted long enough.

    Args:
        means: (n,) in order.
        value: (n,) what flowed, the leak counted as positive. [ml]
        stress: (n,) effective stress; NaN: not known. [kPa]
        limit: which it has to exceed, beyond what flowed before. [per hour]
        lasts_s: for so long at least. [s]
        warmth: what is expected of 1 °C, and its standard uncertainty. [ml/°C]
        soft: what 1 kPa of effective stress may move. [ml/kPa]
        known_scatter: of a reading, if it is known from elsewhere. [ml]
    """
    places = [place for place in range(len(means)) if isfinite(value[place])]
    if len(places) < 4 or places[-1] != len(means) - 1:
        return None
    time = np.array([means[place].time for place in places]) / HOUR_S
    every, value, stress = value, value[places], stress[places]
    warm = np.array([(means[place].warm, means[place].lagged) for place in places])
    oldest = min(time[-1] - LATELY * lasts_s / HOUR_S, time[-4])
    latest = time[-1] - SEEN * lasts_s / HOUR_S + 1e-6
    since = [b for b in range(1, len(time)) if oldest <= time[b] <= latest]
    if not since:
        return None
    ends = warmth[0] - 2.0 * warmth[1], warmth[0] + 2.0 * warmth[1]
    most = max(abs(end) for end in ends)
    felt = bool(np.isfinite(warm).all())
    hidden = most * float(np.ptp(warm[:, 0])) if felt else 0.0
    if float(value[-1] - value[since].min()) + hidden < SEEN * limit * lasts_s / HOUR_S:
        return None
    rooms, usually = _rooms(time, warm, warmth)
    # Where it is not felt, a day's wave bends so much; what a steady drift does is in both flows.
    wave = 0.0 if felt else most * SWING_C * 0.5 * (2.0 * pi * HOUR_S / DAY_S) ** 2
    usual = scatter(time, value)
    if single(time[-3:]):
        usual = min(usual, max(known_scatter, UNKNOWN_ML))
    least = min(usual, UNKNOWN_ML) if single(time[-3:]) else usual
    best: Sudden | None = None
    for b in _worth_it(time, [value - room for room in rooms], since, limit, least):
        noise = scatter_by(time, value, b, usual)
        after_h, before_h = float(time[-1] - time[b]), time[b] - time[:b]
        if not _goes_on(time, value, b):
            continue
        moved = float(np.ptp(stress[b:]))
        if moved > MOVES_KPA:
            continue
        moves = soft * max(moved - STANDS_KPA, 0.0) if isfinite(moved) else 0.0
        allowed = limit + moves / after_h + wave * (before_h + after_h)
        spread = noise * np.sqrt(
            1.0 / after_h**2 + (1.0 / after_h + 1.0 / before_h) ** 2 + 1.0 / before_h**2
        )
        sure = _sure(time, [value - room for room in rooms], b, allowed, spread)
        a = int(np.argmax(sure))
        if sure[a] > SURELY:
            before = max(float(value[b] - value[a]) / float(before_h[a]), 0.0)
            since_h, rate = _kink(
                time, value, b, float(value[b] - value[a]) / float(before_h[a]), noise
            )
            if rate - before <= 2.0 * float(spread[a]):
                continue  # lately it flows by less than is known of it
            since_h = _first_shown(time, [value - room for room in usually], a, b, noise, since_h)
            turned = float(time[a]) * HOUR_S, float(time[b]) * HOUR_S
            best = Sudden(since_h * HOUR_S, before, rate, float(spread[a]), turned)
            break
    if best is None or not still_flows(means, every, best, limit, lasts_s, warmth):
        return None
    return best


def _worth_it(
    time: Array, flows: Sequence[Array], since: Sequence[int], limit: float, noise: float
) -> list[int]:
    """Of several begins those after which enough flows, whatever flowed before: they are few."""
    places = np.array(since)
    after_h = time[-1] - time[places]
    least = np.min([(one[-1] - one[places]) / after_h for one in flows], axis=0)
    enough = limit + SURELY * noise * np.sqrt(2.0) / after_h
    return [int(place) for place in places[least > enough]]


def _sure(time: Array, flows: Sequence[Array], b: int, allowed: Array, spread: Array) -> Array:
    """(b,) by how many of its standard uncertainties more flows since b than from each a to b."""
    after_h, before_h = float(time[-1] - time[b]), time[b] - time[:b]
    sure = np.full(b, inf)
    for flowed in flows:
        earlier = np.maximum((flowed[b] - flowed[:b]) / before_h, 0.0)
        more = (flowed[-1] - flowed[b]) / after_h - earlier
        sure = np.minimum(sure, (more - allowed) / spread)
    if b > BEFORE and not single(time[-3:]):
        sure[b - BEFORE + 1 :] = -inf
    return sure


def _rooms(
    time: Array, warm: Array, warmth: tuple[float, float]
) -> tuple[list[Array], list[Array]]:
    """Courses of what the room may have done, and of what is expected of it.

    That is a share of this or that: what is told has to hold for all of them.
    """
    if not np.isfinite(warm).all():
        return [0.0 * time], [0.0 * time]
    felt_by = _smooth(time, warm[:, 0]), warm[:, 1]
    expected, sd = warmth
    ends = expected - 2.0 * sd, expected + 2.0 * sd
    rooms = [share * course for share in ends for course in felt_by]
    return rooms, [expected * course for course in felt_by]


def _smooth(time: Array, warm: Array) -> Array:
    """The course of a room, without the scatter of its thermometer."""
    if len(time) < 8 or time[-1] - time[0] > 8.0:
        return warm
    away = (time - time.mean()) / max(float(np.ptp(time)), 1e-9)
    return np.asarray(np.polyval(np.polyfit(away, warm, 3), away))


def _kink(time: Array, value: Array, b: int, before: float, noise: float) -> tuple[float, float]:
    """When it began, at the earliest, and its rate since.

    That is where the line until b meets the line of the later half; of that again, for all of it
    may have begun in this half. [h], [per hour]
    """
    met = float(time[b])
    for _ in range(2):
        half = 0.5 * (met + time[-1])
        middle = max(b, int(np.searchsorted(time, half)) - 1) if b < len(time) - 2 else b
        slope = float(value[-1] - value[middle]) / float(time[-1] - time[middle])
        more = slope - before
        if more <= 0.0:
            return float(time[b]), slope
        away = float(value[-1] - value[b] - before * (time[-1] - time[b])) / more
        met = max(float(time[-1]) - away, float(time[b]))
    earliest = max(met - 6.0 * noise / more, float(time[b]))
    shown = min(max(int(np.searchsorted(time, earliest)), b + 1), len(time) - 1)
    # Where readings are rare it is so from the first reading that can show it.
    rare = time[shown] - time[shown - 1] > 1.5 * WIDTH_S / HOUR_S
    return (float(time[shown]) if rare else earliest), slope


def _first_shown(
    time: Array, flows: Sequence[Array], a: int, b: int, noise: float, since_h: float
) -> float:
    """Since when it flows, where the rare readings before already show it. [h]

    That it flows is sure by now, so of the room what is expected of it is enough.
    """
    while a < b - 1 and time[b] - time[b - 1] > 1.5 * WIDTH_S / HOUR_S:
        last, whole = time[b] - time[b - 1], time[b - 1] - time[a]
        came = min(
            float(one[b] - one[b - 1] - max(one[b - 1] - one[a], 0.0) * last / whole)
            for one in flows
        )
        if came <= SHOWN * np.sqrt(2.0) * noise:
            break
        since_h, b = float(time[b]), b - 1
    return since_h


def _goes_on(time: Array, value: Array, b: int) -> bool:
    """Whether it flows throughout: a jump is no flow."""
    inside = np.arange(b + 1, len(time) - 1)
    if not len(inside):
        return True  # between two readings nobody can say
    middle = int(inside[np.argmin(np.abs(time[inside] - 0.5 * (time[b] + time[-1])))])
    first = (value[middle] - value[b]) / (time[middle] - time[b])
    second = (value[-1] - value[middle]) / (time[-1] - time[middle])
    whole = (value[-1] - value[b]) / (time[-1] - time[b])
    share = SPREAD if len(inside) > 2 else SPREAD_OF_FEW
    if not min(first, second) > share * whole:
        return False
    if len(inside) < JUMP_SHOWS:
        return True
    # A jump within a mean is seen as two steps, one to it and one from it.
    steps, hours = np.diff(value[b:]), np.diff(time[b:])
    two = int(np.argmax(steps[1:] + steps[:-1]))
    left = float(steps.sum() - steps[two : two + 2].sum())
    return bool(left > SPREAD_OF_FEW * whole * float(hours.sum() - hours[two : two + 2].sum()))


def still_flows(
    means: Sequence[Mean],
    value: Array,
    found: Sudden,
    limit: float,
    lasts_s: float,
    warmth: tuple[float, float],
) -> bool:
    """Whether half the limit flows lately beyond what did before it began; else it has stopped."""
    known = [place for place in range(len(means)) if isfinite(value[place])]
    if len(known) < 2:
        return True
    last = known[-1]
    earlier = [place for place in known if means[place].time <= means[last].time - lasts_s]
    first = earlier[-1] if earlier else known[0]
    hours = (means[last].time - means[first].time) / HOUR_S
    warmer = means[last].lagged - means[first].lagged
    by_room = warmth[0] * warmer if isfinite(warmer) else 0.0
    flows = (float(value[last] - value[first]) - by_room) / hours
    return flows - found.before > 0.5 * limit
