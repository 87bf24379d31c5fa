"""`porewatch watch` in a real terminal, over files that another process appends to."""

import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

CELL = """
[test]
id = "T015"
kind = "CU"
[specimen]
label = "BH4-U12-a"
diameter = "50.0 mm"
height = "100.0 mm"
[schedule]
saturation = { kind = "every", step = "10 s", slots = 4000 }
"""
HEADER = "time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa\n"

LOGGER = """
import sys
from pathlib import Path
for line in sys.stdin:
    path, _, row = line.rstrip("\\n").partition("|")
    with Path(path).open("a", encoding="utf-8") as log:
        log.write(row + "\\n")
"""


class Logger:
    """A process of its own that appends rows, as loggers do."""

    def __init__(self, bench: Path) -> None:
        self._bench = bench
        self._process = subprocess.Popen(
            [sys.executable, "-c", LOGGER], stdin=subprocess.PIPE, text=True
        )

    def write(self, cell: str, ago_s: float, *values: float) -> None:
        stamp = time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(time.time() - ago_s))
        row = ",".join([stamp, *(f"{value:.1f}" for value in values)])
        assert self._process.stdin is not None
        self._process.stdin.write(f"{self._bench / cell / 'log.csv'}|{row}\n")
        self._process.stdin.flush()

    def close(self) -> None:
        self._process.communicate()


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    root = tmp_path / "bench"
    for name in ("C1", "C2"):
        folder = root / name
        folder.mkdir(parents=True)
        (folder / "cell.toml").write_text(CELL)
        (folder / "log.csv").write_text(HEADER)
    (root / "bench.toml").write_text('name = "Ferry quay"\nzone = "UTC"\n')
    return root


@pytest.fixture
def logger(bench: Path) -> Iterator[Logger]:
    at_work = Logger(bench)
    yield at_work
    at_work.close()


SIZES = [(80, 24), (160, 48)]


@pytest.mark.parametrize(("columns", "lines"), SIZES)
def test_what_a_logger_appends_appears_and_the_terminal_is_left_as_it_was(
    terminal: Callable[..., Any], bench: Path, logger: Logger, columns: int, lines: int
) -> None:
    for k in range(6):
        logger.write("C1", 60.0 - 10.0 * k, 60.0, 50.0, 50.0)
        logger.write("C2", 60.0 - 10.0 * k, 60.0, 50.0, 50.0)
    there = terminal("watch", str(bench), columns=columns, lines=lines)
    text = there.wait_for(lambda text: "Ferry quay" in text and text.count("60") >= 2)
    assert "C1" in text
    assert "C2" in text
    assert "713" not in text
    assert b"\x1b[?1049h" in there.sent
    logger.write("C1", 0.0, 713.0, 50.0, 650.0)
    there.wait_for("713")
    there.type("qq")
    assert there.wait_for_end() == 0
    assert there.sent.rindex(b"\x1b[?1049l") > there.sent.rindex(b"\x1b[?1049h")
    assert there.sent.rindex(b"\x1b[?25h") > there.sent.rindex(b"\x1b[?25l")
    for mouse in (b"\x1b[?1000h", b"\x1b[?1003h", b"\x1b[?2004h"):
        if mouse in there.sent:
            assert there.sent.rindex(mouse[:-1] + b"l") > there.sent.rindex(mouse)
    assert not list(bench.rglob(".porewatch"))


def test_the_screen_follows_the_size_of_the_terminal(
    terminal: Callable[..., Any], bench: Path, logger: Logger
) -> None:
    logger.write("C1", 5.0, 60.0, 50.0, 50.0)
    there = terminal("watch", str(bench), columns=160, lines=48)
    wide = there.wait_for(lambda text: "Ferry quay" in text and "60" in text)
    assert max(len(line) for line in wide.splitlines()) > 100
    there.resize(80, 24)
    there.type("0")
    logger.write("C2", 0.0, 713.0, 50.0, 650.0)
    narrow = there.wait_for("713")
    assert len(narrow.splitlines()) == 24
    assert "Ferry quay" in narrow
    there.type("qq")
    assert there.wait_for_end() == 0


def test_a_cell_that_breaks_is_told_and_the_others_go_on(
    terminal: Callable[..., Any], bench: Path, logger: Logger
) -> None:
    logger.write("C1", 5.0, 60.0, 50.0, 50.0)
    logger.write("C2", 5.0, 60.0, 50.0, 50.0)
    there = terminal("watch", str(bench), columns=160, lines=48)
    there.wait_for(lambda text: "Ferry quay" in text and text.count("60") >= 2)
    (bench / "C2" / "cell.toml").write_text(CELL.replace('"50.0 mm"', "50.0"))
    there.wait_for("diameter is 50.0")  # beside the last values, as far as there is room
    there.type("\x1b[B")
    there.wait_for("C2/cell.toml")
    logger.write("C1", 0.0, 713.0, 50.0, 650.0)
    there.wait_for("713")
    there.type("qq")
    assert there.wait_for_end() == 0


