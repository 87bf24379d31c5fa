"""A reading at the end of a gauge is said to be one, and nothing is computed from it."""

import numpy as np
import pytest
from scripted import settings

from tui.bench.gauges import at_an_end, ends_of, within
from tui.bench.readings import Reading

LOG = {
    "channels": {
        "axial_load": {"column": "F", "unit": "kN", "range": "0 to 5 kN"},
        "back_volume": {"column": "V", "unit": "ml", "stroke": "-20 to 20 ml"},
    }
}


def test_readings_at_an_end_become_unknown() -> None:
    ends = ends_of(settings(log=LOG).log)
    assert ends["axial_load"] == (-np.inf, 5000.0)
    assert ends["back_volume"] == (-20.0, 20.0)
    columns = {
        "axial_load": np.array([-3.0, 4999.0, 5000.0, 5100.0]),
        "temperature": np.array([20.0, 21.0, 22.0, 23.0]),
    }
    kept = within(columns, columns, ends)
    assert kept["axial_load"][:2].tolist() == [-3.0, 4999.0]
    assert np.isnan(kept["axial_load"][2:]).all()
    assert kept["temperature"] is columns["temperature"]


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (Reading(0.0, axial_load=5100.0), "axial_load at 5100 N (its gauge ends at 5000 N)"),
        (Reading(0.0, back_volume=-20.0), "back_volume at -20 ml (its gauge ends at -20 ml)"),
    ],
)
def test_the_end_is_named(reading: Reading, said: str) -> None:
    assert at_an_end(reading, ends_of(settings(log=LOG).log)) == (said,)


def test_in_between_nothing_is_said() -> None:
    ends = ends_of(settings(log=LOG).log)
    assert at_an_end(Reading(0.0, axial_load=100.0, back_volume=3.0), ends) == ()
    assert at_an_end(Reading(0.0), ends) == ()
