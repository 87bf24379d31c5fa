"""The shift brief: what is, what was, what comes, and what people said."""

import json
from html.parser import HTMLParser
from pathlib import Path
from shutil import copytree, ignore_patterns

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
        assert cell == same
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


def test_a_page_in_a_file_is_text_or_html_without_markup_of_others(
    bench: Path, tmp_path: Path
) -> None:
    class Read(HTMLParser):
        tags: tuple[str, ...] = ()
        text = ""

        def handle_starttag(self, tag: str, _attrs: object) -> None:
            self.tags += (tag,)

        def handle_data(self, data: str) -> None:
            self.text += data

    page, plain = tmp_path / "shift.html", tmp_path / "shift.txt"
    assert call("handover", str(bench), "--out", str(page)).exit_code == 0
    assert call("handover", str(bench), "--out", str(plain)).exit_code == 0
    read = Read()
    read.feed(page.read_text(encoding="utf-8"))
    assert set(read.tags) == {"html", "head", "meta", "title", "style", "body", "pre"}
    assert "<script>alert(1)</script>" in read.text
    assert plain.read_text(encoding="utf-8").strip() in read.text
    assert "\x1b" not in read.text
    told = call("handover", str(bench), "--out", str(tmp_path / "none" / "x.txt"))
    assert told.exit_code != 0 and "cannot write" in told.stderr and "Traceback" not in told.stderr


def test_a_bench_without_cells_hands_over_as_much(tmp_path: Path) -> None:
    called = call("handover", str(tmp_path))
    assert called.exit_code == 0 and "no cell" in called.stdout
