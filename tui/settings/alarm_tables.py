"""`[alarms]` of `bench.toml` and `cell.toml`: limits, routes, heartbeat."""

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from tui.settings.alarm_limits import FIGURES
from tui.settings.problems import shown
from tui.settings.quantities import RefusedError, Seconds
from tui.settings.table import Name, Table

ALARM_KINDS = tuple(FIGURES)
"""Every kind of alarm that a limit or a route may name."""

_DAY = "(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)"
DAYS = re.compile(rf"^{_DAY}(?:-{_DAY})?(?:\s*,\s*{_DAY}(?:-{_DAY})?)*$")
_HOUR = r"(?:[01]\d|2[0-3]):[0-5]\d"
HOURS = re.compile(rf"^{_HOUR}-(?:{_HOUR}|24:00)$")
ENVIRONMENT = re.compile(r"^env:[A-Za-z_][A-Za-z0-9_]*$")


def _secret(value: Any) -> Any:
    # The value itself is not shown: it may be the very secret that must not be copied about.
    if not isinstance(value, str) or not ENVIRONMENT.match(value):
        raise RefusedError(
            "is not the name of an environment variable",
            'write "env:NAME" and put the address into the variable NAME: '
            "secrets are not kept in files",
        )
    return value


def _days(value: Any) -> Any:
    if not isinstance(value, str) or not DAYS.match(value.strip()):
        raise RefusedError(
            f"is {shown(value)}, not days of the week", 'write "Mon-Fri" or "Sat,Sun"'
        )
    return value.strip()


def _hours(value: Any) -> Any:
    if not isinstance(value, str) or not HOURS.match(value.strip()):
        raise RefusedError(
            f"is {shown(value)}, not hours of the day", 'write such as "20:00-07:00"'
        )
    return value.strip()


Secret = Annotated[str, BeforeValidator(_secret)]
Limits = dict[str, dict[str, Any]]


class Heartbeat(Table):
    """Where the guard reports that it lives."""

    url: Secret
    every_s: Annotated[Seconds, Field(gt=0)] = Field(300.0, alias="every")


class Route(Table):
    """One way to reach a person."""

    name: Name
    to: Secret
    least: Literal["note", "warning", "urgent"] = Field("warning", alias="from")
    days: Annotated[str, BeforeValidator(_days)] = "Mon-Sun"
    hours: Annotated[str, BeforeValidator(_hours)] = "00:00-24:00"
    after_s: Annotated[Seconds, Field(ge=0)] = Field(0.0, alias="after")
    kinds: tuple[str, ...] = ("*",)


class CellAlarms(Table):
    """`[alarms]` of a cell: limits that hold for it alone."""

    limits: Limits = Field(default_factory=dict)


class BenchAlarms(Table):
    """`[alarms]` of the bench."""

    repeat_s: Annotated[Seconds, Field(gt=0)] | None = Field(None, alias="repeat")
    heartbeat: Heartbeat | None = None
    routes: tuple[Route, ...] = ()
    limits: Limits = Field(default_factory=dict)