def test_an_interrupted_dashboard_leaves_a_clean_terminal(
    terminal: Callable[..., Any], bench: Path, logger: Logger
) -> None:
    logger.write("C1", 5.0, 60.0, 50.0, 50.0)
    there = terminal("watch", str(bench))
    there.wait_for(lambda text: "Ferry quay" in text)
    there.type("\x03")
    assert there.wait_for_end() in (0, 130)
    assert there.sent.rindex(b"\x1b[?1049l") > there.sent.rindex(b"\x1b[?1049h")
    assert b"Traceback" not in there.sent


def test_the_demo_shows_six_cells_and_leaves_nothing_behind(
    terminal: Callable[..., Any], tmp_path: Path
) -> None:
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    there = terminal("demo", "--speed", "120", columns=160, lines=48, TMPDIR=str(temporary))
    there.wait_for(lambda text: all(f"C{n}" in text for n in range(1, 7)), within_s=60.0)
    (folder,) = temporary.glob("porewatch-demo-*")
    assert len(list(folder.glob("bench/C*/cell.toml"))) == 6

    def logged() -> int:
        return sum(path.stat().st_size for path in folder.glob("bench/C*/*"))

    begun = logged()
    there.wait_for(lambda _text: logged() > begun)
    there.type("q")
    assert there.wait_for_end() == 0
    assert list(temporary.iterdir()) == []
    assert not (tmp_path / "home" / ".local").exists()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
@pytest.mark.parametrize("command", ["demo", "watch"])
def test_told_to_stop_it_leaves_nothing_behind(
    terminal: Callable[..., Any], bench: Path, tmp_path: Path, command: str, number: int
) -> None:
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    arguments = ["demo"] if command == "demo" else ["watch", str(bench)]
    there = terminal(*arguments, TMPDIR=str(temporary))
    there.wait_for(lambda text: "C2" in text, within_s=60.0)
    there.process.send_signal(number)
    assert there.wait_for_end() == 128 + number
    assert list(temporary.iterdir()) == []
    assert b"Traceback" not in there.sent
    assert there.sent.rindex(b"\x1b[?1049l") > there.sent.rindex(b"\x1b[?1049h")
    assert there.sent.rindex(b"\x1b[?25h") > there.sent.rindex(b"\x1b[?25l")


def test_a_demo_whose_terminal_is_closed_leaves_nothing_behind(
    terminal: Callable[..., Any], tmp_path: Path
) -> None:
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    there = terminal("demo", TMPDIR=str(temporary))
    there.wait_for(lambda text: "C2" in text, within_s=60.0)
    there.hang_up()
    there.process.wait(30.0)
    assert list(temporary.iterdir()) == []


FAULTY = """
import sys
from tui.panes.wall import Wall

def fail(self, crop):
    raise ZeroDivisionError("a pane's own mistake")

Wall.render_lines = fail
from tui.commands.main import main
main()
"""


def test_a_fault_of_ours_is_one_line_and_the_terminal_is_clean(
    terminal: Callable[..., Any], bench: Path
) -> None:
    there = terminal("watch", str(bench), instead=["-c", FAULTY])
    assert there.wait_for_end() == 70
    assert there.sent.rindex(b"\x1b[?1049l") > there.sent.rindex(b"\x1b[?1049h")
    assert b"Traceback" not in there.sent
    said = there.sent[there.sent.rindex(b"\x1b[?1049l") :].decode()
    assert "ZeroDivisionError: a pane's own mistake" in said
    assert "POREWATCH_TRACEBACK=1" in said


def test_without_a_terminal_it_says_what_else_there_is(bench: Path) -> None:
    for command in (["watch", str(bench)], ["demo"]):
        done = subprocess.run(
            [sys.executable, "-m", "tui.commands.main", *command],
            capture_output=True,
            text=True,
            stdin=subprocess.DEVNULL,
            check=False,
            cwd=Path(__file__).parents[2],
        )
        assert done.returncode == 64
        assert done.stdout == ""
        assert "needs a terminal; porewatch status" in done.stderr


def test_status_in_a_narrow_terminal_wraps_at_its_edge(
    terminal: Callable[..., Any], bench: Path
) -> None:
    there = terminal("status", str(bench), columns=44, lines=60)
    code = there.wait_for_end()
    assert code in (1, 3)
    sent = there.sent.decode()
    assert "\x1b[" in sent  # colours, for it is a terminal
    assert "Ferry quay" in there.text
    assert "\x1b[" not in _plain(terminal, bench)


def _plain(terminal: Callable[..., Any], bench: Path) -> str:
    there = terminal("status", str(bench), NO_COLOR="1")
    there.wait_for_end()
    return str(there.sent.decode())
