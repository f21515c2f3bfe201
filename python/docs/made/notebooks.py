"""The notebooks of ``examples/`` as pages, with their outputs.

A run of the tests leaves them executed in ``build/notebooks``; those are taken where the source is still the same, else
MyST-NB executes them.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import jupytext
import nbformat

ROOT = Path(__file__).resolve().parents[3]
EXECUTED = ROOT / "build" / "notebooks"
PAGES = ROOT / "python" / "docs" / "notebooks"


def sources() -> list[Path]:
    """Examples that are notebooks."""
    return [p for p in sorted((ROOT / "examples").glob("*.py")) if "jupytext" in p.read_text(encoding="utf-8")[:400]]


def mark(source: Path) -> str:
    """What tells one text of a source from another."""
    return hashlib.sha256(source.read_bytes()).hexdigest()


def keep(book: Any, source: Path) -> None:
    """Keep an executed notebook for the manual."""
    book.metadata["source"] = mark(source)
    EXECUTED.mkdir(parents=True, exist_ok=True)
    nbformat.write(book, EXECUTED / f"{source.stem}.ipynb")


def bring() -> None:
    """Put every notebook among the pages."""
    PAGES.mkdir(exist_ok=True)
    wanted = {p.stem: p for p in sources()}
    for old in PAGES.glob("*.ipynb"):
        if old.stem not in wanted:
            old.unlink()
    for name, source in wanted.items():
        done = EXECUTED / f"{name}.ipynb"
        book = nbformat.read(done, as_version=4) if done.is_file() else None
        if book is None or book.metadata.get("source") != mark(source):
            book = jupytext.read(source)
        text = nbformat.writes(book)
        page = PAGES / f"{name}.ipynb"
        if not page.is_file() or page.read_text(encoding="utf-8") != text:
            page.write_text(text, encoding="utf-8")
