"""At which moment of its test a cell of the ferry quay stands when the bench ends."""

from reduce.rehearsal.records import TestRun


def while_seating(run: TestRun) -> float:
    """Under the seating pressure, before any back pressure. [s]"""
    return next(step.act_s for step in run.steps if step.step == "hold") + 1200.0


def while_saturating(run: TestRun) -> float:
    """In the raise before the check that passes. [s]"""
    return _amid_raise(run, len([c for c in run.checks if c.in_phase == "saturation"]) - 1)


def while_stalled(run: TestRun) -> float:
    """In the raise after two checks that brought nothing. [s]"""
    checks = [check for check in run.checks if check.in_phase == "saturation"]
    b = [
        (run.trace.one("pore_kPa", c.ended_s) - run.trace.one("pore_kPa", c.began_s))
        / c.delta_cell_kPa
        for c in checks
    ]
    for i in range(4, len(b)):
        if b[i] - b[i - 2] < 0.009:
            return _amid_raise(run, min(i + 1, len(checks) - 1))
    return _amid_raise(run, len(checks) - 1)


def while_consolidating(run: TestRun) -> float:
    """At 62 % of consolidation. [s]"""
    return run.opened_s + run.dissipation.time_of(0.62)


def near_peak(run: TestRun) -> float:
    """At 85 % of the strain at the peak. [s]"""
    return _at_strain(run, 0.85 * run.curve.peak_deviator().axial_strain)


def while_dilating(run: TestRun) -> float:
    """At 6 % of strain. [s]"""
    return _at_strain(run, 0.06)


def _at_strain(run: TestRun, strain: float) -> float:
    return run.contact_s + strain / (run.rate_percent_min / 100.0) * 60.0


def _amid_raise(run: TestRun, check: int) -> float:
    """Halfway from the raise before a check to that check."""
    began = run.checks[check].began_s
    raises = [s.act_s for s in run.steps if s.step == "raise" and s.act_s < began]
    return 0.5 * (raises[-1] + began)
