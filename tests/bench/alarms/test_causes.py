"""One cause, one alarm: in a cell, and across the cells of one supply."""

from dataclasses import replace
from itertools import product

from tui.bench.alarms.causes import NEVER_HELD_BACK, held_back
from tui.bench.alarms.kinds import KINDS
from tui.bench.alarms.shared import shared_spells
from tui.bench.alarms.spells import Spell
from tui.settings.alarm_limits import FIGURES, Limits
from tui.settings.bench_toml import Supply

T = 1_927_843_200.0
SUPPLY = Supply.model_validate({"name": "main", "feeds": ["C1", "C2", "C3"]})
FEEDS = [(SUPPLY, ("C1", "C2", "C3"))]


def spell(kind: str, since: float = 0.0, cleared: float | None = None, **more: object) -> Spell:
    """A spell that is raised at its onset."""
    over = None if cleared is None else T + cleared
    made = Spell(kind, None, "warning", T + since, T + since, over)
    return replace(made, **more)  # type: ignore[arg-type]


def by_kind(spells: tuple[Spell, ...]) -> dict[str, str | None]:
    """What each is held back by; of one that is there twice the last."""
    return {one.kind: one.held_back for one in spells}


def test_a_consequence_is_held_back_by_its_cause() -> None:
    found = held_back((spell("membrane-burst"), spell("pressure-drift", 300.0)))
    assert by_kind(found) == {"membrane-burst": None, "pressure-drift": "membrane-burst"}


def test_what_is_more_urgent_than_its_cause_is_told_all_the_same() -> None:
    warm = spell("temperature-swing")
    leaks = spell("leak-cell", 300.0), spell("leak-membrane", 300.0, priority="urgent")
    found = held_back((warm, *leaks))
    assert by_kind(found)["leak-cell"] == "temperature-swing"
    assert by_kind(found)["leak-membrane"] is None


def test_nothing_hides_what_is_more_urgent() -> None:
    """Every kind in every priority beside every cause, about the same gauge."""
    for kind, cause in product(KINDS, KINDS):
        for about in (None, "back_volume", "cell_pressure", "pore_pressure", "axial_displacement"):
            late = spell(kind, 60.0, priority="urgent", about=about)
            early = spell(cause, about=about)
            if kind != cause:
                told = [one for one in held_back((early, late)) if one.kind == kind]
                assert [one.held_back for one in told] == [None], (kind, cause, about)


def test_a_gauge_at_its_end_is_told_though_it_shows_more_than_it_can() -> None:
    for kind, channel, about in (
        ("volume-gauge-end", "back_volume", None),
        ("travel-limit", "axial_displacement", "axial_displacement"),
        ("travel-limit", "axial_load", "axial_load"),
    ):
        for priority in ("warning", "urgent"):
            beyond = spell("sensor-fault", 10.0, about=channel)
            found = held_back((spell(kind, about=about, priority=priority), beyond))
            assert by_kind(found)[kind] is None, (kind, priority)


def test_a_fall_of_one_cell_alone_explains_nothing() -> None:
    found = held_back((spell("supply-lost"), spell("pressure-drift", 300.0)))
    assert by_kind(found)["pressure-drift"] is None


def test_the_two_that_must_always_be_told_are_never_held_back() -> None:
    causes = tuple(spell(kind) for kind in KINDS if kind not in NEVER_HELD_BACK)
    told = tuple(spell(kind, 10.0) for kind in NEVER_HELD_BACK)
    found = held_back((*causes, *told))
    assert [one.held_back for one in found if one.kind in NEVER_HELD_BACK] == [None, None]


def test_a_consequence_that_outlasts_its_cause_is_raised_then() -> None:
    found = held_back((spell("temperature-swing", 0.0, 5000.0), spell("leak-cell", 900.0)))
    leaks = [one for one in found if one.kind == "leak-cell"]
    assert [(one.held_back, one.raised_at, one.cleared_at) for one in leaks] == [
        ("temperature-swing", T + 900.0, T + 5000.0),
        (None, T + 5000.0, None),
    ]
    assert {one.since for one in leaks} == {T + 900.0}


def test_what_was_there_long_before_is_no_consequence() -> None:
    found = held_back((spell("leak-cell", 0.0), spell("temperature-swing", 3600.0)))
    assert by_kind(found)["leak-cell"] is None


def test_what_came_after_the_cause_had_gone_is_no_consequence() -> None:
    found = held_back((spell("temperature-swing", 0.0, 600.0), spell("leak-cell", 3600.0)))
    assert by_kind(found)["leak-cell"] is None


