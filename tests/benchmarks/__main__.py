"""Print all ratios, or those of the modules named: `python tests/benchmarks [first_frame …]`."""

import importlib
import sys

NAMES = (
    "first_frame",
    "status_start",
    "catch_up",
    "row_cost",
    "plot_redraw",
    "restart",
    "week_restart",
    "latency",
    "ticking",
    "backlog_keys",
    "many_cells_keys",
    "lanes_cpu",
    "busy_cells",
    "key_paint",
    "over_ssh",
    "scrolling",
    "idle_bytes",
    "forecast",
    "saturation_call",
    "series_fit",
    "shear_table",
    "report",
    "recovered",
    "boundaries",
    "alarms",
    "alarm_latency",
)

for name in sys.argv[1:] or NAMES:
    for line in importlib.import_module(name).measure():
        print(line, flush=True)
