"""Every kind of alarm: where it is judged, from what, and what it means to people.

After the contract's table. What to do names the usual cautions; the cell maker's rating, the rules
of the laboratory and licensed practice come before all of it. Times to respond are common practice,
no source.
"""

from dataclasses import dataclass
from functools import lru_cache

CAUTION = (
    "Do not touch a fitting under pressure; stay clear of a cell that holds air, and isolate and "
    "vent it by the laboratory's rules before anything is opened"
)
"""Goes with whatever sends somebody to a pressurised cell."""
_MIN, _H = 60.0, 3600.0

UNDER_PRESSURE = ("saturation", "consolidation", "shear")
STANDING = ("saturation/hold", "saturation/b-check", "consolidation/drained", "shear")
"""A pressure that creeps up may be told as a B check: its rule tells them apart."""
RUNNING = ("setup", *UNDER_PRESSURE, "interrupted")
ALWAYS = (*RUNNING, "ended")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of alarm."""

    name: str
    where: tuple[str, ...]
    """Phases, or phase/step, in which it is judged."""
    needs: tuple[str, ...]
    """Channels; "a|b" means one of them."""
    cause: str
    effect: str
    """What comes of it if nobody does anything."""
    action: str
    respond_s: float
    """Time in which somebody should have answered. [s]"""
    tests: tuple[str, ...] = ("CU", "CD", "UU")
    routed: bool = False
    """Whether it is told to people though it is a note."""
    of_bench: bool = False
    """Whether it is one of the bench, never of a single cell."""

    def missing(self, has: frozenset[str]) -> str | None:
        """What is lacking to judge it, in words; None if nothing is."""
        return _missing(self.needs, has)


@lru_cache(maxsize=1024)  # asked at every reading, of channels that seldom change
def _missing(needs: tuple[str, ...], has: frozenset[str]) -> str | None:
    lacking = [
        " or ".join(need.split("|"))
        for need in needs
        if not any(name in has for name in need.split("|"))
    ]
    return " and ".join(lacking) or None


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            "over-pressure", ALWAYS, ("cell_pressure|back_pressure|pore_pressure",),
            "a regulator that creeps or was set too high, or a supply without its limiter",
            "the cell, a line or a gauge may burst",
            "From a distance, lower or isolate the pressure at the supply. The cell maker's rating "
            "is the limit, and the relief valve the safeguard, not this program. " + CAUTION,
            5 * _MIN,
        ),
        Kind(
            "effective-stress-low", ("saturation", "consolidation", "shear/dock", "shear/shear"),
            ("cell_pressure", "pore_pressure|back_pressure"),
            "back pressure too near to cell pressure, or pore pressure that has not drained",
            "the specimen swells off its cap, the membrane balloons, the test is lost",
            "Stop raising back pressure; lower it, or raise cell pressure, until cell pressure "
            "leads as planned. Keep within the rating.",
            10 * _MIN, tests=("CU", "CD"),
        ),
        Kind(
            "effective-stress-high", ("saturation", "consolidation"),
            ("cell_pressure", "pore_pressure|back_pressure"),
            "cell pressure was raised too far, or back pressure fell behind",
            "the specimen is loaded beyond the stress it is to be consolidated at, for good",
            "Lower cell pressure, or raise back pressure by hand and slowly, to the planned "
            "difference; note it for the engineer, who decides whether the specimen still serves.",
            10 * _MIN, tests=("CU", "CD"),
        ),
        Kind(
            "membrane-burst", UNDER_PRESSURE, ("cell_pressure", "pore_pressure"),
            "a torn membrane or a lost O-ring; in loose sand also liquefaction, which looks alike",
            "cell water is in the specimen: the test ends here",
            "Isolate the cell, save the readings, let the pressures down together with cell "
            "pressure leading. " + CAUTION + ". Mark the phase when this is understood.",
            10 * _MIN,
        ),
        Kind(
            "saturation-stalled", ("saturation",), ("cell_pressure", "pore_pressure"),
            "see the message",
            "days pass, and B does not reach its target",
            "see the reason",
            1 * _H, tests=("CU", "CD"),
        ),
        Kind(
            "pressure-drift", STANDING, ("cell_pressure|back_pressure",),
            "a regulator that creeps, a supply that sags, a leak",
            "the stresses are no longer those of the test",
            "Compare the gauge at the panel; trim the regulator back slowly. If it drifts again, "
            "look for a leak along the line. " + CAUTION,
            30 * _MIN,
        ),
        Kind(
            "pressure-unsteady", UNDER_PRESSURE, ("cell_pressure|back_pressure",),
            "a regulator that hunts, a pump that cycles, a loose connection of the gauge",
            "readings scatter, and the specimen is loaded to and fro",
            "Look at regulator and supply; compare with the other cells of the supply.",
            1 * _H,
        ),
        Kind(
            "supply-lost", RUNNING, ("cell_pressure|back_pressure",),
            "the compressor, a bladder or the common regulator has failed",
            "several tests lose their stresses at once",
            "Close the cells' valves to keep what pressure they hold, cell pressure last, then "
            "look at the supply. " + CAUTION,
            5 * _MIN, of_bench=True,
        ),
        Kind(
            "leak-membrane",
            ("saturation/b-check", "saturation/raise", "saturation/hold", "consolidation", "shear"),
            ("cell_pressure", "pore_pressure|back_volume"),
            "cell water seeps through the membrane or past its O-rings",
            "volume and pore pressure are no longer those of the specimen",
            "Compare cell and back volume by hand; if both flow alike, the membrane leaks: the "
            "engineer decides whether the test goes on. " + CAUTION,
            1 * _H, tests=("CU", "CD"),
        ),
        Kind(
            "leak-cell", ("saturation/hold", "consolidation/drained"), ("cell_volume",),
            "a fitting or the ram's seal lets cell water out",
            "cell volume does not follow the specimen; cell pressure may fall",
            "Wipe dry and look for drops at fittings and ram. " + CAUTION,
            4 * _H, tests=("CU", "CD"),
        ),
        Kind(
            "leak-drainage", ("saturation/hold", "consolidation/drained"), ("back_volume",),
            "a fitting of the back-pressure line leaks, or gas comes out of it",
            "the volume that is read is not that of the specimen",
            "Wipe dry and look for drops along the back-pressure line. " + CAUTION,
            4 * _H, tests=("CU", "CD"),
        ),
        Kind(
            "drainage-state",
            ("saturation/b-check", "consolidation/drained", "consolidation/build-up", "shear"),
            ("back_volume",),
            "the drainage valve stands the other way, or stone or line is blocked",
            "the step tells nothing, or the specimen does not consolidate",
            "Look at the drainage valve; before it is turned, compare pore with back pressure, "
            "because opening it lets them meet at once.",
            15 * _MIN, tests=("CU", "CD"),
        ),
        Kind(
            "volume-gauge-end", ("saturation", "consolidation", "shear"), ("back_volume",),
            "the volume gauge has come to the end of its stroke",
            "what flows from now on is not read",
            "Close drainage, refill or reverse the gauge, open again; tell it with "
            "`porewatch rebase CELL back_volume`.",
            15 * _MIN, tests=("CU", "CD"),
        ),
        Kind(
            "log-silent", RUNNING, (),
            "the logger has stopped, its cable, its computer or the share is lost",
            "nothing is known of the cell, and no other alarm can come",
            "Look at the logger and its computer; read the pressures at the panel meanwhile.",
            15 * _MIN,
        ),
        Kind(
            "watch-sparse", RUNNING, (),
            "scheduled readings lie far apart, and there is no live file",
            "an alarm can come only with the next reading",
            "Let the logger write its live values ([log] live), or add readings.",
            24 * _H,
        ),
        Kind(
            "reading-missed", ("saturation", "consolidation", "shear"), (),
            "the logger did not take a reading that was due",
            "a point of the curve is missing",
            "Look at the logger; take the reading by hand if it still serves.",
            1 * _H,
        ),
        Kind(
            "schedule-ends-early", ("saturation", "consolidation", "shear"), (),
            "the schedule has fewer slots than the phase will need",
            "the end of the phase goes unread",
            "Add slots in the logger, and in [schedule].",
            4 * _H,
        ),
        Kind(
            "sensor-fault", RUNNING, (),
            "a gauge or its cable has failed, or is out of its range",
            "what rests on it cannot be told",
            "Look at plug and cable; compare with the panel. A gauge under pressure is not taken "
            "off. " + CAUTION,
            1 * _H,
        ),
        Kind(
            "zero-offset", ("setup/vented",), ("cell_pressure|back_pressure|pore_pressure",),
            "the gauge was not set to zero, or its datum is not that of the specimen",
            "every pressure of the test is wrong by as much",
            "Set the zero while everything is vented, with the cell full and to one datum, or "
            "write it into [log.channels] zero.",
            1 * _H,
        ),
        Kind(
            "consolidation-overdue", ("consolidation/drained",), ("back_volume|pore_pressure",),
            "a clogged stone or drain, a leak, or a soil other than was thought",
            "the phase does not end when it should",
            "Look for a leak, compare pore with back pressure; the engineer decides whether to "
            "go on.",
            4 * _H, tests=("CU", "CD"),
        ),
        Kind(
            "rate-too-fast", ("shear/shear",), ("axial_displacement",),
            "the machine runs faster than the standard's advice for this specimen",
            "pore pressure does not equalise: the strength that is read is not the soil's",
            "Set the machine to the advised rate, or ask the engineer. Keep hands out of the load "
            "frame while it moves.",
            30 * _MIN, tests=("CU", "CD"),
        ),
        Kind(
            "shear-stopped", ("shear/shear",), ("axial_displacement",),
            "the motor stands: power, a limit switch, a slipped clutch",
            "stress relaxes, and the curve has a break",
            "Look at the load frame and its limit switch; switch its power off before reaching "
            "into it.",
            15 * _MIN,
        ),
        Kind(
            "load-not-taken", ("shear",), ("axial_load", "axial_displacement"),
            "the ram does not touch, or the load cell is not read",
            "strain is counted that the specimen does not have",
            "Look whether ram and cap touch; dock, and mark the begin of shear anew.",
            30 * _MIN,
        ),
        Kind(
            "travel-limit", ("shear",), ("axial_displacement|axial_load",),
            "displacement gauge, ram or load cell comes to the end of its range",
            "readings end, or the load cell is overloaded",
            "Stop the machine before the end, or reset the gauge and tell it with "
            "`porewatch rebase`.",
            15 * _MIN,
        ),
        Kind(
            "strain-limit", ("shear/shear",), ("axial_displacement",),
            "the shear has reached its planned strain",
            "the machine runs on towards its end",
            "Stop the machine, save the readings, let the deviator off, then the pressures down "
            "slowly with cell pressure leading.",
            30 * _MIN, routed=True,
        ),
        Kind(
            "phase-complete", ("saturation", "consolidation/drained"), (),
            "the phase has met its criterion",
            "nothing is lost, but time",
            "Somebody is wanted for the next step.",
            4 * _H, routed=True, tests=("CU", "CD"),
        ),
        Kind(
            "temperature-swing", UNDER_PRESSURE, ("temperature",),
            "heating, sun, an open door, the air conditioning",
            "volumes and pore pressure move with it, and look like leaks",
            "Bring the room back to its temperature slowly; readings of these hours are doubtful.",
            2 * _H,
        ),
        Kind(
            "clock-jump", RUNNING, (),
            "the logger's clock was set, or its computer was restarted",
            "times before and after do not belong together",
            "Set the clock and leave it; tell a known error with [log] time offset.",
            24 * _H,
        ),
        Kind(
            "disk-low", ALWAYS, (),
            "the disk of the bench, or of this program's own files, is nearly full",
            "loggers and journal can write no more",
            "Make room; never delete a log of a running test.",
            2 * _H, of_bench=True,
        ),
    )
}  # fmt: skip
"""By name, in the contract's order of importance."""

