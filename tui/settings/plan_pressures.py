"""The plan's pressures against the cell's rating, the transducer, the standard and each other.

Figures "after" a standard are from memory of its text unless said otherwise; the laboratory's own
copy, the maker's plate and the local rules for pressure equipment decide.
"""

from collections.abc import Iterator

from tui.settings.cell_toml import CellToml
from tui.settings.doubts import Doubt
from tui.settings.resolved import resolve_channels

NEAR_RATING = 0.95
"""The share of the rating at which the alarm `over-pressure` comes. [-]"""
NEAR_RANGE = 0.98
"""The share of a transducer's range at which the alarm `over-pressure` comes. [-]"""

_DEFER = (
    "the maker's plate, the local rules for pressure equipment and the person responsible decide"
)


def pressure_doubts(settings: CellToml) -> Iterator[Doubt]:
    """All findings of this kind."""
    if settings.cell.rating_kPa is None:
        yield Doubt(
            "warning",
            ("cell", "rating"),
            "the cell's pressure rating is not given: over-pressure cannot be judged",
            'add rating = "… kPa" to [cell], from the maker\'s plate',
        )
    if settings.test.kind == "UU":
        return  # no back pressure, no consolidation
    yield from _against_the_rating(settings)
    yield from _against_the_transducer(settings)
    yield from _excess(settings)
    yield from _step(settings)
    yield from _back_pressure(settings)
    yield from _target(settings)


def _highest(settings: CellToml) -> tuple[float, str] | None:
    """The highest cell pressure of the plan and how it comes about. [kPa]"""
    plan = settings.plan
    if plan.back_pressure_limit_kPa is None:
        return None
    limit = plan.back_pressure_limit_kPa
    checking = plan.excess_kPa + plan.cell_step_kPa
    consolidating = plan.effective_stress_kPa or 0.0
    if checking > consolidating:
        return limit + checking, (
            f"back_pressure_limit {limit:g} kPa + excess {plan.excess_kPa:g} kPa "
            f"+ cell_step {plan.cell_step_kPa:g} kPa"
        )
    return limit + consolidating, (
        f"back_pressure_limit {limit:g} kPa + effective_stress {consolidating:g} kPa"
    )


def _against_the_rating(settings: CellToml) -> Iterator[Doubt]:
    rating, highest = settings.cell.rating_kPa, _highest(settings)
    if rating is None or highest is None:
        return
    pressure, sum_of = highest
    path = ("plan", "back_pressure_limit")
    if pressure > rating:
        yield Doubt(
            "error",
            path,
            f"{sum_of} make {pressure:g} kPa of cell pressure, "
            f"above the cell's rating of {rating:g} kPa",
            f"lower back_pressure_limit or take another cell; {_DEFER}",
        )
    elif pressure > NEAR_RATING * rating:
        yield Doubt(
            "warning",
            path,
            f"{sum_of} make {pressure:g} kPa of cell pressure, "
            f"above 95 % of the cell's rating of {rating:g} kPa, where over-pressure is raised",
            f"lower back_pressure_limit or take another cell; {_DEFER}",
        )


def _against_the_transducer(settings: CellToml) -> Iterator[Doubt]:
    highest = _highest(settings)
    for gauge in resolve_channels(settings.log).get("cell_pressure", ()):
        if (
            highest
            and gauge.range_high is not None
            and (highest[0] > NEAR_RANGE * gauge.range_high)
        ):
            yield Doubt(
                "warning",
                ("log", "channels", "cell_pressure", "range"),
                f"the plan leads to {highest[0]:g} kPa of cell pressure; the transducer's range "
                f"ends at {gauge.range_high:.4g} kPa",
                "lower back_pressure_limit, or use a transducer of a wider range",
            )


def _excess(settings: CellToml) -> Iterator[Doubt]:
    plan, standard = settings.plan, settings.test.standard or ""
    excess, wanted = plan.excess_kPa, plan.effective_stress_kPa
    path = ("plan", "excess")
    if wanted is not None and excess >= wanted:
        yield Doubt(
            "error",
            path,
            f"excess is {excess:g} kPa, not below effective_stress, {wanted:g} kPa: "
            "saturation would pre-stress the specimen",
            "write an excess well below effective_stress",
        )
    elif standard.startswith("ASTM") and excess > 35.0:
        yield Doubt(
            "warning",
            path,
            f"excess is {excess:g} kPa; after {standard} cell pressure leads back pressure by at "
            "most 35 kPa unless more is acceptable for the soil",
            "lower excess, or note why more does no harm",
        )
    elif standard == "BS 1377-8" and not 5.0 <= excess <= 20.0:
        yield Doubt(
            "warning",
            path,
            f"excess is {excess:g} kPa; after BS 1377-8 it is 5 to 20 kPa, usually 10 kPa",
            'write excess = "10 kPa", or note why not',
        )


def _step(settings: CellToml) -> Iterator[Doubt]:
    plan, standard = settings.plan, settings.test.standard or ""
    step, wanted = plan.cell_step_kPa, plan.effective_stress_kPa
    path = ("plan", "cell_step")
    if wanted is not None and plan.excess_kPa < wanted < step + plan.excess_kPa:
        yield Doubt(
            "warning",
            path,
            f"cell_step {step:g} kPa + excess {plan.excess_kPa:g} kPa are above effective_stress, "
            f"{wanted:g} kPa: a check at a low B would pre-stress the specimen",
            "begin with smaller steps until B has risen (common practice, no source)",
        )
    most = 140.0 if standard.startswith("ASTM") else 100.0 if standard == "BS 1377-8" else None
    if most is not None and step > most:
        yield Doubt(
            "warning",
            path,
            f"cell_step is {step:g} kPa; after {standard} a step is at most about {most:g} kPa",
            "write a smaller cell_step",
        )


def _back_pressure(settings: CellToml) -> Iterator[Doubt]:
    limit, standard = settings.plan.back_pressure_limit_kPa, settings.test.standard or ""
    path = ("plan", "back_pressure_limit")
    if limit is None:
        yield Doubt(
            "note",
            path,
            "back_pressure_limit is not given: the plan cannot be tested against the cell's "
            "rating, and a B target out of reach is not noticed",
            'add back_pressure_limit = "600 kPa" or what bench and cell allow',
        )
    elif limit < 300.0 and standard in ("BS 1377-8", "ISO 17892-9"):
        yield Doubt(
            "note",
            path,
            f"back_pressure_limit is {limit:g} kPa; after {standard} a back pressure of 300 kPa "
            "or more is common",
            "raise it if cell and specimen allow it",
        )
    if settings.plan.effective_stress_kPa is None:
        yield Doubt(
            "warning",
            ("plan", "effective_stress"),
            "effective_stress is not given: pre-stressing cannot be noticed, nor the begin of "
            "consolidation be told from a check",
            'add effective_stress = "150 kPa" or what the test is to be consolidated at',
        )


def _target(settings: CellToml) -> Iterator[Doubt]:
    target = settings.plan.b_target
    if target < 0.95:
        yield Doubt(
            "warning",
            ("plan", "b_target"),
            f"b_target is {target:g}; after ASTM D4767, ISO 17892-9 and BS 1377-8 it is 0.95, "
            "a lower B passing only when it stays unchanged as back pressure is raised",
            "write b_target = 0.95 and let an engineer accept a lower B with a reason",
        )
