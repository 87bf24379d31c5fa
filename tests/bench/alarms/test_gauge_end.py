"""A volume gauge near the end of its stroke, if it moves there.

Within 5 % of its stroke, two rows: contract section 7. That a gauge that was just refilled stands
near an end is normal handling: common practice, no source.
"""

import pytest
from drained_rows import consolidating, spells, watched
from scripted import settings

from tui.bench.readings import Reading

KIND = "volume-gauge-end"


def _settings(stroke: str, refill: str = "20 ml"):  # type: ignore[no-untyped-def]
    channel = {"column": "V", "unit": "ml", "stroke": stroke, "refill": refill}
    return settings(log={"channels": {"back_volume": channel}})


def _shifted(by_ml: float) -> list[Reading]:
    return [row._replace(back_volume=row.back_volume + by_ml) for row in consolidating().rows]


def test_a_gauge_that_drains_to_its_low_end() -> None:
    rows = _shifted(0.0)  # 2.4 ml drunk, 6 ml squeezed out: it ends at -3.6 ml
    (spell,) = spells(rows, KIND, of=_settings("-4.0 to 46.0 ml"))
    near = [row for row in rows if row.back_volume < -1.5]
    assert (spell.reason, spell.priority) == ("low", "urgent")
    assert spell.since == near[0].time
    assert spell.raised_at == near[1].time
    assert "limit 5 %" in spell.message and "ml" in spell.message


def test_a_gauge_that_starts_near_an_end_and_leaves_it_is_well() -> None:
    script = consolidating()
    opened = script.begins[-1][2] - 15.0
    saturates = [row for row in script.rows if row.time <= opened]  # from 0 to 2.4 ml
    assert not spells(saturates, KIND, of=_settings("-1 to 99 ml"))
    assert spells(saturates, KIND, of=_settings("-97.5 to 2.5 ml"))


def test_a_refill_to_an_end_is_handling() -> None:
    """At the end of its travel it is refilled to the other one, from where it goes on."""
    rows = _shifted(0.0)
    place = next(n for n, row in enumerate(rows) if row.back_volume < -2.5)
    refilled = [
        row._replace(back_volume=row.back_volume + 52.0) if n >= place else row
        for n, row in enumerate(rows)
    ]
    found = spells(refilled, KIND, of=_settings("-20.0 to 51.0 ml"))
    assert not found


@pytest.mark.parametrize("stroke", ["0 to 100 ml"])
def test_noise_about_an_end_is_no_way_towards_it(stroke: str) -> None:
    rows = [
        row._replace(back_volume=0.02 * (n % 3 - 1)) for n, row in enumerate(consolidating().rows)
    ]
    assert not spells(rows, KIND, of=_settings(stroke))


def test_without_a_stroke_it_is_blind() -> None:
    blind = {one.kind: one.why for one in watched(consolidating().rows).blind}
    assert "stroke" in blind[KIND]
