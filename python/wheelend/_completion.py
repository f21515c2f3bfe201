"""Words that a shell completes: limit sets, quantities, columns, and the units, sites and groups of the files that the
line names so far. Nothing here may fail or print: what cannot be known is not completed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import typer

_MOST_BYTES = 50_000_000  # of a file that is read while somebody waits at a key
_MOST_WORDS = 500

Words = Callable[[str], list[Any]]


def of(*words: str) -> Words:
    """These words."""

    def complete(incomplete: str) -> list[Any]:
        return starting(words, incomplete)

    return complete


def starting(words: Iterable[str], incomplete: str) -> list[str]:
    """Words that go on from what was typed."""
    return [w for w in words if w.startswith(incomplete)]


def limit_sets(incomplete: str) -> list[str]:
    from wheelend.limit_sets import names

    return starting(names(), incomplete)


def limit_ids(incomplete: str) -> list[str]:
    from wheelend.limit_sets import limits, names

    return starting(sorted(set(limits(names())["id"].to_pylist())), incomplete)[:_MOST_WORDS]


def quantities(incomplete: str) -> list[tuple[str, str]]:
    """With what each is, where the shell shows it."""
    from wheelend.dictionary import QUANTITIES

    return [(q.name, q.words) for q in QUANTITIES if q.name.startswith(incomplete)]


def worded_columns(incomplete: str) -> list[tuple[str, str]]:
    """Columns that take words."""
    from wheelend.dictionary import TABLES

    found = {c.name: c.words for table in TABLES.values() for c in table if c.codes}
    return [(name, found[name]) for name in starting(sorted(found), incomplete)]


def measured_columns(incomplete: str) -> list[str]:
    """COLUMN=MEASURE, for columns whose name carries none."""
    from wheelend.dictionary import GROOVE, TABLES

    columns = {c.name: c.measures for table in TABLES.values() for c in (*table, GROOVE) if c.measures}
    return starting((f"{name}={m}" for name in sorted(columns) for m in columns[name]), incomplete)


def values_of(column: str) -> Callable[[typer.Context, str], list[str]]:
    """What a column of the files of this line holds: a unit, a site, a group."""

    def complete(ctx: typer.Context, incomplete: str) -> list[str]:
        for name in ("positions", "readings"):
            path = ctx.params.get(name)
            if path is not None and (found := _distinct(Path(path), column)):
                return starting(found, incomplete)[:_MOST_WORDS]
        return []

    return complete


def _distinct(path: Path, column: str) -> list[str]:
    from wheelend._cells import words
    from wheelend._sources import open_source

    try:
        if path.stat().st_size > _MOST_BYTES:
            return []
        source = open_source(path, "positions")
        at = [h.strip().lower() for h in source.header].index(column)
        found: set[str] = set()
        for block in source.blocks:
            if block.arrays:
                found |= {w for w in words(block.arrays[at]).dictionary.to_pylist() if w is not None}
        return sorted(found)
    except Exception:
        return []  # a message in the middle of a line that is being typed helps nobody
