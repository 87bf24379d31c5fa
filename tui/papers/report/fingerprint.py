"""By what a report can be made again: version, settings, logs and acts, and one hash over them."""

import hashlib
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from tui.feed.folder_files import LogFolder
from tui.papers.report.said import Fact, Facts, Part, Remarks, Section, Table
from tui.papers.subject import Subject
from tui.settings.folders import BENCH_FILE, CELL_FILE, EARLIER_FOLDER
from tui.words import sanitise

DECIDING = ("mark", "rebase", "accept")
"""Entries of the journal that change numbers."""
SHOWN = 12
"""Letters of the hash at the foot of each page."""
_BLOCK = 1 << 20


def program_version() -> str:
    """Of this program."""
    try:
        return version("porewatch")
    except PackageNotFoundError:  # run from a checkout that was not installed
        return "not installed"


class Fingerprint:
    """Everything that the numbers of some tests rest on, as hashes."""

    def __init__(self, subjects: tuple[Subject, ...], choices: str) -> None:
        """Read the files.

        Args:
            subjects: the tests.
            choices: what was asked for beside the cells: moment, criterion, shape of the area.
        """
        self.choices = choices
        self.files = tuple(_files(subjects))
        acts = "\n".join(_acts(subjects))
        whole = [program_version(), choices, acts]
        whole += [f"{name} {size} {digest}" for name, size, digest in self.files]
        self.whole = hashlib.sha256("\n".join(whole).encode("utf-8", "replace")).hexdigest()

    @property
    def short(self) -> str:
        """What stands at the foot of each page."""
        return self.whole[:SHOWN]


def _files(subjects: tuple[Subject, ...]) -> Iterator[tuple[str, str, str]]:
    """Name from the bench on, bytes and hash of each settings file and log; each once."""
    seen: set[Path] = set()
    for subject in subjects:
        for path in _paths(subject):
            if path in seen:
                continue
            seen.add(path)
            size, digest = _digest(path)
            yield _named(path, subject.layout.root), size, digest


def _paths(subject: Subject) -> Iterator[Path]:
    place = subject.place
    yield subject.layout.root / BENCH_FILE
    yield place.path / CELL_FILE
    settings = place.settings
    if settings is not None and settings.test.id in place.earlier:
        yield place.path / EARLIER_FOLDER / f"{settings.test.id}.toml"
    log = settings.log if settings is not None else place.log
    if log is not None:
        logs = LogFolder(place.path, log, place.folder)
        logs.look()
        yield from logs.files


def _named(path: Path, root: Path) -> str:
    try:
        return path.relative_to(root).as_posix()
    except ValueError:
        return path.name


def _digest(path: Path) -> tuple[str, str]:
    """Size and SHA-256 of a file, or that there is none."""
    digest, size = hashlib.sha256(), 0
    try:
        with path.open("rb") as file:
            while block := file.read(_BLOCK):
                digest.update(block)
                size += len(block)
    except FileNotFoundError:
        return "–", "there is none"
    except OSError as error:
        return "–", f"cannot be read: {error.strerror}"
    return str(size), digest.hexdigest()


def _acts(subjects: tuple[Subject, ...]) -> Iterator[str]:
    for subject in subjects:
        for entry in subject.entries:
            act = entry.act
            if act.kind in DECIDING:
                yield (
                    f"{act.kind} {act.cell} {act.held_at!r} {act.until!r} {act.phase} {act.step} "
                    f"{act.channel} {act.reads!r} {act.text}"
                )


def reproduction(found: Fingerprint, command: str) -> Section:
    """How the report can be made again."""
    deciding = ", ".join(DECIDING)
    parts: tuple[Part, ...] = (
        Facts(
            (
                Fact("made by", f"Porewatch {program_version()}"),
                Fact("with", sanitise(command)),
                Fact("evaluated", sanitise(found.choices)),
                Fact("fingerprint", found.whole),
            )
        ),
        Remarks(
            (
                "The fingerprint is the SHA-256 of the program's version, of what was asked for, "
                f"of the journal's entries that change numbers ({deciding}), and of name, size and "
                "SHA-256 of every file below: with the same files the same program writes the "
                "same report.",
            )
        ),
        Table(
            "Files",
            ("file", "bytes", "SHA-256"),
            tuple((sanitise(name), size, digest) for name, size, digest in found.files),
            words=(0, 2),
        ),
    )
    return Section("How this report can be made again", parts)
