"""A set of three: one file, the envelope behind the specimens, its interval, its first page."""

import json
import math
import re
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from calling import call
from reported import Page, html, write

from tui.papers.report.circles import circle_of, tangent_of
from tui.papers.report.thinning import MOST_POINTS, line_points, spread_rows

CELLS = ("C1", "C2", "C3")
LARGEST_BYTES = 2_000_000


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("set") / "bench"
    made = call("rehearse", "--out", str(folder), "--cells", "3", "--kind", "CU")
    assert made.exit_code == 0, made.stderr
    return folder


@pytest.fixture(scope="module")
def page(bench: Path) -> Page:
    return html(bench.parent / "set.html", *CELLS, bench=bench)


def test_specimens_come_before_their_envelope(page: Page) -> None:
    heads = page.heads
    assert heads[:2] == ["Specimens of this report", "Strength of the set BH1-U01"]
    begins = [heads.index(f"{cell} · Identification") for cell in CELLS]
    envelope = len(heads) - 1 - heads[::-1].index("Strength of the set BH1-U01")
    assert begins == sorted(begins)
    assert begins[-1] < envelope < heads.index("How this report can be made again")


def test_the_interval_and_r_stand_beside_c_and_phi(bench: Path, page: Page) -> None:
    found = json.loads(call("strength", *CELLS, "--json", "--bench", str(bench)).stdout)
    low, high = found["interval"]["phi_effective_deg"]
    said = f"{low:.1f} ° to {high:.1f} ° with 90% confidence, by the scatter"
    assert page.text.count(said) == 2  # on the first page and with the envelope
    assert f"correlation coefficient r {found['r']:.4f}" in page.text


def test_circles_total_and_effective_are_drawn(page: Page) -> None:
    drawn = page.text.partition("By three lines, effective stresses")[2]
    assert "effective stress at failure" in drawn
    assert "total stress at failure" in drawn
    assert re.search(r"c′ = \S+ kPa, φ′ = \S+°", drawn)
    assert "Envelopes after Mohr and Coulomb" in drawn


def test_the_pdf_of_a_set_is_sound_and_small(bench: Path, tmp_path: Path) -> None:
    out = tmp_path / "set.pdf"
    assert write(out, *CELLS, bench=bench).exit_code == 0
    assert out.stat().st_size < LARGEST_BYTES
    with pikepdf.open(out) as document:
        assert document.check_pdf_syntax() == []


def test_an_earlier_test_is_reported_by_its_name(bench: Path, tmp_path: Path) -> None:
    """Closed after the others were read: it comes last in this file."""
    ended = call("close", "C3", "--bench", str(bench))
    assert ended.exit_code == 0, ended.stderr
    page = html(tmp_path / "a.html", "C3/T003", bench=bench)
    assert "C3/tests/T003.toml" in page.text
    assert [one for one in page.numbers if one.key == "shear.peak_deviator.deviator_kPa"]


@pytest.mark.parametrize(("c", "phi"), [(0.0, 30.0), (12.0, 24.0), (-5.0, 28.0)])
def test_the_envelope_touches_its_circles(c: float, phi: float) -> None:
    """By geometry: the line lies one radius away from the centre of a circle that it touches."""
    sine, cosine = math.sin(math.radians(phi)), math.cos(math.radians(phi))
    minor = 100.0
    major = (minor * (1.0 + sine) + 2.0 * c * cosine) / (1.0 - sine)
    points = np.array(circle_of("", "readings", minor, major).points)
    (x0, y0), (x1, y1) = tangent_of("", "fit", c, phi, major).points
    above = (y0 + (points[:, 0] - x0) * (y1 - y0) / (x1 - x0) - points[:, 1]) * cosine
    assert above.min() == pytest.approx(0.0, abs=2e-3 * (major - minor))
    assert y0 >= 0.0


def test_a_thinned_line_keeps_its_extremes() -> None:
    x = np.linspace(0.0, 15.0, 60_000)
    y = np.sin(x)
    y[31_415] = 7.0
    y[100:200] = np.nan
    points = line_points(x, y)
    assert len(points) <= MOST_POINTS + 2
    assert max(value for _, value in points) == 7.0
    assert points[0] == (0.0, 0.0)
    assert points[-1] == (15.0, y[-1])
    assert [at for at, _ in points] == sorted(at for at, _ in points)


def test_a_thinned_table_keeps_its_ends_and_what_must_stay() -> None:
    strain = np.linspace(0.0, 0.15, 5_000)
    strain[7] = np.nan
    rows = spread_rows(strain, 44, keep=(1234,))
    assert {0, 1234, 4999} <= set(rows)
    assert 44 <= len(rows) <= 47
    assert 7 not in rows
    assert np.diff(strain[rows]).max() < 0.15 / 40
