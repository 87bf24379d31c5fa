"""Any messenger that the library apprise knows; it is an extra."""

import logging

from tui.guard.letters import Letter
from tui.guard.routes.failures import AddressError, FailedError


class Apprised:
    """Hands the message to the library."""

    def __init__(self, address: str) -> None:
        """Try the address.

        Raises:
            AddressError: the library is missing, or knows no such address.
        """
        # It logs addresses when something is wrong; they hold secrets.
        log = logging.getLogger("apprise")
        log.addHandler(logging.NullHandler())
        log.propagate = False
        try:
            import apprise  # noqa: PLC0415 (an extra, and slow)
        except ImportError:
            raise AddressError(
                "this form needs the library apprise: pip install 'porewatch[apprise]'"
            ) from None
        self._library = apprise
        self._all = apprise.Apprise()
        if not address.strip() or not self._all.add(address.strip()):
            raise AddressError("the library apprise knows no such address")

    def send(self, letter: Letter, at: float) -> None:  # noqa: ARG002 (it has no date)
        """Send it."""
        kinds = self._library.NotifyType
        kind = {"urgent": kinds.FAILURE, "warning": kinds.WARNING}.get(letter.priority, kinds.INFO)
        text = self._library.NotifyFormat.TEXT
        if not self._all.notify(
            title=letter.subject, body=letter.text, notify_type=kind, body_format=text
        ):
            raise FailedError("the library apprise could not send it")
