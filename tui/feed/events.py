"""The one door to watchdog: change events, as a hint to look earlier and nothing more."""

from collections.abc import Callable, Iterable
from pathlib import Path

from watchdog.events import (
    DirCreatedEvent,
    DirDeletedEvent,
    DirMovedEvent,
    FileCreatedEvent,
    FileDeletedEvent,
    FileModifiedEvent,
    FileMovedEvent,
    FileSystemEvent,
    FileSystemEventHandler,
)
from watchdog.observers import Observer
from watchdog.observers.api import BaseObserver, ObservedWatch

# Opening and reading are events too: our own would make us look for ever. They are not even asked
# for, because each one that we cause ourselves wakes three threads. Nor is closing: what was
# written has been told by then, also of a file that stays open.
_CHANGES: list[type[FileSystemEvent]] = [
    DirCreatedEvent,
    DirDeletedEvent,
    DirMovedEvent,
    FileCreatedEvent,
    FileDeletedEvent,
    FileModifiedEvent,
    FileMovedEvent,
]


class _Hints(FileSystemEventHandler):
    def __init__(self, folder: Path, hint: Callable[[Path], None]) -> None:
        self._folder = folder
        self._hint = hint

    def on_any_event(self, _event: FileSystemEvent) -> None:
        self._hint(self._folder)


class Events:
    """Watches folders, not what is below them; every failure only means that sweeping remains."""

    def __init__(self, hint: Callable[[Path], None]) -> None:
        self._hint = hint
        self._observer: BaseObserver | None = None
        self._watches: dict[Path, ObservedWatch] = {}
        self.trouble: str | None = None
        """Why no events come, from some folder or at all."""

    def start(self) -> None:
        """Begin; what fails is told by `trouble`."""
        try:
            observer = Observer()
            observer.start()
        except (OSError, RuntimeError) as error:
            self.trouble = str(error)
            return
        self._observer = observer

    def watch(self, folders: Iterable[Path]) -> None:
        """Watch these folders and no others."""
        if self._observer is None:
            return
        wanted = set(folders)
        for folder in set(self._watches) - wanted:
            try:
                self._observer.unschedule(self._watches.pop(folder))
            except (OSError, KeyError):
                continue  # the folder is gone, and its watch with it
        for folder in sorted(wanted - set(self._watches)):
            try:
                handler = _Hints(folder, self._hint)
                self._watches[folder] = self._observer.schedule(
                    handler, str(folder), event_filter=_CHANGES
                )
            except OSError as error:
                self.trouble = error.strerror or str(error)

    def stop(self) -> None:
        """End the observer's threads."""
        if self._observer is not None:
            self._observer.stop()
            self._observer.join(timeout=2.0)
            self._observer = None
