"""Mail, handed over to a server by SMTP (RFC 5321), with TLS (RFC 3207, RFC 8314)."""

import smtplib
import ssl
from contextlib import suppress
from datetime import UTC, datetime
from email.message import EmailMessage
from email.utils import format_datetime, make_msgid

from tui.guard.letters import Letter
from tui.guard.routes.addresses import TIMEOUT_S, MailAddress
from tui.guard.routes.failures import FailedError


class Mail:
    """One mail to all recipients."""

    def __init__(self, to: MailAddress) -> None:
        self._to = to

    def send(self, letter: Letter, at: float) -> None:
        """Hand one mail over; the server's certificate is checked."""
        to = self._to
        message = mail_of(letter, to.sender, to.recipients, at)
        server: smtplib.SMTP
        if to.tls == "implicit":
            trust = ssl.create_default_context()
            server = smtplib.SMTP_SSL(to.host, to.port, timeout=TIMEOUT_S, context=trust)
        else:
            server = smtplib.SMTP(to.host, to.port, timeout=TIMEOUT_S)
        try:
            if to.tls == "starttls":
                server.starttls(context=ssl.create_default_context())
            if to.user is not None:
                _log_in(server, to.user, to.password)
            refused = server.send_message(message, to.sender, list(to.recipients))
        except BaseException:
            server.close()  # a server that failed is not waited for to say good-bye
            raise
        with suppress(smtplib.SMTPException, OSError):  # the mail was taken
            server.quit()
        if refused:
            raise smtplib.SMTPRecipientsRefused(refused)


def _log_in(server: smtplib.SMTP, user: str, password: str) -> None:
    try:
        server.login(user, password)
    except smtplib.SMTPServerDisconnected:
        # The library tries one way after the other, and some servers hang up at the second.
        raise FailedError("the mail server hung up at the log-in: is the password right?") from None


def mail_of(letter: Letter, sender: str, recipients: tuple[str, ...], at: float) -> EmailMessage:
    """The mail itself; the subject is one printable line already (`letters`)."""
    message = EmailMessage()
    message["From"] = sender
    message["To"] = ", ".join(recipients)
    message["Subject"] = letter.subject
    message["Date"] = format_datetime(datetime.fromtimestamp(at, UTC))
    message["Message-ID"] = make_msgid(domain="porewatch.invalid")
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834: no holiday answers to the watch
    if letter.priority == "urgent":
        message["Importance"] = "high"
    message.set_content(letter.text)
    return message
