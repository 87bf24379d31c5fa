"""The tables of a journal file: how they are made, guarded against change, written and read."""

import json
import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tui.journal.acts import Act
from tui.journal.details import details_of, with_details
from tui.journal.entries import Entry

SCHEMA = 1
"""Version of the tables, kept in the file."""

APPLICATION = 0x706F7265
"""Marks the file as ours: "pore"."""

_BUSY_S = 10.0
"""How long to wait while another program writes. [s]"""

_TABLES = f"""
CREATE TABLE entry (
    number     INTEGER PRIMARY KEY AUTOINCREMENT,
    held_at    REAL NOT NULL,
    entered_at REAL NOT NULL,
    who        TEXT NOT NULL,
    host       TEXT NOT NULL,
    client     TEXT,
    cell       TEXT NOT NULL,
    test       TEXT,
    kind       TEXT NOT NULL,
    text       TEXT NOT NULL,
    details    TEXT NOT NULL
);
CREATE TRIGGER entries_stay BEFORE UPDATE ON entry
    BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER entries_remain BEFORE DELETE ON entry
    BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
CREATE TRIGGER entries_are_new BEFORE INSERT ON entry
    WHEN EXISTS (SELECT 1 FROM entry WHERE number = NEW.number)
    BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
PRAGMA application_id = {APPLICATION};
PRAGMA user_version = {SCHEMA};
"""

_COLUMNS = "number, held_at, entered_at, who, host, client, cell, test, kind, text, details"


class JournalError(Exception):
    """A journal that cannot be used; the message says which, why and what to do."""


def open_to_read(path: Path) -> sqlite3.Connection:
    """Open an existing journal without ever changing it.

    Raises:
        JournalError: it was written by a newer version or is not a journal.
        sqlite3.Error: it is no database, is damaged or cannot be opened.
    """
    address = path.absolute().as_uri()
    try:
        # "rw" never creates a file, and unlike "ro" it can tidy up after a program that was
        # killed while it wrote.
        connection = _connect(f"{address}?mode=rw")
    except sqlite3.OperationalError:
        # A write-ahead log wants its lock file even for reading; where the folder is read-only
        # and no program writes, the database file alone is complete.
        if _log_of(path).exists():
            raise
        connection = _connect(f"{address}?mode=ro&immutable=1")
    try:
        _recognise(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def open_to_write(path: Path, *, ahead: bool) -> sqlite3.Connection:
    """Open a journal, and make it if it is not there.

    Args:
        ahead: whether to keep a write-ahead log, with which readers never wait for a writer; it
            does not work across hosts.
    """
    connection = sqlite3.connect(path, timeout=_BUSY_S, isolation_level=None)
    try:
        try:
            connection.execute(f"PRAGMA journal_mode = {'WAL' if ahead else 'DELETE'}").fetchone()
        except sqlite3.OperationalError as error:
            if not str(getattr(error, "sqlite_errorname", "")).startswith(
                ("SQLITE_BUSY", "SQLITE_LOCKED")
            ):
                raise
            # Another program is at work here, and has chosen the mode already.
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("BEGIN IMMEDIATE")
        if not _recognise(connection):
            for statement in _statements(_TABLES):
                connection.execute(statement)
        connection.execute("COMMIT")
    except BaseException:
        connection.close()
        raise
    return connection


def newest(connection: sqlite3.Connection) -> int:
    """Number of the newest entry; as entries only come on top it tells whether one came."""
    if not _recognise(connection):
        return 0
    (found,) = connection.execute("SELECT max(number) FROM entry").fetchone()
    return int(found or 0)


def append_all(connection: sqlite3.Connection, entries: Sequence[Entry]) -> tuple[int, ...]:
    """Write entries in one go, all or none, and give their numbers in this file."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        numbers = tuple(_append(connection, entry) for entry in entries)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return numbers


def _append(connection: sqlite3.Connection, entry: Entry) -> int:
    act = entry.act
    cursor = connection.execute(
        "INSERT INTO entry (held_at, entered_at, who, host, client, cell, test, kind, text, "
        "details) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            act.held_at,
            act.entered_at,
            _storable(act.who),
            _storable(act.host),
            None if entry.client is None else _storable(entry.client),
            _storable(act.cell),
            None if act.test is None else _storable(act.test),
            _storable(act.kind),
            _storable(act.text),
            json.dumps(details_of(entry)),
        ),
    )
    number = cursor.lastrowid
    if number is None:  # pragma: no cover - SQLite names the row that it has just written
        raise JournalError("the entry got no number")
    return number


def read_from(connection: sqlite3.Connection, first: int, number: int) -> tuple[Entry, ...]:
    """Every entry from a number on, in the order in which it was entered.

    Args:
        first: added to the numbers of this file.
        number: in this file.
    """
    if not _recognise(connection):
        return ()
    rows = connection.execute(
        f"SELECT {_COLUMNS} FROM entry WHERE number >= ? ORDER BY number", (number,)
    ).fetchall()
    try:
        return tuple(_entry(row, first) for row in rows)
    except (TypeError, ValueError, AttributeError) as error:
        raise JournalError(f"an entry is damaged ({error})") from error


def _entry(row: tuple[Any, ...], first: int) -> Entry:
    number, held_at, entered_at, who, host, client, cell, test, kind, text, details = row
    return with_details(
        Act(
            entry=first + number,
            kind=str(kind),
            cell=str(cell),
            test=test,
            held_at=float(held_at),
            entered_at=float(entered_at),
            who=str(who),
            host=str(host),
            text=str(text),
        ),
        client,
        _details(details),
    )


def _details(written: str) -> dict[str, Any]:
    try:
        found = json.loads(written)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


def _connect(address: str) -> sqlite3.Connection:
    # One connection serves the thread that reads and the one that shows; the journal's lock
    # sees to it that they take turns.
    connection = sqlite3.connect(
        address, uri=True, timeout=_BUSY_S, isolation_level=None, check_same_thread=False
    )
    try:
        connection.execute("PRAGMA query_only = ON")
        connection.execute("PRAGMA schema_version").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _recognise(connection: sqlite3.Connection) -> bool:
    """Whether the tables are there; False for a file that is still empty."""
    # All three are asked of one moment: another program may be making the tables right now.
    alone = not connection.in_transaction
    if alone:
        connection.execute("BEGIN")
    try:
        (application,) = connection.execute("PRAGMA application_id").fetchone()
        (schema,) = connection.execute("PRAGMA user_version").fetchone()
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    finally:
        if alone and connection.in_transaction:
            connection.execute("COMMIT")
    if application == APPLICATION and schema == SCHEMA:
        return True
    if application == APPLICATION and schema > SCHEMA:
        raise JournalError(
            f"it was written by a newer version of the program (its tables are version {schema}, "
            f"this program knows {SCHEMA}); update this program"
        )
    if tables:
        raise JournalError("it is a database of something else")
    return False


def _statements(script: str) -> list[str]:
    """One by one, because `executescript` would end the transaction that keeps others out."""
    found, text = [], ""
    for line in script.splitlines():
        text += line + "\n"
        if sqlite3.complete_statement(text):
            found.append(text)
            text = ""
    return [statement for statement in found if statement.strip()]


def _storable(text: str) -> str:
    """What SQLite can keep: file names may hold bytes that are no text."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _log_of(path: Path) -> Path:
    return path.with_name(path.name + "-wal")
