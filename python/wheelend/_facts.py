"""Facts that limits may ask for: the columns of positions, tires and wheel-end readings, by name and number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend import measures
from wheelend.dictionary import POSITIONS, TIRES, WHEELEND_READINGS, Column, Level

if TYPE_CHECKING:
    from wheelend.log import Log

_NO_FACTS = ("unit", "tire", "read_on", "quantity", "value", "present", "place", "reader", "date_code",
             "retread_date_code")  # fmt: skip
NUMBERS = ("measured", "whole", "date")
YES_NO = ("no", "yes")


@dataclass(frozen=True)
class Fact:
    """A fact: its number in the core, its column, and what its words are counted by."""

    index: int
    column: Column
    level: Level
    coder: str = "text"

    @property
    def name(self) -> str:
        return self.column.name

    @property
    def is_number(self) -> bool:
        return self.column.form in NUMBERS

    @property
    def words(self) -> tuple[str, ...]:
        """Words that it may take; empty where any may stand."""
        return YES_NO if self.column.form == "yes_no" else self.column.codes

    @property
    def dimension(self) -> str:
        """What its measures measure; ``"count"`` for whole numbers and dates."""
        return measures.table()[self.column.measures[0]].dimension if self.column.measures else "count"


@cache
def facts() -> dict[str, Fact]:
    """All facts by name, in the order in which the core numbers them."""
    found: dict[str, Fact] = {}

    def add(column: Column, coder: str = "text") -> None:
        if column.name not in _NO_FACTS and column.name not in found:
            found[column.name] = Fact(len(found), column, column.level, coder)

    for table in (POSITIONS, TIRES, WHEELEND_READINGS):
        for column in table:
            add(column)
    needed = found["needed"].column
    add(Column("needed_by_load", "measured", "cold pressure by load and size of the tire", measures=needed.measures))
    for name in ("site", "group"):
        add(Column(name, "text", f"{name} of the unit", level="unit"), "attribute")
    return found


def names() -> list[str]:
    """Names by number."""
    return list(facts())


Columns = dict[str, Any]


@dataclass(frozen=True)
class Derived:
    """Facts of rows of the wheel-end readings and of positions that no table gives."""

    of_row: Columns = field(default_factory=dict)
    of_position: Columns = field(default_factory=dict)


def columns_of(log: Log, derived: Derived | None = None, *, positions_only: bool = False) -> list[dict[str, Any]]:
    """What the core takes: for each fact the columns of the log that give it, or only those of the positions.

    ``derived``: further facts, which are worked out from the log for the day of judging.
    """
    more = derived or Derived()
    of_row, of_tire = ({}, {}) if positions_only else ({**more.of_row, **log.wheelend_facts}, log.tire_facts)
    of_position = {**more.of_position, **log.position_facts}
    return [
        {
            "level": fact.level,
            "is_code": not fact.is_number,
            "of_row": _column(fact, of_row),
            "of_tire": _column(fact, of_tire),
            "of_position": _column(fact, of_position),
            "otherwise": fact.words.index(fact.column.usual) if fact.column.usual else -1,
        }
        for fact in facts().values()
    ]


def _column(fact: Fact, columns: Columns) -> Any:
    """Numbers as (values, measure[, texts]), codes as 32-bit integers; None where the table does not give it."""
    values = columns.get(fact.name)
    if values is None:
        return None
    if not fact.is_number:
        return np.ascontiguousarray(values, np.int32)
    if isinstance(values, tuple):
        return values
    number = np.ascontiguousarray(values, np.float64)
    return (np.where(number < 0, np.nan, number) if fact.column.form == "whole" else number, "count")


def codes_of_word(log: Log, fact: Fact, word: str) -> list[int]:
    """Codes that stand for a word in this log; text is compared without regard to case."""
    if fact.words:
        return [fact.words.index(word)]
    known: Sequence[str] = log.attribute_names if fact.coder == "attribute" else log.text_names
    if fact.name == "size":
        word = spelled_size(word)
    return [i for i, name in enumerate(known) if name.casefold() == word.casefold()]


def spelled_size(text: str) -> str:
    """A size of tire in one spelling: '295/75 r22.5' is '295/75R22.5'."""
    return "".join(text.split()).upper()
