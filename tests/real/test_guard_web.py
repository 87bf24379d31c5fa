"""Webhook, push, heartbeat, apprise and programs: real servers on loopback, one that hangs, too."""

import base64
import json
import stat
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from tui.guard.heartbeat import give_sign
from tui.guard.letters import trial_letter
from tui.guard.routes import FailedError, program, way_of, web
from tui.guard.routes.failures import reason

LETTER = trial_letter("Ferry quay σ₃", "night phone", "2031-02-03T00:00:00+00:00")


@dataclass
class Server:
    """What was asked, and what is answered: the last answer goes on."""

    address: str = ""
    asked: list[tuple[str, str, dict[str, str], bytes]] = field(default_factory=list)
    answers: list[int] = field(default_factory=lambda: [200])
    hangs: threading.Event | None = None


@pytest.fixture
def server() -> Iterator[Server]:
    told = Server()

    class Handler(BaseHTTPRequestHandler):
        def answer(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            told.asked.append((self.command, self.path, dict(self.headers), body))
            if told.hangs is not None:
                told.hangs.wait(20)
            code = told.answers.pop(0) if len(told.answers) > 1 else told.answers[0]
            self.send_response(code)
            if code == 302:
                self.send_header("Location", "/elsewhere")
            self.send_header("Content-Length", "0")
            self.end_headers()

        do_GET = do_POST = answer

        def log_message(self, *_: object) -> None: ...

    one = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    told.address = f"127.0.0.1:{one.server_port}"
    thread = threading.Thread(target=one.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    yield told
    if told.hangs is not None:
        told.hangs.set()
    one.shutdown()
    one.server_close()
    thread.join()


def failure(address: str) -> str:
    with pytest.raises(Exception) as error:
        way_of(address).send(LETTER, 0.0)
    return reason(error.value)


def test_a_webhook_gets_the_document(server: Server) -> None:
    way_of(f"http://a:hunter2@{server.address}/hook?x=1").send(LETTER, 0.0)
    ((verb, path, headers, body),) = server.asked
    assert (verb, path, headers["Content-Type"]) == ("POST", "/hook?x=1", "application/json")
    assert base64.b64decode(headers["Authorization"].split()[1]) == b"a:hunter2"
    told = json.loads(body)
    assert (told["schema"], told["test"]) == ("porewatch.notice/1", True)
    assert "no safety device" in told["text"]


def test_a_push_gets_a_few_lines_and_headers(server: Server) -> None:
    way_of(f"push+http://{server.address}/topic").send(LETTER, 0.0)
    ((verb, path, headers, body),) = server.asked
    assert (verb, path) == ("POST", "/topic")
    assert headers["Title"] == "Test of the route night phone: Ferry quay s3"
    assert (headers["Priority"], headers["Tags"]) == ("3", "note,test")
    assert body.decode().startswith("This is a test of the route night phone")


@pytest.mark.parametrize("form", ["http", "push+http"])
def test_what_is_not_taken_is_told_by_its_number(server: Server, form: str) -> None:
    server.answers = [500, 302, 404, 200]
    address = f"{form}://{server.address}/hunter2"
    told = [failure(address) for _ in range(3)]
    assert told == [f"the server answered {code}" for code in (500, 302, 404)]
    way_of(address).send(LETTER, 0.0)
    assert [path for _, path, _, _ in server.asked] == ["/hunter2"] * 4  # no redirect is followed


def test_a_server_that_hangs_is_given_up(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(web, "TIMEOUT_S", 0.2)
    server.hangs = threading.Event()
    begun = time.monotonic()
    assert failure(f"http://{server.address}/hunter2") == "no answer came in time"
    assert time.monotonic() - begun < 3.0


def test_nobody_there() -> None:
    assert failure("http://127.0.0.1:9/hunter2") == "the connection was refused"
    assert failure("http://nowhere.invalid/hunter2") == "the name of the host is not found"


def test_a_heart_beats_at_an_address_or_in_a_file(server: Server, tmp_path: Path) -> None:
    give_sign(f"http://{server.address}/alive")
    assert [one[:2] for one in server.asked] == [("GET", "/alive")]
    give_sign(f"file:{tmp_path}/a%20heart")
    assert (tmp_path / "a heart").exists()
    server.answers = [503]
    with pytest.raises(Exception) as error:
        give_sign(f"http://{server.address}/alive")
    assert reason(error.value) == "the server answered 503"


def test_a_program_gets_the_document_and_nothing_in_its_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script, out = tmp_path / "pager", tmp_path / "out put"
    script.write_text('#!/bin/sh\nprintf "%s|" "$@" > "$1"; cat >> "$1"\n')
    script.chmod(script.stat().st_mode | stat.S_IXUSR)
    way_of(f"command:{script} '{out}' '$HOME;x'").send(LETTER, 0.0)
    arguments, _, body = out.read_text().rpartition("|")
    assert arguments == f"{out}|$HOME;x"
    assert json.loads(body)["schema"] == "porewatch.notice/1"
    assert failure("command:/bin/false") == "the program ended with 1"
    assert failure("command:/nowhere/hunter2") == "there is no such file"
    monkeypatch.setattr(program, "TIMEOUT_S", 0.2)
    begun = time.monotonic()
    assert failure("command:/bin/sh -c 'sleep 20 & sleep 20'") == "no answer came in time"
    assert time.monotonic() - begun < 5.0


@pytest.mark.filterwarnings("ignore")  # of the library itself
def test_apprise_sends_by_its_own_forms(server: Server) -> None:
    pytest.importorskip("apprise")
    way_of(f"apprise:json://{server.address}/hook").send(LETTER, 0.0)
    assert json.loads(server.asked[0][3])["title"] == LETTER.subject
    server.answers = [500]
    with pytest.raises(FailedError, match="could not send"):
        way_of(f"apprise:json://{server.address}/hook").send(LETTER, 0.0)


def test_without_the_library_it_is_said_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "apprise", None)
    assert "pip install 'porewatch[apprise]'" in failure("apprise:json://host")
