"""The last lines: what is wrong with the bench, what nobody watches, and the keys that matter."""

from rich.cells import cell_len

from tui.bench.picture import Bench
from tui.ink.sheet import Line, Piece, Sheet, clip
from tui.panes.keys import (
    ACT_KEYS,
    ALARM_KEYS,
    ANSWER_KEYS,
    FOCUS_KEYS,
    KEYS,
    Keys,
    keys_lines,
    wall_keys,
)
from tui.panes.lanes import lanes
from tui.panes.pane import Pane, TimelessPane, View, picked_cell, since_frozen
from tui.words import (
    SAFETY,
    duty_words,
    kind_words,
    not_judged,
    plain,
    problem_words,
    raised,
    sanitise,
)

Told = tuple[str, str]


def complaints(bench: Bench | None, view: View) -> list[Told]:
    """What to say in a line that appears only when there is something: text and ink."""
    found: list[Told] = []
    if bench is not None and (fresh := since_frozen(bench, view)):
        first = f"{sanitise(fresh[0].cell, 24)} {kind_words(fresh[0].alarm)}"
        more = f" and {len(fresh) - 1} more" if len(fresh) > 1 else ""
        found.append((f"▲ new since FROZEN: {first}{more}; f lets it go on", "alarm"))
    if view.trouble:
        found.append((f"the last look failed: {sanitise(view.trouble)}", "bad"))
    if bench is None:
        return found
    worst_first = sorted(
        bench.problems, key=lambda p: ("error", "warning", "note").index(p.severity)
    )
    shown = {cell.folder for cell in lanes(bench, view)}
    hidden = [
        sanitise(cell.cell, 24)
        for cell in bench.cells
        if cell.folder not in shown
        and any(a.counts and a.priority == "urgent" for a in cell.alarms)
    ]
    if hidden:
        cells = ", ".join(hidden[:3]) + (f" and {len(hidden) - 3} more" if hidden[3:] else "")
        found.append((f"▲ urgent, not shown: {cells}; / and escape show all", "alarm"))
    found += [(problem_words(p), "bad" if p.severity == "error" else "warn") for p in worst_first]
    if bench.not_adopted:
        names = ", ".join(sanitise(name, 60) for name in bench.not_adopted)
        found.append((f"not adopted: {names}", "warn"))
    return [(plain(text, view.manner), ink) for text, ink in found]


class ComplaintsPane(TimelessPane):
    """One line that is there only when something is wrong with the bench or the look at it."""

    follows_focus = False

    def of_bench(self, bench: Bench) -> object:
        """What is wrong."""
        return complaints(bench, self.view)

    def draw(self, width: int, height: int) -> list[Line]:
        """All of it on one line; what came first stays longest."""
        sheet = Sheet(width, height)
        found = complaints(self.bench, self.view)
        place, more = 0, self.view.signs.more
        for i, (text, ink) in enumerate(found):
            left = len(found) - i - 1
            tail = f" (+{left})" if left else ""
            last = place + cell_len(text) + 3 + len(found[i + 1][0] if left else "") > width
            if last:
                end = sheet.put(place, 0, clip(text, width - place - len(tail), more), ink)
                sheet.put(end, 0, tail, "warn")
                break
            place = sheet.put(place, 0, text, ink) + 3
        return sheet.lines()


class StandingPane(Pane):
    """Who keeps the watch, and what this program does not do for you, said plainly."""

    follows_focus = False

    def of_moment(self, bench: Bench) -> object:
        """The words about the watch."""
        return duty_words(bench.guard)

    def of_bench(self, bench: Bench) -> object:
        """How many cells cannot be judged."""
        return _blind(bench)

    def draw(self, width: int, height: int) -> list[Line]:
        """One line."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None:
            return sheet.lines()
        pieces = []
        if view.said:
            pieces.append(Piece(f"{view.said}.", "key", 10))
        duty = "good" if bench.guard.on_duty else "warn"
        words = plain(f"watch: {duty_words(bench.guard)}", view.manner)
        pieces.append(Piece(words, duty, 9))
        unseen, blind = _blind(bench)
        if unseen:
            cells = _cells(unseen)
            told = plain(f"· no alarm can be judged in {cells}", view.manner)
            short = plain(f"· {cells} not judged", view.manner)
            least = plain(f"· {unseen} not judged", view.manner)
            pieces.append(Piece(told, "warn", 8, short=short, least=least))
        if blind:
            cells = _cells(blind)
            told = plain(f"· not every alarm can be judged in {cells}", view.manner)
            short = plain(f"· {blind if unseen else cells} partly not judged", view.manner)
            pieces.append(Piece(told, "dim", 7, short=short))
        pieces.append(Piece(plain(SAFETY, view.manner), "dim", 1, right=True))
        sheet.flow(0, 0, width, pieces, view.signs.more)
        return sheet.lines()


def _blind(bench: Bench) -> tuple[int, int]:
    """In how many cells no alarm can be judged, and in how many others not every one."""
    unseen = {cell.folder for cell in not_judged(bench)}
    partly = sum(1 for cell in bench.cells if cell.blind and cell.folder not in unseen)
    return len(unseen), partly


def _cells(count: int) -> str:
    return f"{count} cell{'' if count == 1 else 's'}"


_WITHOUT_CELLS = ("handover", "alarms", "help", "quit")
"""What keys do where there is no cell."""


class KeysPane(TimelessPane):
    """The few keys that matter."""

    def of_bench(self, bench: Bench) -> object:
        """Which keys matter."""
        return self.keys(bench)

    def keys(self, bench: Bench | None) -> Keys:
        """Those of the wall."""
        view = self.view
        if bench is not None and not bench.cells:
            return tuple(key for key in KEYS if key[1] in _WITHOUT_CELLS)
        return wall_keys(
            acts=view.acts, frozen=view.frozen is not None, moved=view.held_s is not None
        )

    def draw(self, width: int, height: int) -> list[Line]:
        """One line."""
        return keys_lines(self.keys(self.bench), width, height, self.view.manner)


class AlarmKeysPane(KeysPane):
    """Those where alarms are listed."""

    def keys(self, bench: Bench | None) -> Keys:
        """Key, what it does, how much that matters."""
        if bench is not None and not raised(bench):
            return tuple(key for key in ALARM_KEYS if key[0] in ("esc", "?"))
        return (*(ANSWER_KEYS if self.view.acts else ()), *ALARM_KEYS)


_PLOTS_FOR = {"plot": 2, "read off": 1, "zoom": 1}
"""How many plots there must be that a key does something."""


class FocusKeysPane(KeysPane):
    """Those where one cell has the whole screen."""

    def keys(self, bench: Bench | None) -> Keys:
        """Key, what it does, how much that matters; none that would do nothing."""
        cell = picked_cell(bench, self.view) if bench is not None else None
        plots = len(cell.plots) if cell is not None else 0
        found = [key for key in FOCUS_KEYS if plots >= _PLOTS_FOR.get(key[1], 0)]
        return (*found[:-2], *(ACT_KEYS if self.view.acts else ()), *found[-2:])
