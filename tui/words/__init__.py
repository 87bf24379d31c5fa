"""The only formatting: values, times and states as the words that people read.

Every view (screen, `status`, reports) says the same thing in the same words. Nothing here reads a
clock. None is "–", never 0; a quantity always carries its unit.

What is more than letters and signs is imported when it is first asked for: the first frame of the
dashboard says nothing of a bench.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from tui.words.plain import LOOKING, NOTHING, PLAIN, SAFETY, Manner, plain, sanitise

if TYPE_CHECKING:
    from tui.words.alarms import (
        WHOLE_BENCH,
        Raised,
        alarm_ink,
        alarm_sign,
        counts_words,
        duty_words,
        kind_words,
        kinds_words,
        not_judged,
        priority_words,
        raised,
        shared_by,
        since_words,
        state_word,
        state_words,
    )
    from tui.words.cells import (
        State,
        ahead_words,
        cannot_judge_words,
        event_wordings,
        event_words,
        is_reached,
        no_readings,
        phase_words,
        place_words,
        problem_words,
        readings,
        readings_short,
        source_words,
        state,
    )
    from tui.words.hands import attended_words, served_words, visit_words
    from tui.words.messages import message
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
    from tui.words.times import (
        age,
        clock,
        coarse,
        coarse_age,
        countdown,
        date_and_time,
        interval,
        local,
        moment,
    )

__all__ = [
    "LOOKING",
    "NOTHING",
    "PLAIN",
    "SAFETY",
    "WHOLE_BENCH",
    "Manner",
    "Raised",
    "State",
    "age",
    "ahead_words",
    "alarm_ink",
    "alarm_sign",
    "attended_words",
    "b_value",
    "cannot_judge_words",
    "clock",
    "coarse",
    "coarse_age",
    "countdown",
    "counts_words",
    "date_and_time",
    "duty_words",
    "event_wordings",
    "event_words",
    "force",
    "interval",
    "is_reached",
    "kind_words",
    "kinds_words",
    "length",
    "local",
    "measured",
    "message",
    "moment",
    "no_readings",
    "not_judged",
    "percent",
    "phase_words",
    "place_words",
    "plain",
    "pressure",
    "pressure_short",
    "priority_words",
    "problem_words",
    "raised",
    "ratio",
    "readings",
    "readings_short",
    "result_unit",
    "sanitise",
    "served_words",
    "shared_by",
    "shown",
    "since_words",
    "source_words",
    "state",
    "state_word",
    "state_words",
    "temperature",
    "unit_shown",
    "visit_words",
    "volume",
]

_LATER = ("alarms", "cells", "hands", "messages", "quantities", "times")
"""Modules with what is not imported at once."""


def __getattr__(name: str) -> Any:
    if name in __all__:
        for module in _LATER:
            found = import_module(f"tui.words.{module}")
            if hasattr(found, name):
                return getattr(found, name)
    raise AttributeError(f"module 'tui.words' has no attribute {name!r}")
