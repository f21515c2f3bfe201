"""Conditions of limit files: ``kind = truck|bus; gvwr > 3500 kg; built_on >= 1975-03-01``."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from wheelend import _core, measures
from wheelend._facts import Fact, codes_of_word, facts
from wheelend._words import EPOCH, did_you_mean

if TYPE_CHECKING:
    from wheelend.log import Log

NOT_STATED = "not_stated"
STATED = "stated"
_FORM = re.compile(r"\s*([a-z_0-9]+)\s*(>=|<=|!=|=|>|<)\s*(.+?)\s*")
Bound = tuple[str, str]  # a decimal and its measure


@dataclass(frozen=True)
class Condition:
    """One condition: ``words`` for facts that are words or text, ``bounds`` for numbers."""

    fact: Fact
    relation: str
    words: tuple[str, ...]
    bounds: tuple[Bound, ...]
    or_not_stated: bool

    def core(self, log: Log) -> dict[str, Any]:
        """As the core takes it. A word that nothing in the log carries has no code, so nothing equals it."""
        return {
            "fact": self.fact.index,
            "relation": self.relation,
            "codes": [c for word in self.words for c in codes_of_word(log, self.fact, word)],
            "bounds": list(self.bounds),
            "or_not_stated": self.or_not_stated,
        }

    def __str__(self) -> str:
        if self.relation in (STATED, NOT_STATED):
            return f"{self.fact.name} is {self.relation.replace('_', ' ')}"
        values = [*self.words, *(" ".join((n, m)).removesuffix(" count") for n, m in self.bounds)]
        if self.fact.column.form == "date":
            values = [(EPOCH + dt.timedelta(days=int(n))).isoformat() for n, _ in self.bounds]
        return f"{self.fact.name} {self.relation} {' or '.join(values)}" + (
            " or not stated" if self.or_not_stated else ""
        )


def parse(text: str) -> tuple[Condition, ...]:
    """Conditions of one cell; raises ValueError that says what to write."""
    return tuple(_parse_one(part) for part in text.split(";") if part.strip())


def _parse_one(text: str) -> Condition:
    match = _FORM.fullmatch(text)
    if match is None:
        raise ValueError(f"condition {text.strip()!r} is not of the form 'fact = word' or 'fact >= 3500 kg'")
    name, relation, rest = match.groups()
    fact = find(name)
    values = [v.strip() for v in rest.split("|")]
    if relation == "=" and values in ([STATED], [NOT_STATED]):
        return Condition(fact, values[0], (), (), False)
    or_not_stated = NOT_STATED in values
    values = [v for v in values if v != NOT_STATED]
    if not values:
        raise ValueError(f"condition {text.strip()!r} names no value beside not_stated: name one")
    if relation not in ("=", "!=") and (not fact.is_number or len(values) > 1):
        raise ValueError(f"condition {text.strip()!r}: {relation} takes one number or date; words take = or !=")
    if fact.is_number:
        return Condition(fact, relation, (), tuple(_number(fact, v) for v in values), or_not_stated)
    if fact.words:
        spelled = {word.casefold(): word for word in fact.words}
        values = [spelled.get(v.casefold(), v) for v in values]
    for value in values:
        if fact.words and value not in fact.words:
            hint = did_you_mean(value, fact.words)
            raise ValueError(f"{name} {value!r} is not one of {', '.join(fact.words)}{hint}")
    return Condition(fact, relation, tuple(values), (), or_not_stated)


def find(name: str) -> Fact:
    """The fact of a name; raises ValueError with the nearest one."""
    fact = facts().get(name)
    if fact is None:
        hint = did_you_mean(name, facts())
        raise ValueError(f"{name!r} is not a fact that a limit can ask for{hint} (see the data dictionary)")
    return fact


def _number(fact: Fact, text: str) -> Bound:
    if fact.column.form == "date":
        try:
            return str((dt.date.fromisoformat(text) - EPOCH).days), "count"
        except ValueError:
            raise ValueError(f"{fact.name}: {text!r} is not a date; write YYYY-MM-DD") from None
    if not fact.column.measures:
        if not re.fullmatch(r"\d+", text):
            raise ValueError(f"{fact.name}: {text!r} is not a whole number: correct it")
        return text, "count"
    return measures.parse_quantity(text, fact.dimension, fact.name)


def disjoint(a: Iterable[Condition], b: Sequence[Condition]) -> bool:
    """Whether no subject can meet both: some fact would have to be two things at once."""
    return any(x.fact == y.fact and _apart(x, y) for x in a for y in b)


def _apart(x: Condition, y: Condition) -> bool:
    if x.relation in (STATED, NOT_STATED) or y.relation in (STATED, NOT_STATED):
        return not (_met_by(x, True) and _met_by(y, True)) and not (_met_by(x, False) and _met_by(y, False))
    if x.or_not_stated and y.or_not_stated:
        return False
    if not x.fact.is_number:
        return _words_apart(x, y)
    if "=" in (x.relation, y.relation):
        points, other = (x, y) if x.relation == "=" else (y, x)
        return not any(_meets(p, other) for p in points.bounds)
    if "!=" in (x.relation, y.relation):
        return False
    return _intervals_apart(x, y)


def _met_by(condition: Condition, stated: bool) -> bool:
    """Whether a fact that is stated, or is not, may meet the condition."""
    if condition.relation in (STATED, NOT_STATED):
        return stated == (condition.relation == STATED)
    return stated or condition.or_not_stated


def _words_apart(x: Condition, y: Condition) -> bool:
    first, second = ({w.casefold() for w in c.words} for c in (x, y))
    if x.relation == y.relation:
        return x.relation == "=" and not first & second
    equal, unequal = (first, second) if x.relation == "=" else (second, first)
    return equal <= unequal


def _compare(a: Bound, b: Bound) -> int:
    return _core.compare(a[0], a[1], b[0], b[1])


def _meets(point: Bound, condition: Condition) -> bool:
    orders = [_compare(point, b) for b in condition.bounds]
    holds = {
        "=": any(o == 0 for o in orders),
        "!=": all(o != 0 for o in orders),
        ">=": orders[0] >= 0,
        ">": orders[0] > 0,
        "<=": orders[0] <= 0,
        "<": orders[0] < 0,
    }
    return holds[condition.relation]


def _intervals_apart(x: Condition, y: Condition) -> bool:
    if (x.relation[0] == ">") == (y.relation[0] == ">"):
        return False
    low, high = (x, y) if x.relation[0] == ">" else (y, x)
    order = _compare(low.bounds[0], high.bounds[0])
    return order > 0 or (order == 0 and (low.relation == ">" or high.relation == "<"))
