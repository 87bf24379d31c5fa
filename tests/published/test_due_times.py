"""Due times against the reading times that standards and worked examples print. Exact."""

import csv
from pathlib import Path

import pytest

from reduce.schedule import log_schedule, root_schedule

TABLE = list(
    csv.DictReader(Path(__file__).with_name("due_times.csv").read_text("utf-8").splitlines())
)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['kind']} {row['due_min']}")
def test_slot_is_due_as_printed(row: dict[str, str]) -> None:
    slot, step = int(row["slot"]), float(row["step"])
    if row["kind"] == "root":
        schedule = root_schedule(step, slot)
    else:
        schedule = log_schedule(step, float(row["ratio"]), slot)
    assert schedule.due[-1] == float(row["due_min"]) * 60.0
