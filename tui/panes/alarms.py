"""What is raised in all cells: a list, the most pressing first, and one of them in full."""

from rich.cells import cell_len

from tui.bench.picture import Bench
from tui.ink.sheet import Line, Piece, Sheet, clip, wrap
from tui.panes.pane import Pane, ScrollingPane, View, picked_alarm
from tui.words import (
    Raised,
    age,
    alarm_ink,
    kind_words,
    kinds_words,
    local,
    message,
    moment,
    not_judged,
    plain,
    priority_words,
    raised,
    sanitise,
    state_word,
    state_words,
)

_WIDE = 64
"""From here on there is room for the state in a column of its own, and for the message."""
_PRIORITY = 10
"""Cells of "▲ warning!"."""


def alarm_pieces(
    one: Raised, bench: Bench, view: View, width: int, names: int, kinds: int
) -> list[Piece]:
    """One line: priority, cell, what, state, age, message as far as there is room.

    Args:
        width: of the line.
        names: columns that the longest name of a cell takes.
        kinds: columns that the longest of the kinds takes.
    """
    alarm, manner = one.alarm, view.manner
    ink = alarm_ink(alarm)
    quiet = "dim" if ink == "dim" else "text"
    said = plain(kind_words(alarm), manner)
    old = plain(age(bench.at - alarm.since), manner)
    pieces = [
        Piece(priority_words(alarm, manner).ljust(_PRIORITY), ink, 10),
        Piece(plain(sanitise(one.cell, 12), manner).ljust(names), "strong", 9),
    ]
    if width < _WIDE:
        state = "" if alarm.state == "unacknowledged" else state_word(alarm)
        used = sum(cell_len(piece.text) + 1 for piece in pieces) + cell_len(old) + 1
        pieces += [
            Piece(clip(said, max(6, width - used), view.signs.more), quiet, 8),
            Piece(state, "dim", 4),
            Piece(old, "dim", 7, right=True),
        ]
        return pieces
    pieces += [
        Piece(said.ljust(kinds), quiet, 8),
        Piece(state_word(alarm).ljust(14), ink if alarm.counts else "dim", 7),
        Piece(f"{old:>11}", "dim", 6),
    ]
    used = sum(cell_len(piece.text) + 1 for piece in pieces)
    words = message(alarm.message, manner)
    pieces.append(Piece(clip(words, max(4, width - used), view.signs.more), quiet, 3))
    return pieces


