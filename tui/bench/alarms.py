"""The alarms of a cell. None is judged yet: every kind is listed as blind, never counted as well."""

from tui.bench.picture import Blind
from tui.settings.alarm_tables import ALARM_KINDS

NOT_JUDGED = tuple(Blind(kind, "this version does not judge alarms yet") for kind in ALARM_KINDS)
"""One entry a kind."""
