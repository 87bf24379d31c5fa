"""One cell drawn from its fold: what `advance` puts into the picture.

What is asked of the forecasts is asked once per arrival.
"""

from dataclasses import replace
from math import inf, isnan
from typing import Any

from reduce.errors import ReductionError
from reduce.forecast import SaturationForecast, ending
from tui.bench.advice import advised
from tui.bench.alarms.causes import held_back
from tui.bench.alarms.complete import first_met
from tui.bench.alarms.foreseen import Ahead, foreseen, next_at, unforeseen
from tui.bench.alarms.overdue import course_in
from tui.bench.alarms.rules.shearing import RatesOfStrain
from tui.bench.chain import before_drainage_opens, chain
from tui.bench.constructed import GROWTH, Constructed, construct, figures_of
from tui.bench.doubts import doubts
from tui.bench.forecast_moment import forecast_moment
from tui.bench.gauges import at_an_end
from tui.bench.hands import hands, hold_ends, hold_of, when_attended
from tui.bench.lanes import lane
from tui.bench.live import is_newer, newest
from tui.bench.phases import Mark
from tui.bench.picture import (
    BEING_READ,
    BCheck,
    Cell,
    Figure,
    Hand,
    Live,
    Phase,
    Projection,
    Quantities,
)
from tui.bench.plots import plots
from tui.bench.projections import (
    consolidation_end,
    degree_now,
    fit_consolidation,
    project_consolidation,
    project_saturation,
    untold,
)
from tui.bench.readings import NAN, Reading
from tui.bench.row_fold import RowFold
from tui.bench.saturation_ahead import foresee_saturation
from tui.bench.set_envelopes import failure
from tui.bench.shear_ahead import shear_ahead
from tui.bench.siblings import came_to, peak_strain
from tui.bench.surroundings import ALONE, Surroundings
from tui.bench.twins import changed
from tui.bench.zero_words import moved_problems
from tui.settings.problems import Problem


