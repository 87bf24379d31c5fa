"""What is said of gauges whose zero has moved: on the cell, and among the cautions of its test."""

from datetime import datetime, tzinfo

from tui.bench.zeros import ZeroMove
from tui.settings.channel_names import NUMERIC_CHANNELS
from tui.settings.problems import Problem

SHOWN = 5
"""Moves that are told one by one."""
_SYMBOLS = {"degC": "°C"}


def moved_words(moves: tuple[ZeroMove, ...], untold: int, zone: tzinfo) -> tuple[str, ...]:
    """What was put right, each in words.

    Args:
        moves: in the order of time.
        untold: how many more there are.
        zone: of the bench.
    """
    right = [move for move in moves if move.by != "doubt"]
    told = [_words(move, zone) for move in right[:SHOWN]]
    more = len(right) - len(told) + untold
    if right and more:
        told.append(f"and gauges moved {more} times more: look at the gauge and its log")
    return tuple(told)


def moved_problems(
    moves: tuple[ZeroMove, ...], untold: int, zone: tzinfo, cell: str, folder: str
) -> tuple[Problem, ...]:
    """The same as notes on the cell, and jumps that nobody has explained yet."""
    how = f"porewatch rebase {cell} CHANNEL --from TIME --to TIME"
    told = [
        Problem(
            "note",
            what,
            f"if it was flow, raise refill in cell.toml; if it took longer, say so: {how}",
            file=folder,
        )
        for what in moved_words(moves, untold, zone)
    ]
    doubts = [
        Problem(
            "note",
            f"{move.channel} jumped by {_amount(move)} at {_time(move.at, zone)} while pressures "
            "stood, as if its gauge had been refilled; it counts as flow",
            f"if it was a refill, say so: {how.replace('CHANNEL', move.channel)}; or give the "
            "channel a refill in cell.toml",
            file=folder,
        )
        for move in moves
        if move.by == "doubt"
    ]
    return (*told, *doubts[-SHOWN:])


def _words(move: ZeroMove, zone: tzinfo) -> str:
    at = _time(move.at, zone)
    since = "" if move.before is None else f" since the reading at {_time(move.before, zone)}"
    if move.by == "refill":
        gauge = "volume gauge" if move.channel == "back_volume" else "gauge of the cell volume"
        return (
            f"the {gauge} was refilled by {_amount(move)} at {at}, to judge by its jump while "
            f"pressures stood; what flowed{since} is not counted"
        )
    said = f" ({move.text})" if move.text else ""
    return (
        f"the zero of {move.channel} moved by {_amount(move)} at {at}, as entered in the "
        f"journal{said}; what changed{since} is not counted"
    )


def _amount(move: ZeroMove) -> str:
    unit = NUMERIC_CHANNELS[move.channel]
    return f"{move.size:+.4g} {_SYMBOLS.get(unit, unit)}".replace("-", "−", 1)


def _time(at: float, zone: tzinfo) -> str:
    return datetime.fromtimestamp(at, zone).strftime("%Y-%m-%d %H:%M:%S")
