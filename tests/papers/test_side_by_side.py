"""The same work in several processes: in order, and done all the same where none can be had."""

import os
from multiprocessing import parent_process

import pytest

from tui.papers import side_by_side
from tui.papers.side_by_side import each


def _where(number: int) -> tuple[int, int]:
    return number, os.getpid()


def _dies_elsewhere(number: int) -> int:
    if parent_process() is not None:
        os._exit(1)
    return number + 1


def _fails(number: int) -> int:
    raise LookupError(f"job {number}")


@pytest.fixture
def two(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(side_by_side, "_processors", lambda: 2)


@pytest.mark.usefixtures("two")
def test_results_come_in_the_order_of_the_jobs_from_other_processes() -> None:
    found = each(_where, range(6))
    assert [number for number, _ in found] == list(range(6))
    assert os.getpid() not in {process for _, process in found}


@pytest.mark.usefixtures("two")
def test_something_else_is_done_here_meanwhile() -> None:
    where: list[int] = []
    found = each(_where, [1, 2], lambda: where.append(os.getpid()))
    assert [number for number, _ in found] == [1, 2]
    assert where == [os.getpid()]


@pytest.mark.usefixtures("two")
def test_one_job_needs_no_other_process() -> None:
    assert each(_where, [7]) == [(7, os.getpid())]


def test_one_processor_needs_no_other_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(side_by_side, "_processors", lambda: 1)
    assert {process for _, process in each(_where, range(3))} == {os.getpid()}


@pytest.mark.usefixtures("two")
def test_what_a_killed_process_was_to_do_is_done_here() -> None:
    assert each(_dies_elsewhere, [1, 2, 3]) == [2, 3, 4]


@pytest.mark.usefixtures("two")
def test_what_a_job_raises_is_raised() -> None:
    with pytest.raises(LookupError, match="job 1"):
        each(_fails, [1, 2])
