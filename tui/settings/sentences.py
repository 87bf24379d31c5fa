"""What the validation library found, in the words of somebody who fills in a settings file."""

from collections.abc import Iterator, Mapping
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from tui.settings.cell_toml import REFUSED_KINDS
from tui.settings.document import Document
from tui.settings.problems import Problem, clean, shown
from tui.settings.quantities import RefusedError, closest
from tui.settings.table import Table
from tui.settings.toml_lines import KeyPath

_EXAMPLES = {
    "diameter": '"50.0 mm"',
    "height": '"100.0 mm"',
    "kind": '"CU"',
    "load_cell": '"internal"',
    "thickness": '"0.30 mm"',
    "perimeter": '"78 mm"',
    "step": '"10 s"',
    "slots": "40",
    "first": '"0.1 min"',
    "ratio": "2.0",
    "at": '["6 s", "15 s"]',
    "name": '"main"',
    "feeds": '["C1", "C2"]',
    "to": '"env:POREWATCH_ROUTE_NIGHT"',
    "url": '"env:POREWATCH_HEARTBEAT"',
}
_WANTED = {
    "string": ("text", 'write it in quotation marks: "…"'),
    "int": ("a whole number", "write a whole number without quotation marks"),
    "float": ("a number", "write a bare number such as 2.0"),
    "bool": ("true or false", "write true or false, without quotation marks"),
    "tuple": ("a list", "write a list in square brackets: [ …, … ]"),
    "list": ("a list", "write a list in square brackets: [ …, … ]"),
    "dict": ("a table", "write a table: { key = value }"),
    "model": ("a table", "write a table: { key = value }"),
}
_BOUNDS = {
    "greater_than": ("gt", "it must be above"),
    "greater_than_equal": ("ge", "it must be at least"),
    "less_than": ("lt", "it must be below"),
    "less_than_equal": ("le", "it must be at most"),
}


def problems_of(error: ValidationError, model: type[Table], document: Document) -> list[Problem]:
    """Every finding of one validation as a problem with line, key and remedy."""
    found: list[Problem] = []
    told: set[KeyPath] = set()
    for details in error.errors(include_url=False):
        path = in_file(details["loc"], document.values, absent=details["type"] == "missing")
        # A value of two kinds (text or list) is refused once by each; one sentence will do.
        if details["type"] != "extra_forbidden" and path in told:
            continue
        told.add(path)
        found.append(_problem(details, path, model, document))
    return found


def _problem(
    details: ErrorDetails, path: KeyPath, model: type[Table], document: Document
) -> Problem:
    if details["type"].startswith("union_tag"):
        path = (*path, "kind")
    what, remedy = _sentence(details, path, model, document.values)
    return document.problem(path, what, remedy)


def in_file(location: tuple[str | int, ...], values: Any, *, absent: bool) -> KeyPath:
    """A location of the library without the steps that are not in the file.

    The library names the branch of a union and counts a single value as the first of a list.

    Args:
        location: as the library gives it.
        values: of the file.
        absent: whether the last step is a key that the file should have and has not.
    """
    path: KeyPath = ()
    for place, part in enumerate(location):
        is_last = place == len(location) - 1
        if isinstance(part, int):
            if not isinstance(values, list):
                continue
        elif not isinstance(values, Mapping) or (part not in values and not (is_last and absent)):
            continue
        path = (*path, part)
        values = _step(values, part)
    return path


def _step(values: Any, part: str | int) -> Any:
    if isinstance(part, int):
        return values[part] if isinstance(values, list) and part < len(values) else None
    return values.get(part) if isinstance(values, Mapping) else None


def _value_at(path: KeyPath, values: Any) -> Any:
    for part in path:
        values = _step(values, part)
    return values


def _name(path: KeyPath) -> str:
    """The last key, with the place in a list: `diameter#2`."""
    names = [place for place, part in enumerate(path) if isinstance(part, str)]
    if not names:
        return "it"
    return "".join(
        clean(part) if isinstance(part, str) else f"#{part + 1}" for part in path[names[-1] :]
    )


