"""When somebody is there: weeks, nights and the nights on which the clock jumps."""

from datetime import UTC, datetime
from math import inf
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from tui.bench.attended import Attended

OSLO = ZoneInfo("Europe/Oslo")
H = 3600.0
WEEK = 7 * 24 * H


def at(text: str, fold: int = 0) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=OSLO, fold=fold).timestamp()


def when(text: str) -> Attended:
    found = Attended.of(text, OSLO)
    assert found is not None
    return found


def test_without_the_key_somebody_is_always_there() -> None:
    assert Attended.of(None, OSLO) is None


# 3 February 2031 is a Monday.
@pytest.mark.parametrize(
    ("attended", "moment", "next_one"),
    [
        ("Mon-Fri 07:30-16:00", "2031-02-03T06:00", "2031-02-03T07:30"),
        ("Mon-Fri 07:30-16:00", "2031-02-03T07:30", "2031-02-03T07:30"),
        ("Mon-Fri 07:30-16:00", "2031-02-03T15:59", "2031-02-03T15:59"),
        ("Mon-Fri 07:30-16:00", "2031-02-03T16:00", "2031-02-04T07:30"),
        ("Mon-Fri 07:30-16:00", "2031-02-07T16:00", "2031-02-10T07:30"),
        ("Mon-Sun 08:00-24:00", "2031-02-09T23:59", "2031-02-09T23:59"),
        ("Mon-Sun 08:00-24:00", "2031-02-10T00:00", "2031-02-10T08:00"),
        ("Sat,Wed 08:00-12:00", "2031-02-03T09:00", "2031-02-05T08:00"),
        ("Sat-Mon 08:00-12:00", "2031-02-03T09:00", "2031-02-03T09:00"),
        ("Sat-Mon 08:00-12:00", "2031-02-03T12:00", "2031-02-08T08:00"),
        # over midnight: the night belongs to the day on which it begins
        ("Fri 22:00-06:00", "2031-02-08T05:59", "2031-02-08T05:59"),
        ("Fri 22:00-06:00", "2031-02-08T06:00", "2031-02-14T22:00"),
        ("Fri 22:00-06:00", "2031-02-07T05:00", "2031-02-07T22:00"),
    ],
)
def test_the_next_attended_moment(attended: str, moment: str, next_one: str) -> None:
    assert when(attended).next(at(moment)) == at(next_one)


@pytest.mark.parametrize(
    ("attended", "a", "b", "hours"),
    [
        ("Mon-Fri 07:30-16:00", "2031-02-03T00:00", "2031-02-10T00:00", 42.5),
        ("Mon-Fri 07:30-16:00", "2031-02-03T15:00", "2031-02-04T08:00", 1.5),
        ("Mon-Fri 07:30-16:00", "2031-02-04T08:00", "2031-02-03T15:00", 0.0),
        ("Mon-Sun 00:00-24:00", "2031-02-03T15:00", "2031-02-10T15:00", 168.0),
        # clocks go on from 02:00 to 03:00 on 30 March 2031, back from 03:00 on 26 October
        ("Sat 22:00-06:00", "2031-03-29T12:00", "2031-03-30T12:00", 7.0),
        ("Sat 22:00-06:00", "2031-10-25T12:00", "2031-10-26T12:00", 9.0),
        ("Sun 02:30-04:00", "2031-03-30T00:00", "2031-03-31T00:00", 1.0),
        ("Sun 02:10-02:50", "2031-03-30T00:00", "2031-03-31T00:00", 0.0),
        ("Sun 02:30-04:00", "2031-10-26T00:00", "2031-10-27T00:00", 2.5),
    ],
)
def test_attended_time_between(attended: str, a: str, b: str, hours: float) -> None:
    assert when(attended).seconds_between(at(a), at(b)) == hours * H


