"""`porewatch browse` on loopback: a page, the dashboard through its socket, nothing for others."""

import asyncio
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
aiohttp = pytest.importorskip("aiohttp")
pytest.importorskip("textual_serve")

CELL = """
[test]
id = "T015"
kind = "CU"
[specimen]
diameter = "50.0 mm"
height = "100.0 mm"
"""
LOG = """time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa
2031-02-03T08:00:00,60.0,50.0,50.0
2031-02-03T08:01:00,437.0,50.0,50.0
"""


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    root = tmp_path / "ferry quay"  # a blank in its name: the command passes through a shell
    (root / "C1").mkdir(parents=True)
    (root / "C1" / "cell.toml").write_text(CELL)
    (root / "C1" / "log.csv").write_text(LOG)
    (root / "bench.toml").write_text('name = "Ferry quay"\nzone = "UTC"\nnow = "last row"\n')
    return root


def free_port() -> int:
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return int(tried.getsockname()[1])


def browse(bench: Path, port: int, home: Path) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "tui.commands.main", "browse", str(bench), "--port", str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=PROJECT,
        env={"PATH": os.environ["PATH"], "HOME": str(home), "PYTHONPATH": str(PROJECT)},
    )


@pytest.fixture
def served(bench: Path, tmp_path: Path) -> Iterator[tuple["subprocess.Popen[str]", int]]:
    port = free_port()
    process = browse(bench, port, tmp_path)
    deadline = time.monotonic() + 30.0
    while True:
        with socket.socket() as tried:
            if tried.connect_ex(("127.0.0.1", port)) == 0:
                break
        assert time.monotonic() < deadline
        assert process.poll() is None, process.communicate()
        time.sleep(0.05)
    yield process, port
    if process.poll() is None:
        process.kill()
    process.communicate()


def watching(bench: Path) -> list[str]:
    """Dashboards of this bench that still run."""
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = path.read_bytes().split(b"\0")
        except OSError:
            continue
        if b"watch" in words and str(bench).encode() in words:
            found.append(path.parent.name)
    return found


async def test_a_browser_sees_the_dashboard(
    bench: Path, served: tuple["subprocess.Popen[str]", int]
) -> None:
    process, port = served
    address = f"127.0.0.1:{port}"
    async with aiohttp.ClientSession() as session:
        async with session.get(f"http://{address}/") as answer:
            assert answer.status == 200
            assert "Porewatch" in await answer.text()
            assert "default-src 'self'" in answer.headers["Content-Security-Policy"]
        sent = b""
        async with session.ws_connect(f"http://{address}/ws?width=120&height=36") as page:
            while b"Ferry quay" not in sent or b"437" not in sent:
                sent += (await asyncio.wait_for(page.receive(), 30.0)).data
            assert b"\x1b[?1049h" in sent
            assert b"48;2;13;23;25" in sent  # the ground of the dark theme
            assert watching(bench)
            await page.send_json(["stdin", "t"])
            while b"48;2;246;248;244" not in sent:
                sent += (await asyncio.wait_for(page.receive(), 30.0)).data
        deadline = time.monotonic() + 10.0
        while watching(bench):
            assert time.monotonic() < deadline, "the page is closed, its dashboard still runs"
            await asyncio.sleep(0.1)
    process.send_signal(signal.SIGINT)
    said, complaints = process.communicate(timeout=20.0)
    assert f"http://{address}" in said
    assert "no log-in" in said
    assert "Traceback" not in complaints
    assert process.returncode == 0


async def test_what_did_not_come_from_its_own_page_is_refused(
    served: tuple["subprocess.Popen[str]", int],
) -> None:
    _, port = served
    own = f"http://127.0.0.1:{port}"
    async with aiohttp.ClientSession() as session:
        for headers in ({"Host": "example.org"}, {"Origin": "http://example.org"}):
            for path in ("/", "/ws"):
                async with session.get(own + path, headers=headers) as answer:
                    assert answer.status == 403
    with socket.socket() as other:  # all of 127.0.0.0/8 is this machine
        assert other.connect_ex(("127.0.0.2", port)) != 0


def test_a_port_that_is_taken_is_one_line(bench: Path, tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        process = browse(bench, taken.getsockname()[1], tmp_path)
        _, complaints = process.communicate(timeout=30.0)
    assert process.returncode == 1
    assert "cannot be used" in complaints
    assert "Traceback" not in complaints
