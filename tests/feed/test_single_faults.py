"""Any one fault at any place, and looks at any moments: every good row is told once.

What is good is decided here without the feed: the rows that the made-up logger wrote whole and
that still stand in some file, or had been read before their file went away.
"""

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from random import Random
from unittest import mock

import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from one_cell_bench import OneCell, one_cell

ROWS = 24
START_S = 1927872000.0  # 2031-02-03T08:00Z
HEADER = "Time;Pc;u\n"
LOG = """
[log.channels]
cell_pressure = { column = "Pc", unit = "kPa" }
pore_pressure = { column = "u", unit = "kPa" }
"""


class Logger:
    """Writes rows into a cell's folder, while somebody looks now and then."""

    def __init__(self, cell: OneCell, chance: Random, encoding: str, ends: str) -> None:
        self.cell, self.chance = cell, chance
        self.encoding, self.ends = encoding, ends
        self.path = cell.folder / "log.csv"
        self.told_anew = True
        """Whether rows that no longer stand in a file are forgotten."""
        self.lost: set[int] = set()
        self.values: dict[int, float] = {}
        self.waiting: list[int] = []
        self.write("\ufeff" * (encoding == "utf-16-le" or chance.random() < 0.3) + HEADER)

    def bytes_of(self, text: str) -> bytes:
        return text.replace("\n", self.ends).encode(self.encoding)

    def write(self, text: str | bytes) -> None:
        """Append in two parts, with a look between them if it so happens."""
        raw = text if isinstance(text, bytes) else self.bytes_of(text)
        cut = self.chance.randrange(len(raw) + 1)
        for part in (raw[:cut], raw[cut:]):
            with self.path.open("ab") as log:
                log.write(part)
            self.perhaps_look()

    def perhaps_look(self) -> None:
        if self.chance.random() < 0.4:
            self.cell.read(thorough=self.chance.random() < 0.5)

    def text(self, number: int) -> str:
        minute, second = divmod(10 * number, 60)
        value = self.values.get(number, 100.0 + number)
        return f"2031-02-03 08:{minute:02d}:{second:02d};{value:.1f};{50.0 + number:.1f}\n"

    def rows(self, first: int, last: int) -> str:
        return "".join(map(self.text, range(first, last)))


Fault = Callable[[Logger, int], None]


def say(text: str | bytes) -> Fault:
    """Something stands between two rows."""
    return lambda logger, _: logger.write(text)


def torn(logger: Logger, at: int) -> None:
    """The logger was killed in mid-line and begins another line, having read again."""
    raw = logger.bytes_of(logger.text(at))
    logger.write(raw[: logger.chance.randrange(len(logger.bytes_of("2031-02-03 08:00:00;1")))])
    logger.write("\n")


def sent_twice(logger: Logger, at: int) -> None:
    logger.write(logger.rows(logger.chance.randrange(at), at))


def late(logger: Logger, at: int) -> None:
    """One row, or a few, come behind others that are newer."""
    logger.waiting = list(range(at, min(ROWS - 1, at + logger.chance.randint(1, 4))))


def marks(logger: Logger, at: int) -> None:
    """A row without any number: its time is used, its fields are listed."""
    mark = logger.chance.choice(["OVER", "---", "#N/A", "NaN", ""])
    logger.write(f"{logger.text(at).split(';', maxsplit=1)[0]};{mark};{mark}\n")


def other_ends(logger: Logger, _: int) -> None:
    if logger.encoding == "utf-8":
        logger.ends = "\r\n" if logger.ends == "\n" else "\n"


def old_code_page(logger: Logger, _: int) -> None:
    if logger.encoding == "utf-8":
        logger.write("Gerät 7; °C\n".encode("cp1252"))


def cut_short(logger: Logger, at: int) -> None:
    kept = logger.chance.randrange(at)
    whole = len(logger.bytes_of(logger.rows(kept, at)))
    os.truncate(logger.path, logger.path.stat().st_size - whole)
    logger.lost = set(range(kept, at))


def copied_over(logger: Logger, _: int) -> None:
    """The same content under another inode."""
    copy = shutil.copy(logger.path, logger.cell.root / "copy")
    Path(copy).replace(logger.path)


def saved_by_an_editor(logger: Logger, _: int) -> None:
    """Emptied and written again, perhaps with a look in between."""
    content = logger.path.read_bytes()
    logger.path.write_bytes(b"")
    logger.perhaps_look()
    logger.path.write_bytes(content)


def edited(logger: Logger, at: int) -> None:
    """One value is another now; nothing else has changed."""
    number = logger.chance.randrange(at)
    before = logger.bytes_of(logger.text(number))
    logger.values[number] = 900.0 + number
    content = logger.path.read_bytes()
    with logger.path.open("r+b") as log:
        log.write(content.replace(before, logger.bytes_of(logger.text(number))))
    logger.cell.read(thorough=True)  # behind new rows it would be seen by a report


def replaced(logger: Logger, at: int) -> None:
    """Another file stands there under the same name; its rows go on."""
    new = logger.cell.root / "new"
    new.write_bytes(logger.bytes_of(HEADER))
    if logger.chance.random() < 0.5:
        logger.path.unlink()  # so that the inode may be used again
        logger.perhaps_look()
    new.replace(logger.path)
    logger.lost = set(range(at))


