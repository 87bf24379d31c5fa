"""Everything that is decided about one rehearsed cell before its test begins."""

from collections.abc import Callable
from dataclasses import dataclass

from reduce.rehearsal.plan import TestPlan
from reduce.rehearsal.readings import ReadingPlan
from reduce.rehearsal.records import TestRun
from reduce.rehearsal.sensors import Instruments
from tui.rehearsed.dialects import Dialect


@dataclass(frozen=True, slots=True)
class CellSetup:
    """One cell of a bench to be rehearsed."""

    plan: TestPlan
    reading: ReadingPlan
    made: Instruments
    dialect: Dialect
    test_id: str
    hole: str = ""
    sample: str = ""
    depth_m: float = 0.0
    """Top of the sample; 0: none was taken."""
    below_m: float = 0.22
    """Of the specimen, under the top of the sample."""
    letter: str = ""
    """Of the specimen among those of its sample; "": by the cell's seed."""
    mounting: str = "wet"
    flush: str | None = None
    gauges_fit: bool = False
    """Whether ranges and strokes are chosen to suit the test, or are those of the dialect."""
    aim: Callable[[TestRun], float] | None = None
    """Which moment of the test the bench ends at [s]; None: the test begins with the bench."""
    begins_s: float = 0.0
    """Without an aim: how long after the bench the test begins. [s]"""

    @property
    def exact(self) -> bool:
        """Whether all that is read and weighed is true to the last digit."""
        return self.made.errors == 0.0

    @property
    def label(self) -> str:
        """Of the specimen."""
        letter = self.letter or "abcdefgh"[(self.plan.seed // 6) % 8]
        return f"{self.hole}-{self.sample}-{letter}"
