"""The words of a log's phase column, and the phases that they mean."""

from collections.abc import Sequence

from tui.feed.adopting.proposals import Doubt
from tui.feed.plain_text import plain, same_name
from tui.settings.phase_words import PHASE_WORDS

_BEGINNINGS = (
    ("setup/mount", ("mount",)),
    ("setup/flush", ("flu",)),
    ("setup/vented", ("vent", "vnt")),
    ("setup/hold", ("seat",)),
    ("saturation/b-check", ("chk", "check", "b-ch", "b ch", "bch", "skempton")),
    ("saturation/raise", ("raise",)),
    ("saturation/ramp", ("ramp",)),
    ("saturation/hold", ("hold",)),
    ("saturation", ("sat", "sätt", "mett")),
    ("consolidation/build-up", ("bup", "build")),
    ("consolidation", ("con", "kon")),
    ("shear/dock", ("dock",)),
    ("shear", ("shr", "she", "abscher", "skj", "cis")),
    ("setup", ("set", "einbau", "prep")),
    ("ended", ("end", "done", "fin", "slutt")),
)
"""How words of operators and loggers begin; common practice, no source."""


def phase_of(word: str) -> str | None:
    """The phase that a word of a log means; None if it may mean anything.

    Example:
        >>> phase_of("SAT"), phase_of("Saturation/raise"), phase_of("7b")
        ('saturation', 'saturation/raise', None)
    """
    spelt = same_name(word)
    if spelt in PHASE_WORDS:
        return spelt
    found = (phase for phase, begins in _BEGINNINGS if spelt.startswith(begins))
    return next(found, None)


def phases_of(words: Sequence[str]) -> tuple[dict[str, str], tuple[Doubt, ...]]:
    """`[log] phases` for the words that are not phases themselves, and what is open."""
    told = {word: phase_of(word) for word in words}
    known = {w: p for w, p in told.items() if p is not None and w != p}
    unknown = [plain(word, 20) for word, phase in told.items() if phase is None]
    if not unknown:
        return known, ()
    listed = ", ".join(f'"{word}"' for word in unknown[:4])
    more = f" and {len(unknown) - 4} more" if len(unknown) > 4 else ""
    return known, (
        Doubt(
            "log.phases",
            f"which phase {listed}{more} means",
            f'write phases = {{ "{unknown[0]}" = "saturation" }} and so on, or leave phase out',
        ),
    )
