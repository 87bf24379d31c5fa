"""The dashboard's app, with its faults handed to the program's last door."""

from contextlib import suppress
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from textual.driver import Driver
from textual.worker import WorkerFailed

from tui.app import PorewatchApp

if TYPE_CHECKING:
    from tui.screens.desk import Desk


class ReportingApp(PorewatchApp):
    """Ends on an unforeseen error without printing it: the command says it in one line."""

    # The app's own style sheet is inherited; without this it would be sought beside this file too.
    CSS_PATH = None  # type: ignore[assignment]  # the base took it for a plain text

    def __init__(self, root: Path, closed: str = "", **options: Any) -> None:
        """As the app that it is.

        Args:
            root: the bench, into whose journal goes what people say.
            closed: why nothing can be said here; "" where it can.
            options: what the app takes but the desk.
        """
        super().__init__(**options)
        self._bench_root, self._shut = root, closed
        self.fault: BaseException | None = None
        """The first error that nobody handled."""

    @property
    def acts(self) -> bool:
        """Whether what people say can be entered."""
        return not self._shut

    def desk(self) -> "Desk":
        """The journal of the bench."""
        from tui.screens.desk import Desk  # noqa: PLC0415 (not for the first frame)

        return Desk(self._bench_root, self._shut)

    def _handle_exception(self, error: Exception) -> None:
        # The toolkit prints a traceback with all local values here; no user is to meet one.
        if self.fault is None:
            self.fault = error.error if isinstance(error, WorkerFailed) else error
        self.panic()

    def get_driver_class(self) -> type[Driver]:
        """The toolkit's driver, which outlives its terminal."""
        usual: Any = super().get_driver_class()

        class Outliving(usual):  # type: ignore[misc]  # which one it is depends on the system
            def __init__(self, *args: Any, **options: Any) -> None:
                super().__init__(*args, **options)
                terminal = getattr(self, "_file", None)
                if terminal is not None:  # a page in a browser has none
                    self._file = _Mouth(terminal)

        return Outliving


class _Mouth:
    """A terminal to write to; once it is gone, what is written is dropped.

    The toolkit writes in a thread. An error there ended that thread alone, and the program stood
    for ever before a queue that nobody emptied, deaf even to the signal of the closed terminal.
    """

    def __init__(self, terminal: IO[str]) -> None:
        self._terminal = terminal

    def write(self, text: str) -> None:
        """Send it, if there is still somebody to send it to."""
        with suppress(OSError, ValueError):
            self._terminal.write(text)

    def flush(self) -> None:
        """Send what waits."""
        with suppress(OSError, ValueError):
            self._terminal.flush()

    def fileno(self) -> int:
        """The terminal's descriptor."""
        return self._terminal.fileno()
