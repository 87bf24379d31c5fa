"""Water and gas in the pores: Boyle, Henry, a skeleton that gives way, and a valve.

One pore pressure stands for the specimen. It follows from the balance of volumes

    voids(σ′) = water + free gas,    voids = V0 n - V0 Cs σ′,    gas = N pa / (pa + u)

with σ′ = σ3 - u. What the valve lets in and what dissolves changes the right-hand side with time.
Pressures are gauge, kPa; gas is counted as its volume at one atmosphere, ml.

Source:
    Boyle, Henry; the balance is that behind Skempton's B for partly saturated soil, written with
    the volumes themselves instead of its derivative. Henry's 0.02 for air in water at 20 °C.
"""

ATMOSPHERE_KPA = 101.325
"""Standard atmosphere."""

WATER_PER_KPA = 4.59e-7
"""Compressibility of water at 20 °C. [1/kPa]"""

HENRY_AIR = 0.02
"""Volume of air that a volume of water holds, at any pressure. [-]"""


class Pores:
    """The state of the pores of one specimen; steps forward in time."""

    __slots__ = (
        "dissolved_ml",
        "dissolving_s",
        "free_ml",
        "line_ml_kPa",
        "pore_kPa",
        "skeleton_per_kPa",
        "void_ml",
        "volume_ml",
        "water_ml",
    )

    def __init__(
        self,
        volume_ml: float,
        porosity: float,
        saturation: float,
        skeleton_per_kPa: float,
        dissolving_s: float,
        line_ml_kPa: float = 0.0,
    ) -> None:
        """Pores at rest under no pressure.

        Args:
            volume_ml: of the specimen.
            porosity: [-]
            saturation: degree of saturation at atmospheric pressure. [-]
            skeleton_per_kPa: bulk compressibility of the skeleton. [1/kPa]
            dissolving_s: time constant of dissolving. [s]
            line_ml_kPa: what the lines behind the base swell by; it lowers B for good. [ml/kPa]
        """
        self.volume_ml = volume_ml
        self.void_ml = volume_ml * porosity
        self.water_ml = self.void_ml * saturation
        self.free_ml = self.void_ml - self.water_ml
        self.dissolved_ml = HENRY_AIR * self.water_ml
        self.skeleton_per_kPa = skeleton_per_kPa
        self.dissolving_s = dissolving_s
        self.line_ml_kPa = line_ml_kPa
        self.pore_kPa = 0.0

    @property
    def gas_ml(self) -> float:
        """Free gas at its present pressure."""
        return self.free_ml * ATMOSPHERE_KPA / (ATMOSPHERE_KPA + self.pore_kPa)

    @property
    def saturation(self) -> float:
        """Degree of saturation now. [-]"""
        inside = self.water_ml - self.line_ml_kPa * self.pore_kPa
        return inside / (inside + self.gas_ml)

    @property
    def storage_ml_kPa(self) -> float:
        """Water that the specimen takes per kPa of pore pressure at constant total stress."""
        return (
            self.volume_ml * self.skeleton_per_kPa
            + self.line_ml_kPa
            + self.water_ml * WATER_PER_KPA
            + self.gas_ml / (ATMOSPHERE_KPA + self.pore_kPa)
        )

    @property
    def b_value(self) -> float:
        """Skempton's B for a vanishing step, nothing dissolving. [-]"""
        return self.volume_ml * self.skeleton_per_kPa / self.storage_ml_kPa

    def step(
        self,
        seconds: float,
        cell_kPa: float,
        back_kPa: float = 0.0,
        conductance_ml_kPa_s: float = 0.0,
        leak_ml: float = 0.0,
    ) -> float:
        """Go on in time under given outer pressures.

        Args:
            seconds: how far; small against dissolving and inflow times. [s]
            cell_kPa: cell pressure at the end of the step.
            back_kPa: back pressure behind the valve.
            conductance_ml_kPa_s: of valve and soil; 0 when the valve is closed. [ml/(kPa s)]
            leak_ml: water that came in by another way during the step.

        Returns:
            Water that came in through the valve. [ml]
        """
        self._dissolve(seconds)
        self.water_ml += leak_ml
        open_ml_kPa = conductance_ml_kPa_s * seconds
        u = self.pore_kPa
        for _ in range(40):
            absolute = ATMOSPHERE_KPA + u
            water = self.water_ml + open_ml_kPa * (back_kPa - u) - self.line_ml_kPa * u
            excess = (
                self.void_ml
                - self.volume_ml * self.skeleton_per_kPa * (cell_kPa - u)
                - water * (1.0 - WATER_PER_KPA * u)
                - self.free_ml * ATMOSPHERE_KPA / absolute
            )
            slope = (
                self.volume_ml * self.skeleton_per_kPa
                + open_ml_kPa
                + self.line_ml_kPa
                + water * WATER_PER_KPA
                + self.free_ml * ATMOSPHERE_KPA / absolute**2
            )
            # Newton, kept above absolute zero: the balance rises monotonically with u.
            change = max(-excess / slope, -0.5 * absolute)
            u += change
            if abs(change) < 1e-9:
                break
        inflow = open_ml_kPa * (back_kPa - u)
        self.water_ml += inflow
        self.pore_kPa = u
        return inflow

    def _dissolve(self, seconds: float) -> None:
        holds = HENRY_AIR * self.water_ml * (ATMOSPHERE_KPA + self.pore_kPa) / ATMOSPHERE_KPA
        moved = (holds - self.dissolved_ml) * seconds / (seconds + self.dissolving_s)
        moved = min(moved, self.free_ml)
        self.dissolved_ml += moved
        self.free_ml -= moved
