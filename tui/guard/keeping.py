"""One watch: looks, journals, tells, beats; whatever fails on the way is told, and it goes on.

Nothing is judged here: the picture is the only source. Each beat does the same steps in the same
order, and each step may fail for itself:

    look ─▶ taken becomes "notified" ─▶ facts journalled ─▶ what is due goes, by each route
         ─▶ duty.json ─▶ heartbeat

The journal is the outbox. What is due and has no "notified" is pending, so a watch that is killed
between any two steps loses nothing; a message that was taken in the moment before the kill may come
twice. Entries that the journal does not take are kept in memory, counted as if they stood there,
and offered again at every beat.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

from tui.bench.picture import Bench
from tui.guard.announcements import Subject, duties, facts, subjects
from tui.guard.company import next_bundle
from tui.guard.duty import Duty
from tui.guard.heartbeat import Heart
from tui.guard.kit import Kit
from tui.guard.ledger import WATCH, Ledger
from tui.guard.letters import letter_of
from tui.guard.post import Mailing, Post
from tui.guard.troubles import PATIENCE_S, Trouble, all_watched, is_watched, troubles_of
from tui.guard.when import Notice, due
from tui.journal.acts import WATCH_KINDS, Act
from tui.journal.entries import Entry
from tui.journal.location import shared_file
from tui.journal.store import Journal
from tui.journal.tables import JournalError
from tui.words.plain import sanitise

MOST_KEPT = 100_000
"""Entries kept in memory while no disk takes them; beyond it the oldest go."""


class _AwayError(JournalError):
    """The journal was there and is not: a share may come back soon."""


class Keeping:
    """The watch as it is kept by one process."""

    def __init__(self, kit: Kit, journal: Journal, duty: Duty, *, comes_back: bool = True) -> None:
        """Begin with what the journal says.

        Args:
            kit: what it is given.
            journal: of the bench.
            duty: taken already.
            comes_back: False for one look, after which nothing waits for company.
        """
        self._kit, self._journal, self._duty, self._comes_back = kit, journal, duty, comes_back
        self._ledger = Ledger(
            entry.act
            for entry in sorted(journal.entries(), key=lambda one: (one.act.entered_at, one.number))
            if entry.act.kind in WATCH_KINDS
        )
        self._unwritten: list[Act] = []
        self._had_journal = shared_file(kit.root).exists()
        self._known: dict[str, Subject] = {}
        self._posts: dict[str, Post] = {}
        self._heart: Heart | None = None
        self._own: dict[str, Trouble] = {}
        self.bench: Bench | None = None
        """The last picture."""

    def beat(self) -> None:
        """Do all steps once.

        Raises:
            LostError: another guard has the watch.
        """
        kit = self._kit
        tick = kit.ticks()
        self._settings()
        bench = self._look()
        for post in self._posts.values():
            self._taken(post, tick)
        if bench is not None:
            self._guarded("facts", lambda: self._facts(bench))
            for post in self._posts.values():
                self._guarded(f"telling by {post.route.name}", lambda p=post: self._tell(p, bench))  # type: ignore[misc]
        self._write(())
        self._duty.beat(kit.clock.now(), self._evaluated(bench))
        self._note(
            "duty",
            self._duty.refused
            and f"the file of the watch cannot be written ({self._duty.refused}): "
            "others cannot see that the watch is kept; make room, or make the folder writable",
            PATIENCE_S,
        )
        if self._heart is not None:
            self._heart.look(tick)
            fresh = bench is not None and not kit.following.waits and all_watched(bench)
            if fresh and "facts" not in self._own:
                self._heart.beat(tick)

    def enter(self, text: str) -> None:
        """A word about the watch itself: on duty, off duty."""
        now = self._kit.clock.now()
        self._write([Act(0, "duty", "", None, now, now, self._kit.by.who, self._kit.by.host, text)])

    def collect(self) -> None:
        """Journal what was taken meanwhile, and send nothing new."""
        tick = self._kit.ticks()
        for post in self._posts.values():
            self._taken(post, tick)
        if self._heart is not None:
            self._heart.look(tick)

    @property
    def is_busy(self) -> bool:
        """Whether a message or a beat is on its way."""
        beating = self._heart is not None and self._heart.is_out
        return beating or any(post.is_out for post in self._posts.values())

    @property
    def failing(self) -> tuple[str, ...]:
        """Lines about the routes whose last message was not taken."""
        return tuple(f"{post.route.name}: {post.why}" for post in self._posts.values() if post.why)

    def _settings(self) -> None:
        alarms = self._kit.alarms()
        routes = {route.name: route for route in alarms.routes}
        for name in set(self._posts) - set(routes):
            if not self._posts[name].is_out:
                del self._posts[name]
        for name, route in routes.items():
            known = self._posts.get(name)
            if known is None or (known.route != route and not known.is_out):
                self._posts[name] = Post(route, self._kit.wake)
        if alarms.heartbeat is None:
            self._heart = None
        elif self._heart is None or self._heart.settings != alarms.heartbeat:
            self._heart = Heart(alarms.heartbeat, self._kit.wake)

    def _look(self) -> Bench | None:
        """The picture; None while it cannot be made."""
        try:
            bench = self._kit.following.beat()
        except Exception as error:  # noqa: BLE001 - a failed look must not end the watch
            self._note(
                "look", f"the bench could not be looked at: {_fault(error)}; it is tried again"
            )
            # What stood before is still told to whoever was not told yet.
            return self.bench and replace(self.bench, at=self._kit.clock.now())
        self._note("look", None)
        self.bench = bench
        return bench

    def _facts(self, bench: Bench) -> None:
        now = self._kit.clock.now()
        found = facts(self._ledger, bench, self._kit.by, now, self._known)
        self._write(found)
        self._known.update((one.cell, one) for one in subjects(bench))
        troubles = [*troubles_of(bench), *self._troubles()]
        self._write(duties(self._ledger, troubles, bench.at, self._kit.by, now))

    def _troubles(self) -> list[Trouble]:
        found = [*self._own.values(), *(post.trouble() for post in self._posts.values())]
        if self._heart is not None:
            found.append(self._heart.trouble())
        return [one for one in found if one is not None]

    def _tell(self, post: Post, bench: Bench) -> None:
        tick = self._kit.ticks()
        if not post.is_free(tick):
            return
        route, repeat_s = post.route, self._kit.alarms().repeat_s
        troubles = [*troubles_of(bench), *self._troubles()]
        notices = due(self._ledger, bench, route, repeat_s, troubles)
        bundle = next_bundle(self._ledger, route.name, notices, bench.at, waits=self._comes_back)
        if bundle is not None:
            post.send(Mailing(letter_of(bundle, bench), bundle, bench.at), tick)

    def _taken(self, post: Post, tick: float) -> None:
        for mailing in post.taken(tick):
            notices = () if mailing.bundle is None else mailing.bundle.notices
            self._write([self._notified(one, post.route.name, mailing.at) for one in notices])

    def _notified(self, notice: Notice, route: str, at: float) -> Act:
        key, by = notice.key, self._kit.by
        return Act(
            0, "notified", key.cell, key.test, at, self._kit.clock.now(), by.who, by.host,
            notice.what, alarm=None if key.kind == WATCH else key.kind, about=key.about,
            priority=key.priority, since=key.since, route=route,
        )  # fmt: skip

    def _write(self, acts: Sequence[Act]) -> None:
        """Into the ledger at once, into the journal as soon as it takes them."""
        self._ledger.take(acts)
        for act in acts:
            self._tell_reader(act)
        self._unwritten += acts
        if not self._unwritten:
            return
        try:
            self._require_journal()
            self._journal.add_all([Entry(act) for act in self._unwritten])
        except Exception as error:  # noqa: BLE001 - a full disk must not end the watch
            why = str(error) if isinstance(error, JournalError) else _fault(error)
            patience_s = PATIENCE_S if isinstance(error, _AwayError) else 0.0
            self._note(
                "journal",
                f"the journal takes nothing: {sanitise(why, 300)}; "
                "bring it back, or make room; the watch goes on and keeps its entries in memory",
                patience_s,
            )
            del self._unwritten[: max(0, len(self._unwritten) - MOST_KEPT)]
            return
        self._had_journal = self._had_journal or shared_file(self._kit.root).exists()
        self._unwritten.clear()
        refused = self._journal.refused
        self._note(
            "journal",
            refused
            and f"the bench's journal cannot be written ({sanitise(refused, 200)}): "
            "entries go to the state folder of this account",
        )

    def _require_journal(self) -> None:
        # A share that is away leaves an empty folder behind: nothing is to be begun anew in it.
        if self._had_journal and not shared_file(self._kit.root).exists():
            raise _AwayError("it is gone, perhaps with the whole bench")

    def _guarded(self, step: str, work: Callable[[], None]) -> None:
        try:
            work()
        except Exception as error:  # noqa: BLE001 - a fault in one step must not end the others
            self._note(step, f"a fault of ours in {step}: {_fault(error)}; report this line")
        else:
            self._note(step, None)

    def _note(self, name: str, text: str | None, patience_s: float = 0.0) -> None:
        """Something of the watch's own goes wrong, or does so no more."""
        if not text:
            self._own.pop(name, None)
            return
        known = self._own.get(name)
        if known is None or known.text != text:
            self._own[name] = Trouble(name, text, patience_s=patience_s)
            self._kit.say(text)

    def _tell_reader(self, act: Act) -> None:
        """The watch's own output: what was raised, cleared, told."""
        where = act.cell or "bench"
        if act.kind == "duty":
            if act.about not in self._own or act.until is not None:  # else it was said already
                self._kit.say(act.text)
        elif act.kind == "notified":
            self._kit.say(f"told by {act.route}: {where} {act.alarm or act.about} {act.text}")
        else:
            part = f" {act.about}" if act.about else ""
            said = f": {act.text}" if act.text else ""
            self._kit.say(f"{act.kind} {act.priority} {where} {act.alarm}{part}{said}")

    def _evaluated(self, bench: Bench | None) -> dict[str, object]:
        cells = () if bench is None else bench.cells
        return {
            "evaluated": [one.folder for one in cells if is_watched(one) and not one.being_read],
            "not_evaluated": [one.folder for one in cells if one.being_read or not is_watched(one)],
            "routes": list(self._posts),
            "troubles": [one.text for one in self._troubles()],
            "unwritten": len(self._unwritten),
        }


def _fault(error: BaseException) -> str:
    return sanitise(f"{type(error).__name__}: {error}", 200)
