"""The dashboard's app, with its faults handed to the program's last door."""

from tui.app import PorewatchApp


class ReportingApp(PorewatchApp):
    """Ends on an unforeseen error without printing it: the command says it in one line."""

    # The app's own style sheet is inherited; without this it would be sought beside this file too.
    CSS_PATH = None  # type: ignore[assignment]  # the base took it for a plain text

    fault: Exception | None = None
    """The first error that nobody handled."""

    def _handle_exception(self, error: Exception) -> None:
        # The toolkit prints a traceback with all local values here; no user is to meet one.
        if self.fault is None:
            self.fault = error
        self.panic()
