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
    mounting: str = "wet"
    flush: str | None = None
    aim: Callable[[TestRun], float] | None = None
    """Which moment of the test the bench ends at [s]; None: the test begins with the bench."""
    begins_s: float = 0.0
    """Without an aim: how long after the bench the test begins. [s]"""

    @property
    def label(self) -> str:
        """Of the specimen."""
        return f"{self.hole}-{self.sample}-{'abcdefgh'[(self.plan.seed // 6) % 8]}"
