"""Which files of a folder are its logs: alike in layout, by one glob, without the live file."""

import glob
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from itertools import takewhile
from pathlib import Path

from tui.feed.adopting.proposals import NothingToAdoptError
from tui.feed.adopting.samples import Sample, read_sample
from tui.feed.adopting.vocabulary import score
from tui.feed.dialect import Dialect, find_dialect
from tui.feed.plain_text import plain
from tui.settings.cell_toml import Log
from tui.settings.folders import LOG_ENDINGS, counted

MOST_FILES = 24
"""Files that are looked into: first and last ones, and others spread between."""
_PARTS = 48
"""Stretches behind the heads, over all files."""
_FIRST_LOOK = 60
"""Lines in which the first row is looked for; only where it is not among them, in more."""
_NOT_LOGS = (".toml", ".md", ".pdf", ".html", ".xlsx", ".xls", ".zip", ".png", ".jpg", ".json")
_LIVE = re.compile(r"live|current|actual|latest|aktuell|lastrow|last_row", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class SampledLog:
    """A log that was looked into."""

    sample: Sample
    dialect: Dialect
    """With time columns only where they hold a clock."""

    @property
    def name(self) -> str:
        """Of the file."""
        return self.sample.path.name


@dataclass(frozen=True, slots=True)
class FoundLogs:
    """The logs of a folder."""

    logs: tuple[SampledLog, ...]
    """In the order of their names."""
    taken: tuple[str, ...]
    """Names of all logs, also of those that were not looked into."""
    pattern: str | None
    """The glob that takes them and nothing else; None: there is none."""
    live: str | None
    notes: tuple[str, ...]


def find_logs(folder: Path) -> FoundLogs:
    """Look at the files of a folder.

    Raises:
        NothingToAdoptError: there is no log in it.
    """
    names = _candidates(folder)
    logs, notes = _looked_into(folder, names)
    if not logs:
        raise NothingToAdoptError(_no_table(names, notes))
    groups: dict[tuple[str, ...], list[SampledLog]] = {}
    for log in logs:
        groups.setdefault(log.dialect.header, []).append(log)
    alike = max(groups.values(), key=lambda group: (len(group), sum(o.sample.size for o in group)))
    others = [log for group in groups.values() if group is not alike for log in group]
    notes += [f"{plain(log.name, 40)} has other columns and is left out" for log in others]
    live = _live(alike)
    looked_at = {log.name for log in logs}
    left_out = {log.name for log in others} | (set(names) & _unread(names, looked_at, alike))
    taken = tuple(name for name in names if name not in left_out and name != live)
    kept = tuple(log for log in alike if log.name != live)
    avoid = _all_files(folder) - set(taken) - ({live} if live else set())
    return FoundLogs(kept, taken, _pattern(taken, avoid), live, tuple(notes))


def _all_files(folder: Path) -> set[str]:
    with os.scandir(folder) as entries:
        # A glob does not take hidden files, and the feed no .toml.
        return {e.name for e in entries if not e.name.startswith(".") and e.is_file()} - {
            "cell.toml"
        }


def _candidates(folder: Path) -> list[str]:
    try:
        every = _all_files(folder)
        with os.scandir(folder) as entries:
            folders = sorted((e.name for e in entries if e.is_dir()), key=counted)
    except OSError as error:
        raise NothingToAdoptError(f"it cannot be read: {error.strerror or error}") from None
    ours = {"readings.csv"} if "results.json" in every else set()
    plausible = sorted(
        (n for n in every - ours if not n.casefold().startswith(("readme", "~"))), key=counted
    )
    names = [name for name in plausible if name.casefold().endswith(LOG_ENDINGS)]
    # A logger may give its files an ending of its own, or none.
    names = names or [name for name in plausible if not name.casefold().endswith(_NOT_LOGS)]
    if names:
        return names
    looked_for = ", ".join(f"*{ending}" for ending in LOG_ENDINGS)
    below = [
        name
        for name in folders
        if not name.startswith(".") and any((folder / name).glob("*.[ctdlCTDL]*"))
    ]
    hint = f"; a folder in it may be meant: {plain(below[0], 40)}" if below else ""
    raise NothingToAdoptError(f"no log in it: looked for {looked_for}{hint}")


def _spread(names: Sequence[str], most: int) -> list[str]:
    if len(names) <= most:
        return list(names)
    return [names[round(at * (len(names) - 1) / (most - 1))] for at in range(most)]


def _looked_into(folder: Path, names: Sequence[str]) -> tuple[list[SampledLog], list[str]]:
    chosen = _spread(names, MOST_FILES)
    chosen += [name for name in names if _LIVE.search(name) and name not in chosen][:2]
    logs: list[SampledLog] = []
    notes: list[str] = []
    for name in chosen:
        try:
            sample = read_sample(folder / name, max(2, _PARTS // len(chosen)))
        except OSError as error:
            notes.append(f"{plain(name, 40)} cannot be read: {error.strerror or error}")
            continue
        dialect = layout_of(sample.head)
        if dialect is None:
            notes.append(f"{plain(name, 40)} has no header with rows under it")
        else:
            logs.append(SampledLog(sample, dialect))
    return logs, notes


def layout_of(lines: Sequence[str], log: Log | None = None) -> Dialect | None:
    """The layout of a file of unknown make."""
    log = Log.model_validate({}) if log is None else log
    near = lines[:_FIRST_LOOK]
    found = find_dialect(near, log, score) or find_dialect(near, log, score, needs_time=False)
    return found or find_dialect(lines, log, score)


def _unread(names: Sequence[str], looked_at: set[str], alike: Sequence[SampledLog]) -> set[str]:
    """Of files that were not looked into, those whose ending no log has; and those without rows."""
    endings = {Path(log.name).suffix for log in alike}
    chosen = set(_spread(names, MOST_FILES))
    return {
        name
        for name in names
        if name not in looked_at and (name in chosen or Path(name).suffix not in endings)
    }


def _live(alike: Sequence[SampledLog]) -> str | None:
    """The file whose one row is rewritten all the time, if the name of a short one says so."""
    if len(alike) < 2:
        return None
    for log in alike:
        rows = [line for line in log.sample.head[log.dialect.header_at + 1 :] if line.strip()]
        rows = [line for line in rows if line.strip() not in log.dialect.no_rows]
        if log.sample.whole and len(rows) == 1 and _LIVE.search(log.name):
            return log.name
    return None


def _pattern(taken: Sequence[str], avoid: set[str]) -> str | None:
    """The widest simple glob that takes all logs and no other file."""
    suffixes = {Path(name).suffix for name in taken}
    suffix = suffixes.pop() if len(suffixes) == 1 else ""
    stem = "".join(letters[0] for letters in takewhile(_alike, zip(*taken, strict=False)))
    word = re.match(r"[^\d.]*", stem)
    tries = [f"*{_safe(suffix)}" if suffix else "*"]
    for start in (word[0] if word else "", stem.removesuffix(suffix) if suffix else stem):
        if start:
            tries.append(f"{_safe(start)}*{_safe(suffix)}")
    if len(taken) == 1:
        tries.append(_safe(taken[0]))
    avoid = {name for name in avoid if not name.endswith(".toml")}
    for pattern in tries:
        if all(fnmatchcase(n, pattern) for n in taken) and not any(
            fnmatchcase(n, pattern) for n in avoid
        ):
            return pattern
    return None


def _alike(letters: Sequence[str]) -> bool:
    return len(set(letters)) == 1


def _safe(part: str) -> str:
    """A part of a name in a glob; letters that a settings file should not hold match by "?"."""
    return "".join(glob.escape(c) if c.isprintable() and c != "\ufffd" else "?" for c in part)


def _no_table(names: Sequence[str], notes: Sequence[str]) -> str:
    looked = ", ".join(plain(name, 40) for name in names[:4])
    more = f" and {len(names) - 4} more" if len(names) > 4 else ""
    unreadable = [note for note in notes if "cannot be read" in note]
    if unreadable:
        return unreadable[0]
    return (
        f"no header with rows of numbers under it in {looked}{more}: looked for a line of column "
        "names above the first row"
    )