def _sentence(
    details: ErrorDetails, path: KeyPath, model: type[Table], values: dict[str, Any]
) -> tuple[str, str]:
    kind, context = details["type"], details.get("ctx", {})
    name, found = _name(path), shown(details["input"])
    cause = context.get("error")
    if isinstance(cause, RefusedError):
        return f"{name} {cause.what}", cause.remedy
    if kind == "missing":
        return _missing(path)
    if kind == "extra_forbidden":
        return _unknown_key(path, model, values)
    if kind == "literal_error":
        return _wrong_word(path, details["input"], _choices(str(context.get("expected", ""))))
    if kind == "union_tag_invalid":
        tags = tuple(part.strip(" '") for part in str(context.get("expected_tags", "")).split(","))
        return _wrong_word(path, _value_at(path, values), tags)
    if kind == "union_tag_not_found":
        return "the schedule has no kind", 'write { kind = "root", … } or log, strain, times, every'
    if kind in _BOUNDS:
        bound, words = _BOUNDS[kind]
        written = shown(_value_at(path, values))
        as_ratio = '; percent is written "15 %"' if context.get(bound) == 1 else ""
        return f"{name} is {written}", f"{words} {context.get(bound, 0):g}{as_ratio}"
    if kind == "finite_number":
        return f"{name} is {shown(_value_at(path, values))}", "write a finite number"
    if kind in ("too_short", "too_long"):
        if kind == "too_short" and "min_length" in context and context.get("actual_length") == 0:
            return f"{name} is an empty list", "write at least one value, or remove the key"
        return f"{name} is {found}, a list of another length", "write pairs: [[a, b], [c, d]]"
    if kind == "int_from_float":
        return f"{name} is {found}, not a whole number", "write a whole number such as 40"
    wanted = _WANTED.get(kind.split("_", maxsplit=1)[0])
    if wanted is not None:
        if wanted[0] == "a table" and len(path) == 1:
            return f"{name} is {found}, not a table", f"write a table: [{name}]"
        return f"{name} is {found}, not {wanted[0]}", wanted[1]
    return f"{name} is {found}, which cannot be used", "compare it with the description of the file"


def _missing(path: KeyPath) -> tuple[str, str]:
    name = _name(path)
    if len(path) == 1:
        return f"the table [{name}] is missing", f"add [{name}] with its keys"
    around = next(clean(str(part)) for part in reversed(path[:-1]) if isinstance(part, str))
    example = _EXAMPLES.get(str(path[-1]), '"…"')
    return f"{name} is missing in {around}", f"add {name} = {example}"


def _wrong_word(path: KeyPath, value: Any, choices: tuple[str, ...]) -> tuple[str, str]:
    name = _name(path)
    if path == ("test", "kind") and isinstance(value, str) and value in REFUSED_KINDS:
        return (
            f"kind is {shown(value)}, a test that porewatch does not reduce yet",
            "CU, CD and UU are reduced; this one is never treated as one of them",
        )
    near = closest(value, choices) if isinstance(value, str) else None
    hint = f'did you mean "{near}"? ' if near else ""
    written = ", ".join(choice if _is_number(choice) else f'"{choice}"' for choice in choices)
    return f"{name} is {shown(value)}", f"{hint}write one of: {written}"


def _is_number(text: str) -> bool:
    return text.lstrip("-").isdigit()


def _choices(expected: str) -> tuple[str, ...]:
    """The words of a list such as `'CU', 'CD' or 'UU'`."""
    parts = expected.replace(" or ", ", ").split(", ")
    return tuple(part.strip().strip("'") for part in parts if part.strip())


def _unknown_key(path: KeyPath, model: type[Table], values: dict[str, Any]) -> tuple[str, str]:
    name = clean(str(path[-1]))
    known = tuple(sorted(set(_keys_at(path[:-1], model, values))))
    near = closest(name, known)
    if near:
        remedy = f'did you mean "{near}"?'
    else:
        home = [table for table, keys in _tables(model) if path[-1] in keys and len(path) > 1]
        remedy = (
            f"it belongs into [{home[0]}]"
            if home
            else "remove it; known here: " + (", ".join(known) or "nothing")
        )
    where = f"[{clean(str(path[0]))}]" if len(path) == 2 else "there" if len(path) > 2 else "file"
    place = {"file": "the file has no key of that name", "there": "no such key is known there"}
    return f"{name} is unknown: {place.get(where, f'{where} has no such key')}", remedy


def _keys(model: type[Table]) -> Iterator[str]:
    for name, field in model.model_fields.items():
        yield field.alias or name


def _tables(model: type[Table]) -> Iterator[tuple[str, tuple[str, ...]]]:
    for name, field in model.model_fields.items():
        for table in _models_in(field.annotation):
            yield field.alias or name, tuple(_keys(table))


def _models_in(annotation: Any) -> Iterator[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    elif get_origin(annotation) is not Literal or get_origin(annotation) is Union:
        for part in get_args(annotation):
            yield from _models_in(part)


def _keys_at(path: KeyPath, model: type[Table], values: Any) -> Iterator[str]:
    """Keys that are known in the table at a path."""
    models = [model]
    for part in path:
        values = _step(values, part)
        if isinstance(part, int):
            continue
        following = [
            found
            for one in models
            for name, field in one.model_fields.items()
            if (field.alias or name) == part
            for found in _models_in(field.annotation)
        ]
        # A table whose keys are free (log.channels) leads on to what it holds.
        models = following or models
    tagged = [one for one in models if _kind_of(one) == _step(values, "kind")]
    for one in tagged if len(models) > 1 and tagged else models:
        yield from _keys(one)


def _kind_of(model: type[Table]) -> str | None:
    field = model.model_fields.get("kind")
    words = get_args(field.annotation) if field is not None else ()
    return str(words[0]) if len(words) == 1 else None
