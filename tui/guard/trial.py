"""A real message through every route, to learn before the night whether it arrives."""

import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tui.bench.as_json import time_text
from tui.bench.clock import Clock
from tui.guard.announcements import Writer
from tui.guard.ledger import Ledger
from tui.guard.letters import trial_letter
from tui.guard.night import AlarmSettings
from tui.guard.post import Mailing, Post
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.store import Journal
from tui.settings.places import read_layout

PATIENCE_S = 60.0


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of one route."""

    route: str
    why: str | None
    """Why it failed; None if it worked."""
    last_worked: float | None
    """Before this. [s]"""


def try_routes(root: Path, clock: Clock, by: Writer) -> Iterator[Tried]:
    """Send a test by every route of the bench, all at once; each is told when its turn comes.

    Raises:
        JournalError: that it worked could not be journalled.
    """
    layout, alarms = read_layout(root), AlarmSettings(root)()
    name = layout.bench.name or root.resolve().name
    journal = Journal.open(root)
    try:
        worked = Ledger(
            entry.act for entry in journal.entries() if entry.act.kind == "notified"
        ).worked
        posts = [Post(route, lambda: None) for route in alarms.routes]
        for post in posts:
            now = clock.now()
            letter = trial_letter(name, post.route.name, time_text(now, layout.zone) or "")
            post.send(Mailing(letter, None, now), time.monotonic())
        until = time.monotonic() + PATIENCE_S
        for post in posts:
            taken: list[Mailing] = []
            while post.is_out and time.monotonic() < until:
                taken = post.taken(time.monotonic())
                if post.is_out:
                    time.sleep(0.02)
            why = "no answer came in time" if post.is_out else post.why
            if taken:
                now = clock.now()
                act = Act(
                    0, "notified", "", None, now, now, by.who, by.host, "test",
                    route=post.route.name,
                )  # fmt: skip
                journal.add_all([Entry(act)])
            yield Tried(post.route.name, why, worked.get(post.route.name))
    finally:
        journal.close()