def rotated(logger: Logger, _: int) -> None:
    older = logger.cell.folder / "log.1.csv"
    logger.path.rename(older)
    logger.perhaps_look()
    logger.write(HEADER)


def rotated_by_copy(logger: Logger, _: int) -> None:
    shutil.copy(logger.path, logger.cell.folder / "log.1.csv")
    logger.perhaps_look()
    logger.path.write_bytes(logger.bytes_of(HEADER))


def next_day(logger: Logger, _: int) -> None:
    logger.path = logger.cell.folder / "log-2031-02-04.csv"
    logger.write(HEADER)


def renamed(logger: Logger, _: int) -> None:
    logger.path = logger.path.rename(logger.cell.folder / "a other name.csv")


def away_for_a_while(logger: Logger, _: int) -> None:
    away = logger.path.rename(logger.cell.root / "away")
    for _look in range(3):
        logger.perhaps_look()
    away.rename(logger.path)


def deleted_once_read(logger: Logger, _: int) -> None:
    """The rows that were read stay, and another file goes on."""
    logger.cell.read()
    logger.path.unlink()
    logger.perhaps_look()
    logger.path = logger.cell.folder / "next.csv"
    logger.write(HEADER)


def locked_for_a_while(logger: Logger, _: int) -> None:
    """As a logger does that lets nobody else open its file while it writes."""
    open_it = Path.open

    def refuse(path: Path, mode: str = "r", buffering: int = -1) -> object:
        if path == logger.path and mode == "rb":
            raise PermissionError(13, "Permission denied")
        return open_it(path, mode, buffering)

    with mock.patch.object(Path, "open", refuse):
        for _look in range(2):
            logger.write(HEADER)
            logger.cell.read()


def touched(logger: Logger, _: int) -> None:
    os.utime(logger.path, ns=(7, 7))


def copied_aside(logger: Logger, _: int) -> None:
    shutil.copy(logger.path, logger.cell.folder / "copy of log.csv")


FAULTS: dict[str, Fault] = {
    "header again": say(HEADER),
    "header and units again": say(HEADER + ";kPa;kPa\n"),
    "blank lines": say("\n \n\n"),
    "NUL bytes": say("\0\0\0\0"),
    "NUL bytes and an end": say("\0" * 700 + "\n"),
    "huge line": say("x" * 70_000 + "\n"),
    "huge line of fields": say("2031-02-03 08:00:00" + ";1" * 40_000 + "\n"),
    "too many fields": say("2031-02-03 08:00:00;1;2;3;4\n"),
    "quotes": say('"2031-02-03;"";1\n'),
    "no time": say(";1;2\n"),
    "a mark of byte order": say("\ufeff"),
    "half a character": say(b"\xe2"),
    "bytes of no text": say(b"\xff\xfe\x81\x8d\x90\n\0"),
    "torn": torn,
    "sent twice": sent_twice,
    "late": late,
    "marks": marks,
    "other line ends": other_ends,
    "old code page": old_code_page,
    "cut short": cut_short,
    "copied over": copied_over,
    "saved by an editor": saved_by_an_editor,
    "edited": edited,
    "replaced": replaced,
    "rotated": rotated,
    "rotated by copy": rotated_by_copy,
    "next day": next_day,
    "renamed": renamed,
    "away for a while": away_for_a_while,
    "deleted once read": deleted_once_read,
    "locked for a while": locked_for_a_while,
    "touched": touched,
    "copied aside": copied_aside,
}
HARMS_THE_NEXT = {"half a character"}
"""What stands before the next row on its line: that row may be listed instead."""


def good(cell: OneCell) -> list[tuple[float, float, float]]:
    told = cell.told
    columns = (told.times, told.values["cell_pressure"], told.values["pore_pressure"])
    first = [row for row in zip(*columns, strict=True) if row[2] >= 50.0]
    return sorted(first)


@pytest.mark.parametrize("fault", FAULTS)
@seed(4)
@settings(max_examples=14, deadline=None, database=None)
@given(
    at=st.integers(1, ROWS - 3),
    chance=st.randoms(use_true_random=False),
    text=st.sampled_from([("utf-8", "\n"), ("utf-8", "\r\n"), ("utf-16-le", "\r\n")]),
)
def test_no_single_fault_costs_a_good_row(
    tmp_path_factory: pytest.TempPathFactory,
    fault: str,
    at: int,
    chance: Random,
    text: tuple[str, str],
) -> None:
    cell = one_cell(tmp_path_factory.mktemp("bench"), LOG)
    logger = Logger(cell, chance, *text)
    for number in range(ROWS):
        if number == at:
            FAULTS[fault](logger, at)
            logger.perhaps_look()
        if logger.waiting and number > logger.waiting[-1] + 1:
            for one in logger.waiting:
                logger.write(logger.text(one))
            logger.waiting = []
        if number not in logger.waiting:
            logger.write(logger.text(number))
    for one in logger.waiting:
        logger.write(logger.text(one))
    cell.read()
    numbers = [number for number in range(ROWS) if number not in logger.lost]
    expected = [
        (START_S + 10.0 * n, logger.values.get(n, 100.0 + n), 50.0 + n)
        for n in numbers
        if fault not in HARMS_THE_NEXT or n != at
    ]
    if fault in HARMS_THE_NEXT:
        assert [row for row in good(cell) if row[0] != START_S + 10.0 * at] == expected
    else:
        assert good(cell) == expected
