"""The shift brief: what is, what was, what comes, and what people said."""

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from shutil import copy, copytree, ignore_patterns

import pytest
from calling import call

from tui.words.printed import columns

SAMPLES = Path(__file__).parents[2] / "sample_logs"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The samples, with a note that means harm, one that was taken back, and an answer."""
    root = tmp_path_factory.mktemp("handover") / "bench"
    copytree(SAMPLES, root, ignore=ignore_patterns(".porewatch"))
    at = "2031-02-05T11:00"
    harm = "<script>alert(1)</script> \x1b[31mred [bold]x[/]"
    for words in (
        ("note", "C1", harm, "--when", at, "--by", "Ea"),
        ("note", "C2", "a slip", "--when", at),
        ("undo", "2"),
        ("note", "C2", "long ago", "--when", "2031-02-01T11:00"),
        ("acknowledge", "C2", "saturation-stalled", "--when", at, "--text", "steps go on"),
    ):
        called = call(*words, "--bench", str(root))
        assert called.exit_code == 0, called.stderr
    return root


def _found(bench: Path, *more: str) -> dict[str, object]:
    called = call("handover", str(bench), "--json", *more)
    assert called.exit_code == 0, called.stderr
    found = json.loads(called.stdout)
    assert isinstance(found, dict)
    return found


def test_the_brief_for_programs_is_the_status_with_what_was_before(bench: Path) -> None:
    found = _found(bench)
    status = json.loads(call("status", str(bench), "--json").stdout)
    assert found["schema"] == "porewatch.handover/1"
    for cell, same in zip(found["cells"], status["cells"], strict=True):
        before, entries = cell.pop("before"), cell.pop("entries")
        over, missed = cell.pop("over"), cell.pop("missed")
        assert cell.pop("rows_unused_since") == 0
        assert cell == same
        assert all(spell["cleared_at"] > found["since"] for spell in over)
        assert all(spell["raised_at"] > found["since"] for spell in missed)
        assert all(span["until"] > found["since"] for span in before)
        if cell["cell"] == "C3":
            assert before[-1]["step"] == "build-up"
            assert before[-1]["until"].startswith("2031-02-05T11:34")
        if cell["cell"] == "C2":
            assert [entry["kind"] for entry in entries] == ["acknowledge"]
            assert "a slip" not in json.dumps(entries)


def test_since_may_be_said(bench: Path) -> None:
    found = _found(bench, "--since", "2031-02-05T11:30")
    spans = [span for cell in found["cells"] for span in cell["before"]]
    assert spans and all(span["until"] > "2031-02-05T11:30" for span in spans)
    assert len(spans) < sum(len(cell["before"]) for cell in _found(bench)["cells"])
    late = call("handover", str(bench), "--since", "2031-02-06T11:30")
    assert late.exit_code == 64 and "before the moment" in late.stderr


@pytest.mark.parametrize("width", [40, 80])
def test_the_page_tells_people_what_programs_are_told(
    bench: Path, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    called = call("handover", str(bench))
    text = called.stdout
    assert max(columns(line) for line in text.splitlines()) <= width
    flowing = " ".join(text.split())
    for words in ("Handover of what was since", "hands are needed", "one visit", "before, since",
                  "acknowledged", "“steps go on”", "Ea at", "no safety device"):  # fmt: skip
        assert words in flowing
    assert "\x1b" not in text and "a slip" not in text
    # Hands come first: they are what the next shift has to plan.
    assert text.index("hands are needed") < text.index("C1 ")


class Read(HTMLParser):
    """The tags of a page, what they carry, and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.carried: set[str] = set()
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """One of them."""
        self.tags.add(tag)
        self.carried |= {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        """Text between them."""
        self.text += data


def _page(bench: Path, to: Path, *more: str) -> Read:
    called = call("handover", str(bench), "--out", str(to), *more)
    assert called.exit_code == 0, called.stderr
    return Read(to.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def mail(bench: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The page for the shift mail."""
    to = tmp_path_factory.mktemp("mail") / "shift.html"
    _page(bench, to)
    return to.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two cells of the samples, which are read at once."""
    root = tmp_path_factory.mktemp("small") / "bench"
    for name in ("C3", "C6"):
        copytree(SAMPLES / name, root / name)
    copy(SAMPLES / "bench.toml", root)
    return root


def test_a_page_for_the_mail_needs_nothing_but_itself(mail: str) -> None:
    read = Read(mail)
    assert read.tags <= {
        *("html", "head", "meta", "title", "body", "div", "h1", "h2", "h3", "p", "b", "br"),
        *("span", "table", "tr", "th", "td"),
    }
    # no script, no style sheet, nothing that is loaded or leads elsewhere
    assert read.carried <= {"lang", "charset", "name", "content", "style", "colspan"}
    assert "<script>alert(1)</script>" in read.text and "\x1b" not in read.text
    assert "url(" not in mail


def test_the_page_has_the_numbers_that_programs_get(bench: Path, mail: str) -> None:
    text = " ".join(Read(mail).text.split())
    found = _found(bench)
    cells = found["cells"]
    assert isinstance(cells, list)
    parts = re.split(r"(?=\bC[1-6] [^ ] (?:well|runs|urgent|warning|doubtful))", text)[1:]
    assert len(parts) == len(cells)
    for cell, part in zip(cells, parts, strict=True):
        assert part.startswith(cell["cell"]) and cell["test_id"] in part
        live, numbers = cell["live"], cell["quantities"]
        for name, key in (("cell", "cell"), ("back", "back"), ("pore", "pore")):
            assert f"{name} {live[f'{key}_pressure_kPa']:.1f} kPa" in part
        assert f"σ′3 {live['effective_stress_kPa']:.1f} kPa" in part
        if numbers["B"] is not None:
            assert f"B {numbers['B']:.3f}" in part
        if numbers["U"] is not None:
            assert f"U {100.0 * numbers['U']:.0f} %" in part
        if numbers["deviator_kPa"] is not None:
            assert f"deviator {numbers['deviator_kPa']:.1f} kPa" in part
        if cell["schedule"] is not None:
            assert f"readings {cell['schedule']['taken']} of {cell['schedule']['slots']}" in part
        for alarm in cell["alarms"]:
            assert alarm["message"] in part and alarm["action"] in part
        for entry in cell["entries"]:
            assert f"entry {entry['entry']}" in part
        checks = sum(span["step"] == "b-check" for span in cell["before"])
        assert (f"{checks} B check" in part) == bool(checks)
    hands = text[: text.index(parts[0])]
    for hand in found["hands"]:  # type: ignore[attr-defined]
        assert hand["what"] in hands
        assert hand["at"] is None or hand["at"][11:16] in hands


def test_the_page_and_the_text_say_the_same(bench: Path, mail: str, tmp_path: Path) -> None:
    page = "".join(Read(mail).text.split())
    text = tmp_path / "shift.txt"
    assert call("handover", str(bench), "--out", str(text)).exit_code == 0
    told = 0
    for line in text.read_text(encoding="utf-8").splitlines():
        words = re.sub(r"^ *(before, since \S+ \S+: |since then: )", "", line)
        for said in words.split(" · "):
            part = re.sub(r"^ *(\S) (C\d) (\S+)$", r"\2 \1 \3", said)  # the head of a cell
            if (bare := "".join(part.split())) not in ("", "handsareneeded"):
                assert bare in page
                told += 1
    assert told > 100


@pytest.mark.parametrize(
    ("options", "has", "has_not"),
    [(("--units", "US"), " psi", " kPa"), (("--ascii",), "s'3 ", "σ")],
    ids=["US", "ascii"],
)
def test_units_and_signs_are_as_wished_everywhere(
    small: Path, tmp_path: Path, options: tuple[str, ...], has: str, has_not: str
) -> None:
    page = _page(small, tmp_path / "shift.html", *options).text
    called = call("handover", str(small), *options)
    for text in (page, called.stdout):
        assert has in text
        lines = [line for line in text.splitlines() if "cell " in line or "next:" in line]
        assert lines and not any(has_not in line for line in lines)
    if options == ("--ascii",):
        assert page.isascii() and called.stdout.isascii()


def test_a_bench_with_a_harmful_name_harms_no_page(tmp_path: Path) -> None:
    root = tmp_path / "bench"
    root.mkdir()
    (root / "bench.toml").write_text(
        'name = "<b onload=x> quay</title><script>"\n', encoding="utf-8"
    )
    read = _page(root, tmp_path / "shift.html")
    assert "script" not in read.tags and "onload" not in read.carried
    assert "<b onload=x> quay</title><script>" in read.text


def test_a_file_that_cannot_be_written_is_said_so(small: Path, tmp_path: Path) -> None:
    told = call("handover", str(small), "--out", str(tmp_path / "none" / "x.txt"))
    assert told.exit_code != 0 and "cannot write" in told.stderr and "Traceback" not in told.stderr


def test_json_goes_into_a_file_but_into_no_page(small: Path, tmp_path: Path) -> None:
    for name in ("x.html", "x.HTM"):
        called = call("handover", str(small), "--json", "--out", str(tmp_path / name))
        assert called.exit_code == 64 and "ends in .json" in called.stderr
        assert not (tmp_path / name).exists()
    to = tmp_path / "x.json"
    assert call("handover", str(small), "--json", "--out", str(to)).exit_code == 0
    assert json.loads(to.read_text(encoding="utf-8"))["schema"] == "porewatch.handover/1"
    assert "not into .html" in " ".join(call("handover", "--help").stdout.split())


def test_a_journal_that_cannot_be_read_is_said_everywhere(small: Path, tmp_path: Path) -> None:
    root = tmp_path / "bench"
    copytree(small, root)
    (root / ".porewatch").mkdir()
    (root / ".porewatch" / "journal.sqlite3").write_bytes(b"no data base at all" * 99)
    text = " ".join(call("handover", str(root)).stdout.split())
    page = " ".join(_page(root, tmp_path / "shift.html").text.split())
    for told in (text, page):
        assert told.count("the journal cannot be read") == 1
    problems = _found(root)["problems"]
    assert "the journal cannot be read" in json.dumps(problems)


def test_a_bench_without_cells_hands_over_as_much(tmp_path: Path) -> None:
    called = call("handover", str(tmp_path))
    assert called.exit_code == 0 and "no cell" in called.stdout
