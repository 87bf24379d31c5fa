"""`bench.toml`: the bench as a whole."""

from typing import Any, Literal

from pydantic import Field

from tui.settings.cell_toml import Table


class Supply(Table):
    """Pressures that come from one source fail together."""

    name: str
    feeds: tuple[str, ...]


class BenchToml(Table):
    """All of `bench.toml`; every key has a default."""

    name: str | None = None
    zone: str | None = None
    units: Literal["SI", "US"] = "SI"
    now: Literal["clock", "last row"] = "clock"
    attended: str | None = None
    supply: tuple[Supply, ...] = ()
    alarms: dict[str, Any] = Field(default_factory=dict)
