"""The sheet as a browser shows and prints it, and as PDF: nothing cut off, nothing loaded, readable in grey.

Chromium, Poppler and Pango are Debian's (``tests/env.sh`` brings them). axe-core (rules of WCAG 2 and best practices)
comes in the package ``axe-core-python``; it does not look into drawings, which the checks of this file do.
"""

from __future__ import annotations

import importlib.resources
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import browser
import wheelend
from browser import Browser
from paper import poppler
from wheelend._sheet import _states

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
PHONE = 360
# Width that the margins of 12 mm leave, in CSS pixels of 1/96 in: ISO 216 A4 is 210 mm wide, ANSI A is 8.5 in.
PAPERS = {"a4": (8.268, 11.693), "letter": (8.5, 11.0)}
MARGIN_IN = 12 / 25.4


@pytest.fixture(scope="module")
def fleet() -> wheelend.Log:
    names = ("readings", "positions", "tires", "wheelend_readings")
    return wheelend.read_log(*(SAMPLE / f"{name}.csv" for name in names))


@pytest.fixture(scope="module")
def sheet(fleet: wheelend.Log, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    wheelend.sheet(fleet, path)
    return path


@pytest.fixture(scope="module")
def pdf(fleet: wheelend.Log, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pdf") / "sheet.pdf"
    wheelend.sheet(fleet, path, site="North", group="linehaul", paper="a4")
    return path


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    if browser.executable() is None:
        pytest.fail("no browser is installed, and the sheet was not looked at: apt-get install chromium")
    with Browser(tmp_path_factory.mktemp("profile")) as opened:
        yield opened


# ---- on a screen

# Elements that stick out of the window, cells whose text sticks out of them, and texts of a plan outside it.
OUTSIDE = """
(() => {
  const out = [];
  const wide = document.documentElement.clientWidth;
  for (const e of document.body.querySelectorAll('*')) {
    const box = e.getBoundingClientRect();
    const name = e.tagName + ' ' + e.textContent.slice(0, 40);
    if (box.width && (box.right > wide + 0.5 || box.left < -0.5)) out.push(name);
    if (!(e instanceof SVGElement) && e.clientWidth && e.scrollWidth > e.clientWidth + 1)
      out.push('in ' + name);
  }
  for (const svg of document.querySelectorAll('svg.plan')) {
    const frame = svg.getBoundingClientRect();
    for (const t of svg.querySelectorAll('text')) {
      const box = t.getBoundingClientRect();
      if (box.left < frame.left - 1 || box.right > frame.right + 1) out.push('plan ' + t.textContent);
    }
  }
  return out;
})()
"""
# Pairs of texts of one plan that lie on each other. A line box is taller than its letters: 3 pixels of it are left out.
ON_EACH_OTHER = """
(() => {
  const out = [];
  for (const svg of document.querySelectorAll('svg.plan')) {
    const boxes = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
    boxes.forEach(([a, p], i) => boxes.slice(i + 1).forEach(([b, q]) => {
      if (Math.min(p.right, q.right) - Math.max(p.left, q.left) > 0.5 &&
          Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 3) out.push(a + ' on ' + b);
    }));
  }
  return out;
})()
"""
# Every text with its colour, and the ground it stands on: the nearest ancestor that has one, else paper.
TEXTS = """
(() => {
  const seen = {};
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let n = walk.nextNode(); n; n = walk.nextNode()) {
    if (!n.textContent.trim()) continue;
    const style = getComputedStyle(n.parentElement);
    const ink = n.parentElement instanceof SVGElement ? style.fill : style.color;
    let ground = 'rgb(255, 255, 255)';
    for (let e = n.parentElement; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (c !== 'rgba(0, 0, 0, 0)') { ground = c; break; }
    }
    seen[ink + ' on ' + ground] = n.textContent.trim().slice(0, 30);
  }
  return seen;
})()
"""


@pytest.mark.parametrize("width", [PHONE, 1280])
def test_nothing_sticks_out_of_a_window(page: Browser, sheet: Path, width: int) -> None:
    page.open(sheet, width)
    assert page.run("document.documentElement.scrollWidth") == width
    assert page.run("document.querySelectorAll('svg.plan').length") == 18
    assert page.run(OUTSIDE) == []
    assert page.run(ON_EACH_OTHER) == []


def test_nothing_sticks_out_of_units_that_are_long_or_metric(page: Browser, tmp_path: Path) -> None:
    """Six axles with a long name, wide numbers in millimeters, kilopascals and bar, every wheel with findings."""
    axles = [("steer", "s"), ("steer", "s"), ("pusher", "s"), ("drive", "oi"), ("drive", "oi"), ("tag", "s")]
    wheels = [(n, role, s, d) for n, (role, pair) in enumerate(axles, 1) for s in ("left", "right") for d in pair]
    duals = {"s": "single", "o": "outer", "i": "inner"}
    for measure, high, target in (("kpa", "1001", "1200"), ("bar", "10.01", "12")):
        rows = [
            {"unit": "WHEEL-LOADER-TRANSPORTER-0012345", "kind": "truck", "axle": str(n), "side": side, "role": role,
             "dual": duals[dual], "read_on": "2025-06-10", "tread_a_mm": "10.25" if dual == "i" else "1.05",
             f"pressure_{measure}": high, f"target_{measure}": target, "pull_mm": "12"}
            for n, role, side, dual in wheels
        ]  # fmt: skip
        log = wheelend.read_log({name: [row[name] for row in rows] for name in rows[0]})
        wheelend.sheet(log, tmp_path / "long.html", limits=["de"])
        page.open(tmp_path / "long.html", PHONE)
        assert page.run("document.querySelectorAll('svg.plan text').length") > 40
        assert page.run(OUTSIDE) == []
        assert page.run(ON_EACH_OTHER) == []


def test_the_checks_see_what_sticks_out(page: Browser, sheet: Path, tmp_path: Path) -> None:
    broken = sheet.read_text(encoding="utf-8").replace("<h1>", "<p style='width:900px'>wide</p><h1>", 1)
    broken = re.sub(r"<text x=\d+ y=\d+>steer", "<text x=374 y=80>steer steer", broken)
    (tmp_path / "broken.html").write_text(broken.replace("</body>", "<img src=x.png></body>"), encoding="utf-8")
    page.open(tmp_path / "broken.html", PHONE)
    assert any("wide" in found for found in page.run(OUTSIDE))
    assert any("plan steer" in found for found in page.run(OUTSIDE))
    assert any("steer" in found for found in page.run(ON_EACH_OTHER))
    assert len(page.requests) == 2
    assert page.console != []


def test_it_asks_for_nothing_and_says_nothing(page: Browser, sheet: Path) -> None:
    page.open(sheet, 1280)
    assert page.requests == [sheet.resolve().as_uri()]
    assert page.console == []


def test_every_table_has_a_caption_and_heads(page: Browser, sheet: Path) -> None:
    page.open(sheet, 1280)
    tables = page.run("""[...document.querySelectorAll('table')].map(t => ({
      caption: t.caption ? t.caption.textContent : '', heads: [...t.tHead.querySelectorAll('th[scope=col]')].length,
      empty: [...t.querySelectorAll('th')].filter(h => !h.textContent.trim()).length,
      cells: Math.max(...[...t.querySelectorAll('tbody tr:not(.clause)')].map(r => r.cells.length))}))""")
    assert len(tables) > 30
    for table in tables:
        assert table["caption"].strip()
        assert table["heads"] == table["cells"]
        assert table["empty"] == 0


def test_axe_finds_nothing(page: Browser, sheet: Path) -> None:
    axe = importlib.resources.files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    page.open(sheet, PHONE)
    page.run(axe)
    found = page.run("""axe.run(document, {resultTypes: ['violations']}).then(r => ({
      checks: r.passes.length, violations: r.violations.map(v => v.id + ': ' + v.nodes[0].html.slice(0, 120))}))""")
    assert found["checks"] > 15
    assert found["violations"] == []


def test_text_has_contrast_wherever_it_stands(page: Browser, sheet: Path) -> None:
    from test_sheet_look import contrast

    page.open(sheet, 1280)
    texts = page.run(TEXTS)
    assert len(texts) >= 4  # paper and the three fills
    for pair, example in texts.items():
        ink, ground = (
            f"#{int(r):02x}{int(g):02x}{int(b):02x}" for r, g, b in re.findall(r"rgb\((\d+), (\d+), (\d+)\)", pair)
        )
        assert contrast(ink, ground) >= 4.5, (pair, example)


# ---- in print


@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_sticks_out_of_the_paper(page: Browser, sheet: Path, paper: str, tmp_path: Path) -> None:
    width, height = PAPERS[paper]
    page.open(sheet, round((width - 2 * MARGIN_IN) * 96), media="print")
    assert page.run(OUTSIDE) == []
    assert page.run(ON_EACH_OTHER) == []
    page.print(tmp_path / "printed.pdf", width, height)
    assert words_outside(tmp_path / "printed.pdf", width) == []
    pages = poppler("pdftotext", "-layout", tmp_path / "printed.pdf", "-").split("\f")[:-1]
    cards = [i for i, text in enumerate(pages) if "Done and checked:" in text]
    assert len(cards) == 18  # a page of its own for every unit that is held or watched
    for text in pages:
        assert text.count("Done and checked:") <= 1


def words_outside(path: Path, width: float) -> list[str]:
    """Words of a PDF that do not lie between the margins."""
    words = re.findall(r'<word xMin="([\d.-]+)" yMin="[\d.-]+" xMax="([\d.-]+)" yMax="[\d.-]+">(.*?)</word>',
                       poppler("pdftotext", "-bbox", path, "-"))  # fmt: skip
    assert len(words) > 500
    low, high = MARGIN_IN * 72, (width - MARGIN_IN) * 72
    return [word for left, right, word in words if float(left) < low - 1 or float(right) > high + 1]


def test_the_pdf_has_a_page_for_each_unit_and_all_that_the_html_says(
    fleet: wheelend.Log, pdf: Path, tmp_path: Path
) -> None:
    pages = poppler("pdftotext", "-layout", pdf, "-").split("\f")[:-1]
    standing = wheelend.standing(fleet, site="North", group="linehaul").to_pylist()
    drawn = [row["unit"] for row in standing if row["standing"] in ("hold", "watch")]
    assert len(drawn) >= 5
    # One page to begin with, one of what to watch, one for each unit, one of the rest.
    assert len(pages) == len(drawn) + 3
    assert f"Pages: {len(pages)}" in re.sub(r" +", " ", poppler("pdfinfo", pdf))
    assert "595.276 x 841.89 pts (A4)" in poppler("pdfinfo", pdf)
    for unit in drawn:
        assert sum(f"Done and checked: {unit}" in text for text in pages) == 1, unit
    for i, text in enumerate(pages, 1):
        assert "No certificate of roadworthiness" in text
        assert re.search(rf"\b{i} ?/ ?{len(pages)}\b", text)
    assert re.search(r"axle 3 left, pushrod stroke +2.125 in +≤ 2 in +−0.125 in", " ".join(pages))
    assert words_outside(pdf, PAPERS["a4"][0]) == []


def test_the_pdf_writer_understands_all_of_the_style(
    fleet: wheelend.Log, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    wheelend.sheet(fleet, tmp_path / "one.pdf", unit="T104")
    assert [r.getMessage() for r in caplog.records if r.name.startswith("weasyprint")] == []


def test_a_long_table_of_the_pdf_repeats_its_head(fleet: wheelend.Log, tmp_path: Path) -> None:
    wheelend.sheet(fleet, tmp_path / "all.pdf", unit=clear_units(fleet))
    pages = poppler("pdftotext", "-layout", tmp_path / "all.pdf", "-").split("\f")[:-1]
    heads = [text for text in pages if re.search(r"Unit +Kind, site, group +Last read +Next due +Signed", text)]
    rows = [re.findall(r"^ *([A-Z]\d{3}) .* \(\d+ d\)", text, re.MULTILINE) for text in pages]
    assert sum(map(len, rows)) == len(clear_units(fleet))
    assert len(heads) == sum(1 for found in rows if found)


def clear_units(fleet: wheelend.Log) -> list[str]:
    return [row["unit"] for row in wheelend.standing(fleet).to_pylist() if row["standing"] == "clear"]


def test_grey_print_keeps_the_states_apart(pdf: Path, tmp_path: Path) -> None:
    from test_sheet_look import LEAST_GAP, lightness

    poppler("pdftoppm", "-gray", "-r", 72, pdf, tmp_path / "grey")
    counts = np.zeros(256, np.int64)
    for path in sorted(tmp_path.glob("grey-*.pgm")):
        data = path.read_bytes()
        width, height = map(int, data.split(maxsplit=3)[1:3])
        counts += np.bincount(np.frombuffer(data[-width * height :], np.uint8), minlength=256)
    found = {}
    for state in (_states.FAILS, _states.DUE, _states.FINE):
        expected = round(
            float(np.array([int(_states.FILLS[state][i : i + 2], 16) for i in (1, 3, 5)]) @ [0.299, 0.587, 0.114])
        )
        near = counts[expected - 3 : expected + 4]
        assert near.sum() > 300, state  # badges and bars; a line or the edge of a letter gives far fewer of one grey
        grey = expected - 3 + int(near.argmax())
        found[state] = lightness(f"#{grey:02x}{grey:02x}{grey:02x}")
    light = sorted(found.values())
    assert min(np.diff(light)) >= LEAST_GAP, found