def test_a_failed_gauge_explains_what_it_seems_to_show() -> None:
    dead = spell("sensor-fault", about="cell_pressure")
    drift = spell("pressure-drift", 60.0, about="cell_pressure")
    other = spell("sensor-fault", 60.0, about="pore_pressure")
    found = held_back((dead, drift, other))
    assert [one.held_back for one in found] == [None, "sensor-fault", None]


def test_no_alarm_can_hide_itself_in_a_circle() -> None:
    everything = tuple(spell(kind, about="cell_pressure") for kind in KINDS)
    shown = [one for one in held_back(everything) if one.held_back is None]
    assert shown
    for one in held_back(everything):
        seen = one
        for _ in KINDS:
            if seen.held_back is None:
                break
            seen = next(o for o in held_back(everything) if o.kind == seen.held_back)
        assert seen.held_back is None, one.kind


def shared(
    spells: dict[str, tuple[Spell, ...]],
) -> tuple[tuple[Spell, ...], dict[str, tuple[Spell, ...]]]:
    """What the three cells share."""
    whole = {name: spells.get(name, ()) for name in ("C1", "C2", "C3")}
    return shared_spells(whole, FEEDS, Limits())


def test_cells_that_lose_pressure_at_once_are_one_supply_alarm() -> None:
    found, left = shared(
        {name: (spell("supply-lost", 20.0 * k),) for k, name in enumerate(("C1", "C2", "C3"))}
    )
    (one,) = found
    assert (one.kind, one.about, one.cells) == ("supply-lost", "main", ("C1", "C2", "C3"))
    assert (one.since, one.raised_at) == (T, T + 20.0)
    assert {s.held_back for own in left.values() for s in own} == {"supply-lost"}


def test_one_cell_alone_has_no_supply_alarm() -> None:
    found, left = shared({"C1": (spell("supply-lost"), spell("pressure-drift", 5.0))})
    assert found == ()
    assert [one.kind for one in left["C1"]] == ["pressure-drift"]
    assert left["C1"][0].held_back is None


def test_cells_far_apart_in_time_share_nothing() -> None:
    found, _ = shared({"C1": (spell("supply-lost"),), "C2": (spell("supply-lost", 200.0),)})
    assert found == ()


def test_rows_that_are_rare_leave_the_moment_open() -> None:
    seldom = spell("supply-lost", 1500.0, well_until=T - 300.0)
    found, _ = shared({"C1": (spell("supply-lost"),), "C2": (seldom,)})
    assert [one.cells for one in found] == [("C1", "C2")]


def test_what_follows_from_the_supply_is_held_back_in_its_cells_but_not_the_two() -> None:
    lost = {name: (spell("supply-lost"),) for name in ("C1", "C2")}
    lost["C1"] += (spell("pressure-drift", 300.0), spell("effective-stress-low", 60.0))
    _, left = shared(lost)
    assert by_kind(left["C1"]) == {
        "supply-lost": "supply-lost",
        "pressure-drift": "supply-lost",
        "effective-stress-low": None,
    }


def test_what_outlasts_the_supply_that_came_back_is_raised_then() -> None:
    lost = {name: (spell("supply-lost", 0.0, 600.0),) for name in ("C1", "C2")}
    lost["C1"] += (spell("leak-membrane", 60.0),)
    _, left = shared(lost)
    leaks = [one for one in left["C1"] if one.kind == "leak-membrane"]
    assert [(one.held_back, one.raised_at, one.cleared_at) for one in leaks] == [
        ("supply-lost", T + 60.0, T + 600.0),
        (None, T + 600.0, None),
    ]


def test_the_bench_alarm_lasts_until_the_last_cell_is_back() -> None:
    lost = {"C1": (spell("supply-lost", 0.0, 600.0),), "C2": (spell("supply-lost", 0.0, 900.0),)}
    assert shared(lost)[0][0].cleared_at == T + 900.0
    lost["C2"] = (spell("supply-lost"),)
    assert shared(lost)[0][0].cleared_at is None


def test_every_kind_has_what_people_need_to_answer_it() -> None:
    assert set(KINDS) == set(FIGURES)
    for kind in KINDS.values():
        for text in (kind.cause, kind.effect, kind.action):
            assert len(text) > 10, kind.name
        assert kind.respond_s > 0.0
        assert kind.where, kind.name


def test_whatever_sends_somebody_to_a_pressurised_part_names_the_cautions() -> None:
    for name in ("over-pressure", "membrane-burst", "supply-lost", "leak-membrane", "leak-cell"):
        action = KINDS[name].action
        assert "air" in action and "isolate" in action, name
        assert "laboratory's rules" in action, name
    assert "maker's rating" in KINDS["over-pressure"].action
