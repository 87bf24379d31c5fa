"""A real log-in over SSH on loopback: one look, a note, and the dashboard in its terminal."""

import asyncio
import fcntl
import os
import pty
import struct
import subprocess
import sys
import termios
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import asyncssh
import pyte
import pytest

from tui.journal.store import Journal

PROJECT = Path(__file__).parents[2]
TAKE_TERMINAL = (
    "import fcntl, os, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    "os.execvp(sys.argv[1], sys.argv[1:])"
)
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
    root = tmp_path / "bench"
    (root / "C1").mkdir(parents=True)
    (root / "C1" / "cell.toml").write_text(CELL)
    (root / "C1" / "log.csv").write_text(LOG)
    (root / "bench.toml").write_text('name = "Ferry quay"\nzone = "UTC"\nnow = "last row"\n')
    return root


@asynccontextmanager
async def machine(home: Path) -> AsyncIterator[asyncssh.SSHClientConnection]:
    """A machine to log in to, and the log-in; its commands run as a shell's children would."""
    host_key = asyncssh.generate_private_key("ssh-ed25519")
    user_key = asyncssh.generate_private_key("ssh-ed25519")
    known = asyncssh.import_authorized_keys(user_key.export_public_key().decode())
    server = await asyncssh.listen(
        "127.0.0.1",
        0,
        server_host_keys=[host_key],
        authorized_client_keys=known,
        process_factory=lambda process: serve(process, home),
        encoding=None,
        line_editor=False,
    )
    trusted = asyncssh.import_known_hosts(f"* {host_key.export_public_key().decode().strip()}\n")
    try:
        async with asyncssh.connect(
            "127.0.0.1",
            server.get_port(),
            username="mira",
            client_keys=[user_key],
            known_hosts=trusted,
            config=None,
            agent_path=None,
        ) as connection:
            yield connection
    finally:
        server.close()
        await server.wait_closed()


async def serve(process: "asyncssh.SSHServerProcess[bytes]", home: Path) -> None:
    """What an SSH server does for a command: a terminal if one is asked for, and SSH_CONNECTION."""
    client, here = process.get_extra_info("peername"), process.get_extra_info("sockname")
    environment = {
        "PATH": os.environ["PATH"],
        "HOME": str(home),
        "LANG": "C.UTF-8",
        "PYTHONPATH": str(PROJECT),
        "SSH_CONNECTION": f"{client[0]} {client[1]} {here[0]} {here[1]}",
    }
    command = process.command or ""
    if process.term_type is None:
        plain = await asyncio.create_subprocess_shell(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            cwd=home,
            env=environment,
        )
        out, err = await plain.communicate()
        process.stdout.write(out)
        process.stderr.write(err)
        process.exit(plain.returncode or 0)
        return
    master, slave = pty.openpty()
    set_size(master, *process.term_size[:2])
    inside = await asyncio.create_subprocess_exec(
        *(sys.executable, "-S", "-c", TAKE_TERMINAL, "/bin/sh", "-c", command),
        stdin=slave,
        stdout=slave,
        stderr=slave,
        cwd=home,
        env=environment | {"TERM": process.term_type},
        start_new_session=True,
    )
    os.close(slave)
    loop = asyncio.get_running_loop()

    def relay() -> None:
        try:
            process.stdout.write(os.read(master, 65536))
        except OSError:
            loop.remove_reader(master)

    loop.add_reader(master, relay)
    keys = asyncio.create_task(relay_keys(process, master))
    code = await inside.wait()
    keys.cancel()
    loop.remove_reader(master)
    os.close(master)
    process.exit(code)


async def relay_keys(process: "asyncssh.SSHServerProcess[bytes]", master: int) -> None:
    while True:
        try:
            typed = await process.stdin.read(4096)
        except asyncssh.TerminalSizeChanged as changed:
            set_size(master, changed.width, changed.height)
            continue
        if not typed:
            return
        os.write(master, typed)


def set_size(master: int, columns: int, lines: int) -> None:
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))


def porewatch(*arguments: str) -> str:
    return " ".join([sys.executable, "-m", "tui.commands.main", *arguments])


async def test_status_and_a_note_over_ssh(bench: Path, tmp_path: Path) -> None:
    async with machine(tmp_path) as connection:
        looked: Any = await connection.run(porewatch("status", str(bench)), encoding="utf-8")
        assert "Ferry quay" in looked.stdout
        assert "437.0 kPa" in looked.stdout
        assert "\x1b" not in looked.stdout
        assert looked.stderr == ""
        noted: Any = await connection.run(
            porewatch("note", "C1", "seen", "--by", "mira", "--bench", str(bench)), encoding="utf-8"
        )
        assert noted.exit_status == 0, noted.stderr
    journal = Journal.open(bench)
    (entry,) = journal.entries()
    journal.close()
    assert entry.client == "127.0.0.1"
    assert entry.act.who == "mira"


async def test_the_dashboard_over_ssh(bench: Path, tmp_path: Path) -> None:
    screen = pyte.Screen(80, 24)
    stream = pyte.ByteStream(screen)
    sent = b""
    async with machine(tmp_path) as connection:
        process: Any = await connection.create_process(
            porewatch("watch", str(bench)),
            term_type="xterm-256color",
            term_size=(80, 24),
            encoding=None,
        )

        async def shown(told: str) -> None:
            nonlocal sent
            while told not in "\n".join(screen.display):
                came = await process.stdout.read(65536)
                assert came, f"{told!r} did not appear:\n" + "\n".join(screen.display)
                sent += came
                stream.feed(came)

        await asyncio.wait_for(shown("437"), 40.0)
        assert "Ferry quay" in "\n".join(screen.display)
        process.stdin.write(b"q")
        sent += await asyncio.wait_for(process.stdout.read(), 20.0)
        done = await asyncio.wait_for(process.wait(), 20.0)
        assert done.exit_status == 0
    assert b"\x1b[?1049l" in sent
