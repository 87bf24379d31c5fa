"""What goes wrong in a cell itself: each a function of the time since its onset.

A disturbance writes what is out of order into the rig's `Upset` before every step. Sizes are
arguments, so that the truth can name them.
"""

import math
from collections.abc import Callable

from reduce.rehearsal.rig import Rig
from reduce.rehearsal.upset import Upset

Disturbance = Callable[[Upset, float, Rig], None]


def cell_pressure_moves(by_kPa: float, within_s: float) -> Disturbance:
    """Cell pressure creeps away from where it was set, then stays."""

    def act(upset: Upset, since_s: float, _rig: Rig) -> None:
        upset.cell_kPa += by_kPa * min(since_s / within_s, 1.0)

    return act


def back_pressure_moves(by_kPa: float, within_s: float) -> Disturbance:
    """Back pressure creeps away from where it was set, then stays."""

    def act(upset: Upset, since_s: float, _rig: Rig) -> None:
        upset.back_kPa += by_kPa * min(since_s / within_s, 1.0)

    return act


def supply_fails(by_kPa: float, within_s: float) -> Disturbance:
    """Both pressures fall together."""

    def act(upset: Upset, since_s: float, _rig: Rig) -> None:
        fallen = by_kPa * min(since_s / within_s, 1.0)
        upset.cell_kPa -= fallen
        upset.back_kPa -= fallen

    return act


def regulator_hunts(amplitude_kPa: float, period_s: float) -> Disturbance:
    """Cell pressure swings about where it was set."""

    def act(upset: Upset, since_s: float, _rig: Rig) -> None:
        upset.cell_kPa += amplitude_kPa * math.sin(2.0 * math.pi * since_s / period_s)

    return act


def membrane_bursts() -> Disturbance:
    """Cell water is in the pores at once."""

    def act(upset: Upset, since_s: float, _rig: Rig) -> None:
        upset.burst_s = since_s

    return act


def membrane_leaks(ml_h: float) -> Disturbance:
    """Cell water seeps into the pores."""

    def act(upset: Upset, _since_s: float, _rig: Rig) -> None:
        upset.membrane_leak_ml_h += ml_h

    return act


def cell_leaks(ml_h: float) -> Disturbance:
    """Cell water seeps out of a fitting."""

    def act(upset: Upset, _since_s: float, _rig: Rig) -> None:
        upset.cell_leak_ml_h += ml_h

    return act


def line_leaks(ml_h: float) -> Disturbance:
    """Back-pressure water seeps out of a fitting."""

    def act(upset: Upset, _since_s: float, _rig: Rig) -> None:
        upset.line_leak_ml_h += ml_h

    return act


def drainage_is_blocked() -> Disturbance:
    """Nothing passes though the valve stands open."""

    def act(upset: Upset, _since_s: float, _rig: Rig) -> None:
        upset.blocked = True

    return act


def valve_is_the_other_way(phase: str, step: str) -> Disturbance:
    """The valve was forgotten: open when it should be closed, or the other way, in that step."""

    def act(upset: Upset, _since_s: float, rig: Rig) -> None:
        if rig.phase == phase and rig.step == step:
            upset.valve = not rig.valve_open

    return act


def stone_clogs(factor: float) -> Disturbance:
    """Water leaves slower than it did, by a factor."""

    def act(upset: Upset, _since_s: float, _rig: Rig) -> None:
        upset.clogging = factor

    return act


def ram_stops() -> Disturbance:
    """The motor stands."""

    def act(upset: Upset, _since_s: float, _rig: Rig) -> None:
        upset.ram = 0.0

    return act