class AlarmsPane(Pane):
    """The list of what is raised."""

    pointed = False
    """Whether one of them is in focus."""

    def of_moment(self, bench: Bench) -> object:
        """How old each of them is."""
        return [age(bench.at - one.alarm.since) for one in raised(bench)]

    def of_bench(self, bench: Bench) -> object:
        """What is raised, and what cannot be."""
        return raised(bench), [cell.cell for cell in not_judged(bench)]

    def draw(self, width: int, height: int) -> list[Line]:
        """Heading and as many as fit, around the one in focus."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None:
            return sheet.lines()
        found, more = raised(bench), view.signs.more
        room, chosen, left = height - 1, 0, 0
        if self.pointed:
            picked, left = picked_alarm(bench, view), 2
            chosen = found.index(picked) if picked is not None else 0
        first = max(0, min(chosen - room // 2, len(found) - room))
        hidden = len(found) - max(0, min(room, len(found)))
        sheet.title("Alarms", f"{hidden} more" if hidden else "", view.signs.rule, more)
        if not found:
            _put_nothing(sheet, bench, view)
        names = max((cell_len(sanitise(one.cell, 12)) for one in found), default=0)
        kinds = min(max((cell_len(kind_words(one.alarm)) for one in found), default=0), 34)
        for y, one in enumerate(found[first : first + max(0, room)], start=1):
            pieces = alarm_pieces(one, bench, view, width - left, names, kinds)
            sheet.flow(left, y, width - left, pieces, more)
            if self.pointed and first + y - 1 == chosen:
                sheet.put(0, y, view.signs.picked, "key")
        return sheet.lines()


def _put_nothing(sheet: Sheet, bench: Bench, view: View) -> None:
    """No alarm is no good news of a cell that is not judged."""
    end = sheet.put(1, 1, clip("nothing is raised", sheet.width - 1, view.signs.more), "dim")
    names = ", ".join(sanitise(cell.cell, 12) for cell in not_judged(bench))
    if names:
        words = plain(f"· not judged: {names}", view.manner)
        sheet.put(end + 1, 1, clip(words, sheet.width - end - 1, view.signs.more), "warn")


class AlarmListPane(AlarmsPane):
    """The same where one is in focus."""

    pointed = True


class AlarmPane(ScrollingPane):
    """The alarm in focus in full: what was read, why, what comes of it, what to do, by when."""

    def of_moment(self, bench: Bench) -> object:
        """Its age, and the day, for moments are told by it."""
        one = picked_alarm(bench, self.view)
        day = local(bench.at, bench.zone).date()
        return one and (age(bench.at - one.alarm.since), day, self._late(one, bench))

    def of_bench(self, bench: Bench) -> object:
        """The alarm."""
        return picked_alarm(bench, self.view), bench.zone

    @staticmethod
    def _late(one: Raised, bench: Bench) -> str:
        late_s = bench.at - one.alarm.announced_at - one.alarm.respond_s
        return f": {age(late_s)} late" if late_s > 0.0 else ""

    def draw(self, width: int, height: int) -> list[Line]:
        """All of it; it scrolls where it does not fit."""
        bench, view = self.bench, self.view
        one = picked_alarm(bench, view) if bench is not None else None
        if bench is None or one is None:
            return Sheet(width, height).lines()
        width -= 1  # of the scroll bar
        told = [
            (line, ink)
            for text, ink in self._told(one, bench)
            for line in wrap(plain(text, view.manner), width)
        ]
        sheet = Sheet(width, max(height, len(told) + 1))
        alarm = one.alarm
        title = f"{priority_words(alarm)} · {sanitise(one.cell, 24)} · {kind_words(alarm)}"
        sheet.title(plain(title, view.manner), "", view.signs.rule, view.signs.more)
        for y, (line, ink) in enumerate(told, start=1):
            sheet.put(0, y, line, ink)
        return sheet.lines()

    def _told(self, one: Raised, bench: Bench) -> list[tuple[str, str]]:
        alarm, zone, at = one.alarm, bench.zone, bench.at
        # In few lines only the first are in sight: what is the matter, and what to do.
        told = [
            (message(alarm.message, self.view.manner), "strong"),
            (f"do: {sanitise(alarm.action, 900)}", "text"),
        ]
        since = f"since {moment(alarm.since, zone, at)}, {age(at - alarm.since)}"
        ink = alarm_ink(alarm)
        told.append((f"{state_words(alarm, zone, at)} · {since}", {"alarm": "bad", "alert": "warn"}
                     .get(ink, ink)))  # fmt: skip
        if alarm.state == "unacknowledged":
            by = moment(alarm.announced_at + alarm.respond_s, zone, at)
            within = f"answer within {age(alarm.respond_s)}, by {by}"
            told.append((f"{within}{self._late(one, bench)}", "key"))
        told += [
            (f"cause: {sanitise(alarm.cause)}", "text"),
            (f"left alone: {sanitise(alarm.effect)}", "text"),
        ]
        if alarm.consequences:
            told.append((f"held back, as it follows from this: {kinds_words(alarm.consequences)}",
                         "dim"))  # fmt: skip
        if alarm.cells:
            told.append((f"cells: {', '.join(map(sanitise, alarm.cells))}", "text"))
        told.append((f"kind {sanitise(alarm.kind)}", "dim"))
        return told
