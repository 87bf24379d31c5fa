"""A program of the user's own that takes the message on its standard input."""

import json
import os
import signal
import subprocess
from contextlib import suppress

from tui.guard.letters import Letter
from tui.guard.routes.addresses import TIMEOUT_S
from tui.guard.routes.failures import FailedError


class Program:
    """Runs it once a message, without a shell; nothing from logs stands in its command line."""

    def __init__(self, arguments: tuple[str, ...]) -> None:
        self._arguments = arguments

    def send(self, letter: Letter, at: float) -> None:  # noqa: ARG002 (the document has its own)
        """Run it; it has taken the message when it ends with 0."""
        body = json.dumps({**letter.document, "text": letter.text}, allow_nan=False).encode()
        with subprocess.Popen(
            self._arguments,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        ) as process:
            try:
                process.communicate(body, timeout=TIMEOUT_S)
            except BaseException:
                _end(process)
                raise
        if process.returncode:
            raise FailedError(f"the program ended with {process.returncode}")


def _end(process: subprocess.Popen[bytes]) -> None:
    """End it with what it has started."""
    with suppress(OSError):
        if os.name == "posix":
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()
