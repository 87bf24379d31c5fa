"""What each act asks of a person, and the entry that comes of the answers.

The same questions are asked of the picture as the commands ask, and the same acts come of them.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from tui.bench.answering import (
    Answer,
    CannotAnswerError,
    TooLongError,
    answered,
    may_be_taken,
    to_be_answered,
)
from tui.bench.picture import Bench, Cell
from tui.journal.acts import Act
from tui.screens.moments import moment_meant
from tui.settings.channel_names import NUMERIC_CHANNELS
from tui.settings.phase_words import PHASE_STEPS
from tui.settings.quantities import RefusedError, read_quantity
from tui.words import Raised, kind_words, moment, sanitise

Answers = Mapping[str, str]


class NotYetError(Exception):
    """The answers do not make an entry yet; one line says what is missing or wrong."""


@dataclass(frozen=True, slots=True)
class Field:
    """One line to fill in."""

    name: str
    label: str
    value: str = ""
    hint: str = ""
    """Stands in it while it is empty."""
    choices: tuple[str, ...] = ()
    """One of these; any text where there are none."""


@dataclass(frozen=True, slots=True)
class Draft:
    """What the answers come to."""

    acts: tuple[Act, ...]
    says: str
    """In words, before it is entered."""
    sure: str = ""
    """What to think of before it is entered; it is asked for once more."""
    refers: int | None = None
    """The entry that is taken back."""
    resumes: bool = False
    """Whether a test that was ended goes on with it."""


@dataclass(frozen=True, slots=True)
class Form:
    """One act as a screen asks for it."""

    title: str
    about: str
    """What it concerns."""
    fields: tuple[Field, ...]
    draft: Callable[[Answers, Bench, float], Draft]
    """Answers, the picture, the moment of entry [s]; raises NotYetError."""


def cell_of(bench: Bench, folder: str, *, idle: bool = False) -> Cell:
    """The cell as it stands.

    Args:
        idle: whether it may be one in which no test runs.

    Raises:
        NotYetError: it is gone, or no test runs in it.
    """
    cell = next((one for one in bench.cells if one.folder == folder), None)
    if cell is None:
        raise NotYetError("this cell is not on the bench any more")
    if cell.idle and not idle:
        raise NotYetError(f"no test runs in {sanitise(cell.cell, 24)}")
    return cell


def same_test(bench: Bench, cell: Cell) -> Cell:
    """The cell of a form as it stands now: what was said of one test is not entered of the next.

    Raises:
        NotYetError: it is gone, or its test is.
    """
    own = cell_of(bench, cell.folder, idle=cell.idle)
    if own.test_id != cell.test_id:
        raise NotYetError(f"another test runs in {sanitise(own.cell, 24)} by now: begin anew")
    return own


def act_about(kind: str, cell: Cell, held_at: float, entered_at: float, text: str) -> Act:
    """An entry about a cell, before its person is known."""
    return Act(0, kind, cell.folder, cell.test_id, held_at, entered_at, "", "", text)


def _reason(answers: Answers) -> str:
    reason = answers["why"].strip()
    if not reason:
        raise NotYetError("say why: everybody reads it")
    return reason


def acknowledging(one: Raised, seen: Bench) -> Form:
    """A person knows of an alarm, as it was seen."""
    cell = cell_of(seen, one.folder, idle=True) if one.folder else None

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        acts = _answer(one, cell, "acknowledge", bench, now, answers["text"].strip())
        return Draft(acts, "You know of it and see to it; it stays until it clears.")

    words = Field("text", "words", hint="what you will do, or empty")
    return Form("Acknowledge", _alarm_words(one, cell), (words,), draft)


_SHELF_ENDS = ("for a time", "until it clears", "until the phase ends")


def shelving(one: Raised, seen: Bench) -> Form:
    """An alarm, as it was seen, is silenced for a while, with a reason."""
    cell = cell_of(seen, one.folder, idle=True) if one.folder else None

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        ends = answers["ends"]
        for_s = None
        if ends == _SHELF_ENDS[0]:
            try:
                for_s = read_quantity(answers["for"].strip(), "s")
            except RefusedError as error:
                raise NotYetError(f'for how long {error}; write such as "2 h"') from error
            if not for_s > 0:
                raise NotYetError('write for how long, such as "2 h"')
        reason = _reason(answers)
        end = {"until it clears": "cleared", "until the phase ends": "phase-end"}.get(ends)
        acts = _answer(one, cell, "shelve", bench, now, reason, for_s, end)
        latest = moment(acts[0].until, bench.zone, bench.at)
        until = latest if for_s is not None else f"{ends[6:]}, at the latest {latest}"
        return Draft(acts, f"Nobody is told of it until {until}; what is so then is raised again.")

    fields = (
        Field("ends", "how long", _SHELF_ENDS[0], choices=_SHELF_ENDS),
        Field("for", "for", "30 min", hint="such as 2 h"),
        Field("why", "why", hint="the reason, for all to read"),
    )
    return Form("Shelve", _alarm_words(one, cell), fields, draft)


def _alarm_words(one: Raised, cell: Cell | None) -> str:
    where = sanitise(one.cell, 24) if cell is None else cell_words(cell)
    return f"{where}: {kind_words(one.alarm)}. {sanitise(one.alarm.message, 200)}"


def _answer(
    one: Raised,
    cell: Cell | None,
    answer: Answer,
    bench: Bench,
    now: float,
    text: str,
    for_s: float | None = None,
    ends: str | None = None,
) -> tuple[Act, ...]:
    test = None if cell is None else same_test(bench, cell).test_id
    alarm = one.alarm
    try:
        found = to_be_answered(bench, one.folder, alarm.kind, alarm.about, answer)
        exactly = [other for other in found if other.about == alarm.about]
        return answered(
            exactly, answer, one.folder, test, bench.at, now, text, for_s=for_s,
            ends="cleared" if ends == "cleared" else "phase-end" if ends else None,
        )  # fmt: skip
    except (CannotAnswerError, TooLongError) as error:
        raise NotYetError(sanitise(str(error))) from error


def noting(cell: Cell) -> Form:
    """A remark about a cell."""

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        text = answers["text"].strip()
        if not text:
            raise NotYetError("write the note")
        at = gone_by(answers["when"], bench)
        return Draft(
            (act_about("note", same_test(bench, cell), at, now, text),),
            f"The note stands in the journal at {moment(at, bench.zone, bench.at)}.",
        )

    fields = (Field("text", "note", hint="what no logger can know"), WHEN)
    return Form("Note", cell_words(cell), fields, draft)


WHEN = Field("when", "from", hint="now; or 14:30, or 20 min ago")


def gone_by(written: str, bench: Bench) -> float:
    """A moment gone by, as it is written in a line.

    Raises:
        NotYetError: it is none.
    """
    try:
        return moment_meant(written, bench.at, bench.zone, ahead=False)
    except ValueError as error:
        raise NotYetError(str(error)) from error


def cell_words(cell: Cell) -> str:
    """The cell, its test and its specimen."""
    facts = (cell.cell, cell.test, cell.specimen, cell.test_id)
    return " · ".join(sanitise(fact, 40) for fact in facts if fact)


def marking(cell: Cell) -> Form:
    """A person says which phase a cell is in."""
    left_out = ("saturation", "consolidation") if cell.test == "UU" else ()
    choices = tuple(
        word
        for phase, steps in PHASE_STEPS.items()
        if phase not in left_out
        for word in (phase, *(f"{phase}/{step}" for step in steps))
    )
    phase = cell.phase
    here = "" if phase is None else f"{phase.name}/{phase.step}" if phase.step else phase.name

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        name, _, step = answers["phase"].partition("/")
        at = gone_by(answers["when"], bench)
        until = None
        if answers["until"].strip():
            try:
                until = moment_meant(answers["until"], bench.at, bench.zone, ahead=True)
            except ValueError as error:
                raise NotYetError(str(error)) from error
            if until <= at:
                raise NotYetError("the planned hold would end before it begins")
        own = same_test(bench, cell)
        usual = act_about("mark", own, at, now, answers["text"].strip())
        meant = name if step in ("", name) else f"{name}, step {step},"
        said = f"{sanitise(own.cell, 24)} is in {meant} from {_moment(at, bench)} on"
        planned = "" if until is None else f", planned until {_moment(until, bench)}"
        sure = "The test is over then, and alarms are judged no more." if name == "ended" else ""
        return Draft((replace(usual, phase=name, step=step or None, until=until),),
                     f"{said}{planned}.", sure)  # fmt: skip

    fields = (
        Field("phase", "phase", here if here in choices else choices[0], choices=choices),
        Field("until", "until", hint="18:00, or 2 h; else no hold"),
        WHEN,
        Field("text", "words", hint="may stay empty"),
    )
    return Form("Mark", cell_words(cell), fields, draft)


def _moment(at: float, bench: Bench) -> str:
    return moment(at, bench.zone, bench.at)


def target_of(cell: Cell) -> float | None:
    """The target of B, as the lane of its saturation draws it."""
    own = [one.target for one in cell.lane if one.phase == "saturation" and one.target is not None]
    return own[-1] if own else None


def taking(cell: Cell) -> Form:
    """An engineer takes a B below its target.

    Raises:
        NotYetError: there is none to be taken.
    """

    def found(cell: Cell) -> tuple[float, float]:
        target = target_of(cell)
        if target is None:
            raise NotYetError(f"{sanitise(cell.cell, 24)} has no target of B")
        try:
            taken = may_be_taken(cell, target)
        except CannotAnswerError as error:
            raise NotYetError(sanitise(str(error))) from error
        return taken.B, taken.target

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        own = same_test(bench, cell)
        b_value, target = found(own)
        act = act_about("accept", own, bench.at, now, _reason(answers))
        said = f"B = {b_value:.3f} is taken, target {target:g}; it goes into the report."
        sure = "This is the engineer's decision, and ends the alarms about saturation."
        return Draft((replace(act, phase="saturation"),), said, sure)

    b_value, target = found(cell)
    about = f"{cell_words(cell)}: B = {b_value:.3f}, target {target:g}"
    why = Field("why", "why", hint="the reason, for the report")
    return Form("Take B as it is", about, (why,), draft)


def rebasing(cell: Cell) -> Form:
    """A channel changed because its gauge was refilled, exchanged or set to zero.

    Raises:
        NotYetError: it has no channel that is read.
    """
    live = cell.live
    choices = tuple(
        name
        for name, unit in NUMERIC_CHANNELS.items()
        if getattr(live, f"{name}_{'C' if unit == 'degC' else unit}", None) is not None
    )
    if not choices:
        raise NotYetError(f"nothing is read of {sanitise(cell.cell, 24)} yet")

    def draft(answers: Answers, bench: Bench, now: float) -> Draft:
        since = gone_by(answers["when"], bench)
        until = gone_by(answers["to"], bench) if answers["to"].strip() else since
        if until < since:
            raise NotYetError("it would end before it began")
        channel, reads = answers["channel"], None
        if answers["reads"].strip():
            try:
                reads = read_quantity(answers["reads"], NUMERIC_CHANNELS[channel])
            except RefusedError as error:
                raise NotYetError(f"what it reads then {error}") from error
        act = act_about("rebase", same_test(bench, cell), since, now, answers["text"].strip())
        span = _moment(since, bench)
        if until > since:
            span += f" to {_moment(until, bench)}"
        goes = "it goes on from before" if reads is None else f"it then reads {answers['reads']}"
        named = channel.replace("_", " ")
        return Draft((replace(act, until=until, channel=channel, reads=reads),),
                     f"The change of {named}, {span}, is no flow or travel; {goes}.")  # fmt: skip

    wanted = "back_volume" if "back_volume" in choices else choices[0]
    fields = (
        Field("channel", "channel", wanted, choices=choices),
        WHEN,
        Field("to", "until", hint="it counts again; or as from"),
        Field("reads", "reads", hint='"0 ml" then; else as before'),
        Field("text", "words", hint="what was done to the gauge"),
    )
    return Form("Rebase", cell_words(cell), fields, draft)
