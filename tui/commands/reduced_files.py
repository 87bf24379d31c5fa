"""What `reduce --out` writes: readings.csv row by row, results.json with every number."""

import json
from datetime import tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.settings.safe_write import put

if TYPE_CHECKING:
    from reduce.reduction.whole import Reduction

READINGS, RESULTS = "readings.csv", "results.json"


def write_files(folder: Path, found: "Reduction", results: dict[str, Any], zone: tzinfo) -> None:
    """Write both files, each whole or not at all.

    Raises:
        click.UsageError: the folder belongs to a cell, whose logger writes there.
        click.ClickException: the folder cannot be written.
    """
    try:
        true = folder.resolve()  # a link into a cell's folder leads there as well
        if any((around / "cell.toml").is_file() for around in (true, *true.parents)):
            raise click.UsageError(
                f"{folder} lies in the folder of a cell, where {READINGS} would be taken for a "
                "log: name another one"
            )
        folder.mkdir(parents=True, exist_ok=True)
        put(folder / READINGS, readings_csv(found, zone).encode())
        text = json.dumps(results, allow_nan=False, indent=1, ensure_ascii=False)
        put(folder / RESULTS, f"{text}\n".encode())
    except (OSError, RuntimeError) as error:  # a loop of links is a RuntimeError
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise click.ClickException(f"cannot write into {folder}: {why}") from None


def readings_csv(found: "Reduction", zone: tzinfo) -> str:
    """Every reading with its stamp and what it means; only numbers and our own words: no formula.

    Args:
        found: the reduction.
        zone: of the times.
    """
    from pandas import DataFrame  # noqa: PLC0415 (half a second, and only for this file)

    from tui.papers.exchange.readings import readings_columns  # noqa: PLC0415

    columns = readings_columns(found, zone)
    columns["time"] = [moment.isoformat() for moment in columns["time"]]
    text: str = DataFrame(columns).to_csv(index=False, lineterminator="\n")
    return text
