"""A whole AGS4 file of one or several tests, with all that its general groups must say."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from reduce.strength.specimens import Criterion
from tui.papers.exchange.ags4_dictionary import EDITION, GROUPS, TYPES, UNITS
from tui.papers.exchange.ags4_general import Handing
from tui.papers.exchange.ags4_groups import rows_of
from tui.papers.exchange.ags4_identity import (
    NOT_STATED,
    Codes,
    Identity,
    first_of,
    identities,
    projects_of,
    test_name,
)
from tui.papers.exchange.ags4_text import CONCATENATOR, DELIMITER, Row, ags4_bytes
from tui.papers.exchange.envelopes import Envelopes, envelope_with
from tui.papers.subject import Subject


class SeveralProjectsError(ValueError):
    """Tests of several projects; a file has one project (rule 13)."""


@dataclass(frozen=True, slots=True)
class Attached:
    """A file of readings that lies beside, under FILE/«set»/«name» (rule 20)."""

    file_set: str
    name: str
    written: datetime


class Ags4File(NamedTuple):
    """What is written, and what to fill in before it is handed on."""

    content: bytes
    notes: tuple[str, ...]


def ags4_file(
    subjects: Sequence[Subject],
    criterion: Criterion,
    envelopes: Envelopes,
    produced: datetime,
    program: str,
    attached: Mapping[str, Attached] | None = None,
) -> Ags4File:
    """The tests as one file.

    Args:
        subjects: tests that were reduced.
        criterion: what counts as failure.
        envelopes: of their sets.
        produced: the date of production, on the bench's clock.
        program: name and version of what wrote it.
        attached: by the subject's name, what lies beside; nothing else may be named.

    Raises:
        SeveralProjectsError: the tests are of several projects.
    """
    if len(projects := projects_of(subjects)) > 1:
        named = ", ".join(f"{project!r} ({test})" for project, test in projects.items())
        raise SeveralProjectsError(
            f"an AGS4 file holds one project, these tests are of {named}: export them apart"
        )
    codes, beside = Codes(), attached or {}
    known = identities(subjects, codes)
    rows: dict[str, list[Row]] = {
        "LOCA": _once("LOCA_ID", [one.location for one in known]),
        "SAMP": _once("SAMP_ID", [one.sample for one in known]),
    }
    for subject, identity in zip(subjects, known, strict=True):
        file = beside.get(subject.name)
        handing = Handing(
            subject,
            identity,
            criterion,
            envelope_with(subject.name, envelopes),
            None if file is None else file.file_set,
            codes,
        )
        for group, found in rows_of(handing).items():
            rows.setdefault(group, []).extend(found)
    rows["FILE"] = [_file(one, codes, program) for one in beside.values()]
    general, lacking = _general(subjects, produced, program)
    rows |= general
    rows["ABBR"] = _abbreviations(codes)
    used = [name for name in GROUPS if rows.get(name)] + ["TYPE", "UNIT"]
    headings = [heading for name in used for heading in GROUPS[name]]
    types = {heading.type for heading in headings}
    units = {heading.unit for heading in headings}
    rows["TYPE"] = [{"TYPE_TYPE": k, "TYPE_DESC": v} for k, v in TYPES.items() if k in types]
    rows["UNIT"] = [{"UNIT_UNIT": k, "UNIT_DESC": v} for k, v in UNITS.items() if k in units]
    return Ags4File(ags4_bytes(rows), (*lacking, *_notes(known)))


def _once(key: str, rows: Sequence[Row]) -> list[Row]:
    """One row a key, the first; what the first leaves open is taken from the others."""
    merged: dict[object, dict[str, Any]] = {}
    for row in rows:
        kept = merged.setdefault(row[key], dict(row))
        kept.update({name: value for name, value in row.items() if kept[name] is None})
    return list(merged.values())


def _notes(known: Sequence[Identity]) -> list[str]:
    return [note for one in known for note in one.notes]


def _file(file: Attached, codes: Codes, program: str) -> Row:
    return {
        "FILE_FSET": file.file_set,
        "FILE_NAME": file.name,
        "FILE_DESC": "Readings of the test, row by row, with what they come to",
        "FILE_TYPE": codes.code("FILE_TYPE", "CSV"),
        "FILE_PROG": program,
        "FILE_DOCT": codes.code("FILE_DOCT", "RAW"),
        "FILE_DATE": file.written,
    }


def _general(
    subjects: Sequence[Subject], produced: datetime, program: str
) -> tuple[dict[str, list[Row]], list[str]]:
    """PROJ and TRAN, and which of their required fields were not stated."""
    required = {
        "PROJ_ID": ("project", first_of(subjects, "project_id") or first_of(subjects, "project")),
        "TRAN_PROD": ("laboratory", first_of(subjects, "laboratory")),
        "TRAN_RECV": ("recipient", first_of(subjects, "recipient") or first_of(subjects, "client")),
    }
    lacking = [key for key, value in required.values() if value is None]
    stated = {name: value or NOT_STATED for name, (_, value) in required.items()}
    project: Row = {
        "PROJ_ID": stated["PROJ_ID"],
        "PROJ_NAME": first_of(subjects, "project"),
        "PROJ_LOC": first_of(subjects, "location"),
        "PROJ_CLNT": first_of(subjects, "client"),
        "PROJ_CONT": first_of(subjects, "contractor"),
        "PROJ_ENG": first_of(subjects, "engineer"),
    }
    transmission: Row = {
        "TRAN_ISNO": first_of(subjects, "issue") or "1",
        "TRAN_DATE": produced.date(),
        "TRAN_PROD": stated["TRAN_PROD"],
        "TRAN_STAT": "Draft",
        "TRAN_DESC": "Triaxial tests: " + ", ".join(test_name(one) for one in subjects),
        "TRAN_AGS": EDITION,
        "TRAN_RECV": stated["TRAN_RECV"],
        "TRAN_DLIM": DELIMITER,
        "TRAN_RCON": CONCATENATOR,
        "TRAN_REM": f"Written by {program}. A draft until it is signed. Text that begins as a "
        "formula does has an apostrophe in front",
    }
    notes = [
        f"[identity] states no {', '.join(lacking)}: written as {NOT_STATED}; fill that in "
        "before the file is handed on"
    ]
    return {"PROJ": [project], "TRAN": [transmission]}, notes if lacking else []


def _abbreviations(codes: Codes) -> list[Row]:
    meant = {("FILE_TYPE", "CSV"): "Comma separated values"}
    return [
        {
            "ABBR_HDNG": heading,
            "ABBR_CODE": code,
            "ABBR_DESC": meant.get((heading, code), means),
            "ABBR_LIST": f"AGS4 {EDITION}" if published else "the laboratory's own",
        }
        for (heading, code), (means, published) in sorted(codes.used.items())
    ]
