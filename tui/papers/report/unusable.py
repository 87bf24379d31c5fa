"""A cell whose settings cannot be used: what is wrong with them, and what they say as written."""

from collections.abc import Iterator, Mapping
from typing import Any

from tui.papers.report.said import Fact, Facts, Part, Remarks, Section
from tui.papers.report.writing import text
from tui.papers.subject import Subject
from tui.settings.document import read_document
from tui.settings.folders import CELL_FILE
from tui.settings.problems import SettingsError
from tui.words import Manner, problem_words, sanitise

TABLES = ("test", "identity", "specimen", "plan")
"""Of a settings file: those that tell of the specimen."""


def as_written(subject: Subject) -> Mapping[str, Any]:
    """The tables of settings that cannot be used, unchecked; empty if they cannot even be read."""
    name = f"{subject.place.folder}/{CELL_FILE}"
    try:
        values = read_document(subject.place.path / CELL_FILE, name).values
    except SettingsError:
        return {}
    return {name: values[name] for name in TABLES if isinstance(values.get(name), dict)}


def unusable(subject: Subject, manner: Manner) -> Section:
    """Why nothing is computed, and the settings for whoever has to mend them."""
    parts: list[Part] = []
    if subject.why is not None:
        parts.append(Remarks((f"Nothing is reduced: {sanitise(subject.why)}",), "△"))
    problems = tuple(problem_words(one, manner) for one in subject.place.problems)
    if problems:
        parts.append(Remarks(problems, "△", "What is wrong with the settings"))
    written = tuple(_lines(as_written(subject)))
    if written:
        parts.append(Remarks(("As they are written, unchecked:",)))
        parts.append(Facts(written))
    return Section(f"Cell {sanitise(subject.place.name)}", tuple(parts))


def _lines(tables: Mapping[str, Any]) -> Iterator[Fact]:
    for table, values in tables.items():
        for key, value in values.items():
            yield Fact(f"{table}.{sanitise(key)}", text(value))