def test_a_time_that_the_clock_leaves_out_is_the_moment_of_its_jump() -> None:
    assert when("Sun 02:30-04:00").next(at("2031-03-30T01:00")) == at("2031-03-30T03:00")
    assert when("Sun 02:10-02:50").next(at("2031-03-30T01:00")) == at("2031-04-06T02:10")


@pytest.mark.parametrize(
    ("attended", "moment", "left"),
    [
        ("Mon-Fri 07:30-16:00", "2031-02-03T15:00", H),
        ("Mon-Fri 07:30-16:00", "2031-02-03T07:00", 0.0),
        ("Mon-Fri 00:00-24:00", "2031-02-03T15:00", 105 * H),
        ("Mon-Sun 08:00-08:00", "2031-02-03T15:00", inf),
        ("Mon-Fri 22:00-06:00", "2031-02-08T05:00", H),
    ],
)
def test_how_long_somebody_is_still_there(attended: str, moment: str, left: float) -> None:
    assert when(attended).until_end(at(moment)) == left


def test_beyond_the_calendar_a_moment_stays() -> None:
    assert when("Mon 08:00-09:00").next(1e18) == 1e18
    assert when("Mon 08:00-09:00").until_end(1e18) == 0.0


DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
HOUR = st.tuples(st.integers(0, 23), st.integers(0, 59)).map(lambda t: f"{t[0]:02d}:{t[1]:02d}")
TEXTS = st.builds(
    lambda days, begin, end: f"{','.join(days)} {begin}-{end}",
    st.lists(st.sampled_from(DAYS), min_size=1, max_size=4),
    HOUR,
    HOUR,
)
MOMENTS = st.integers(int(at("2031-01-01")), int(at("2032-01-01"))).map(float)


@given(TEXTS, MOMENTS)
@effort(max_examples=60, deadline=None)
def test_next_and_end_agree_with_each_other(text: str, moment: float) -> None:
    attended = when(text)
    comes = attended.next(moment)
    assert comes >= moment
    assert attended.next(comes) == comes
    stays = attended.until_end(comes)
    assert stays > 0
    assert attended.seconds_between(moment, comes) == 0.0
    if stays < inf:
        assert attended.next(comes + stays - 0.5) == comes + stays - 0.5
        assert attended.next(comes + stays) > comes + stays


@given(TEXTS, MOMENTS, st.floats(0, 3 * WEEK), st.floats(0, 1))
@effort(max_examples=60, deadline=None)
def test_attended_time_adds_up(text: str, a: float, length: float, share: float) -> None:
    attended = when(text)
    b, middle = a + length, a + share * length
    whole = attended.seconds_between(a, b)
    parts = attended.seconds_between(a, middle) + attended.seconds_between(middle, b)
    assert whole == pytest.approx(parts, abs=1e-3)
    assert 0.0 <= whole <= length + 1e-3


@given(TEXTS, MOMENTS)
@effort(max_examples=100, deadline=None)
def test_attended_is_what_the_wall_clock_says(text: str, moment: float) -> None:
    """Away from the two nights of daylight saving."""
    days, hours = text.split()
    begin, end = hours.split("-")
    wall = datetime.fromtimestamp(moment, OSLO)
    jumps = (at("2031-03-30T12:00"), at("2031-10-26T12:00"))
    if any(abs(moment - jump) < 36 * H for jump in jumps):
        return
    clock, today, yesterday = f"{wall:%H:%M}", DAYS[wall.weekday()], DAYS[wall.weekday() - 1]
    if begin < end:
        there = today in days and begin <= clock < end
    else:
        there = (today in days and clock >= begin) or (yesterday in days and clock < end)
    assert (when(text).next(moment) == moment) == there


def test_equal_settings_are_equal() -> None:
    assert when("Mon-Fri 07:30-16:00") == when("Mon,Tue-Fri 07:30-16:00")
    assert when("Mon-Fri 07:30-16:00") != Attended.of("Mon-Fri 07:30-16:00", UTC)
