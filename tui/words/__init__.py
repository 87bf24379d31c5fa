"""The only formatting: values, times and states as the words that people read.

Every view (screen, `status`, reports) says the same thing in the same words. Nothing here reads a
clock. None is "–", never 0; a quantity always carries its unit.
"""

from tui.words.cells import (
    State,
    event_wordings,
    event_words,
    is_reached,
    phase_words,
    place_words,
    problem_words,
    readings,
    readings_short,
    source_words,
    state,
)
from tui.words.plain import NOT_JUDGED, NOTHING, PLAIN, SAFETY, Manner, plain, sanitise
from tui.words.quantities import (
    b_value,
    force,
    length,
    measured,
    percent,
    pressure,
    pressure_short,
    ratio,
    result_unit,
    shown,
    temperature,
    unit_shown,
    volume,
)
from tui.words.times import age, coarse, countdown, date_and_time, interval, local, moment

__all__ = [
    "NOTHING",
    "NOT_JUDGED",
    "PLAIN",
    "SAFETY",
    "Manner",
    "State",
    "age",
    "b_value",
    "coarse",
    "countdown",
    "date_and_time",
    "event_wordings",
    "event_words",
    "force",
    "interval",
    "is_reached",
    "length",
    "local",
    "measured",
    "moment",
    "percent",
    "phase_words",
    "place_words",
    "plain",
    "pressure",
    "pressure_short",
    "problem_words",
    "ratio",
    "readings",
    "readings_short",
    "result_unit",
    "sanitise",
    "shown",
    "source_words",
    "state",
    "temperature",
    "unit_shown",
    "volume",
]
