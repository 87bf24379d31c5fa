"""`bench.toml`: the bench as a whole."""

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from tui.settings.alarm_tables import DAYS, HOURS, BenchAlarms
from tui.settings.problems import shown
from tui.settings.quantities import RefusedError
from tui.settings.table import Name, Table


class Supply(Table):
    """Pressures that come from one source fail together."""

    name: Name
    feeds: tuple[str, ...]


def _attended(value: Any) -> Any:
    if isinstance(value, str):
        parts = re.split(r"\s+", value.strip())
        if len(parts) == 2 and DAYS.match(parts[0]) and HOURS.match(parts[1]):
            return " ".join(parts)
    raise RefusedError(
        f"is {shown(value)}, not days and hours",
        'write such as "Mon-Fri 07:30-16:00", or remove the key if somebody is always there',
    )


class BenchToml(Table):
    """All of `bench.toml`; every key has a default."""

    name: Name | None = None
    zone: str | None = None
    units: Literal["SI", "US"] = "SI"
    now: Literal["clock", "last row"] = "clock"
    attended: Annotated[str, BeforeValidator(_attended)] | None = None
    supply: tuple[Supply, ...] = ()
    alarms: BenchAlarms = Field(default_factory=lambda: BenchAlarms.model_validate({}))
