"""`adopt` asks on a real terminal, and writes what was agreed to."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

SURE = "Time,Cell kPa\n2031-02-03T08:00:00,20\n"
DOUBTFUL = "Time,Cell kPa,u\n2031-02-03T08:00:00,20,10\n"

Open = Callable[..., Any]


def _folder(tmp_path: Path, text: str) -> Path:
    folder = tmp_path / "C7"
    folder.mkdir()
    (folder / "log.csv").write_text(text)
    return folder


@pytest.mark.parametrize(
    ("key", "code", "written"), [("y", 0, True), ("n", 1, False), ("", 1, False)]
)
def test_consent(terminal: Open, tmp_path: Path, key: str, code: int, written: bool) -> None:
    folder = _folder(tmp_path, SURE)
    shown = terminal("adopt", str(folder), columns=60, lines=40)
    shown.wait_for("Write this cell.toml?")
    shown.type(f"{key}\n")
    assert shown.wait_for_end() == code
    assert (folder / "cell.toml").exists() == written


def test_doubts_are_written_as_comments(terminal: Open, tmp_path: Path) -> None:
    folder = _folder(tmp_path, DOUBTFUL)
    shown = terminal("adopt", str(folder), columns=80, lines=50)
    shown.wait_for("Write it, with what is in doubt as comments?")
    assert "log.channels.pore_pressure.unit" in shown.text
    shown.type("y\n")
    assert shown.wait_for_end() == 0
    text = (folder / "cell.toml").read_text("utf-8")
    assert set(tomllib.loads(text)["log"]["channels"]) == {"cell_pressure"}
    assert '# doubtful: no unit of pressure stands with "u"' in text
    assert '# pore_pressure = { column = "u", unit = "kPa" }' in text


@pytest.mark.parametrize("key", ["\x03", "\x04"])
def test_leaving_writes_nothing(terminal: Open, tmp_path: Path, key: str) -> None:
    folder = _folder(tmp_path, SURE)
    shown = terminal("adopt", str(folder))
    shown.wait_for("Write this cell.toml?")
    # An interrupt between the prompt and the first wait for a key is heard with the next key only.
    for _ in range(10):
        shown.type(key)
        if shown.ends_within(3.0):
            break
    assert shown.wait_for_end() == 130
    assert not (folder / "cell.toml").exists()
