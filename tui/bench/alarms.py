"""The alarm kinds of the contract, section 7. None is judged yet: each is listed as blind."""

from tui.bench.picture import Blind

KINDS = (
    "over-pressure",
    "effective-stress-low",
    "effective-stress-high",
    "membrane-burst",
    "saturation-stalled",
    "pressure-drift",
    "pressure-unsteady",
    "supply-lost",
    "leak-membrane",
    "leak-cell",
    "leak-drainage",
    "drainage-state",
    "volume-gauge-end",
    "log-silent",
    "watch-sparse",
    "reading-missed",
    "schedule-ends-early",
    "sensor-fault",
    "zero-offset",
    "consolidation-overdue",
    "rate-too-fast",
    "shear-stopped",
    "load-not-taken",
    "travel-limit",
    "strain-limit",
    "phase-complete",
    "temperature-swing",
    "clock-jump",
    "disk-low",
)

NOT_JUDGED = tuple(Blind(kind, "this version does not judge alarms yet") for kind in KINDS)
"""An alarm that cannot be judged is never counted as well."""
