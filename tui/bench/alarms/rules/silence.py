"""Rows that do not come: a silent log, a slot that was missed, and how late an alarm can come."""

from itertools import pairwise
from math import inf, nextafter
from statistics import median

from tui.bench.alarms.board import Board
from tui.bench.alarms.due_rows import DueRows
from tui.bench.alarms.scene import Moment, Rule, Scene
from tui.bench.doubts import lasting
from tui.bench.slots import Lateness, next_row_by

BEFORE = 4
"""Gaps between readings by strain that tell when somebody usually comes: common practice."""
MOST_LIVE_S = 1800.0
"""A live file that gives a row more rarely than this is no watch: common practice. [s]"""


class RowsDue(Rule):
    """Rows of the log against the time by which they should have come.

    What happens here happens by time passing; a row only says until when all is well.
    """

    every_s = 0.0

    def __init__(self, scene: Scene, board: Board) -> None:
        super().__init__(scene, board)
        limits = scene.limits
        self._course = DueRows(scene)
        self._late = Lateness(
            *(limits("log-silent", k) for k in ("least", "share", "most", "gaps"))
        )
        self._surely_s = min(self._late.least_s, self._late.most_s)
        self._silent = board.condition("log-silent", "urgent")
        self._missed = board.condition("reading-missed", "warning")
        self._sparse = board.condition("watch-sparse", "note")
        self._apart_s = limits("watch-sparse", "gap")
        self._has_live = scene.settings.log.live is not None
        self._newest = inf
        """The newest row of log or live file. [s]"""
        self._live: tuple[float, ...] = ()
        self._by: float | None = None
        """When the log is silent if no row comes; None: not worked out yet. [s]"""
        self._gives_up = inf
        self._stood: tuple[float, ...] | None = None
        self._goes_on = False
        """Whether the row before was of the same step, and all was well."""

    def begin(self, now: Moment) -> None:  # noqa: ARG002
        self._goes_on = False

    def add(self, now: Moment) -> None:
        if self._goes_on and not now.live and self._course.keeps_pace(now.time):
            self._newest, self._by = now.time, None
            return
        self._goes_on = not now.live and self._silent.quiet
        if not self._silent.quiet:
            self.board.tell(self._silent, False, now.time)
        self._newest, self._by = now.time, None
        if now.live:
            self._live = (*self._live[-1:], now.time)
            return
        course = self._course
        slots = course.schedule is not None
        taken = course.add(now)
        if course.leapt is not None:
            said = f"{course.said(course.leapt)}, was not taken"
            self.board.tell(self._missed, True, now.time, said)
        if taken or (slots and course.schedule is None):
            self.board.tell(self._missed, False, now.time)
        if course.schedule is None:
            self._gives_up = inf
        elif (stands := course.stands) is None or stands != self._stood:
            self._gives_up, self._stood = nextafter(course.given_up_at(), inf), stands
        self._tell_sparse(now)

    def _tell_sparse(self, now: Moment) -> None:
        if self._has_live:
            return
        due = self._course.next_due()
        apart = 0.0 if due is None else due - now.time
        if apart > self._apart_s:
            said = f"the next reading is due in {lasting(apart)}: an alarm can come that late"
            self.board.tell(self._sparse, True, now.time, said)
        elif not self._sparse.quiet:
            self.board.tell(self._sparse, False, now.time)

    @property
    def due(self) -> float:
        return min(self._gives_up, self._silent_by if self._silent.quiet else self._over_at())

    @property
    def _silent_by(self) -> float:
        """When it is silent, or a moment before which it cannot be."""
        return self._newest + self._surely_s if self._by is None else self._by

    def pass_time(self, now: float) -> None:
        over = self._over_at()
        while now >= self._gives_up and self._gives_up < over:
            gone, slot = self._gives_up, self._course.slot
            if self._course.give_up():
                said = f"{self._course.said(slot)}, was not taken"
                self.board.tell(self._missed, True, gone, said)
            self._gives_up = nextafter(self._course.given_up_at(), inf)
        if not self._silent.quiet and now >= over:
            self.board.leave((self._silent,), over)
        if now < self._silent_by or not self._silent.quiet or now >= over:
            return
        if self._by is None:
            self._by = self._worked_out()
        if self._by <= now:
            said = f"no row for {lasting(self._by - self._newest)}, {self._due_words()}"
            self.board.tell(self._silent, True, self._by, said)

    def _over_at(self) -> float:
        """From when on somebody has marked the test as ended, since the newest row. [s]"""
        held = [
            mark.held_at
            for mark in self.marks
            if mark.phase == "ended" and mark.held_at > self._newest
        ]
        return min(held, default=inf)

    def _worked_out(self) -> float:
        course = self._course
        due, late = course.next_due(), self._late
        if course.by_strain and due is not None:
            # When a strain comes is foreseen by the ram's pace, to a share of the gap however long;
            # whoever reads a little behind each slot does so at the next one.
            gaps = [b - a for a, b in pairwise(course.times[-BEFORE - 1 :])]
            usual = median(gaps) if len(gaps) == BEFORE else 0.0
            due, late = max(due, course.times[-1] + usual), late._replace(most_s=inf)
        by = next_row_by(course.times, due, late)
        if self._live:
            gap = self._live[-1] - self._live[0]
            usual = min(MOST_LIVE_S, max(self._late.least_s, self._late.gaps * gap))
            by = max(-inf if by is None else by, self._live[-1] + usual)
        return inf if by is None else max(by, self._newest + self._surely_s)

    def _due_words(self) -> str:
        due = self._course.next_due()
        if due is None:
            return f"{self._late.gaps:g} times the usual gap"
        assert self._by is not None
        return f"{lasting(self._by - due)} after one was due"
