"""Lists of pages."""

from __future__ import annotations

import re
from pathlib import Path

DOCS = Path(__file__).resolve().parents[1]
_TREE = re.compile(r"^```\{toctree\}\n(.*?)^```", re.DOTALL | re.MULTILINE)


def toctree(arguments: str) -> str:
    """``toctree NAME, NAME``: these pages, then those beside them that no other list names, so that none is lost."""
    named = {"index"}
    for page in DOCS.rglob("*.md"):
        for tree in _TREE.findall(page.read_text(encoding="utf-8")):
            named |= {line.strip() for line in tree.splitlines()}
    first = arguments.split(", ")
    others = [page.stem for page in sorted(DOCS.glob("*.md")) if page.stem not in named | set(first)]
    return "\n".join(["```{toctree}", ":maxdepth: 1", "", *first, *others, "```"])
