"""Time zones of naive timestamps, and moments in them."""

import os
import time
from contextlib import suppress
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from tui.settings.problems import shown
from tui.settings.quantities import RefusedError, did_you_mean


class MachineZone(tzinfo):
    """The machine's own local time, for systems that do not tell its IANA name."""

    def utcoffset(self, moment: datetime | None) -> timedelta:
        """Offset of local time from UTC at that moment."""
        if moment is None:
            return timedelta(seconds=-time.timezone)
        naive = moment.replace(tzinfo=None)
        return naive - naive.astimezone(UTC).replace(tzinfo=None)

    def dst(self, moment: datetime | None) -> timedelta | None:  # noqa: ARG002 (tzinfo's signature)
        """Not known."""
        return None

    def tzname(self, moment: datetime | None) -> str:  # noqa: ARG002 (tzinfo's signature)
        """How messages name it."""
        return "local"

    def fromutc(self, moment: datetime) -> datetime:
        """UTC to local time, right in both hours of a change of the clocks."""
        local = moment.replace(tzinfo=UTC).astimezone()
        return local.replace(tzinfo=self)


def machine_zone() -> tzinfo:
    """The zone of this machine, by its IANA name where the system tells it."""
    names = [os.environ.get("TZ", "").lstrip(":")]
    with suppress(OSError):  # no such link on this system: its own rules serve below
        names.append(str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2])
    for name in names:
        if name:
            try:
                return find_zone(name)
            except RefusedError:
                continue
    return MachineZone()


def find_zone(name: str) -> tzinfo:
    """The zone of an IANA name such as Europe/Oslo.

    Raises:
        RefusedError: this machine knows no such zone.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        known = tuple(sorted(available_timezones()))
        raise RefusedError(
            f"is {shown(name)}, which is no time zone that this machine knows",
            did_you_mean(name, known) + 'write an IANA name such as "Europe/Oslo" or "UTC"',
        ) from None


def moment_s(moment: datetime, zone: tzinfo) -> float:
    """A moment of a settings file in seconds since the epoch; naive means the given zone."""
    return (moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)).timestamp()
