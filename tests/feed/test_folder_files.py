"""Which files of a folder are logs."""

import glob
import os
from pathlib import Path

import pytest

from tui.feed.folder_files import LogFolder
from tui.settings.cell_toml import Log

NAMES = ["a.csv", "b.csv", "B.csv", "log1.txt", "log[1].txt", ".hidden.csv", "~a.csv", "cell.toml"]
PATTERNS = [
    "*.csv", "?.csv", "[ab].csv", "[!a]*", "a.csv", "none.csv", "*", ".*", "**", "a**", "**/*.csv",
    "*/*.csv", "deep/*", "./*.csv", "log[[]1].txt", "*.toml", "", "deep", "*/", "link*",
]  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in NAMES:
        (tmp_path / name).write_text("")
    (tmp_path / "deep.csv").mkdir()
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "c.csv").write_text("")
    return tmp_path


@pytest.mark.parametrize("pattern", PATTERNS)
def test_a_pattern_takes_what_a_glob_takes(folder: Path, pattern: str) -> None:
    names = glob.glob(pattern, root_dir=folder, recursive=True)  # noqa: PTH207
    expected = [
        folder / name
        for name in sorted(names)
        if not (folder / name).is_dir()
        and not (folder / name).name.startswith((".", "~"))
        and not name.endswith(".toml")
    ]
    listed = LogFolder(folder, Log(files=pattern), "C1")
    assert listed.look()
    assert listed.files == expected


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_links_are_logs_unless_they_lead_to_a_folder(folder: Path) -> None:
    (folder / "to_deep.csv").symlink_to(folder / "deep")
    (folder / "to_a.csv").symlink_to(folder / "a.csv")
    (folder / "to_nothing.csv").symlink_to(folder / "nothing")
    (folder / "to_itself.csv").symlink_to(folder / "to_itself.csv")
    listed = LogFolder(folder, Log(files="to*"), "C1")
    assert listed.look()
    assert [path.name for path in listed.files] == ["to_a.csv", "to_itself.csv", "to_nothing.csv"]


def test_what_is_no_folder_any_more_keeps_what_was_listed(folder: Path) -> None:
    listed = LogFolder(folder / "deep", Log(), "C1/deep")
    assert listed.look()
    (folder / "deep" / "c.csv").unlink()
    (folder / "deep").rmdir()
    assert not listed.look()
    assert [path.name for path in listed.files] == ["c.csv"]
    assert listed.problem is not None
    assert "C1/deep cannot be read: No such file" in listed.problem.what
    (folder / "deep").mkdir()
    assert listed.look()
    assert (listed.files, listed.problem) == ([], None)


def test_the_live_file_is_none_of_them(folder: Path) -> None:
    listed = LogFolder(folder, Log(live="./b.csv"), "C1")
    assert listed.look()
    assert [path.name for path in listed.files] == ["B.csv", "a.csv"]
