"""All log files of one cell, owned by one thread: what is new since the last look."""

from collections import deque
from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tui.feed.batches import Batch, chosen, joined_rows, timed_unused
from tui.feed.cell_clock import CellClock, one_start
from tui.feed.folder_files import LogFolder, follow, relative
from tui.feed.live import LiveFile
from tui.feed.log_file import LogFile, LogRules
from tui.feed.moments import DateOrder, OrderTurnedError
from tui.feed.plain_text import plain
from tui.feed.repeats import LongAgoError, SeenRows
from tui.feed.rows import Arrivals, Rows, UnusedRow
from tui.feed.times import own_zone
from tui.settings.places import Place
from tui.settings.problems import Problem
from tui.settings.resolved import resolve_channels

MOST_ROWS = 10_000
"""Rows handed on at a time."""

FileBatch = tuple[LogFile, Batch]


class CellSource:
    """Reads the files of a cell in the order of their first rows; no byte is read twice."""

    def __init__(self, place: Place, root: Path, zone: tzinfo) -> None:
        self._place = place
        self._root = root
        self._zone = zone
        self._log = place.log
        self._rules: LogRules | None = None
        self._live: LiveFile | None = None
        self._folder: LogFolder | None = None
        self._settings_problems: list[Problem] = []
        if self._log is not None:
            own, problem = own_zone(self._log.time, zone)
            self._settings_problems += [] if problem is None else [problem]
            self._folder = LogFolder(place.path, self._log, place.folder)
            self._rules = LogRules(self._log, resolve_channels(self._log), own, DateOrder())
            if self._log.live is not None:
                path = place.path / self._log.live
                self._live = LiveFile(path, relative(path, root), self._rules)
        self._files: dict[Path, LogFile] = {}
        self._gone: list[LogFile] = []
        """Renamed away or deleted while another file took their name; their rows are kept."""
        self._held: dict[LogFile, Batch] = {}
        """First rows that wait until the files are ordered."""
        self._keeps_all_keys = False
        self._seen = SeenRows()
        self._clock = CellClock()
        self._ready: deque[Arrivals] = deque()
        self._anew: Problem | None = None
        self._said: tuple[Problem, ...] = ()
        self._said_more = False
        self._to_the_end = True
        """Whether the last look had room for all that stands in the files."""
        self._handed_on = False
        self._restart = False

    def read(self, *, thorough: bool = True) -> Arrivals | None:
        """What is new since the last call; None when nothing. Ask again until None.

        Args:
            thorough: open every file even if its size and time say that nothing changed.
        """
        if self._log is None or self._rules is None:
            return None
        if not self._ready:
            self._gather(thorough=thorough)
        if not self._ready and not self._said_more:
            return None
        # Who was told of more is also told when there is none after all.
        arrived = self._ready.popleft() if self._ready else Arrivals(self._place.folder)
        self._said_more = bool(self._ready) or not self._to_the_end
        return replace(arrived, more=True) if self._said_more else arrived

    def fits(self, place: Place, zone: tzinfo) -> bool:
        """Whether a source made for this place would read the same."""
        mine = self._place
        same = (mine.path, mine.folder, mine.settings, mine.log)
        return same == (place.path, place.folder, place.settings, place.log) and zone == self._zone

    @property
    def edits(self) -> tuple[str, ...]:
        """Logs that are not any more what was read of them, or once were not, each in words."""
        found = [] if self._anew is None else [self._anew.what]
        found += [
            f"{file.file} was changed in what was read already"
            for file in self._files.values()
            if file.tail.is_edited()
        ]
        return tuple(dict.fromkeys(found))

    def close(self) -> None:
        """Let go of everything that was read."""
        self._files.clear()
        self._gone.clear()
        self._held.clear()
        self._ready.clear()

    def _gather(self, *, thorough: bool) -> None:
        batches: list[FileBatch] = []
        arrived = Arrivals(self._place.folder)
        tries = 3
        while tries:
            stepped = False
            try:
                if self._look_at_files(batches, thorough=thorough):
                    arrived, stepped = self._used(batches)
                    if not stepped:
                        break
            except OrderTurnedError:
                pass
            except LongAgoError:
                self._keeps_all_keys = True
            # A file is no longer what was read of it, its clock was set back, or rows from long
            # ago may have come again: all rows are told again from the beginning.
            batches.clear()
            arrived = Arrivals(self._place.folder)
            self._forget()
            if not stepped:
                self._clock = CellClock()
                tries -= 1
        if self._live is not None and (live := self._live.read(self._newest())) is not None:
            arrived = replace(arrived, live=live)
        self._hand_on(arrived)

    def _forget(self) -> None:
        self._files.clear()
        self._gone.clear()
        self._held.clear()
        self._seen = SeenRows(all_rows=self._keeps_all_keys)
        self._to_the_end = True
        self._restart = self._restart or self._handed_on

    def _list(self) -> None:
        assert self._folder is not None
        assert self._rules is not None
        if not self._folder.look():
            return
        listed = self._folder.files
        known, there = self._files.keys(), set(listed)
        if known == there:
            return
        for path in known - there:
            if not self._files[path].tail.offset:
                del self._files[path]
        if known and known != there:
            self._follow(listed)
        for path in listed:
            if path not in self._files:
                self._files[path] = LogFile(path, relative(path, self._root), self._rules)

    def _follow(self, listed: Sequence[Path]) -> None:
        gone = follow(self._files.values(), listed)
        self._gone += gone
        self._files = {f.tail.path: f for f in self._files.values() if f not in gone}
        for path, file in self._files.items():
            file.rename(relative(path, self._root))

    def _look_at_files(
        self, batches: list[FileBatch], *, thorough: bool, followed: bool = False
    ) -> bool:
        """Collect new rows in file order; False if a file must be read again from its start."""
        assert self._folder is not None
        self._list()
        for file in [f for f in self._files.values() if f.first_time is None]:
            batch = file.read(thorough=thorough)
            if file.state == "replaced":
                self._begin(file)
            if batch is not None:
                self._held[file] = batch
        room = MOST_ROWS - sum(len(batch.rows) for _, batch in batches)
        self._to_the_end = True
        for file in sorted(self._files.values(), key=_by_first_row):
            while room > 0:
                held = self._held.pop(file, None)
                batch = file.read(thorough=thorough) if held is None else held
                if file.state == "replaced":
                    if not followed:
                        # Perhaps files only changed their names among each other.
                        self._follow(self._folder.files)
                        return self._look_at_files(batches, thorough=thorough, followed=True)
                    self._note_replaced(file)
                    return False
                if batch is not None:
                    batches.append((file, batch))
                    room -= len(batch.rows)
                if not file.more:
                    break
            else:
                self._to_the_end = False
        return True

    def _begin(self, file: LogFile) -> None:
        assert self._rules is not None
        path = file.tail.path
        self._files[path] = LogFile(path, file.file, self._rules)

    def _note_replaced(self, file: LogFile) -> None:
        what, remedy = (
            ("changed in what was read already", "find out who edits a log that is being written")
            if file.edited
            else (
                "replaced or cut short",
                "if the rows it held stand in another file now, let [log] files take that one too",
            )
        )
        self._anew = Problem(
            "note", f"{file.file} was {what}; all files were read again", remedy, file.file
        )

    def _newest(self) -> LogFile | None:
        begun = [file for file in self._files.values() if file.first_time is not None]
        return max(begun, key=_by_first_row, default=None)

    def _hand_on(self, found: Arrivals) -> None:
        problems = self._problems()
        told = problems if problems != self._said or self._restart else None
        new = (found.rows, found.live, told, self._restart or None, found.unused or None)
        if all(one is None for one in new):
            return
        self._said = problems
        if told is not None or self._restart:
            found = replace(found, problems=told, restart=self._restart)
        self._restart = False
        self._handed_on = self._handed_on or found.rows is not None or bool(found.unused)
        self._ready.extend(_portions(found))

    def _used(self, batches: list[FileBatch]) -> tuple[Arrivals, bool]:
        """The rows that are used, and whether some must be told again by another clock."""
        kept: list[Rows] = []
        unused: list[UnusedRow] = []
        stepped, back_s = False, 0.0
        # What stood in a file that is gone cannot be told again.
        all_there = not self._gone and all(f.state != "vanished" for f in self._files.values())
        for file, batch in batches:
            fresh = self._seen.fresh(batch.rows.times, batch.letters, may_ask=all_there)
            rows = batch.rows
            if fresh is None:
                unused += sorted(batch.unused, key=_by_line)
            else:
                unused += _with_repeats(batch, fresh)
                rows = chosen(rows, fresh)
            if len(rows):
                first = file.clock.rows
                steps = file.clock.add(rows.times)
                if all_there:
                    stepped |= self._clock.follow(file.first_time, steps)
                times = self._clock.counted(file.first_time, rows.times, first)
                if times is not rows.times and not np.array_equal(times, rows.times):
                    back_s = max(back_s, float(np.max(rows.times - times)))
                    rows = replace(rows, times=times, stamps=rows.times)
                kept.append(rows)
        rows_kept = joined_rows(kept) if kept else None
        found = Arrivals(self._place.folder, rows_kept, unused=tuple(unused), counted_back_s=back_s)
        return found, stepped

    def _problems(self) -> tuple[Problem, ...]:
        assert self._rules is not None
        found = list(self._settings_problems)
        if self._folder is not None and self._folder.problem is not None:
            found.append(self._folder.problem)
        elif not self._files and not self._gone:
            found.append(self._no_log())
        files = sorted(self._files.values(), key=_by_first_row)
        found += chain.from_iterable(file.problems() for file in files)
        if self._live is not None:
            found += self._live.problems()
        if self._anew is not None:
            found.append(self._anew)
        for file in files:
            found += self._clock.problems(file.file, file.first_time, self._rules.zone)
        time = self._rules.log.time
        if time.kind != "clock" and time.start not in ("file name", "banner"):
            spans = {file.file: file.clock.span for file in files}
            found += one_start({name: span for name, span in spans.items() if span is not None})
        order = self._rules.order
        if order.doubtful is not None:
            date = plain(order.doubtful, 40)
            half_days = date.casefold().rstrip(". ").endswith("m")
            clock = "%I:%M:%S %p" if half_days else "%H:%M:%S"
            found.append(
                Problem(
                    "warning",
                    f'"{date}" may be day or month first; it was read day first',
                    f'pin it: [log] time = {{ format = "%d/%m/%Y {clock}" }} or "%m/%d/%Y {clock}"',
                    self._place.folder,
                    key="log.time.format",
                )
            )
        return tuple(dict.fromkeys(found))

    def _no_log(self) -> Problem:
        pattern = "" if self._log is None else self._log.files
        return Problem(
            "warning",
            f'no log yet: no file in {self._place.folder} matches "{pattern}"',
            "wait for the logger, or mend [log] files",
            self._place.folder,
            key="log.files",
        )

    @property
    def understood(self) -> dict[str, Any]:
        """How every file is read, for `check`; JSON-able."""
        files = sorted(self._files.values(), key=_by_first_row)
        return {
            "files": {file.file: file.understood() for file in files},
            "live": None if self._live is None else self._live.understood(),
        }


