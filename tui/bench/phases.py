"""Which phase a cell is in: marks first, else the log's own column, else the readings.

A mark sets the phase from its time on; what the readings do afterwards, or a new word of the log,
moves it on. A log column decides while it has words; the readings then tell only the step. What
another source says instead is kept beside it.
"""

from dataclasses import dataclass
from typing import Literal, get_args

from tui.bench.aims import Aims
from tui.bench.inference import Inference
from tui.bench.picture import Phase, PhaseName, PhaseSource, PhaseSpan
from tui.bench.readings import Reading
from tui.bench.steps import Begun
from tui.bench.twins import twin

PHASES: tuple[PhaseName, ...] = get_args(PhaseName)
STEPS: dict[PhaseName, tuple[str, ...]] = {
    "setup": ("mount", "flush", "vented", "hold"),
    "saturation": ("b-check", "raise", "hold", "ramp"),
    "consolidation": ("build-up", "drained"),
    "shear": ("dock", "shear"),
    "ended": (),
    "interrupted": (),
}
PATIENCE_S = 600.0
"""Sources that differ for longer than this contradict each other. [s]"""


@dataclass(frozen=True, slots=True)
class Mark:
    """A phase that a person has set."""

    held_at: float
    """From when it holds. [s]"""
    phase: PhaseName
    step: str | None = None
    until: float | None = None
    """The end of a planned hold. [s]"""


def phase_of(word: str) -> tuple[PhaseName, str | None] | None:
    """A word such as `saturation` or `saturation/b-check` as phase and step.

    Example:
        >>> phase_of("Saturation/b-check")
        ('saturation', 'b-check')
        >>> phase_of("lunch") is None
        True
    """
    name, step = (part.strip() for part in word.lower().partition("/")[::2])
    if name not in PHASES:
        return None
    return name, step if step in STEPS[name] else None


class Phases:
    """The phases of one cell, folded from its readings and from what people marked."""

    def __init__(self, aims: Aims, marks: tuple[Mark, ...] = ()) -> None:
        self.told = Inference(aims)
        """What holds: forced by marks and words."""
        self._free = Inference(aims) if marks else None
        self._marked = bool(marks)
        self._waiting = tuple(sorted(marks, key=lambda mark: mark.held_at))
        self._word: str | None = None
        self._differs_since: float | None = None
        self._contradiction: str | None = None
        self.unknown_words: tuple[str, ...] = ()
        """Words of the log's phase column that name no phase."""
        self._spans: tuple[tuple[Begun, ...], tuple[PhaseSpan, ...]] = (), ()
        """What had begun when the stretches were told last, and those."""

    def copy(self) -> "Phases":
        """An independent fold in the same state."""
        other = twin(self)
        other.told = self.told.copy()
        other._free = self._free.copy() if self._free else None
        return other

    def with_marks(self, marks: tuple[Mark, ...], until: float) -> "Phases":
        """The same fold under other marks; those that hold by its newest reading are the same.

        Args:
            marks: all of them.
            until: time of its newest reading. [s]
        """
        other = self.copy()
        if marks and other._free is None:
            other._free = other.told.copy()
        other._marked = bool(marks)
        later = [mark for mark in marks if mark.held_at > until]
        other._waiting = tuple(sorted(later, key=lambda mark: mark.held_at))
        return other

    def add(self, reading: Reading) -> None:
        """Follow one reading."""
        if reading.phase is not None and self._free is None:
            self._free = self.told.copy()
        self.told.add(reading)
        if self._free is not None:
            self._free.add(reading)
        self._obey_word(reading)
        self._obey_marks(reading)
        self._compare(reading)

    def _obey_word(self, reading: Reading) -> None:
        word = reading.phase
        if word is None or word == self._word:
            return
        found = phase_of(word)
        if found is None:
            if word not in self.unknown_words and len(self.unknown_words) < 20:
                self.unknown_words = (*self.unknown_words, word)
            return
        self._word = word
        self.told.pinned, self.told.step_pinned = True, found[1] is not None
        self.told.force(*found, reading, "log")

    def _obey_marks(self, reading: Reading) -> None:
        while self._waiting and self._waiting[0].held_at <= reading.time:
            mark, self._waiting = self._waiting[0], self._waiting[1:]
            self.told.pinned = self.told.step_pinned = False
            self.told.force(mark.phase, mark.step, reading, "marks")

    def _compare(self, reading: Reading) -> None:
        free = self._free
        if free is None or not free.spans:
            return
        mine, others = self.told.now, free.now.name
        says: Literal["the log", "the readings"] | None = None
        other_name: str = others
        word = phase_of(self._word) if self._word else None
        if mine.source != "log" and word is not None and word[0] != mine.name:
            says, other_name = "the log", word[0]
        elif mine.name not in (others, "interrupted"):
            says = "the readings"
        if says is None:
            self._differs_since = self._contradiction = None
            return
        if self._differs_since is None:
            self._differs_since = reading.time
        if reading.time - self._differs_since >= PATIENCE_S:
            self._contradiction = f"{says} say{'s' if says == 'the log' else ''} {other_name}"

    def marked_since(self, now: float) -> Mark | None:
        """The newest mark that holds by now and has no reading of its own yet."""
        due = [mark for mark in self._waiting if mark.held_at <= now]
        return due[-1] if due else None

    def far_ahead(self, now: float, by_s: float) -> Mark | None:
        """The last mark that holds only later than so many seconds from now."""
        far = [mark for mark in self._waiting if mark.held_at > now + by_s]
        return far[-1] if far else None

    @property
    def told_by_people(self) -> bool:
        """Whether marks or the log's own words decide, so that the readings need not."""
        return self.told.pinned or self._marked

    @property
    def spans(self) -> tuple[PhaseSpan, ...]:
        """All stretches so far; they follow each other without gaps."""
        begun = self.told.spans
        if begun is not self._spans[0]:
            ends = (*(later.start for later in begun[1:]), None)
            told = tuple(
                PhaseSpan(span.name, span.step, span.start, end, span.source)
                for span, end in zip(begun, ends, strict=True)
            )
            self._spans = begun, told
        return self._spans[1]

    @property
    def phase(self) -> Phase | None:
        """What the cell is doing; None before its first reading."""
        if not self.told.spans:
            return None
        now = self.told.now
        since, previous, source = _phase_beginning(self.told.spans)
        return Phase(now.name, now.step, since, now.start, previous, source, self._contradiction)


def _phase_beginning(spans: tuple[Begun, ...]) -> tuple[float, PhaseName | None, PhaseSource]:
    """Since when the last span's phase lasts, what was before, and who says so."""
    last = spans[-1]
    since = last.start
    for span in reversed(spans):
        if span.name != last.name:
            return since, span.name, last.source
        since = span.start
    return since, None, last.source
