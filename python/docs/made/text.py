"""Markdown of tables and cells."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def cell(text: object) -> str:
    """Text as it may stand in a cell of a table."""
    return str(text).replace("|", "\\|").replace("\n", " ").replace("<", "&lt;").replace("*", "\\*").strip()


def code(text: object) -> str:
    """A word of code in a cell; nothing where there is none."""
    return f"`{str(text).replace('|', chr(92) + '|')}`" if str(text) else ""


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table whose cells are Markdown already."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"
