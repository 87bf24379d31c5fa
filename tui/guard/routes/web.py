"""Messages over HTTP: a webhook that takes JSON, a push service that takes plain text."""

import base64
import json
import urllib.error
import urllib.request
from collections.abc import Mapping
from typing import Any

from tui.guard.letters import Letter
from tui.guard.routes.addresses import TIMEOUT_S
from tui.guard.routes.failures import FailedError

_AGENT = "porewatch"
_LEVELS = {"urgent": "5", "warning": "4", "note": "3"}
"""Of five, 3 is usual: as common push services read them (common practice)."""


class _StaysHere(urllib.request.HTTPRedirectHandler):
    """A message that is sent elsewhere would arrive there empty: a redirect is a failure."""

    def redirect_request(self, *_: Any, **__: Any) -> None:
        return None


def asked(
    url: str, body: bytes | None, headers: Mapping[str, str], login: str | None = None
) -> None:
    """POST a body, or GET when there is none; returns when the answer was 2xx.

    Raises:
        Exception: no such answer came.
    """
    request = urllib.request.Request(url, data=body, headers={"User-Agent": _AGENT, **headers})
    if login is not None:
        word = base64.b64encode(login.encode()).decode("ascii")
        request.add_unredirected_header("Authorization", f"Basic {word}")
    opener = urllib.request.build_opener(_StaysHere) if body else urllib.request.build_opener()
    try:
        with opener.open(request, timeout=TIMEOUT_S) as answer:
            code = answer.status
    except urllib.error.HTTPError as error:
        code = error.code
        error.close()
    if not 200 <= code < 300:
        raise FailedError(f"the server answered {code}")


class Webhook:
    """POSTs the document of the message as JSON, schema `porewatch.notice/1`."""

    def __init__(self, url: str, login: str | None) -> None:
        self._url, self._login = url, login

    def send(self, letter: Letter, at: float) -> None:  # noqa: ARG002 (the document has its own)
        """POST it."""
        body = json.dumps({**letter.document, "text": letter.text}, allow_nan=False).encode()
        asked(self._url, body, {"Content-Type": "application/json"}, self._login)


class Push:
    """POSTs a few lines to a topic; title, priority and tags go as headers."""

    def __init__(self, url: str, login: str | None) -> None:
        self._url, self._login = url, login

    def send(self, letter: Letter, at: float) -> None:  # noqa: ARG002 (a push has no date)
        """POST it."""
        headers = {
            "Content-Type": "text/plain; charset=utf-8",
            "Title": letter.subject,
            "Priority": _LEVELS.get(letter.priority, "3"),
            "Tags": ",".join(letter.tags),
        }
        asked(self._url, letter.short.encode(), headers, self._login)
