"""A real terminal for the tests: a pseudo-terminal, a process in it, and a screen to look at."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pyte
import pytest

PROJECT = Path(__file__).parents[2]

# Becomes the command once the pseudo-terminal is its own: size and Ctrl-C reach only those. Tests
# that run in the background are deaf to Ctrl-C, and so would be what they start.
TAKE_TERMINAL = (
    "import fcntl, os, signal, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    "signal.signal(signal.SIGINT, signal.SIG_DFL); "
    "os.execvp(sys.argv[1], sys.argv[1:])"
)

# What the emulator does not know and would print: modes of newer terminals and their queries.
_UNKNOWN = re.compile(
    rb"\x1b\[[<=>?][0-9;:]*\$?[a-zA-Z]|\x1bP.*?\x1b\\|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)"
)
_KNOWN_MODES = re.compile(rb"\x1b\[\?(?:25|7|6|1049)[hl]$")


class Terminal:
    """A command in a pseudo-terminal of a given size."""

    def __init__(self, command: list[str], columns: int, lines: int, env: dict[str, str]) -> None:
        self.screen = pyte.Screen(columns, lines)
        self.sent = b""
        """Everything that the command sent."""
        self._stream = pyte.ByteStream(self.screen)
        self._held = b""
        self._master, slave = pty.openpty()
        self.resize(columns, lines)
        self.process = subprocess.Popen(
            [sys.executable, "-S", "-c", TAKE_TERMINAL, *command],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            cwd=PROJECT,
            env=env,
            start_new_session=True,
        )
        os.close(slave)

    def resize(self, columns: int, lines: int) -> None:
        """Give the terminal another size; the command is told by the kernel."""
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        self.screen.resize(lines, columns)

    def type(self, keys: str) -> None:
        """Press keys."""
        os.write(self._master, keys.encode())

    @property
    def text(self) -> str:
        """What is on the screen."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def wait_for(self, told: str | Callable[[str], bool], within_s: float = 30.0) -> str:
        """Read until the screen shows it; fails with the screen when the time is over."""
        deadline = time.monotonic() + within_s
        shown = (lambda text: told in text) if isinstance(told, str) else told
        while not shown(self.text):
            left = deadline - time.monotonic()
            if left <= 0 or not self._read(left):
                raise AssertionError(f"{told!r} did not appear; the screen was:\n{self.text}")
        return self.text

    def wait_for_end(self, within_s: float = 30.0) -> int:
        """Read until the command has ended; gives its exit code."""
        deadline = time.monotonic() + within_s
        while self._read(max(0.0, deadline - time.monotonic())):
            assert time.monotonic() < deadline, f"it did not end; the screen was:\n{self.text}"
        return self.process.wait(max(0.1, deadline - time.monotonic()))

    def ends_within(self, seconds: float) -> bool:
        """Read for so long at most; whether the command has ended by then."""
        deadline = time.monotonic() + seconds
        while self.process.poll() is None and time.monotonic() < deadline:
            self._read(0.05)
        return self.process.poll() is not None

    def _read(self, within_s: float) -> bool:
        ready, _, _ = select.select([self._master], [], [], within_s)
        if not ready:
            return False
        try:
            came = os.read(self._master, 65536)
        except OSError:  # how a pseudo-terminal says that nobody is at its other end
            return False
        if not came:
            return False
        self.sent += came
        whole = self._held + came
        # A sequence cut by the end of the read waits for its rest.
        cut = whole.rfind(b"\x1b")
        self._held = whole[cut:] if cut >= 0 and len(whole) - cut < 64 else b""
        ready_part = whole[: len(whole) - len(self._held)]
        self._stream.feed(_without_unknown(ready_part))
        if self._held and _complete(self._held):
            self._stream.feed(_without_unknown(self._held))
            self._held = b""
        return True

    def hang_up(self) -> None:
        """Close the terminal's window while the command runs in it."""
        os.close(self._master)
        self._master = -1

    def close(self) -> None:
        """End what is left."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        if self._master >= 0:
            os.close(self._master)


def _without_unknown(sent: bytes) -> bytes:
    return _UNKNOWN.sub(lambda found: found[0] if _KNOWN_MODES.match(found[0]) else b"", sent)


def _complete(sequence: bytes) -> bool:
    return re.match(rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|[^\[\]P])", sequence) is not None


def plain_environment(home: Path) -> dict[str, str]:
    """The environment of a person who has just logged in."""
    kept = {key: os.environ[key] for key in ("PATH", "TZ", "SYSTEMROOT") if key in os.environ}
    return kept | {
        "HOME": str(home),
        "TERM": "xterm-256color",
        "LANG": "C.UTF-8",
        "PYTHONPATH": str(PROJECT),
        "PYTHONWARNINGS": "error",
    }


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    """Opens terminals in which `porewatch ARGUMENTS` runs."""
    opened: list[Terminal] = []
    home = tmp_path / "home"
    home.mkdir()

    def open_one(
        *arguments: str,
        columns: int = 80,
        lines: int = 24,
        instead: Sequence[str] = ("-m", "tui.commands.main"),
        **env: str,
    ) -> Terminal:
        command = [sys.executable, *instead, *arguments]
        opened.append(Terminal(command, columns, lines, plain_environment(home) | env))
        return opened[-1]

    yield open_one
    for one in opened:
        one.close()
