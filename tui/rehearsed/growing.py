"""A finished rehearsal, played into another folder as if its loggers were at work now.

Settings are copied at once; logs grow by plain appends, byte for byte as they were written. Which
row falls when is read from the time column of the logs that `rehearse` writes.
"""

import tomllib
from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo


@dataclass(slots=True)
class _Log:
    """One log file cut at its rows."""

    path: Path
    """Relative to the bench."""
    times: list[float]
    """Of each row; never falling, so that lines keep their order. [s]"""
    pieces: list[bytes]
    """The rows; the first has banner and header before it."""
    written: int = 0


class Growth:
    """A bench that grows: `advance_to` appends all rows up to a moment."""

    def __init__(self, source: Path, target: Path) -> None:
        """Read a finished bench and copy its settings.

        Args:
            source: a bench written by `rehearse`.
            target: a folder that is new or empty; its log files appear as their rows fall due.
        """
        self.target = target
        bench = _toml(source / "bench.toml")
        zone = ZoneInfo(str(bench["zone"]))
        self._logs: list[_Log] = []
        target.mkdir(parents=True, exist_ok=True)
        (target / "bench.toml").write_bytes((source / "bench.toml").read_bytes())
        for settings in sorted(source.glob("*/cell.toml")):
            folder = settings.parent.name
            (target / folder).mkdir(parents=True, exist_ok=True)
            (target / folder / "cell.toml").write_bytes(settings.read_bytes())
            self._logs += _logs_of(settings, folder, zone)
        times = [log.times for log in self._logs if log.times]
        self.first_time = min(first[0] for first in times)
        """Of the earliest row of all cells. [s since the epoch]"""
        self.last_time = max(last[-1] for last in times)
        """Of the latest row of all cells. [s since the epoch]"""

    def advance_to(self, t: float) -> int:
        """Append every row whose own time is not later than `t`; gives how many those were."""
        count = 0
        for log in self._logs:
            due = bisect_right(log.times, t)
            if due <= log.written:
                continue
            with (self.target / log.path).open("ab") as file:
                file.write(b"".join(log.pieces[log.written : due]))
                file.flush()
            count += due - log.written
            log.written = due
        return count

    def next_time(self) -> float | None:
        """When the next row falls; None when all are written. [s since the epoch]"""
        waiting = [log.times[log.written] for log in self._logs if log.written < len(log.times)]
        return min(waiting, default=None)


def _toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _logs_of(settings: Path, folder: str, zone: tzinfo) -> list[_Log]:
    log = _toml(settings)["log"]
    time = log.get("time", {})
    header = str(time.get("column", "time"))
    latest = float("-inf")
    found: list[_Log] = []
    for path in sorted(settings.parent.glob(str(log["files"]))):
        times: list[float] = []
        pieces: list[bytes] = []
        before = b""
        started = False
        for line in path.read_bytes().splitlines(keepends=True):
            text = line.decode(str(log.get("encoding", "utf-8-sig")))
            field = _first_field(text)
            moment = _moment(field, time, zone) if started else None
            started = started or field == header
            if moment is None:
                before += line
                continue
            latest = max(latest, moment)
            times.append(latest)
            pieces.append(before + line)
            before = b""
        if pieces:
            pieces[-1] += before
        found.append(_Log(Path(folder) / path.name, times, pieces))
    return found


def _first_field(line: str) -> str:
    for separator in ("\t", ";", ","):
        if separator in line:
            return line.split(separator, 1)[0]
    return line.strip()


def _moment(field: str, time: dict[str, Any], zone: tzinfo) -> float | None:
    """The time in the first field of a row; None for a line that is no row."""
    try:
        if str(time.get("kind", "clock")).startswith("elapsed"):
            start = datetime.fromisoformat(str(time["start"])).replace(tzinfo=zone)
            return start.timestamp() + 60.0 * float(field.replace(",", "."))
        style = str(time.get("format", "%Y-%m-%dT%H:%M:%S"))
        return datetime.strptime(field, style).replace(tzinfo=zone).timestamp()
    except ValueError:
        return None
