"""What people do: one frozen value an act."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Act:
    """An entry of the journal."""

    entry: int
    """Its number in the journal."""
    kind: str
    """"mark", "rebase", "note", "close"; an undone entry is left out of what `advance` gets."""
    cell: str
    """Folder of the cell relative to the bench."""
    test: str | None
    """Id of the test that ran in the cell."""
    held_at: float
    """When it holds. [s since the epoch]"""
    entered_at: float
    """When it was entered. [s since the epoch]"""
    who: str
    host: str
    text: str = ""
    phase: str | None = None
    """Of a mark."""
    step: str | None = None
    """Of a mark."""
    until: float | None = None
    """End of a planned hold, or of the change that a rebase is about. [s since the epoch]"""
    channel: str | None = None
    """Of a rebase."""
    reads: float | None = None
    """Of a rebase: what the channel should read after it. [internal unit]"""
