"""What was typed into a form: rows of which nothing was written are passed over, and what is written once for a unit
counts for its rows.

A hidden sheet of the workbook says what every cell held when the form was made, so that nothing has to be guessed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field

from wheelend.errors import DataRefused

FORM_SHEET = "wheelend form"
VERSION = 1
Cells = list[str | None]
Numbered = tuple[int, Cells]  # the row as a spreadsheet shows it, and its cells
Note = tuple[str, str, str]


@dataclass
class MadeWith:
    """Of one table: columns that are only shown, those written once for each unit, those that were filled in."""

    helpers: set[str] = field(default_factory=set)
    once: list[str] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)
    rows: set[tuple[str | None, ...]] = field(default_factory=set)


@dataclass(frozen=True)
class Typed:
    header: list[str]
    rows: list[Numbered]
    notes: list[Note]


def made_with(lines: list[Cells], file: str) -> dict[str, MadeWith]:
    """The hidden sheet, by name of the table."""
    if lines[:1] and lines[0][:2] != ["form", str(VERSION)]:
        raise DataRefused(f"{file} is a form of another version of wheelend: make a new one with 'wheelend form'")
    found: dict[str, MadeWith] = {}
    for kind, table, *rest in lines[1:]:
        made = found.setdefault(table or "", MadeWith())
        values = [v for v in rest if v is not None]
        if kind == "helper":
            made.helpers = set(values)
        elif kind == "once":
            made.once = values
        elif kind == "columns":
            made.columns = values
        else:
            made.rows.add(tuple(rest[: len(made.columns)]))
    return found


def settle(made: MadeWith, header: list[str], rows: list[Numbered], days: dict[str, Cells] | None = None) -> Typed:
    """Rows in which something was typed, each with what was written once for its unit.

    ``days``: of each unit the day and reader on the sheet of readings, for a table that gives none of its own.
    """
    keep = [i for i, name in enumerate(header) if name and name not in made.helpers]
    names = [header[i] for i in keep]
    kept = [(number, [cells[i] for i in keep]) for number, cells in rows]
    place = {name: i for i, name in enumerate(names)}
    once = [place[name] for name in made.once if name in place]
    result: list[Numbered] = []
    notes: list[Note] = []
    for unit, block in _blocks(kept, place.get("unit")):
        _take_over(block, once)
        touched = [row for row in block if not _is_as_made(made, place, once, row[1])]
        if not touched and any(cells[i] is not None for _, cells in block for i in once):
            if any(cells[i] is not None for _, cells in block for i in once if names[i].startswith("odometer")):
                touched = block[:1]  # an odometer is a reading of its own
            else:
                what = f"unit {unit}: a date or a reader is written, and no reading: fill it in, or clear it"
                notes.append(("nothing_typed", unit or "", what))
        if days is not None and unit in days:
            _take_day(touched, place, days[unit])
        result += touched
    return Typed(names, result, notes)


def days_of(header: list[str], rows: list[Numbered]) -> dict[str, Cells]:
    """Day and reader of each unit that has but one day on this sheet."""
    if "unit" not in header or "read_on" not in header:
        return {}
    day, reader = header.index("read_on"), header.index("reader") if "reader" in header else None
    found: dict[str, set[str]] = {}
    readers: dict[str, str | None] = {}
    for unit, block in _blocks(rows, header.index("unit")):
        for _, cells in block:
            if unit is not None and (written := cells[day]) is not None:
                found.setdefault(unit, set()).add(written)
                readers.setdefault(unit, cells[reader] if reader is not None else None)
    return {unit: [*days, readers[unit]] for unit, days in found.items() if len(days) == 1}


def _blocks(rows: list[Numbered], unit: int | None) -> Iterator[tuple[str | None, list[Numbered]]]:
    """Rows of one unit that stand together."""
    block: list[Numbered] = []
    before: str | None = None
    for row in rows:
        name = row[1][unit] if unit is not None else None
        if block and (name != before or name is None):
            yield before, block
            block = []
        block.append(row)
        before = name
    if block:
        yield before, block


def _take_over(block: list[Numbered], once: list[int]) -> None:
    """The day goes down its block and up to the rows above it; the others within the rows of one day."""
    if not once:
        return
    day, *others = once
    _spread([cells for _, cells in block], day)
    start = 0
    for end in range(1, len(block) + 1):
        if end == len(block) or block[end][1][day] != block[start][1][day]:
            for column in others:
                _spread([cells for _, cells in block[start:end]], column)
            start = end


def _spread(rows: list[Cells], column: int) -> None:
    for ordered in (rows, rows[::-1]):
        for above, below in itertools.pairwise(ordered):
            if below[column] is None:
                below[column] = above[column]


def _is_as_made(made: MadeWith, place: dict[str, int], once: list[int], cells: Cells) -> bool:
    of_form = [place[name] for name in made.columns if name in place]
    if any(value is not None for i, value in enumerate(cells) if i not in once and i not in of_form):
        return False
    values = tuple(cells[i] for i in of_form)
    return values in made.rows or not any(v is not None for v in cells)


def _take_day(rows: list[Numbered], place: dict[str, int], given: Cells) -> None:
    for name, value in zip(("read_on", "reader"), given, strict=True):
        for _, cells in rows:
            if name in place and cells[place[name]] is None:
                cells[place[name]] = value
