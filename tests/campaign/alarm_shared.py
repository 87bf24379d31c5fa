"""What two cells of one supply show together."""

from dataclasses import replace

from alarm_cases import Found, H, Laid, due_of, spells_at

from tui.bench.alarms.shared import shared_spells
from tui.bench.alarms.spells import Spell
from tui.settings.alarm_limits import Limits
from tui.settings.bench_toml import Supply

SUPPLY = Supply(name="main", feeds=("C1", "C2"))


def judge_shared(laid: Laid) -> Found | None:
    """Whether the bench has the alarm in time; two cells, each by its own readings."""
    assert laid.second is not None
    both = (laid, laid.second)
    found = Found(
        laid.kind, laid.way, laid.size, laid.stage.name, laid.onset_s / H,
        laid.true_s is not None, False,
    )  # fmt: skip
    if not all(len(one.rest.seconds) for one in both):
        return None
    end_s = max(float(one.rest.seconds[-1]) for one in both)
    if laid.true_s is None:
        raised = _of_bench(both, end_s)
        return replace(found, raised=bool(raised), why=raised[0].message[:120] if raised else "")
    dues = [due_of(one) for one in both]
    if any(deadline is None for _, deadline in dues):
        return None
    deadline = max(deadline for _, deadline in dues if deadline is not None)
    due = max(due for due, _ in dues)
    raised = _of_bench(both, deadline)
    if raised:
        late_s = raised[0].raised_at - laid.stage.case.started - due
        return replace(found, raised=True, late_s=late_s)
    later = _of_bench(both, end_s)
    cells = [sorted({one.kind for one in spells_at(each, end_s)}) for each in both]
    return replace(found, why=f"{'late' if later else 'never'}; cells have {cells}")


def _of_bench(both: tuple[Laid, Laid], seconds: float) -> list[Spell]:
    cells = {f"C{n + 1}": spells_at(one, seconds) for n, one in enumerate(both)}
    spells, _ = shared_spells(cells, [(SUPPLY, ("C1", "C2"))], Limits({}))
    onset = both[0].stage.case.started + both[0].onset_s
    return [one for one in spells if one.kind == "supply-lost" and one.since >= onset - 1.0]
