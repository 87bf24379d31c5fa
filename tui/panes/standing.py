"""The last lines: what is wrong with the bench, what nobody watches, and the keys that matter."""

from rich.cells import cell_len

from tui.bench.picture import Bench
from tui.ink.sheet import Line, Piece, Sheet, clip
from tui.panes.pane import TimelessPane, View
from tui.words import NOT_JUDGED, SAFETY, age, plain, problem_words, sanitise

Told = tuple[str, str]


def complaints(bench: Bench | None, view: View) -> list[Told]:
    """What to say in a line that appears only when there is something: text and ink."""
    found: list[Told] = []
    if view.trouble:
        found.append((f"the last look failed: {sanitise(view.trouble)}", "bad"))
    if bench is None:
        return found
    worst_first = sorted(
        bench.problems, key=lambda p: ("error", "warning", "note").index(p.severity)
    )
    found += [(problem_words(p), "bad" if p.severity == "error" else "warn") for p in worst_first]
    if bench.not_adopted:
        names = ", ".join(sanitise(name, 60) for name in bench.not_adopted)
        found.append((f"not adopted: {names}", "warn"))
    return [(plain(text, view.manner), ink) for text, ink in found]


def guard_words(bench: Bench, view: View) -> str:
    """Whether somebody keeps the night watch."""
    guard = bench.guard
    if not guard.on_duty:
        return "guard off duty"
    host = f" on {sanitise(guard.host, 30)}" if guard.host else ""
    beat = f", beat {age(guard.beat_age_s)} ago" if guard.beat_age_s is not None else ""
    return plain(f"guard on duty{host}{beat}", view.manner)


class ComplaintsPane(TimelessPane):
    """One line that is there only when something is wrong with the bench or the look at it."""

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


class StandingPane(TimelessPane):
    """What this program does not do for you, said plainly."""

    def draw(self, width: int, height: int) -> list[Line]:
        """One line."""
        sheet = Sheet(width, height)
        bench, view = self.bench, self.view
        if bench is None:
            return sheet.lines()
        pieces = []
        if any(cell.blind for cell in bench.cells):
            pieces.append(Piece(f"{NOT_JUDGED};", "warn", 9))
        pieces.append(
            Piece(guard_words(bench, view), "warn" if not bench.guard.on_duty else "good", 8)
        )
        pieces.append(Piece(plain(SAFETY, view.manner), "dim", 1, right=True))
        sheet.flow(0, 0, width, pieces, view.signs.more)
        return sheet.lines()


KEYS: tuple[tuple[str, str, int], ...] = (
    ("↑↓", "cell", 7), ("enter", "whole", 6), ("tab", "plot", 5), ("+ −", "time", 4),
    ("u", "units", 3), ("?", "help", 9), ("q", "quit", 8),
)  # fmt: skip


class KeysPane(TimelessPane):
    """The few keys that matter."""

    def draw(self, width: int, height: int) -> list[Line]:
        """One line."""
        sheet = Sheet(width, height)
        pieces = [
            Piece(plain(f"{key} {what} ", self.view.manner), "dim", weight)
            for key, what, weight in KEYS
        ]
        sheet.flow(0, 0, width, pieces, self.view.signs.more)
        for key, what, _ in KEYS:
            text = plain(f"{key} {what} ", self.view.manner)
            start = "".join(sheet.signs[0]).find(text.strip()) if sheet.height else -1
            for x in range(max(0, start), start + len(plain(key, self.view.manner))):
                sheet.inks[0][x] = "key"
        return sheet.lines()
