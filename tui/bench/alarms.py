"""The alarms of a cell: none is judged yet, every kind is listed as blind, never as well."""

from tui.bench.picture import Blind
from tui.settings.alarm_tables import ALARM_KINDS

NOT_JUDGED = tuple(Blind(kind, "this version does not judge alarms yet") for kind in ALARM_KINDS)
"""One entry a kind."""
