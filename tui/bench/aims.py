"""What settings and plan say of the steps that are to be recognised in the readings."""

from dataclasses import dataclass

from tui.bench.read_as_draining import draining_due_s
from tui.bench.rig import at_set_up, uplift_area
from tui.settings.cell_toml import CellToml


@dataclass(frozen=True, slots=True)
class Aims:
    """What the plan says of the steps to be recognised."""

    test: str
    """CU, CD or UU."""
    effective_stress_kPa: float | None
    cell_step_kPa: float
    excess_kPa: float
    strain_limit: float
    height_mm: float
    volume_ml: float
    friction_N: float = 0.0
    uplift_mm2: float = 0.0
    """Of a piston that cell pressure lifts against a load cell outside."""
    one_transducer: bool = False
    """Back and pore pressure share one, switched by a valve: closed, it tells no back pressure."""
    draining_due_s: tuple[float, ...] = ()
    """Slots of a consolidation by which rows tell that drainage was opened. [s]"""

    @property
    def usual_difference_kPa(self) -> float:
        """Cell above back pressure after a usual saturation step."""
        return self.excess_kPa + self.cell_step_kPa

    @property
    def new_stage_above_kPa(self) -> float:
        """A rise of cell pressure above this while draining is a new stage; below, a trim."""
        return max(10.0, 0.3 * self.cell_step_kPa)

    @property
    def build_up_above_kPa(self) -> float | None:
        """A difference above this is the way to the consolidation stress; None: not to be told."""
        if self.effective_stress_kPa is None:
            return 1.5 * self.usual_difference_kPa
        beyond = self.effective_stress_kPa - self.usual_difference_kPa
        if beyond < max(5.0, 0.2 * self.cell_step_kPa):
            return None
        return self.usual_difference_kPa + 0.5 * min(beyond, self.cell_step_kPa)


def aims_of(settings: CellToml) -> Aims:
    """The aims of a cell's running test."""
    start, plan, piston = at_set_up(settings), settings.plan, settings.cell.piston
    return Aims(
        test=settings.test.kind,
        effective_stress_kPa=plan.effective_stress_kPa,
        cell_step_kPa=plan.cell_step_kPa,
        excess_kPa=plan.excess_kPa,
        strain_limit=plan.strain_limit,
        height_mm=start.height_mm,
        volume_ml=start.volume_ml,
        friction_N=piston.friction_N if piston else 0.0,
        uplift_mm2=uplift_area(settings),
        one_transducer=any(
            gauge.same_as == "pore_pressure"
            for gauge in settings.log.channels.get("back_pressure", ())
        ),
        draining_due_s=draining_due_s(settings),
    )
