"""The headers of the C++ library, each with the first sentence of its own comment."""

from __future__ import annotations

from pathlib import Path

from made.text import cell, code, table

HEADERS = Path(__file__).resolve().parents[3] / "cpp" / "include" / "wheelend"


def _first_sentence(path: Path) -> str:
    lines = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if not line.startswith("//"):
            break
        lines.append(line.removeprefix("//").strip())
    text = " ".join(lines)
    end = text.find(". ")
    return text if end < 0 else text[: end + 1]


def headers(_: str) -> str:
    """One row per header."""
    rows = [[code(f"wheelend/{p.name}"), cell(_first_sentence(p))] for p in sorted(HEADERS.glob("*.hpp"))]
    return table(["header", "what is in it"], rows)
