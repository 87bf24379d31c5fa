"""Bytes a second of the dashboard over a real log-in by SSH on loopback, 80 × 24, 16 busy cells."""

import asyncio
import socket
import struct
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyte
from busy_cells import ALLOWED, CELLS, FOR_S, READ_WITHIN_S, SETTLING_S, busy_bench
from pairs import Ratio

sys.path.insert(0, str(Path(__file__).parents[1] / "real"))

COLUMNS, ROWS = 80, 24
_RECEIVED = 128
"""Where Linux keeps the bytes received in what it tells of a connection."""


@dataclass
class Link:
    """What came over one log-in in a while. [B/s]"""

    screen: float
    """What the terminal was sent."""
    wire: float
    """The same as SSH carries it: enciphered, in packets."""


def measure() -> Iterator[Ratio]:
    """As people have it, then with --quiet-link; on the wire, beside what the terminal is sent."""
    with tempfile.TemporaryDirectory() as folder, busy_bench(Path(folder)) as loggers:
        usual, quiet = asyncio.run(_both(loggers.root, Path(folder)))
    what = f"{CELLS} busy cells over SSH at {COLUMNS} × {ROWS}"
    for name, link in ((what, usual), (f"{what}, --quiet-link", quiet)):
        yield Ratio(f"{name} / 2.5 kB/s", link.wire, ALLOWED, link.wire / ALLOWED, "B/s")
        yield Ratio("  of which the terminal is sent", link.screen, link.wire,
                    link.screen / link.wire, "B/s")  # fmt: skip


async def _both(bench: Path, home: Path) -> tuple[Link, Link]:
    return await _watched(bench, home), await _watched(bench, home, "--quiet-link")


async def _watched(bench: Path, home: Path, *options: str) -> Link:
    from test_over_ssh import machine, porewatch  # noqa: PLC0415 (its folder is no package)

    screen = pyte.Screen(COLUMNS, ROWS)
    stream = pyte.ByteStream(screen)
    async with machine(home) as connection:
        process: Any = await connection.create_process(
            porewatch("watch", str(bench), *options),
            term_type="xterm-256color",
            term_size=(COLUMNS, ROWS),
            encoding=None,
        )
        until = time.monotonic() + READ_WITHIN_S
        while "C1 " not in (shown := "\n".join(screen.display)) or "◦" in shown:
            assert time.monotonic() < until, shown
            stream.feed(await _came(process, 1.0))
        await _came(process, SETTLING_S)
        wire = _received(connection)
        sent = len(await _came(process, FOR_S))
        found = Link(sent / FOR_S, (_received(connection) - wire) / FOR_S)
        process.stdin.write(b"qq")  # nobody is on duty there
        await process.wait()
    return found


async def _came(process: Any, for_s: float) -> bytes:
    """All that comes within some seconds."""
    until, came = time.monotonic() + for_s, b""
    while (left := until - time.monotonic()) > 0:
        try:
            came += await asyncio.wait_for(process.stdout.read(65536), left)
        except TimeoutError:
            break
    return came


def _received(connection: Any) -> int:
    told = connection.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_INFO, 256)
    return int(struct.unpack_from("=Q", told, _RECEIVED)[0])
