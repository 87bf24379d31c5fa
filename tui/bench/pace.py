"""How far a level follows one reading: fast readings must not let it run after a slow move."""

MINUTE_S = 60.0


def followed(share: float, seconds: float) -> float:
    """The share of its distance by which a level follows a reading.

    Readings a minute apart or more count in full; closer ones in proportion, so that a second's
    creep of a ram or a regulator adds up instead of being forgotten row by row.

    Args:
        share: at readings a minute apart. [-]
        seconds: since the reading before. [s]

    Example:
        >>> followed(0.1, 300.0), round(followed(0.1, 6.0), 9)
        (0.1, 0.01)
    """
    return share * min(max(seconds, 0.0) / MINUTE_S, 1.0)
