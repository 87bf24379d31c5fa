"""Words of the command line for a rehearsal, read into an order."""

import math
from datetime import datetime

from reduce.errors import UnitError
from reduce.units import parse


class WrongOrderError(ValueError):
    """An order that cannot be carried out; one line says why and what would do."""


def read_start(text: str) -> datetime:
    """A time without offset, in the zone of the bench.

    Raises:
        WrongOrderError: it is none.
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise WrongOrderError(f"--start {text!r} is no time; write 2031-02-03T08:00") from None
    if not 1970 < moment.year < 9000:
        raise WrongOrderError(f"--start {text!r} is too far away to be meant")
    if moment.tzinfo is not None:
        raise WrongOrderError(
            "--start takes no offset: it is local to the bench, e.g. 2031-02-03T08:00"
        )
    return moment


def read_noise(factor: float) -> float:
    """Errors of the instruments over the usual. [-]

    Raises:
        WrongOrderError: it is no number.
    """
    if not math.isfinite(factor):
        raise WrongOrderError(f"--noise {factor} is no number; 1 is usual, 0 is perfect")
    return factor


def read_every(text: str) -> float:
    """A pace such as "10 s". [s]

    Raises:
        WrongOrderError: it is none, or shorter than a second.
    """
    try:
        seconds = parse(text, "s")
    except UnitError as error:
        raise WrongOrderError(f"--every: {error}") from None
    if seconds < 1.0:
        raise WrongOrderError(f'--every {text!r} is too short; rows come at most every "1 s"')
    return seconds
