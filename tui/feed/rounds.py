"""Rounds through the cells of a bench: one source each, new ones when settings change."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING

from tui.feed.rows import Arrivals
from tui.feed.source import CellSource
from tui.settings.bench_toml import BenchToml
from tui.settings.places import Layout, Place, layout_signature, read_layout
from tui.settings.problems import Problem

if TYPE_CHECKING:
    from tui.feed.events import Events


class Rounds:
    """The sources of a bench and the rounds that are made through them, all in one thread."""

    def __init__(
        self,
        root: Path,
        events: "Events",
        put_layout: Callable[[Layout], None],
        put: Callable[[Arrivals], bool],
        resumed: Mapping[str, CellSource] | None = None,
        write: Callable[[CellSource], bytes] | None = None,
    ) -> None:
        self._root = root
        self._events = events
        self._put_layout = put_layout
        self._put = put
        self._signature: object = None
        self._noted: str | None = None
        self._zone: tzinfo = UTC
        self._sources: dict[str, tuple[Place, CellSource]] = {}
        self._begin_again: set[str] = set()
        self._broken: dict[str, str] = {}
        self._resumed = dict(resumed or {})
        self._write = write
        self.asked: set[str] = set()
        """Cells whose source is to be written down once all that it has was handed on."""
        self.unread: frozenset[str] = frozenset()
        """Cells whose logs have not been read to their end yet. Other threads may look at it."""

    def go(self, *, thorough: bool) -> None:
        """Look at the settings, then at the files of all cells."""
        self._look_at_settings()
        for folder, (place, source) in list(self._sources.items()):
            if folder in self._broken:
                if not thorough:
                    continue
                # Whatever state it was left in: it begins afresh.
                source.close()
                self._sources[folder] = (place, CellSource(place, self._root, self._zone))
                self._begin_again.add(folder)
            if not self._read(folder, self._sources[folder][1], thorough=thorough):
                return

    def go_to(self, folders: set[Path]) -> None:
        """Look earlier where something is said to have changed."""
        if self._root in folders:
            self._look_at_settings()
        for folder, (place, source) in list(self._sources.items()):
            wanted = place.path in folders or folder in self.asked
            if (
                wanted
                and folder not in self._broken
                and not self._read(folder, source, thorough=False)
            ):
                return

    def again(self, folder: str) -> None:
        """Read a cell from the beginning of its logs."""
        if folder in self._sources:
            place, source = self._sources[folder]
            source.close()
            self._sources[folder] = (place, CellSource(place, self._root, self._zone))
            self._begin_again.add(folder)
            self._read(folder, self._sources[folder][1], thorough=True)

    def close(self) -> None:
        """Let go of all sources."""
        for _, source in self._sources.values():
            source.close()

    def _look_at_settings(self) -> None:
        signature = layout_signature(self._root)
        trouble = self._events.trouble
        if signature == self._signature and trouble == self._noted:
            return
        layout = _layout_of(self._root)
        self._signature = signature
        self._keep_sources(layout)
        self._events.watch([self._root, *(place.path for place in layout.places)])
        self._noted = self._events.trouble
        if self._noted is not None:
            layout = replace(layout, problems=(*layout.problems, _no_events(self._noted)))
        self._put_layout(layout)

    def _keep_sources(self, layout: Layout) -> None:
        before, self._sources = self._sources, {}
        unread: set[str] = set()
        for place in layout.places:
            known = before.pop(place.folder, None)
            if known is not None and self._zone == layout.zone and _same(known[0], place):
                self._sources[place.folder] = known
                unread |= self.unread & {place.folder}
                continue
            if place.log is not None:  # else there is nothing to be read
                unread.add(place.folder)
            if known is not None:
                known[1].close()
                self._begin_again.add(place.folder)
            self._sources[place.folder] = (place, self._new_source(place, layout))
        for _, source in before.values():
            source.close()
        self._zone = layout.zone
        self.unread = frozenset(unread)

    def _new_source(self, place: Place, layout: Layout) -> CellSource:
        """One that goes on from a checkpoint, if it fits; else from the beginning of the logs."""
        resumed = self._resumed.pop(place.folder, None)
        if resumed is not None and resumed.fits(place, layout.zone):
            return resumed
        if resumed is not None:  # whoever took up its rows has to forget them
            self._begin_again.add(place.folder)
        return CellSource(place, layout.root, layout.zone)

    def _read(self, folder: str, source: CellSource, *, thorough: bool) -> bool:
        while True:
            arrived = guarded(folder, source, thorough=thorough)
            thorough = False
            if arrived is not None and (failure := failure_of(arrived)) is not None:
                known, self._broken[folder] = self._broken.get(folder), failure
                goes_on = known == failure or self._put(arrived)
                self.unread -= {folder}
                return goes_on
            self._broken.pop(folder, None)
            # While its settings are broken nothing can be read: what is known of it stays.
            if folder in self._begin_again and self._sources[folder][0].log is not None:
                self._begin_again.discard(folder)
                arrived = arrived or Arrivals(folder)
                arrived = replace(arrived, restart=True, problems=arrived.problems or ())
            if arrived is None:
                self.unread -= {folder}
                return self._put_mark(folder, source)
            if not self._put(arrived):
                return False
            # What is written from now on is hinted at; only what begins again is looked at twice.
            if not arrived.more and not arrived.restart:
                self.unread -= {folder}
                return self._put_mark(folder, source)

    def _put_mark(self, folder: str, source: CellSource) -> bool:
        if folder not in self.asked or self._write is None:
            return True
        self.asked.discard(folder)
        try:
            return self._put(Arrivals(folder, mark=self._write(source)))
        except (TypeError, AttributeError, ValueError):
            return True  # such a source cannot be kept; its logs will be read again


def _same(before: Place, after: Place) -> bool:
    return (before.path, before.settings, before.log) == (after.path, after.settings, after.log)


def _layout_of(root: Path) -> Layout:
    try:
        return read_layout(root)
    except OSError as error:
        what = f"the bench cannot be read: {error.strerror or error}"
        problem = Problem("error", what, "make the folder readable; it is tried again")
        return Layout(root, BenchToml(), UTC, (), (), (problem,))


def _no_events(why: str) -> Problem:
    return Problem(
        "note",
        f"no change events from this bench ({why}); its files are looked at every few seconds",
        "nothing needs to be done; new rows show a little later",
    )


_BROKEN = "reading its logs failed: "


def failure_of(arrived: Arrivals) -> str | None:
    """How reading failed, if it did."""
    told = (problem.what for problem in arrived.problems or ())
    return next((what for what in told if what.startswith(_BROKEN)), None)


def guarded(folder: str, source: CellSource, *, thorough: bool) -> Arrivals | None:
    """What a source reads, or an arrival that says how it failed."""
    try:
        return source.read(thorough=thorough)
    except Exception as error:  # noqa: BLE001 - one broken source must not end the others' watch
        return Arrivals(
            folder,
            problems=(
                Problem(
                    "error",
                    f"{_BROKEN}{type(error).__name__}: {error}",
                    "report this with the log file; the other cells go on",
                    folder,
                ),
            ),
        )
