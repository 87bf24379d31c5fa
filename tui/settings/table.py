"""What every table of a settings file shares, and the plain values in it."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, Strict

from tui.settings.problems import has_hidden_letters, shown
from tui.settings.quantities import RefusedError

SHORTEST_DATE = len("2031-02-03")


class Table(BaseModel):
    """A table of a settings file: unknown keys are errors, values are fixed once read."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=False, allow_inf_nan=False
    )


def _name(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    if has_hidden_letters(value):
        raise RefusedError(
            f"is {shown(value)} with letters that do not show (control characters)",
            "write it again with plain letters, digits and signs",
        )
    if not value.strip():
        raise RefusedError("is empty", "write a name, or remove the key")
    return value.strip()


def _file_name(value: Any) -> Any:
    """A name that is also a part of a path: a cell in `CELL/T014`, a test in `tests/T014.toml`."""
    value = _name(value)
    if isinstance(value, str) and (value.startswith(".") or set(value) & set('/\\:*?"<>|')):
        raise RefusedError(
            f"is {shown(value)}, which cannot be part of a file name",
            r'write it without / \ : * ? " < > | and without a leading point',
        )
    return value


def read_moment(value: Any) -> Any:
    """A date with a time of day, from text or from TOML's own kind.

    Raises:
        RefusedError: it is neither, or the time of day is missing.
    """
    remedy = 'write date and time, such as "2031-02-03T08:10" (bench zone) or with an offset'
    if isinstance(value, datetime):
        return value
    if isinstance(value, date):
        raise RefusedError(f"is {shown(value)}, a date without a time of day", remedy)
    if not isinstance(value, str):
        raise RefusedError(f"is {shown(value)}, not a date with a time of day", remedy)
    text = value.strip()
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise RefusedError(f"is {shown(value)}, not a date with a time of day", remedy) from None
    if len(text) <= SHORTEST_DATE:
        raise RefusedError(f"is {shown(value)}, a date without a time of day", remedy)
    return moment


def _one_or_several(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else (value,)


Name = Annotated[str, BeforeValidator(_name)]
FileName = Annotated[str, BeforeValidator(_file_name)]
Moment = Annotated[datetime, BeforeValidator(read_moment)]
Number = Annotated[float, Strict()]
Count = Annotated[int, Strict(), Field(gt=0, le=1_000_000)]
OneOrSeveral = BeforeValidator(_one_or_several)


def mean(readings: Sequence[float]) -> float:
    """The mean of one or more readings."""
    return sum(readings) / len(readings)
