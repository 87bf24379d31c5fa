"""`porewatch.status/1`: every key is there, and nothing that JSON cannot hold."""

import dataclasses
import json
import math
import types
import typing
from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from tui.bench.as_json import status_json
from tui.bench.picture import Bench, Cell, Live, Phase, Projection, Quantities, ScheduleCount
from tui.settings.problems import Problem

OSLO = ZoneInfo("Europe/Oslo")
T0 = datetime(2031, 2, 3, 8, 10, tzinfo=OSLO).timestamp()

# The keys of section 6 of the contract, written down from there by hand; hands and visits besides.
BENCH_KEYS = {
    "schema", "at", "bench", "worst", "guard", "alarms", "not_adopted", "problems", "cells",
    "hands", "visits",
}  # fmt: skip
HAND_KEYS = {"cell", "what", "at", "earliest", "latest", "attended_at", "good_until"}
CELL_KEYS = {
    "cell", "folder", "test_id", "specimen", "test", "phase", "live", "schedule", "quantities",
    "projection", "ahead", "alarms", "blind", "rows", "problems",
}  # fmt: skip
LIVE_KEYS = {
    "at", "age_s", "cell_pressure_kPa", "back_pressure_kPa", "pore_pressure_kPa",
    "effective_stress_kPa", "back_volume_ml", "stroke_left_ml", "cell_volume_ml",
    "axial_displacement_mm", "axial_load_N", "temperature_C",
}  # fmt: skip
INNER_KEYS = {
    "phase": {"name", "step", "since", "previous", "from"},
    "live": LIVE_KEYS,
    "schedule": {"kind", "slots", "taken", "missed", "extra", "next_at", "last_at", "advice"},
    "quantities": {"B", "U", "axial_strain", "volumetric_strain", "deviator_kPa"},
    "projection": {"event", "at", "earliest", "latest", "confidence", "progress", "basis"},
    "rows": {"used", "unused"},
}


def anything(kind: Any) -> st.SearchStrategy[Any]:
    """Values of an annotated type, hostile numbers and texts included."""
    if kind is float:
        return st.floats()
    if kind is int:
        return st.integers()
    if kind is str:
        return st.text(st.characters(exclude_categories=()), max_size=8)
    if kind is bool:
        return st.booleans()
    if kind is type(None) or kind is object:
        return st.none()
    if kind is tzinfo:
        return st.sampled_from([UTC, OSLO, ZoneInfo("Asia/Kathmandu")])
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Literal:
        return st.sampled_from(inner)
    if origin in (typing.Union, types.UnionType):
        return st.one_of([anything(one) for one in inner])
    if origin is Sequence or (origin is tuple and inner[-1] is Ellipsis):
        return st.lists(anything(inner[0]), max_size=2).map(tuple)
    if origin is tuple:
        return st.tuples(*[anything(one) for one in inner])
    if origin is dict:
        return st.just({})
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        hints = typing.get_type_hints(kind)
        return st.builds(
            kind, **{one.name: anything(hints[one.name]) for one in dataclasses.fields(kind)}
        )
    raise AssertionError(f"no values for {kind}")


def no_unkeepable(value: Any, where: str = "$") -> None:
    if isinstance(value, dict):
        for key, inner in value.items():
            assert isinstance(key, str), where
            no_unkeepable(inner, f"{where}.{key}")
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            no_unkeepable(inner, f"{where}[{number}]")
    elif isinstance(value, float):
        assert math.isfinite(value), where
    else:
        assert value is None or isinstance(value, (str, int, bool)), where
        if isinstance(value, str):
            value.encode("utf-8")


@settings(max_examples=150, deadline=None)
@given(anything(Bench))
def test_any_picture_becomes_strict_json_with_every_key(bench: Bench) -> None:
    found = status_json(bench)
    no_unkeepable(found)
    again = json.loads(json.dumps(found, allow_nan=False))
    assert again == found
    assert set(found) == BENCH_KEYS
    assert set(found["guard"]) == {"on_duty", "host", "beat_age_s"}
    assert len(found["cells"]) == len(bench.cells)
    assert [set(hand) for hand in found["hands"]] == [HAND_KEYS for _ in bench.hands]
    for visit, ours in zip(found["visits"], bench.visits, strict=True):
        assert set(visit) == {"at", "until", "hands"}
        assert [set(hand) for hand in visit["hands"]] == [HAND_KEYS for _ in ours.hands]
    for cell in found["cells"]:
        assert set(cell) == CELL_KEYS
        for key, keys in INNER_KEYS.items():
            if cell[key] is not None:
                assert set(cell[key]) == keys
        assert cell["projection"] is not None
        for one in cell["ahead"]:
            assert set(one) == INNER_KEYS["projection"]
        for problem in cell["problems"]:
            assert set(problem) == {"severity", "file", "line", "key", "what", "remedy"}


def test_values_go_through_unrounded_and_times_bear_the_zone() -> None:
    cell = Cell(
        cell="C1",
        folder="west/C1",
        test_id="T015",
        specimen="BH4-U12-a",
        test="CU",
        phase=Phase("saturation", "hold", T0, T0 + 60.0, "setup", "log"),
        live=Live(at=T0 + 100.25, cell_pressure_kPa=350.123456789012, pore_pressure_kPa=0.0),
        schedule=ScheduleCount("root", 40, 17, 1, 2, T0 + 240.0, None),
        quantities=Quantities(B=0.9123456789),
        projection=Projection("B ≥ 0.95", T0 + 3600.0, None, None, 0.8, 0.62, "three checks"),
        rows_used=812,
        rows_unused=3,
        problems=(
            Problem("warning", "OVER is no number", "look at it", "west/C1/a.csv", 14, "Pc"),
        ),
    )
    bench = Bench(T0 + 102.25, "bench", "Ferry quay", OSLO, cells=(cell,), worst="warning")
    found = status_json(bench)
    assert found["schema"] == "porewatch.status/1"
    assert found["at"] == "2031-02-03T08:11:42.250000+01:00"
    assert found["worst"] == "warning"
    (one,) = found["cells"]
    assert one["phase"] == {
        "name": "saturation",
        "step": "hold",
        "since": "2031-02-03T08:10:00+01:00",
        "previous": "setup",
        "from": "log",
    }
    assert one["live"]["cell_pressure_kPa"] == 350.123456789012
    assert one["live"]["pore_pressure_kPa"] == 0.0
    assert one["live"]["back_pressure_kPa"] is None
    assert one["live"]["age_s"] == 2.0
    assert one["quantities"]["B"] == 0.9123456789
    assert one["quantities"]["U"] is None
    assert one["schedule"]["next_at"] == "2031-02-03T08:14:00+01:00"
    assert one["projection"]["at"] == "2031-02-03T09:10:00+01:00"
    assert one["projection"]["earliest"] is None
    assert one["rows"] == {"used": 812, "unused": 3}
    assert one["problems"][0]["line"] == 14


def test_a_moment_in_the_doubled_hour_says_which_of_the_two() -> None:
    first = datetime(2031, 10, 26, 0, 30, tzinfo=UTC).timestamp()
    at = [status_json(Bench(t, "b", "b", OSLO))["at"] for t in (first, first + 3600.0)]
    assert at == ["2031-10-26T02:30:00+02:00", "2031-10-26T02:30:00+01:00"]
