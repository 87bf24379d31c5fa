"""The rules that judge a cell's readings: one class for what is told alike."""

from tui.bench.alarms.rules.burst import MembraneBurst
from tui.bench.alarms.rules.clock import ClockJump
from tui.bench.alarms.rules.drainage import DrainageState
from tui.bench.alarms.rules.drained_course import DrainedCourse
from tui.bench.alarms.rules.gauge_end import GaugeEnd
from tui.bench.alarms.rules.leaks import Leaks
from tui.bench.alarms.rules.levels import OverPressure, StressHigh, StressLow
from tui.bench.alarms.rules.load_taken import LoadNotTaken
from tui.bench.alarms.rules.sensors import SensorFault
from tui.bench.alarms.rules.shearing import (
    RatesOfStrain,
    ShearStopped,
    StrainLimit,
    TravelLimit,
)
from tui.bench.alarms.rules.silence import RowsDue
from tui.bench.alarms.rules.stalled import Blocked, NobodyCame, Unchanged
from tui.bench.alarms.rules.steadiness import Drift, Unsteady
from tui.bench.alarms.rules.supply import PressureFalls
from tui.bench.alarms.rules.undrained_leaks import UndrainedLeak
from tui.bench.alarms.rules.warmth import TemperatureSwing
from tui.bench.alarms.rules.zero import ZeroOffset
from tui.bench.alarms.scene import Rule

RULES: tuple[type[Rule], ...] = (
    OverPressure,
    StressLow,
    StressHigh,
    MembraneBurst,
    Blocked,
    Unchanged,
    NobodyCame,
    Drift,
    Unsteady,
    UndrainedLeak,
    Leaks,
    DrainageState,
    GaugeEnd,
    TemperatureSwing,
    DrainedCourse,
    PressureFalls,
    RowsDue,
    SensorFault,
    ZeroOffset,
    ShearStopped,
    LoadNotTaken,
    TravelLimit,
    StrainLimit,
    RatesOfStrain,
    ClockJump,
)
"""In the order in which they are told of a reading."""
