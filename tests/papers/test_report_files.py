"""The files of a report: looked through by other people's programs, the same at every run."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from calling import call
from reported import SAMPLES, Page, html, write

LARGEST_BYTES = 2_000_000


@pytest.fixture(scope="module")
def pdf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("pdf") / "C4.pdf"
    assert write(out, "C4").exit_code == 0
    return out


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Page:
    return html(tmp_path_factory.mktemp("html") / "C4.html", "C4")


def text_of(path: Path) -> list[str]:
    """The text of each page, as one line."""
    document = pypdfium2.PdfDocument(path)
    texts = []
    for one in document:
        reader = one.get_textpage()
        texts.append(" ".join(reader.get_text_bounded().split()))
        reader.close()
        one.close()
    document.close()
    return texts


def test_the_pdf_is_sound(pdf: Path) -> None:
    """After qpdf, by way of pikepdf: no error and no warning."""
    assert pdf.stat().st_size < LARGEST_BYTES
    with pikepdf.open(pdf) as document:
        assert document.check_pdf_syntax() == []
        assert document.get_warnings() == []


def test_every_font_is_embedded(pdf: Path) -> None:
    with pikepdf.open(pdf) as document:
        fonts = [one for one in document.objects if is_of(one, "/Font")]
        assert fonts
        for font in fonts:
            inner = font.DescendantFonts[0] if "/DescendantFonts" in font else font
            assert "/FontFile2" in inner.FontDescriptor, font.BaseFont


def is_of(thing: pikepdf.Object, kind: str) -> bool:
    return (
        isinstance(thing, pikepdf.Dictionary)
        and thing.get("/Type") == kind
        and thing.get("/Subtype") in ("/Type0", "/TrueType", "/Type1")
    )


def test_figures_are_lines_and_not_pictures(pdf: Path) -> None:
    with pikepdf.open(pdf) as document:
        kinds = [
            str(one.get("/Subtype"))
            for one in document.objects
            if isinstance(one, pikepdf.Stream) and one.get("/Type") == "/XObject"
        ]
    assert kinds.count("/Form") >= 8
    assert "/Image" not in kinds


def test_every_page_is_numbered_and_says_what_it_is_of(pdf: Path) -> None:
    texts = text_of(pdf)
    prints = set()
    for number, text in enumerate(texts, 1):
        assert f"page {number} of {len(texts)}" in text
        assert "Draft until it is signed" in text
        assert "C4 T014" in text
        prints.add(re.search(r"fingerprint ([0-9a-f]{12})", text)[1])  # type: ignore[index]
    assert len(prints) == 1


def test_axes_and_marks_of_figures_can_be_selected(pdf: Path) -> None:
    whole = " ".join(text_of(pdf))
    for words in ("deviator q [kPa]", "axial strain ε1 [%]", "√t [√min]", "volume drained [ml]"):
        assert words in whole


def test_both_files_say_the_same(pdf: Path, page: Page) -> None:
    whole = re.sub(r"\s", "", " ".join(text_of(pdf)))
    for number in page.numbers:
        assert re.sub(r"\s", "", number.words) in whole, number
    for head in page.heads:
        assert re.sub(r"\s", "", head) in whole


ORDER = (
    "Identification", "Specimen at set-up", "Set-up and measurements", "Saturation",
    "Consolidation", "Shear", "After the test", "Departures, cautions and what is missing",
    "Rows not used", "Notes and alarms", "How this report can be made again", "Signatures",
)  # fmt: skip


def test_the_order_is_that_of_a_reviewer(page: Page) -> None:
    assert tuple(page.heads) == ORDER


def test_the_page_needs_nothing_from_elsewhere(page: Page) -> None:
    assert not page.tags & {"script", "link", "img", "iframe", "object", "embed", "a"}
    for tag, name, value in page.attributes:
        assert not name.startswith("on"), (tag, name)
        if name in ("href", "src", "xlink:href", "clip-path", "style"):
            assert not re.search(r"https?:|file:|//", value), (tag, name, value)
    assert "svg" in page.tags


def test_no_two_parts_of_the_page_have_one_id(page: Page) -> None:
    ids = [value for _, name, value in page.attributes if name == "id"]
    assert len(ids) == len(set(ids))
    used = {
        value.strip("#")
        for _, name, value in page.attributes
        if name == "xlink:href" and value.startswith("#")
    }
    assert used <= set(ids)


def test_text_in_figures_is_text(page: Page) -> None:
    assert "text" in page.tags
    assert "deviator q [kPa]" in page.text
    assert "greatest deviator" in page.text


@pytest.mark.parametrize("ending", ["html", "pdf"])
def test_the_same_files_give_the_same_report(tmp_path: Path, ending: str) -> None:
    first, second = tmp_path / "1" / f"a.{ending}", tmp_path / "2" / f"a.{ending}"
    for out in (first, second):
        assert write(out, "C1").exit_code == 0
    assert first.read_bytes() == second.read_bytes()


def printed(page: Page) -> str:
    found = re.search(r"fingerprint ([0-9a-f]{64})", page.text)
    assert found is not None
    return found[1]


def test_the_fingerprint_changes_with_what_the_numbers_rest_on(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(SAMPLES / "C6", bench / "C6")
    (bench / "bench.toml").write_text('zone = "Europe/Oslo"\nnow = "last row"\n', "utf-8")

    def now() -> str:
        return printed(html(tmp_path / "a.html", "C6", bench=bench))

    prints = [now()]
    assert now() == prints[0]
    log = bench / "C6" / "run.csv"
    log.write_bytes(log.read_bytes() + b"\n")
    prints.append(now())
    settings = bench / "C6" / "cell.toml"
    settings.write_text(settings.read_text("utf-8") + "# a remark\n", "utf-8")
    prints.append(now())
    at = ("--when", "2031-02-05T11:30")
    assert call("note", "C6", "looks well", *at, "--bench", str(bench)).exit_code == 0
    assert now() == prints[-1]  # words change no number
    marked = call("mark", "C6", "saturation", *at, "--bench", str(bench))
    assert marked.exit_code == 0, marked.stderr
    prints.append(now())
    assert len(set(prints)) == len(prints)


def test_one_look_needs_none_of_it() -> None:
    code = (
        "import sys; from tui.commands.main import run; "
        f"run(['status', {str(SAMPLES)!r}]); run(['report', '--help']); "
        "sys.exit(len({'matplotlib', 'jinja2', 'reportlab', 'pypdf', 'PIL'} & set(sys.modules)))"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False
    )
    assert ended.stderr == ""
    assert ended.returncode == 0
