"""The schedules of the settings as the reduction counts them."""

from functools import lru_cache

from reduce.schedule import (
    Schedule,
    every_schedule,
    log_schedule,
    root_schedule,
    strain_schedule,
    times_schedule,
)
from tui.settings.cell_toml import (
    EverySchedule,
    LogSchedule,
    RootSchedule,
    ScheduleTable,
    StrainSchedule,
)


@lru_cache(maxsize=64)
def schedule_of(table: ScheduleTable) -> Schedule:
    """The settings' schedule as the reduction counts it."""
    if isinstance(table, RootSchedule):
        return root_schedule(table.step, table.slots)
    if isinstance(table, LogSchedule):
        return log_schedule(table.first_min, table.ratio, table.slots)
    if isinstance(table, StrainSchedule):
        return strain_schedule(table.step, table.slots)
    if isinstance(table, EverySchedule):
        return every_schedule(table.step_s, table.slots)
    return times_schedule(table.at_s)
