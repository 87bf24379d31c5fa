"""What the shear table needs beside the readings: specimen, rig, corrections, zero reading."""

from dataclasses import dataclass
from typing import Literal, get_args

from reduce.errors import ReductionError, require_positive
from reduce.phase_relations import not_below_zero
from reduce.record import Kind, Membrane, Piston, SideDrains

Shape = Literal["cylinder", "parabola", "plane"]
"""How the specimen is taken to deform."""
SHAPES: tuple[str, ...] = get_args(Shape)


@dataclass(frozen=True, slots=True)
class ShearSetting:
    """The specimen that is sheared, the rig around it, and the reading that strain counts from."""

    kind: Kind
    standard: str
    """Whose corrections are applied."""
    area_mm2: float
    """At zero strain: after consolidation; of UU at set-up."""
    height_mm: float
    """Likewise."""
    volume_ml: float
    """Likewise."""
    piston: Piston | None = None
    frame_compliance_mm_N: float = 0.0
    membrane: Membrane | None = None
    side_drains: SideDrains | None = None
    shape: Shape = "cylinder"
    slip_strain: float | None = None
    """Of a plane: the strain at which it formed. [-]"""
    plane_angle_deg: float | None = None
    """Of a plane: its angle from the horizontal."""
    zero_displacement_mm: float | None = 0.0
    """Of the zero reading, as what follows; None: there was none."""
    zero_back_volume_ml: float | None = 0.0
    zero_pore_kPa: float | None = 0.0
    """In CD the back pressure where no pore pressure is measured."""
    zero_load_N: float = 0.0
    """On the specimen: what the frame had already given way to."""

    def require_sound(self) -> None:
        """Refuse what no row could be computed with.

        Raises:
            ReductionError: a size that is not above zero, an unknown shape, or a plane without
                its angle or the strain at which it formed.
        """
        require_positive("area", self.area_mm2, "mm²")
        require_positive("height", self.height_mm, "mm")
        require_positive("volume", self.volume_ml, "ml")
        not_below_zero("frame compliance", self.frame_compliance_mm_N)
        if self.shape not in SHAPES:
            raise ReductionError(f"shape is {self.shape!r}; it must be one of {', '.join(SHAPES)}")
        if self.shape == "plane" and None in (self.slip_strain, self.plane_angle_deg):
            raise ReductionError(
                "the area over a plane needs the plane's angle and the strain at which it formed"
            )
