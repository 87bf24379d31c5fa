"""The life of an alarm after ISA-18.2 / IEC 62682: spells, and what people said of them.

Normal → unacknowledged → acknowledged → normal; besides returned (cleared, nobody acknowledged),
shelved, and out of phase (suppressed by design). The states are told anew from spells and acts at
every look, so that nothing is kept that could get out of step.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, nextafter

from tui.bench.alarms.causes import CONSEQUENCES, follows
from tui.bench.alarms.kinds import KINDS, STALLED
from tui.bench.alarms.spells import PRIORITIES, Alarm, AlarmState, Spell
from tui.journal.acts import Act

TRANSITIONS: dict[tuple[AlarmState | None, str], AlarmState | None] = {
    (None, "raised"): "unacknowledged",
    ("unacknowledged", "acknowledged"): "acknowledged",
    ("unacknowledged", "cleared"): "returned",
    ("unacknowledged", "phase over"): "out-of-phase",
    ("unacknowledged", "shelved"): "shelved",
    ("acknowledged", "cleared"): None,
    ("acknowledged", "phase over"): None,
    ("acknowledged", "raised higher"): "unacknowledged",
    ("acknowledged", "shelved"): "shelved",
    ("returned", "acknowledged"): None,
    ("returned", "raised"): "unacknowledged",
    ("out-of-phase", "acknowledged"): None,
    ("out-of-phase", "raised"): "unacknowledged",
    ("shelved", "shelf over"): "unacknowledged",
    ("shelved", "cleared"): None,
    ("shelved", "phase over"): None,
    ("shelved", "raised higher"): "shelved",
}
"""State and event to the state that follows; None is normal. What is not here changes nothing."""
LONGEST_SHELF_S = 12 * 3600.0
SHORT_SHELF_S = 1800.0
_SHORT = ("over-pressure", "effective-stress-low", "leak-membrane", "leak-cell", "leak-drainage")


def longest_shelf_s(kind: str) -> float:
    """After this time every shelf ends. [s]"""
    return SHORT_SHELF_S if kind in _SHORT else LONGEST_SHELF_S


@dataclass(frozen=True, slots=True)
class _Event:
    at: float
    what: str
    spell: Spell | None = None
    who: str | None = None
    until: float | None = None
    """Of a shelf: when it ends."""


def alarms_of(
    spells: Sequence[Spell], acts: Sequence[Act], now: float, phase_since: float | None = None
) -> tuple[Alarm, ...]:
    """What stands of the spells of one cell, the most pressing first.

    Args:
        spells: all that were raised, consequences marked.
        acts: of people about this cell and test that hold by now.
        now: the moment of the look. [s]
        phase_since: when the present phase began; a shelf "until the phase ends" is over then. [s]
    """
    kept = [spell for spell in spells if spell.held_back is None]
    identities = dict.fromkeys((spell.kind, spell.about) for spell in kept)
    found = []
    for kind, about in identities:
        own = [spell for spell in kept if (spell.kind, spell.about) == (kind, about)]
        said = [act for act in acts if _concerns(act, kind, about)]
        alarm = _alarm(own, said, now, phase_since)
        if alarm is not None:
            found.append(_with_consequences(alarm, own, spells))
    return tuple(sorted(found, key=_pressing))


def _concerns(act: Act, kind: str, about: str | None) -> bool:
    if act.kind == "accept":
        return kind == "saturation-stalled"
    return act.alarm == kind and act.about in (None, about)


def _alarm(
    own: list[Spell], said: list[Act], now: float, phase_since: float | None
) -> Alarm | None:
    accepted = min((act.held_at for act in said if act.kind == "accept"), default=None)
    events = _events(own, said, now, phase_since, accepted)
    state: AlarmState | None = None
    standing: list[Spell] = []
    shown: Spell | None = None
    shelf_until: float | None = None
    announced, after_shelf, by = 0.0, False, None
    for event in events:
        what = event.what
        if what in ("cleared", "phase over") and event.spell is not None:
            standing = [spell for spell in standing if spell is not event.spell]
            if standing:
                shown = _highest(standing)
                continue
        elif what == "raised" and event.spell is not None:
            higher = shown is None or not standing or _rank(event.spell) > _rank(shown)
            standing.append(event.spell)
            if not higher:
                continue
            what = "raised" if state in (None, "returned", "out-of-phase") else "raised higher"
            shown = event.spell
        elif what == "shelved":
            shelf_until = max(event.until or 0.0, shelf_until or 0.0)
            if not standing:
                continue
        elif what == "shelf over":
            if shelf_until is None or event.at < shelf_until:
                continue  # another shelf goes on
            shelf_until = None
            if not standing:
                continue
        after = TRANSITIONS.get((state, what), state)
        if what == "raised" and shelf_until is not None and event.at < shelf_until:
            after = "shelved"
        if after == "unacknowledged" and (state != after or what == "raised higher"):
            announced, after_shelf = event.at, what == "shelf over"
        if what == "acknowledged" and state == "unacknowledged":
            by = event.who
        elif after == "unacknowledged":
            by = None
        state = after
    if state is None or shown is None:
        return None
    if state in ("returned", "out-of-phase") and shown.priority == "note":
        return None  # a note needs nobody's word
    return _made(shown, state, announced, after_shelf, by, shelf_until)


def _events(
    own: list[Spell],
    said: list[Act],
    now: float,
    phase_since: float | None,
    accepted: float | None,
) -> list[_Event]:
    found = []
    for spell in own:
        if accepted is not None and spell.raised_at >= accepted:
            continue
        found.append(_Event(spell.raised_at, "raised", spell))
        ends = spell.cleared_at
        if accepted is not None and (ends is None or ends > accepted):
            # Who takes B as it is knows of it.
            found.append(_Event(accepted, "acknowledged"))
            ends = accepted
        if ends is not None:
            # One that ends with the reading that raises it was raised all the same.
            ends = max(ends, nextafter(spell.raised_at, inf))
            found.append(_Event(ends, "phase over" if spell.by_phase else "cleared", spell))
    for act in said:
        if act.kind == "acknowledge":
            found.append(_Event(act.held_at, "acknowledged", who=act.who))
        elif act.kind == "shelve":
            ends = _shelf_end(act, own, phase_since)
            found.append(_Event(act.held_at, "shelved", until=ends))
            found.append(_Event(ends, "shelf over"))
    order = ("cleared", "phase over", "raised", "shelf over", "acknowledged", "shelved")
    return sorted(
        (one for one in found if one.at <= nextafter(now, inf)),
        key=lambda one: (one.at, order.index(one.what)),
    )


def _shelf_end(act: Act, own: list[Spell], phase_since: float | None) -> float:
    """By the clock, or sooner: with the spell, or with the phase."""
    ends = act.held_at + longest_shelf_s(act.alarm or "")
    if act.until is not None:
        ends = min(ends, act.until)
    if act.ends == "cleared":
        over = [spell.cleared_at for spell in own if spell.cleared_at is not None]
        ends = min([ends, *(moment for moment in over if moment > act.held_at)])
    if act.ends == "phase-end" and phase_since is not None and phase_since > act.held_at:
        ends = min(ends, phase_since)
    return ends


def _rank(spell: Spell) -> int:
    return PRIORITIES.index(spell.priority)


def _highest(standing: list[Spell]) -> Spell:
    return max(standing, key=lambda spell: (_rank(spell), -spell.since))


def _pressing(alarm: Alarm) -> tuple[int, int, float]:
    stands = ("unacknowledged", "acknowledged").index(alarm.state) if alarm.counts else 2
    return (stands if stands == 2 else 0, -PRIORITIES.index(alarm.priority), alarm.raised_at)


def _made(
    spell: Spell,
    state: AlarmState,
    announced: float,
    after_shelf: bool,
    by: str | None,
    shelf_until: float | None,
) -> Alarm:
    kind = KINDS[spell.kind]
    cause, action = kind.cause, kind.action
    if spell.kind == "saturation-stalled":
        cause, action = STALLED.get(spell.reason, (cause, action))
    return Alarm(
        kind=spell.kind,
        about=spell.about,
        priority=spell.priority,
        state=state,
        since=spell.since,
        raised_at=spell.raised_at,
        message=spell.message,
        cause=cause,
        effect=kind.effect,
        action=action,
        respond_s=kind.respond_s,
        cleared_at=spell.cleared_at if state in ("returned", "out-of-phase") else None,
        announced_at=announced,
        after_shelf=after_shelf,
        shelved_until=shelf_until if state == "shelved" else None,
        acknowledged_by=by,
        cells=spell.cells,
    )


def _with_consequences(alarm: Alarm, own: list[Spell], spells: Sequence[Spell]) -> Alarm:
    if alarm.kind not in CONSEQUENCES and alarm.kind != "sensor-fault":
        return alarm
    mine = [spell for spell in own if spell.cleared_at is None] or own[-1:]
    kinds = dict.fromkeys(
        spell.kind
        for spell in spells
        if spell.held_back == alarm.kind
        and any(follows(spell, one) for one in mine)
        and (spell.cleared_at is None or not alarm.counts)
    )
    return replace(alarm, consequences=tuple(kinds))
