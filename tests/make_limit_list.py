"""Writes README's table of limit sets and of the rows that are not confirmed. Run it after a change in data/limits."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path

from wheelend import limits

README = Path(__file__).resolve().parents[1] / "README.md"
BEGIN, END = "<!-- limit sets: written by tests/make_limit_list.py -->", "<!-- end of limit sets -->"


def block() -> str:
    """The table and the list, between their marks."""
    sets = limits().to_pylist()
    lines = ["| set | what | rows | confirmed | partly | from memory |", "|---|---|---|---|---|---|"]
    lines += [
        f"| `{s['name']}` | {s['title']} | {s['rows']} | {s['confirmed']} | {s['partly']} | {s['memory']} |"
        for s in sets
    ]
    lines.append("")
    for s in sets:
        rows = [r for r in limits(s["name"]).to_pylist() if r["file"] == f"{s['name']}.csv"]
        for status, words in (("partly", "partly confirmed"), ("memory", "from memory")):
            ids = [r["id"] for r in rows if r["status"] == status]
            if ids:
                lines += textwrap.wrap(
                    f"- `{s['name']}`, {words}: {', '.join(_shortened(ids))}.", 118, subsequent_indent="  "
                )
    return "\n".join([BEGIN, *lines, END])


def _shortened(ids: list[str]) -> list[str]:
    """Rows of one table by its first part: 'US-B-11-BOLT-A, -B, -C'."""
    out: list[str] = []
    last = ""
    for name in ids:
        stem, _, end = name.rpartition("-")
        out.append(f"-{end}" if stem == last and stem.count("-") >= 2 else name)
        last = stem
    return out


def main() -> None:
    text = README.read_text(encoding="utf-8")
    new = re.sub(f"{re.escape(BEGIN)}.*?{re.escape(END)}", lambda _: block(), text, flags=re.DOTALL)
    README.write_text(new, encoding="utf-8")


if __name__ == "__main__":
    main()
