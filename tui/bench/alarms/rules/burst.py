"""Pore pressure that is cell pressure, and a specimen that gives way with it."""

from math import isnan

from tui.bench.alarms.board import Board
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.rig import at_set_up

WINDOW_S = 600.0
"""Volume that collapses does so within this time: common practice, no source. [s]"""
LEAST_LOAD_N = 20.0
"""A load below this has not been taken yet. [N]"""
JUMP_KPA, JUMP_S = 4.0, 60.0
"""What is gone within this time, or within two readings, is gone at once: common practice, no
source. [kPa], [s]"""
SEEN_S = 5.0
"""One reading in so long tells how near they were. [s]"""
LEAST_KPA = 10.0
"""A cell below this is not under pressure. [kPa]"""


class MembraneBurst(Rule):
    """Raised by pressure and collapse together; only a person can say that it is over.

    Loose sand that liquefies ends with pore pressure at cell pressure and without load as well, but
    it comes there by degrees; where a membrane bursts pore pressure jumps.
    """

    every_s = 0.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits, kind = scene.limits, "membrane-burst"
        self._within, self._collapse = limits(kind, "within"), limits(kind, "collapse")
        self._volume_ml = 0.1 * self._collapse * at_set_up(scene.settings).volume_ml
        self._burst = board.condition(kind, "urgent", rows=limits(kind, "rows"))
        self._load_top = 0.0
        self._zero: float | None = None
        self._gaps: tuple[tuple[float, float], ...] = ()
        """(time, cell less pore pressure) just before they met. [s], [kPa]"""
        self._jumped = False
        """Whether that was gone at once."""
        self._gave_way = False
        """Whether load or volume went with it: where readings are rare all is gone by the first."""
        self._volumes: tuple[tuple[float, float], ...] = ()

    def begin(self, now: Moment) -> None:
        self._volumes = ()
        if now.phase != "shear":
            self._load_top, self._zero = 0.0, None

    def add(self, now: Moment) -> None:
        if self._burst.raised:
            # An understood burst is marked, as ended or as whatever it is.
            since = self._burst.spell.raised_at if self._burst.spell else now.time
            if any(since < mark.held_at <= now.time for mark in now.marks):
                self.board.tell(self._burst, False, now.time)
            return
        reading = now.reading
        self._remember(now)
        gap = reading.cell_pressure - reading.pore_pressure
        if isnan(gap):
            return
        near = abs(gap) <= self._within and reading.cell_pressure > LEAST_KPA
        if not near:
            self._jumped = self._gave_way = False
            if not self._gaps or now.time >= self._gaps[-1][0] + SEEN_S:
                recent = [one for one in self._gaps[:-1] if one[0] >= now.time - JUMP_S]
                self._gaps = (*recent, *self._gaps[-1:], (now.time, gap))
        elif not self._jumped:
            self._jumped = any(before - gap > JUMP_KPA for _, before in self._gaps)
        if self._burst.quiet and not (near and self._jumped):
            return
        if near and self._jumped and not self._gave_way:
            self._gave_way = self._load_gave_way(now) or self._volume_gave_way(now)
        so = near and self._gave_way
        if near and now.live and not so:
            return  # a live row tells no volume: it denies nothing
        what = "the load" if now.phase == "shear" else "volume"
        said = (
            f"pore pressure {reading.pore_pressure:.0f} kPa is cell pressure "
            f"({reading.cell_pressure:.0f} kPa), and {what} collapses"
        )
        self.board.tell(self._burst, so, now.time, said)

    def _remember(self, now: Moment) -> None:
        """The greatest load, and a volume in half a minute."""
        load, volume = now.reading.axial_load, now.reading.back_volume
        if now.phase == "shear" and now.step == "shear" and not isnan(load):
            if self._zero is None:
                self._zero = load
            self._load_top = max(self._load_top, load - self._zero)
        if isnan(volume) or now.live:
            return
        kept = self._volumes
        if not kept or now.time - kept[-1][0] >= WINDOW_S / 20.0:
            cut = now.time - WINDOW_S
            recent = tuple(one for one in kept if one[0] >= cut)
            # Where readings are rare the last one still tells what was.
            self._volumes = (*(recent or kept[-1:]), (now.time, volume))

    def _load_gave_way(self, now: Moment) -> bool:
        load = now.reading.axial_load
        if self._zero is None or isnan(load) or self._load_top < LEAST_LOAD_N:
            return False
        return load - self._zero < (1.0 - self._collapse) * self._load_top

    def _volume_gave_way(self, now: Moment) -> bool:
        """Water rushes through the drainage line."""
        volume = now.reading.back_volume
        return any(abs(volume - earlier) > self._volume_ml for _, earlier in self._volumes)