STALLED: dict[str, tuple[str, str]] = {
    "blocked": (
        "the drainage is closed or blocked: a valve, the line, a stone",
        "Look at the drainage valve first; then at line and stone. Compare pore with back pressure "
        "before a closed valve is opened: they meet at once.",
    ),
    "more pressure": (
        "the gas left in this soil needs more back pressure, or more time at it, to dissolve",
        "Go on with steps within the plan's limit and the rating, rest longer at each, and check "
        "again; flushing with de-aired water may help.",
    ),
    "leak": (
        "water goes on flowing in at a steady rate: a leak is fed, not the specimen",
        "Look for a leak along the back-pressure line and past the membrane. " + CAUTION,
    ),
    "out of reach": (
        "the target lies beyond the back pressure that plan and rating allow",
        "Ask the engineer: accept B as it is (`porewatch accept CELL saturation --why …`), another "
        "way to saturate, or another specimen. Do not exceed the cell maker's rating.",
    ),
    "nobody": (
        "nobody has made the next step",
        "Make the next B check or step, or say that the hold is meant: "
        "`porewatch mark CELL saturation --step hold --until TIME`.",
    ),
}
"""What stalls a saturation: cause and action by the reason that a spell names."""


@lru_cache(maxsize=256)
def judged_in(phase: str, step: str | None, test: str) -> frozenset[str]:
    """The kinds that are judged in a phase and step of such a test."""
    place = {phase, f"{phase}/{step}"}
    return frozenset(
        kind.name
        for kind in KINDS.values()
        if test in kind.tests and place & set(kind.where) and not _undrained(kind, phase, test)
    )


def _undrained(kind: Kind, phase: str, test: str) -> bool:
    """In undrained shear effective stress may go as low as the soil takes it."""
    return phase == "shear" and test != "CD" and kind.name == "effective-stress-low"
