"""What people read, and that nothing from outside steers mail, header or screen."""

import json
from dataclasses import replace
from email import message_from_bytes, policy

import pytest
from made import DAY, alarm, bench, cell, journalled, route, spell
from made import told as carried

from tui.bench.picture import Bench
from tui.guard.company import Bundle
from tui.guard.ledger import Ledger
from tui.guard.letters import Letter, letter_of, trial_letter
from tui.guard.routes.mail import mail_of
from tui.guard.when import due

HOSTILE = "C1\r\nBcc: all@example.org\x1b[31m\u202e<b>$(rm)\x00"


def letter(picture: Bench, *, is_summary: bool = False) -> Letter:
    ledger = Ledger()
    journalled(ledger, picture)
    notices = due(ledger, picture, route(**{"from": "note"}), None)
    return letter_of(Bundle(tuple(notices), is_summary), picture)


def test_a_letter_says_everything_that_somebody_woken_at_night_must_know() -> None:
    one = spell(DAY, kind="pressure-drift", about="cell_pressure")
    told = alarm(one, consequences=("leak-cell",))
    found = letter(bench(DAY + 130, cell("C1", (one,), alarms=(told,))))
    assert found.subject == "URGENT: C1: pressure-drift cell pressure - Ferry quay"
    for line in (
        "Ferry quay · today 00:02",
        "URGENT: C1: pressure-drift cell pressure",
        "Test: T1, CU, BH4",
        "Read: cell pressure 990 kPa",
        "Since: today 00:00, 2 min ago",
        "Usual cause: a regulator creeps.",
        "If nobody acts: the cell may burst.",
        "Do: From a distance, lower the pressure.",
        "Within: 5 min",
        "Follows from it: leak-cell",
        "To acknowledge: porewatch acknowledge C1 pressure-drift --about cell_pressure",
    ):
        assert line in found.text.splitlines()
    assert "no safety device" in found.text
    assert found.short.splitlines()[1] == "cell pressure 990 kPa"
    (notice,) = found.document["notices"]
    assert found.document["schema"] == "porewatch.notice/1"
    assert (notice["what"], notice["cell"], notice["since"]) == (
        "raised", "C1", "2031-02-03T00:00:00+00:00",
    )  # fmt: skip
    json.dumps(found.document, allow_nan=False)


@pytest.mark.parametrize("is_summary", [False, True])
def test_nothing_from_logs_or_settings_steers_anything(is_summary: bool) -> None:
    one = spell(DAY, about=HOSTILE, message=HOSTILE)
    hostile = replace(
        cell("C1", (one,), alarms=(alarm(one, cause=HOSTILE, action=HOSTILE),)),
        cell=HOSTILE, specimen=HOSTILE, test_id=HOSTILE,
    )  # fmt: skip
    picture = replace(bench(DAY + 60, hostile, cell("C2", (one,))), name=HOSTILE)
    found = letter(picture, is_summary=is_summary)
    assert all(" " <= sign <= "~" for sign in found.subject)
    assert len(found.subject) <= 120
    for text in (found.text, found.short, json.dumps(found.document, ensure_ascii=False)):
        assert not {sign for sign in text if not sign.isprintable()} - {"\n"}
        assert not any(line.startswith("Bcc") for line in text.splitlines())
    mail = mail_of(found, "watch@lab.example", ("me@lab.example",), DAY)
    read = message_from_bytes(mail.as_bytes(), policy=policy.default)
    assert read["Bcc"] is None
    assert read["To"] == "me@lab.example"
    assert read["Date"] == "Mon, 03 Feb 2031 00:00:00 +0000"


def test_what_to_type_is_safe_to_paste() -> None:
    one = spell(DAY)
    picture = bench(DAY + 60, replace(cell("C1", (one,)), cell="C 1; rm -rf $HOME"))
    assert "porewatch acknowledge 'C 1; rm -rf $HOME' over-pressure" in letter(picture).text


def test_a_summary_names_counts_by_cell_and_loses_nothing() -> None:
    kinds = ("over-pressure", "log-silent", "leak-membrane", "shear-stopped")
    cells = [cell(f"C{n}", tuple(spell(DAY, kind=kind) for kind in kinds)) for n in range(3)]
    found = letter(bench(DAY + 60, *cells), is_summary=True)
    assert found.subject == "URGENT: 12 messages at once from Ferry quay"
    assert "By cell: C0 4, C1 4, C2 4." in found.text
    for n in range(3):
        for kind in kinds:
            assert f"C{n}: {kind}" in found.text
    assert len(found.document["notices"]) == 12


def test_people_read_the_units_that_the_bench_shows_and_programs_si() -> None:
    said = "fell from 210 to 60.5 kPa, limit 5 kPa"
    one = spell(DAY, message=said)
    there = replace(bench(DAY + 130, cell("C1", (one,), alarms=(alarm(one),))), units="US")
    found = letter(there)
    assert "Read: fell from 30.5 to 8.77 psi, limit 0.7 psi" in found.text.splitlines()
    assert found.short.splitlines()[1] == "fell from 30.5 to 8.77 psi, limit 0.7 psi"
    (notice,) = found.document["notices"]
    assert notice["message"] == said
    assert f"Read: {said}" in letter(replace(there, units="SI")).text
    # also of what is over, by what the journal kept of it
    ledger, way = Ledger(), route(**{"from": "note"})
    journalled(ledger, there)
    carried(ledger, due(ledger, there, way, None), way.name, DAY + 140)
    gone = bench(DAY + 260, cell("C1", (replace(one, cleared_at=DAY + 200),)), units="US")
    journalled(ledger, gone)
    over = letter_of(Bundle(tuple(due(ledger, gone, way, None))), gone).text
    assert "It was: fell from 30.5 to 8.77 psi, limit 0.7 psi" in over.splitlines()


def test_a_trial_says_that_it_is_one() -> None:
    found = trial_letter("Ferry quay", "night phone", "2031-02-03T00:00:00+00:00")
    assert found.subject == "Test of the route night phone: Ferry quay"
    assert found.document["test"] is True
    assert "Nothing is wrong" in found.text