def _by_first_row(file: LogFile) -> tuple[float, str]:
    return (np.inf if file.first_time is None else file.first_time), file.file


def _by_line(one: UnusedRow) -> int:
    return one.line


def _with_repeats(batch: Batch, fresh: NDArray[np.bool_]) -> list[UnusedRow]:
    """What was not used, rows that came before among it: of those only that they did."""
    repeated = set(batch.lines[~fresh].tolist())
    again = [UnusedRow(batch.file, line, "repeated") for line in repeated]
    found = [one for one in batch.unused if one.line not in repeated]
    found += timed_unused(again, batch.lines, batch.rows.times)
    return sorted(found, key=_by_line)


def _portions(arrived: Arrivals) -> list[Arrivals]:
    """At most `MOST_ROWS` rows each; all else comes with the first."""
    rows = arrived.rows
    if rows is None or len(rows) <= MOST_ROWS:
        return [arrived]
    parts = [
        Rows(
            rows.times[at : at + MOST_ROWS],
            {name: column[at : at + MOST_ROWS] for name, column in rows.channels.items()},
            {name: words[at : at + MOST_ROWS] for name, words in rows.words.items()},
            None if rows.stamps is None else rows.stamps[at : at + MOST_ROWS],
        )
        for at in range(0, len(rows), MOST_ROWS)
    ]
    return [replace(arrived, rows=parts[0])] + [
        Arrivals(arrived.folder, rows=part, counted_back_s=arrived.counted_back_s)
        for part in parts[1:]
    ]
