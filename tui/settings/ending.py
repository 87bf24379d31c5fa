"""The test of a cell ends: its tables go to `tests/`, the hardware stays. Or it goes on after all.

Two files are written, each whole or not at all; no log is touched. Nothing is journalled here.
"""

import codecs
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, tzinfo
from pathlib import Path

from tui.settings import safe_write
from tui.settings.cell_toml import Test
from tui.settings.closing import CannotCloseError, Parted, part, rejoined
from tui.settings.document import Document, decode, parse_document, read_bytes
from tui.settings.places import Place
from tui.settings.problems import SettingsError
from tui.settings.zones import moment_s


class CannotEndError(Exception):
    """Why a test is not ended, or does not go on; one line."""


@dataclass(frozen=True, slots=True)
class Ended:
    """A test that was ended."""

    test_id: str
    at: float
    """[s since the epoch]"""


def running(place: Place) -> Test:
    """The test that runs in a cell.

    Raises:
        CannotEndError: there is none that could be ended.
    """
    if place.idle:
        raise CannotEndError(f"no test runs in {place.name}: its cell.toml describes none")
    if place.settings is None:
        raise CannotEndError(
            f"{place.folder}/cell.toml cannot be used: mend what porewatch check lists, then close"
        )
    if not place.settings.test.id:
        raise CannotEndError(
            f'{place.folder}/cell.toml names no test: add id = "…" to [test], then close'
        )
    return place.settings.test


def written_end(place: Place, zone: tzinfo) -> float | None:
    """When the running test ended, if its `cell.toml` says so. [s since the epoch]

    Raises:
        CannotEndError: no test runs that could be ended.
    """
    ended = running(place).ended
    return None if ended is None else moment_s(ended, zone)


def end_test(
    place: Place, zone: tzinfo, said: float | None, otherwise: Callable[[float | None], float]
) -> Ended:
    """End the running test; where `cell.toml` has no `ended`, it is written.

    Args:
        place: the cell.
        zone: of the bench.
        said: when it ended, as a person says. [s since the epoch]
        otherwise: when nobody says: gets the start of the test, gives its end. [s since the epoch]

    Raises:
        CannotEndError: it cannot be ended so; nothing was changed.
    """
    test = running(place)
    at = written_end(place, zone)
    if at is not None and said is not None and said != at:
        raise CannotEndError(
            f"{place.folder}/cell.toml says when {test.id} ended: leave --when out"
        )
    new = None
    if at is None:
        started = None if test.started is None else moment_s(test.started, zone)
        at = said if said is not None else otherwise(started)
        if started is not None and at <= started:
            raise CannotEndError(
                f"the test would end before it started ({place.folder}/cell.toml, test.started)"
            )
        moment = datetime.fromtimestamp(at, zone)
        new = moment.isoformat(timespec="auto" if moment.microsecond else "seconds")
    before, document = _read(place, place.path / "cell.toml", "cell.toml")
    try:
        parted = part(document, place.name, str(test.id), new)
    except CannotCloseError as error:
        raise CannotEndError(f"{document.file}: {error}") from error
    _write(place, _file(place, str(test.id)), parted, before)
    return Ended(str(test.id), at)


def resume_test(place: Place, test_id: str) -> None:
    """Let a test go on that was ended by mistake: its tables come back, without their `ended`.

    Raises:
        CannotEndError: they cannot; nothing was changed.
    """
    if not place.idle:
        raise CannotEndError(
            f"{place.folder}/cell.toml describes a test again: {test_id} stays closed"
        )
    earlier = _file(place, test_id)
    before, kept = _read(place, place.path / "cell.toml", "cell.toml")
    moved_bytes, moved = _read(place, earlier, f"tests/{test_id}.toml")
    try:
        text = rejoined(kept, moved, place.name, test_id)
    except CannotCloseError as error:
        raise CannotEndError(f"{moved.file}: {error}") from error
    try:
        if not safe_write.replace(place.path / "cell.toml", before, _encoded(text, before)):
            raise CannotEndError(
                f"{place.folder}/cell.toml changed in this moment; nothing was changed, try again"
            )
        if earlier.read_bytes() == moved_bytes:
            earlier.unlink()
    except OSError as error:
        raise CannotEndError(_unwritable(place, error)) from error


def _file(place: Place, test_id: str) -> Path:
    return place.path / "tests" / f"{test_id}.toml"


def _unwritable(place: Place, error: OSError) -> str:
    why = error.strerror or type(error).__name__
    return f"{place.folder} cannot be written: {why}; nothing was closed"


def _read(place: Place, path: Path, name: str) -> tuple[bytes, Document]:
    shown_as = f"{place.folder}/{name}"
    try:
        content = read_bytes(path, shown_as)
        return content, parse_document(*decode(content), shown_as=shown_as)
    except SettingsError as error:
        raise CannotEndError(f"{shown_as}: {error}") from error


def _encoded(text: str, before: bytes) -> bytes:
    """With the ends of lines and the mark that the file had; always UTF-8."""
    ends = text.replace("\n", "\r\n") if b"\r\n" in before else text
    mark = codecs.BOM_UTF8 if before.startswith(codecs.BOM_UTF8) else b""
    return mark + ends.encode("utf-8")


def _write(place: Place, earlier: Path, parted: Parted, before: bytes) -> None:
    made = False
    try:
        try:
            safe_write.create(earlier, _encoded(parted.moved, before))
            made = True
        except FileExistsError:
            if not _half_done(earlier, parted.moved):
                raise CannotEndError(
                    f"{place.folder}/tests/{earlier.name} exists already and is not overwritten: "
                    "give this test another id, or move that file away"
                ) from None
        kept = _encoded(parted.kept, before)
        if not safe_write.replace(place.path / "cell.toml", before, kept):
            if made:
                earlier.unlink()
            raise CannotEndError(
                f"{place.folder}/cell.toml changed in this moment; nothing was closed, try again"
            )
    except OSError as error:
        if made:
            earlier.unlink(missing_ok=True)
        raise CannotEndError(_unwritable(place, error)) from error


def _half_done(earlier: Path, moved: str) -> bool:
    """Whether an earlier close of this very test stopped between its two files."""
    try:
        there, wanted = tomllib.loads(earlier.read_text("utf-8-sig")), tomllib.loads(moved)
    except (OSError, ValueError):
        return False
    for tables in (there, wanted):
        if isinstance(tables.get("test"), dict):
            tables["test"].pop("ended", None)
    return there == wanted