class CellFold(RowFold):
    """A cell whose settings could be read."""

    _surroundings: Surroundings = ALONE
    """Those it was last drawn with."""
    _wetting: SaturationForecast | None = None
    """What was foreseen of the saturation."""
    _wetted: object = None
    """What that rests on."""
    _chained: tuple[object, tuple[Projection, ...]] | None = None
    """What the phases to come rest on, and those."""
    _met: tuple[float, float] | None = None
    """Zero of a consolidation, and when it had met its criterion. [s]"""
    _alarms_due = -inf
    """When alarms have to be judged again if no reading comes. [s]"""

    def __getstate__(self) -> dict[str, Any]:
        """For a checkpoint: what lies around it is told anew, too."""
        state = super().__getstate__()
        for name in ("_surroundings", "_chained", "_wetted"):
            state.pop(name, None)
        return state

    def picture(
        self,
        now: float,
        settings_problems: tuple[Problem, ...],
        surroundings: Surroundings = ALONE,
    ) -> Cell:
        """The cell as it stands; the same value as before when nothing shown has changed."""
        if surroundings != self._surroundings:
            known = self._picture is not None and self._picture.phase is not None
            only_read = self._surroundings == replace(
                surroundings, unread=self._surroundings.unread
            )
            self._surroundings, self._alarms_due = surroundings, -inf
            if not (known and only_read):  # what was known before reading stays as it was drawn
                self._picture = None
        if self._picture is None:
            self._picture = self._drawn(now)
            self._at_an_end = at_an_end(self._shown(), self._curves.ends)
            self._moved = moved_problems(
                self._rebasing.moves, self._rebasing.untold, self._zone, self.name, self.folder
            )
            self._alarms_due = -inf
        if now >= self._alarms_due:
            self._judge(now)
        cell = self._picture
        reads = self._being_read()
        own = reads or doubts(
            self.folder,
            self._last,
            self._phases,
            self._has,
            now,
            self.settings.test.kind,
            self._at_an_end,
        )
        problems = (*settings_problems, *self._feed_problems, *own, *self._moved)
        schedule = self._slots.count(self._readings, now, self._pace)
        asked = when_attended(cell.hands, surroundings.attended, now)
        if (schedule, problems, asked) != (cell.schedule, cell.problems, cell.hands):
            cell = changed(
                cell, schedule=schedule, problems=problems, hands=asked, being_read=bool(reads)
            )
        self._picture = cell
        mark = self._phases.marked_since(now)
        if mark is None:
            return cell
        planned = () if mark.until is None else (hold_ends(self.name, mark),)
        return _as_marked(cell, mark, when_attended(planned, surroundings.attended, now))

    def _judge(self, now: float) -> None:
        """Spells and what cannot be judged; they change with a reading, or when a delay is over."""
        assert self._picture is not None
        if self._picture.phase is None or not self._judges:
            return
        last = now if self._last is None else self._last.time
        # What has not been read yet is not silent.
        newest = last if self._being_read() else max(now, last)
        scene = self._alarms.scene
        course = course_in(self._alarms.rules)
        rates = next(rule.rates for rule in self._alarms.rules if isinstance(rule, RatesOfStrain))
        ahead = Ahead(
            self.settings, scene.limits, self._picture, self._wetting, course, newest, self._fit,
            self._met_at(), rates,
        )  # fmt: skip
        alarms = self._alarms.passed_to(newest)
        spells = held_back(foreseen(ahead, alarms.spells()))
        blind = alarms.blind(self._has, unforeseen(ahead))
        if (spells, blind) != (self._picture.spells, self._picture.blind):
            self._picture = changed(self._picture, spells=spells, blind=blind)
        due = min(alarms.due, next_at(ahead))
        self._alarms_due = due if due > now else inf

    def _met_at(self) -> float | None:
        """The reading by which consolidation had met its criterion; it is sought once. [s]"""
        zero, cell = self._curves.zero_consolidation, self._picture
        assert cell is not None
        assert cell.phase is not None
        if zero is None:
            return None
        if self._met is not None and self._met[0] == zero.time:
            return self._met[1]
        criterion = ending(consolidation_end(self.settings))
        if criterion.kind == "time":
            return zero.time + criterion.value
        done = cell.projection.progress
        if cell.phase.name != "consolidation" or done is None or done < 1.0:
            return None
        siblings = self._surroundings.siblings
        roots = {root for root, _ in (*self._curves.volume.points(), *self._curves.pore.points())}
        moments = sorted(zero.time + 60.0 * root**2 for root in roots)

        def progress_at(moment: float) -> float | None:
            fit = fit_consolidation(self.settings, self._curves, moment, siblings)
            return None if fit is None else fit.progress

        if not moments:
            return None
        self._met = zero.time, first_met(moments, progress_at)
        return self._met[1]

    def _being_read(self) -> tuple[Problem, ...]:
        """Said instead of doubts: what is not read yet is neither silent nor missing."""
        unread = self._surroundings.unread
        if self.is_whole and not self._more and not unread:
            return ()
        what = "its logs are being read; what is shown is as of then"
        if not self.is_whole:
            what = "its logs are being read once more; what is shown is as before"
        return (Problem("note", what, "wait a moment", self.folder),)

    def _drawn(self, now: float) -> Cell:
        phase = self._phases.phase
        settings = self.settings
        base = Cell(
            cell=self.name,
            folder=self.folder,
            test_id=settings.test.id,
            specimen=settings.specimen.label,
            test=settings.test.kind,
            set_name=settings.specimen.set,
            rows_used=self._readings.total,
            rows_unused=self._unused.count,
            unused=self._unused,
            live=self._newest(phase),
        )
        if phase is None or self._last is None:
            reads = self._being_read()
            return replace(base, projection=untold("", BEING_READ)) if reads else base
        checks = self._checks.all
        peak = peak_strain(self._curves.deviator.points(), over=phase.name == "ended")
        # As of a reading, not of the look: every view projects the same.
        moment = forecast_moment(self._readings.times, phase.since)
        projection, on_the_way, curve = self._project(phase, checks, peak, moment)
        fit, constructed = self._fit, self._constructed(phase)
        schedule = self._slots.count(self._readings, now, self._pace)
        told = advised(
            settings, phase, checks, projection, fit, schedule, self._curves, self._readings,
            moment, self._zone,
        )  # fmt: skip
        return changed(
            base,
            phase=phase,
            spans=self._phases.spans,
            checks=checks,
            quantities=self._quantities(phase, checks),
            projection=projection,
            schedule=schedule,
            advice=told.lines,
            slots_end_early=told.ends_early,
            ahead=(*on_the_way, *self._chain(phase, projection)),
            came_to=came_to(self.name, phase, fit, peak),
            lane=lane(
                settings,
                self._phases,
                checks,
                self._curves,
                None if fit is None or fit.v100 is None else (fit.v0 or 0.0, fit.v100),
            ),
            plots=plots(settings, phase, checks, self._curves, fit, curve, constructed),
            figures=self._figures(phase, constructed),
            failure=failure(self._curves, peak),
            hands=hands(
                self.name,
                settings,
                phase,
                checks,
                projection,
                schedule,
                hold_of(self.marks, phase, self._last.time),
                self._last.time,
            ),
        )

    def _chain(self, phase: Phase, projection: Projection) -> tuple[Projection, ...]:
        rests_on = (phase, projection, self._fit, self._surroundings)
        if self._chained is None or self._chained[0] != rests_on:
            found = chain(self.settings, phase, projection, self._fit, self._surroundings)
            self._chained = rests_on, found
        return self._chained[1]

    def _constructed(self, phase: Phase) -> Constructed:
        """As of a reading, and no oftener than is worth while."""
        zero = self._curves.zero_consolidation
        if zero is None or phase.name == "setup":
            return Constructed()
        over = phase.name in ("shear", "ended")
        until = phase.since if over else forecast_moment(self._readings.times, zero.time, GROWTH)
        if self._constructions is None or self._constructions[:2] != (zero.time, until):
            found = construct(self.settings, self._curves, until)
            self._constructions = zero.time, until, found
        return self._constructions[2]

    def _figures(self, phase: Phase, constructed: Constructed) -> tuple[Figure, ...]:
        top = self._curves.top
        found = figures_of(constructed)
        if top is not None and phase.name in ("shear", "ended"):
            basis = f"at ε₁ {100.0 * top[0]:.2f} %"
            basis += ", so far" if phase.name == "shear" else ""
            found = (Figure("greatest q", top[1], "kPa", None, basis), *found)
        return found

    def _shown(self) -> Reading:
        """The newest reading as the gauges showed it."""
        if self._last is None or not self._readings.moved:
            return self._last or Reading(NAN)
        return self._readings.shown_at(self._readings.length - 1)

    def _newest(self, phase: Phase | None) -> Live | None:
        live, gauge_ml = self._live, self._shown().back_volume
        if live is not None and is_newer(live, self._last):
            gauge_ml = live.values.get("back_volume", NAN)
            live = self._rebasing.live(live)
        return newest(
            self._last, live, self._gauge, gauge_ml=gauge_ml, drainage_open=self._drains(phase)
        )

    def _project(
        self, phase: Phase, checks: tuple[BCheck, ...], peak: float | None, now: float
    ) -> tuple[Projection, tuple[Projection, ...], tuple[tuple[float, float], ...]]:
        """The projection of the phase, others on its way, and the curve that B should follow."""
        assert self._last is not None
        settings, curves = self.settings, self._curves
        curve: tuple[tuple[float, float], ...] = ()
        try:
            wetting = self._foresee_saturation(checks, now)
            if wetting is not None and checks:
                curve = wetting.curve
            if curves.zero_consolidation is not None and phase.name != "setup":
                siblings = self._surroundings.siblings
                # What came after consolidation says nothing more of it.
                drained = phase.since if phase.name in ("shear", "ended") else now
                rests_on = (curves.zero_consolidation.time, drained, phase.name, siblings)
                if self._fitted != rests_on:
                    self._fit = fit_consolidation(settings, curves, drained, siblings)
                    self._fitted = rests_on
            self._pace = None
            if phase.name == "saturation":
                return project_saturation(settings, wetting, now), (), curve
            if phase.name == "consolidation" and phase.step == "build-up":
                return before_drainage_opens(settings, phase, self._surroundings, now), (), curve
            if phase.name == "consolidation":
                found = project_consolidation(settings, curves, self._fit, now)
                return found, (), curve
            if phase.name == "shear":
                siblings = self._surroundings.siblings
                shear = shear_ahead(settings, curves, self._readings, siblings, now, peak)
                self._pace = shear.strain_per_s
                return shear.limit, shear.on_the_way, curve
        except ReductionError as error:
            return untold("next phase", f"cannot say: {error}"), (), curve
        ends = {
            "setup": ("saturation", "set-up goes on until somebody raises back pressure"),
            "ended": ("dismantling", "the test has ended"),
            "interrupted": ("going on", "the test is interrupted"),
        }
        return untold(*ends[phase.name]), (), curve

    def _foresee_saturation(
        self, checks: tuple[BCheck, ...], now: float
    ) -> SaturationForecast | None:
        """What is foreseen of it; once it is over, what was foreseen last."""
        assert self._last is not None
        spans, attended = self._phases.spans, self._surroundings.attended
        rests_on = (checks, spans, attended)
        if spans[-1].name == "saturation" or self._wetted != rests_on:
            level = self._last.back_pressure
            self._wetting = foresee_saturation(
                self.settings, checks, spans, now, None if isnan(level) else level, attended
            )
            self._wetted = rests_on
        return self._wetting

    def _drains(self, phase: Phase | None) -> bool:
        """Whether the specimen drains now: by the log's word, else by phase and step."""
        if self._last is not None and self._last.drainage is not None:
            return self._last.drainage == "open"
        if phase is None:
            return False
        drained_shear = phase.name == "shear" and self.settings.test.kind == "CD"
        return drained_shear or phase.step in ("hold", "drained")

    def _quantities(self, phase: Phase, checks: tuple[BCheck, ...]) -> Quantities:
        finished = [check for check in checks if check.finished]
        found = Quantities(B=finished[-1].B if finished else None)
        curves = self._curves
        if phase.name == "consolidation" and curves.zero_consolidation is not None:
            degree = None if self._fit is None else degree_now(self._fit, curves.volume.last)
            return replace(found, U=degree, volumetric_strain=curves.strain_since_set_up)
        if phase.name == "shear" and curves.newest_shear is not None:
            strain_now, deviator, volumetric = curves.newest_shear
            return replace(
                found,
                axial_strain=_known(strain_now),
                deviator_kPa=_known(deviator),
                volumetric_strain=_known(volumetric) if self.settings.test.kind == "CD" else None,
            )
        return found


def _as_marked(cell: Cell, mark: Mark, asked: tuple[Hand, ...]) -> Cell:
    """What a person has said holds at once; what follows from it waits for its first reading."""
    before = cell.phase.name if cell.phase else None
    phase = Phase(mark.phase, mark.step, mark.held_at, mark.held_at, before, "marks")
    waits = untold(f"{mark.phase} as marked", "no reading since the mark yet")
    return changed(cell, phase=phase, schedule=None, projection=waits, hands=asked)


def _known(value: float) -> float | None:
    return value if not isnan(value) else None
