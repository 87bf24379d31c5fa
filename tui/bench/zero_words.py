"""What is said of gauges whose zero has moved: on the cell, and among the cautions of its test.

Nobody knows what flowed while a gauge was moved; how much that may be is said, so that whoever
signs sees what it may cost.
"""

from datetime import datetime, tzinfo

from tui.bench.zeros import ZeroMove
from tui.settings.channel_names import NUMERIC_CHANNELS
from tui.settings.problems import Problem

SHOWN = 5
"""Moves that are told one by one."""
_SYMBOLS = {"degC": "°C"}


def moved_words(moves: tuple[ZeroMove, ...], untold: int, zone: tzinfo) -> tuple[str, ...]:
    """What was put right, and what was taken as flow though it may be none, each in words.

    Args:
        moves: in the order of time.
        untold: how many more there are.
        zone: of the bench.
    """
    right = [move for move in moves if move.by in ("refill", "person")]
    told = [_words(move, zone) for move in right[:SHOWN]]
    more = len(right) - len(told) + untold
    if more:
        told.append(f"and gauges moved {more} times more: look at the gauge and its log")
    return (*told, *(_doubt(move, zone) for move in _doubted(moves)), *_more_doubted(moves))


def moved_problems(
    moves: tuple[ZeroMove, ...], untold: int, zone: tzinfo, cell: str, folder: str
) -> tuple[Problem, ...]:
    """The same as notes on the cell, with what to do."""
    how = f"porewatch rebase {cell} CHANNEL --from TIME --to TIME"
    right = tuple(move for move in moves if move.by in ("refill", "person"))
    remedy = f"if it was flow, raise refill in cell.toml; if it took longer, say so: {how}"
    told = [(what, remedy) for what in moved_words(right, untold, zone)]
    for move in _doubted(moves):
        said = f"if it was a refill, say so: {how.replace('CHANNEL', move.channel)}"
        also = "; or give the channel a refill in cell.toml" if move.by == "doubt" else ""
        told.append((_doubt(move, zone), said + also))
    told += [(what, f"if they were refills, say so: {how}") for what in _more_doubted(moves)]
    return tuple(Problem("note", what, remedy, file=folder) for what, remedy in told)


def _doubted(moves: tuple[ZeroMove, ...]) -> tuple[ZeroMove, ...]:
    """Jumps that nobody has explained yet: the newest that are told one by one."""
    return tuple(move for move in moves if move.by in ("doubt", "flow"))[-SHOWN:]


def _more_doubted(moves: tuple[ZeroMove, ...]) -> tuple[str, ...]:
    more = sum(move.by in ("doubt", "flow") for move in moves) - SHOWN
    return (f"and {more} earlier jumps count as flow too",) if more > 0 else ()


def _words(move: ZeroMove, zone: tzinfo) -> str:
    at = _time(move.at, zone)
    since = "" if move.before is None else f" since the reading at {_time(move.before, zone)}"
    if move.by == "refill":
        return (
            f"{_gauge(move)} was refilled by {_amount(move)} at {at}, to judge by its jump while "
            f"pressures stood; what flowed{since} is not counted{_unknown(move)}"
        )
    said = f" ({move.text})" if move.text else ""
    return (
        f"the zero of {move.channel} moved by {_amount(move)} at {at}, as entered in the "
        f"journal{said}; what changed{since} is not counted{_unknown(move)}"
    )


def _doubt(move: ZeroMove, zone: tzinfo) -> str:
    jumped = f"{move.channel} jumped by {_amount(move)} at {_time(move.at, zone)}"
    if move.by == "doubt":
        return (
            f"{jumped} while pressures stood, as if its gauge had been refilled; it counts as flow"
        )
    return f"{jumped}, more than its refill; it was taken as flow, because it may as well be"


def _unknown(move: ZeroMove) -> str:
    """How much the change may be that is not counted."""
    if move.before is None:
        return ""
    if move.unknown is None:
        return "; how much that is cannot be told: too few readings before"
    return f"; at the pace before that is about {_in_unit(move.unknown, move, digits=2)}"


def _gauge(move: ZeroMove) -> str:
    return "the volume gauge" if move.channel == "back_volume" else "the gauge of the cell volume"


def _amount(move: ZeroMove) -> str:
    return _in_unit(move.size, move, digits=4)


def _in_unit(value: float, move: ZeroMove, *, digits: int) -> str:
    unit = NUMERIC_CHANNELS[move.channel]
    return f"{value:+.{digits}g} {_SYMBOLS.get(unit, unit)}".replace("-", "−", 1)


def _time(at: float, zone: tzinfo) -> str:
    return datetime.fromtimestamp(at, zone).strftime("%Y-%m-%d %H:%M:%S")
