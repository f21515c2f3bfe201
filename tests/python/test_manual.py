"""The manual is built without a warning, holds what users see, and fetches nothing."""

from __future__ import annotations

import contextlib
import re
import subprocess
import sys
from collections.abc import Iterator
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

import browser
import wheelend
from browser import Browser
from made import commands, functions, notebooks, runs
from wheelend import dictionary, limits, measures
from wheelend.pictures._command import PICTURES

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "python" / "docs"


@pytest.fixture(scope="module")
def manual() -> Path:
    """Built into build/manual, where people look at it too. Warnings are errors, and so are names that lead nowhere."""
    out = ROOT / "build" / "manual"
    how = ["-E", "-W", "--keep-going", "-n", "-q", "-b", "html", str(DOCS), str(out)]
    done = subprocess.run([sys.executable, "-m", "sphinx", *how], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    # Jupyter's kernels speak there too where a notebook is executed.
    assert [line for line in done.stderr.splitlines() if line.strip() and "IPKernelApp" not in line] == []
    return out


class _Page(HTMLParser):
    """Ids, pieces of code in tables, and addresses that a browser would load by itself."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.code: set[str] = set()
        self.loads: list[str] = []
        self._in_code: list[str] | None = None
        self.feed(path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if given.get("id"):
            self.ids.add(str(given["id"]))
        if tag == "code":
            self._in_code = []
        loaded = given.get("src") or (given.get("href") if tag == "link" else None)
        if loaded:
            self.loads.append(loaded)

    def handle_data(self, data: str) -> None:
        if self._in_code is not None:
            self._in_code.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "code" and self._in_code is not None:
            self.code.add(" ".join(unescape("".join(self._in_code)).split()))
            self._in_code = None


def page(manual: Path, name: str) -> _Page:
    return _Page(manual / f"{name}.html")


def _ids_of_functions(manual: Path) -> set[str]:
    return set().union(*(_Page(p).ids for p in [manual / "functions.html", *(manual / "functions").glob("*.html")]))


def test_every_public_name_is_described(manual: Path) -> None:
    ids = _ids_of_functions(manual)
    assert len(functions.public()) > 80
    assert sorted(set(functions.public()) - ids) == []


def test_public_methods_and_properties_are_described(manual: Path) -> None:
    ids = _ids_of_functions(manual)
    log = {name for name, thing in vars(wheelend.Log).items() if isinstance(thing, property) and name[0] != "_"}
    assert len(log) >= 3
    assert sorted(f"wheelend.Log.{name}" for name in log if f"wheelend.Log.{name}" not in ids) == []
    assert {"wheelend.grouped.GroupedFit.passage", "wheelend.passage.Wiener.reached_by"} <= ids


def test_every_command_and_option_is_described(manual: Path) -> None:
    found = page(manual, "commands")
    every = commands.all_commands()
    assert len(every) > 15
    assert [name for name in every if f"command-{name}" not in found.ids] == []
    words = {word.strip(",") for text in found.code for word in text.split()}
    for name, command in every.items():
        assert [
            o for p in command.params for o in p.opts if o.startswith("--") and o not in words | {"--help"}
        ] == [], name
        assert any(text.startswith(f"wheelend {name} ") for text in _blocks(manual / "commands.html")), name


def _blocks(path: Path) -> Iterator[str]:
    for block in re.findall(r"<pre>(.*?)</pre>", path.read_text(encoding="utf-8"), re.DOTALL):
        yield unescape(re.sub(r"<[^>]+>", "", block)).strip()


def test_every_column_quantity_and_measure_is_in_the_data_dictionary(manual: Path) -> None:
    code = page(manual, "dictionary").code
    wanted = {c.name for result in dictionary.RESULTS.values() for c in result}
    wanted |= {q.name for q in dictionary.QUANTITIES} | set(measures.labels())
    for table in dictionary.TABLES.values():
        for column in table:
            wanted |= {f"{column.name}_{m}" for m in column.measures} or {column.name}
            wanted |= {w for w in column.codes if column.name != "quantity"}
    wanted |= {f"tread_<groove>_{m}" for m in dictionary.GROOVE.measures}
    assert len(wanted) > 250
    assert sorted(wanted - code) == []


def test_every_limit_is_listed_with_its_clause(manual: Path) -> None:
    found = page(manual, "limit_sets")
    text = unescape((manual / "limit_sets.html").read_text(encoding="utf-8"))
    rows = [r for s in limits().to_pylist() for r in limits(s["name"]).to_pylist()]
    assert len(rows) > 250
    assert [r["id"] for r in rows if r["id"] not in found.code] == []
    assert (
        sorted({r["clause"] for r in rows if r["clause"].replace("'", "’") not in text and r["clause"] not in text})
        == []
    )


def test_every_header_is_listed(manual: Path) -> None:
    code = page(manual, "cpp").code
    headers = [f"wheelend/{p.name}" for p in (ROOT / "cpp" / "include" / "wheelend").glob("*.hpp")]
    assert len(headers) > 20
    assert [h for h in headers if h not in code] == []


def test_every_picture_notebook_and_the_sheet_are_shown(manual: Path) -> None:
    shown = {Path(a).name for a in page(manual, "pictures").loads}
    assert {f"{name}.svg" for name in PICTURES} <= shown
    assert len(notebooks.sources()) >= 3
    for source in notebooks.sources():
        assert "cell_output" in (manual / "notebooks" / f"{source.stem}.html").read_text(encoding="utf-8"), source.name
    assert "sheet.html" in page(manual, "shop_lead").loads
    assert "<svg" in (manual / "sheet.html").read_text(encoding="utf-8")


def test_nothing_is_fetched_from_elsewhere(manual: Path) -> None:
    pages = sorted(manual.rglob("*.html"))
    assert len(pages) > 25
    elsewhere = re.compile(r"^(\w+:)?//")
    assert [(p.name, a) for p in pages for a in _Page(p).loads if elsewhere.match(a)] == []
    styles = [p for p in manual.rglob("*.css") if re.search(r"(@import|url\()\s*[\"']?(\w+:)?//", p.read_text("utf-8"))]
    assert styles == []


def _python_blocks() -> Iterator[Any]:
    for path in sorted(DOCS.rglob("*.md")):
        blocks = re.findall(r"^```python\n(.*?)^```", path.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE)
        if blocks:
            yield pytest.param("\n".join(blocks), id=str(path.relative_to(DOCS)))


@pytest.mark.parametrize("code", list(_python_blocks()))
def test_python_of_the_pages_runs(code: str) -> None:
    with contextlib.chdir(runs.folder()):
        exec(compile(code, "page", "exec"), {})


def test_marks_of_pages_name_what_makes_them() -> None:
    from made import MAKERS, MARK

    marks = [m for path in DOCS.rglob("*.md") for m in MARK.findall(path.read_text(encoding="utf-8"))]
    assert {name for name, _ in marks} == set(MAKERS)
    written = sum(path.read_text(encoding="utf-8").count("<!-- made:") for path in DOCS.rglob("*.md"))
    assert written == len(marks)


PHONE = 390  # CSS pixels across, a common phone
LOOKED_AT = (
    "index",
    "driver",
    "shop_lead",
    "commands",
    "dictionary",
    "limit_sets",
    "forecast",
    "functions/wear",
    "pictures",
)


# What reaches beyond the edge of the window and is not in something that scrolls by itself.
CUT_OFF = """
[...document.querySelectorAll("article *")].filter(e => {
  if (e.getBoundingClientRect().right <= innerWidth + 1) return false;
  for (let a = e; a.tagName !== "ARTICLE"; a = a.parentElement)
    if (["auto", "scroll"].includes(getComputedStyle(a).overflowX)) return false;
  return true;
}).map(e => e.outerHTML.slice(0, 120))
"""


@pytest.fixture(scope="module")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    if browser.executable() is None:
        pytest.fail("no browser is installed, and the manual was not looked at: apt-get install chromium")
    with Browser(tmp_path_factory.mktemp("profile")) as opened:
        yield opened


@pytest.mark.parametrize("name", LOOKED_AT)
def test_a_page_fits_a_phone_and_asks_for_nothing_from_elsewhere(manual: Path, chromium: Browser, name: str) -> None:
    chromium.open(manual / f"{name}.html", PHONE)
    assert chromium.run(CUT_OFF) == []
    assert [url for url in chromium.requests if not url.startswith(("file:", "data:", "blob:"))] == []
    assert [said for said in chromium.console if said.startswith("error") or '"type": "error"' in said] == []
