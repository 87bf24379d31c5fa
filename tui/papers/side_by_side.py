"""The same work for each of several things, in as many processes as there are processors."""

import os
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import TypeVar

Job = TypeVar("Job")
Done = TypeVar("Done")


def each(
    work: Callable[[Job], Done],
    jobs: Sequence[Job],
    meanwhile: Callable[[], object] = lambda: None,
) -> list[Done]:
    """What comes of each job, in their order.

    One job, or one processor, needs no other process; nor does a machine that gives none.

    Args:
        work: can be pickled, and so can what it takes and gives.
        jobs: of about the same size.
        meanwhile: done in this process while the others work; what it gives is dropped.
    """
    processes = min(len(jobs), _processors())
    if processes > 1:
        try:
            with ProcessPoolExecutor(processes, initializer=_leave_to_parent) as pool:
                done = pool.map(work, jobs)
                meanwhile()
                return list(done)
        except (OSError, NotImplementedError, BrokenProcessPool):
            pass  # no more processes, no semaphores, one was killed for want of memory
    return [work(job) for job in jobs]


def _processors() -> int:
    """Those that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _leave_to_parent() -> None:
    """Ctrl-C reaches a whole terminal: the parent alone answers."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
