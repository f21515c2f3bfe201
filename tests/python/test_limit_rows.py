"""Every row of every limit set that ships, held to its own words.

Nothing here knows a limit. A row is read as text; from the text alone a log is made in which the row applies, with
values just below, at and just above its bound, in each measure. The word that must come out follows from the row's
sense and from exact fractions (ratios of NIST SP 811, appendix B, and HB 44, appendix C, by ``wheelend.measures``);
calendar steps from Python's own dates. A new row or file is tested without a change here; one of a form that this file
cannot build fails.
"""

from __future__ import annotations

import calendar
import datetime as dt
import itertools
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import wheelend
from wheelend import dictionary, limit_sets, measures
from wheelend._records import records
from wheelend.dictionary import LENGTH, LOAD, PRESSURE, SPEED, VALUE_MEASURES, Column

ROOT = Path(__file__).resolve().parents[2]
DAY = dt.date(2025, 6, 10)  # of all readings, where the row is in force on it
SETS = limit_sets.names()
QUANTITIES = {q.name: q for q in dictionary.QUANTITIES}
RECORD = ("keep_months", "due_months", "due_days")


# ---- numbers


@dataclass(frozen=True)
class Number:
    amount: Fraction
    label: str

    @property
    def si(self) -> Fraction:
        m = measures.table()[self.label]
        return self.amount * Fraction(m.numerator, m.denominator) + Fraction(m.offset_numerator, m.offset_denominator)

    def amount_in(self, label: str) -> Fraction:
        m = measures.table()[label]
        offset = Fraction(m.offset_numerator, m.offset_denominator)
        return (self.si - offset) / Fraction(m.numerator, m.denominator)

    def __str__(self) -> str:
        return f"{written(self.amount)} {self.label}"


def places_of(amount: Fraction) -> int | None:
    """Decimal places that it takes; None where no finite decimal is equal."""
    rest, twos, fives = amount.denominator, 0, 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    return max(twos, fives) if rest == 1 else None


def written(amount: Fraction) -> str:
    places = places_of(amount)
    assert places is not None, amount
    digits = str(abs(amount.numerator) * 10**places // amount.denominator).rjust(places + 1, "0")
    text = f"{digits[:-places]}.{digits[-places:]}" if places else digits
    return f"-{text}" if amount < 0 else text


# Where the table of measures has no step of an instrument: what such readings are written down to.
OWN_STEPS = {"ft": "1", "m": "0.1", "lb": "1", "kg": "1", "mph": "1", "kmh": "1", "min": "0.1", "count": "1"}


def step_of(label: str) -> Fraction:
    step = measures.table()[label].gauge_step
    return Fraction(repr(step)) if step else Fraction(OWN_STEPS[label])


def around(edge: Fraction, label: str, most_places: int | None) -> list[Fraction]:
    """Just below, at and just above: by a step of the gauge and by a further digit; where no decimal is equal to the
    edge, the two nearest that are cut off after the same digit."""
    step, places = step_of(label), places_of(edge)
    if places is not None and (most_places is None or places < most_places):
        fine = Fraction(1, 10 ** (places + 1))
        return [edge - step, edge - fine, edge, edge + fine, edge + step]
    digits = 6 if most_places is not None else next(d for d in range(6, 30) if abs(edge) * 10**d >= 1000)
    low = Fraction(edge * 10**digits // 1, 10**digits)
    high = low + Fraction(1, 10**digits)
    return [low - step, low, high, high + step]


# ---- rows of a set, as text


@dataclass(frozen=True)
class Condition:
    fact: str
    relation: str
    values: tuple[Any, ...]
    or_not_stated: bool


@dataclass(frozen=True)
class Rule:
    text: dict[str, str]
    where: tuple[Condition, ...]
    needs: tuple[Condition, ...]

    def __getitem__(self, column: str) -> str:
        return self.text[column]

    def listed(self, column: str, mark: str = ";") -> list[str]:
        return [w.strip() for w in self.text[column].split(mark) if w.strip()]


def column_of(fact: str) -> Column:
    tables = (dictionary.POSITIONS, dictionary.TIRES, dictionary.WHEELEND_READINGS)
    return next(c for table in tables for c in table if c.name == fact)


def value_of(fact: str, text: str) -> Any:
    """A word, a date, or a number with its measure."""
    form = column_of(fact).form
    if form == "date":
        return dt.date.fromisoformat(text)
    if form == "whole":
        return Number(Fraction(text), "count")
    if form == "measured":
        number, label = re.fullmatch(r"(-?[\d.]+(?:/\d+)?)\s*(\S+)", text).groups()
        return Number(Fraction(number), label)
    return text


def conditions(text: str) -> tuple[Condition, ...]:
    found = []
    for part in text.split(";") if text else []:
        fact, relation, rest = re.fullmatch(r"\s*(\w+)\s*(>=|<=|!=|=|>|<)\s*(.+?)\s*", part).groups()
        words = [w.strip() for w in rest.split("|")]
        if words in (["stated"], ["not_stated"]):
            found.append(Condition(fact, words[0], (), False))
            continue
        values = tuple(value_of(fact, w) for w in words if w != "not_stated")
        found.append(Condition(fact, relation, values, "not_stated" in words))
    return tuple(found)


@cache
def rules_of(name: str) -> dict[str, Rule]:
    rows = wheelend.limits(name).to_pylist()
    return {r["id"]: Rule(r, conditions(r["where"]), conditions(r["needs"])) for r in rows}


# ---- whom a row speaks of


Facts = dict[str, Any]


def holds(c: Condition, facts: Facts) -> bool | None:
    """None where the fact is not known and decides."""
    value = facts.get(c.fact, column_of(c.fact).usual or None)
    if c.relation in ("stated", "not_stated"):
        return (value is None) == (c.relation == "not_stated")
    if value is None:
        return True if c.or_not_stated else None
    if isinstance(value, str):
        met = value.casefold() in [v.casefold() for v in c.values]
        return met == (c.relation == "=")
    order = [compared(value, v) for v in c.values]
    if c.relation in ("=", "!="):
        return (0 in order) == (c.relation == "=")
    return {">=": order[0] >= 0, ">": order[0] > 0, "<=": order[0] <= 0, "<": order[0] < 0}[c.relation]


def compared(a: Any, b: Any) -> int:
    first, second = (a.si, b.si) if isinstance(a, Number) else (a, b)
    return int(first > second) - int(first < second)


def all_hold(wanted: Iterable[Condition], facts: Facts) -> bool | None:
    answers = [holds(c, facts) for c in wanted]
    return False if False in answers else None if None in answers else True


def left_out(rule: Rule, rules: dict[str, Rule]) -> list[str]:
    """Ids of the rows that a row leaves out; the first part of an id stands for all that begin with it."""
    return [
        i
        for name in rule.listed("except")
        for i in rules
        if i == name or (name not in rules and i.startswith(f"{name}-"))
    ]


def speaks_of(rule: Rule, facts: Facts, rules: dict[str, Rule]) -> bool | None:
    answer = all_hold(rule.where, facts)
    for other in left_out(rule, rules):
        there = speaks_of(rules[other], facts, rules)
        if there is True:
            return False
        if there is None and answer is True:
            answer = None
    return answer


ALWAYS_GIVEN: dict[str, list[Any]] = {
    "kind": ["truck", "tractor", "bus", "trailer", "dolly"],
    "role": ["drive", "steer", "trailer", "tag", "pusher", "lift", "dolly"],
    "axle": [Number(Fraction(n), "count") for n in (2, 1, 3)],
    "dual": ["single", "outer", "inner"],
}


def mentioned(rule: Rule, rules: dict[str, Rule]) -> Iterator[Condition]:
    """Conditions of the row, and of those that it leaves out."""
    yield from (*rule.where, *rule.needs)
    for other in left_out(rule, rules):
        yield from mentioned(rules[other], rules)


def beside(value: Any) -> list[Any]:
    """A value with its neighbours on both sides."""
    if isinstance(value, dt.date):
        return [value, value - dt.timedelta(days=1), value + dt.timedelta(days=1)]
    step = Fraction(1) if value.label == "count" else step_of(value.label)
    return [Number(value.amount + s, value.label) for s in (0, -step, step)]


def candidates(fact: str, about: Iterable[Condition]) -> list[Any]:
    """Values of a fact that can tell the conditions on it apart; None where one asks whether it is stated."""
    column = column_of(fact)
    asks = [c for c in about if c.fact == fact]
    values = [v for c in asks for v in c.values]
    unknown = [None] if any(c.relation == "not_stated" for c in asks) else []
    if column.codes or column.form in ("text", "yes_no"):
        words = ("no", "yes") if column.form == "yes_no" else ALWAYS_GIVEN.get(fact, column.codes)
        return list(dict.fromkeys([*words, *values, *([] if words else ["another word"]), *unknown]))
    near = [n for v in values for n in beside(v)]
    near += ALWAYS_GIVEN.get(fact, [first_number(fact)] if any(c.relation == "stated" for c in asks) else [])
    return [n for n in dict.fromkeys(near) if possible(column, n)] + unknown


def first_number(fact: str) -> Number:
    label = column_of(fact).measures[0]
    return Number(Fraction(ROUND[label]), label)


def possible(column: Column, value: Any) -> bool:
    """Whether the intake takes it for a reading at all."""
    if isinstance(value, dt.date) or column.least is None or column.most is None:
        return True
    if not column.range_measure:
        return bool(column.least <= value.amount <= column.most)
    least, most = (Number(Fraction(repr(b)), column.range_measure).si for b in (column.least, column.most))
    return least <= value.si <= most


def buildable(facts: Facts) -> bool:
    return not (facts["role"] == "steer" and facts["dual"] != "single")  # a steer axle carries singles


def facts_for(rule: Rule, rules: dict[str, Rule], given: Facts | None = None) -> Facts | None:
    """Facts of which the row speaks, and with which its reading is admissible; None where there are none."""
    given = given or {}
    about = list(mentioned(rule, rules))
    names = list(dict.fromkeys([*ALWAYS_GIVEN, *(c.fact for c in about), *given]))
    domains = []
    for fact in names:
        own = [c for c in (*rule.where, *rule.needs) if c.fact == fact]
        values = [given[fact]] if fact in given else candidates(fact, about)
        domains.append([v for v in values if all_hold(own, {} if v is None else {fact: v}) is True])
    for values in itertools.product(*domains):
        facts = {n: v for n, v in zip(names, values, strict=True) if v is not None}
        if buildable(facts) and speaks_of(rule, facts, rules) is True:
            return facts
    return None


# ---- bounds


def bases_of(rule: Rule, column: str) -> list[str]:
    """Facts that the bound may rest on; what a load table gives (needed_by_load) is tested with the tables."""
    return [b for b in rule.listed(column, "|") if b != "needed_by_load"]


# Base values: any would do that the intake takes.
ROUND = {"psi": "100", "kpa": "700", "bar": "7", "lb": "6000", "kg": "2700", "in": "2.5", "mm": "60", "32nds": "80",
         "mph": "50", "kmh": "80"}  # fmt: skip


def with_bases(rule: Rule, facts: Facts) -> list[tuple[Facts, bool]]:
    """The facts with each base in each measure, and whether that base stands in for the first."""
    if rule["or_base"]:
        assert not rule["base"], f"{rule['id']}: a base of both bounds is not built here"
        return [(facts | other, False) for other in bases_that_decide(rule)]
    if not rule["base"]:
        return [(facts, False)]
    found = []
    for base in bases_of(rule, "base"):
        stands_in = rule.listed("base", "|").index(base) > 0
        numbers = [Number(Fraction(ROUND[label]), label) for label in column_of(base).measures]
        found += [(facts | {base: n}, stands_in) for n in ([facts[base]] if base in facts else numbers)]
    return found


def bases_that_decide(rule: Rule) -> list[Facts]:
    """Bases of the second bound: one with which the first bound decides, and one with which the second does."""
    base = bases_of(rule, "or_base")[0]
    label = rule["measure"] if rule["measure"] in column_of(base).measures else column_of(base).measures[0]
    even = Number(Fraction(rule["bound"]), rule["measure"]).amount_in(label)
    if rule["or_measure"] == "percent":
        even *= 100 / Fraction(rule["or_bound"])
    return [{base: Number(even * share, label)} for share in (Fraction("0.8"), Fraction("1.25"))]


def bound_of(rule: Rule, facts: Facts, number: str, measure: str, base: str) -> Number:
    """A bound; with a base a share of it, or so much above it."""
    bound = Fraction(rule[number])
    if not rule[base]:
        return Number(bound, rule[measure])
    rests_on: Number = next(facts[b] for b in bases_of(rule, base) if b in facts)
    if rule[measure] == "percent":
        return Number(rests_on.amount * bound / 100, rests_on.label)
    return Number(rests_on.amount + Number(bound, rule[measure]).amount_in(rests_on.label), rests_on.label)


def bounds_for(rule: Rule, facts: Facts, label: str) -> tuple[list[Number], list[Number]]:
    """The bound (of a band both) that a reading in this measure is held to, and the other bound of the clause."""
    metric = measures.table()[label].metric
    twin = rule["twin_bound"] and measures.table()[label].dimension not in ("time", "count")
    if twin and metric == measures.table()[rule["twin_measure"]].metric != measures.table()[rule["measure"]].metric:
        numbers, measure = ("twin_bound", "twin_upper"), rule["twin_measure"]
        return [Number(Fraction(rule[n]), measure) for n in numbers if rule[n]], []
    main = [bound_of(rule, facts, "bound", "measure", "base")]
    if rule["upper"]:
        main.append(Number(Fraction(rule["upper"]), rule["measure"]))
    other = [bound_of(rule, facts, "or_bound", "or_measure", "or_base")] if rule["or_bound"] else []
    return main, other


def meets(order: int, sense: str) -> bool:
    return {">=": order >= 0, ">": order > 0, "<=": order <= 0, "<": order < 0}[sense]


def passes(rule: Rule, facts: Facts, value: Number) -> bool:
    main, other = bounds_for(rule, facts, value.label)
    if rule["sense"] == "within":
        return compared(value, main[0]) >= 0 and compared(value, main[1]) <= 0
    return any(meets(compared(value, bound), rule["sense"]) for bound in (*main, *other))


def values_to_try(rule: Rule, facts: Facts, labels: Iterable[str], most_places: int | None) -> list[Number]:
    found = []
    for label in labels:
        main, other = bounds_for(rule, facts, label)
        for bound in (*main, *other):
            found += [Number(a, label) for a in around(bound.amount_in(label), label, most_places)]
    return list(dict.fromkeys(found))


# ---- scenes: one unit, and what the row must say of it

Cells = dict[tuple[str, str], str]  # name and measure of the column, and the text of the cell


@dataclass
class Scene:
    """A small log. ``@`` in a text stands for the number of the unit. ``word`` None: the row must say nothing."""

    rule: Rule
    quantity: str
    told: str
    word: str | None
    positions: list[Cells]
    readings: list[Cells] = field(default_factory=list)
    tires: list[Cells] = field(default_factory=list)
    wheelends: list[Cells] = field(default_factory=list)
    at: tuple[Any, Any, Any] | None = None  # axle, side and dual as the result gives them
    day: dt.date = DAY
    severity: str = ""
    reason: str = ""
    counted_only: bool = False  # makes sense only where unconfirmed rows count


IN_POSITIONS = {c.name for c in dictionary.POSITIONS} - {"unit"}
IN_TIRES = {c.name for c in dictionary.TIRES} - IN_POSITIONS - {"tire"}
IN_WHEELENDS = {c.name for c in dictionary.WHEELEND_READINGS} - IN_POSITIONS - IN_TIRES


def cells(facts: Facts, names: Iterable[str] | None = None, **more: Any) -> Cells:
    out: Cells = {}
    for name, value in (facts | more).items():
        if names is None or name in names or name in more:
            if isinstance(value, Number):
                label = "" if value.label == "count" and name != "value" else value.label
                out[name, label] = written(value.amount)
            else:
                out[name, ""] = value.isoformat() if isinstance(value, dt.date) else str(value)
    return out


def duals(facts: Facts) -> tuple[str, ...]:
    return ("single",) if facts["dual"] == "single" else ("outer", "inner")


def axle_of(facts: Facts, **more: Any) -> list[Cells]:
    """The positions of one axle."""
    return [
        cells(facts | {"side": side, "dual": dual}, IN_POSITIONS, **more)
        for side in ("left", "right")
        for dual in duals(facts)
    ]


def place_of(facts: Facts, side: str = "left", dual: str | None = None) -> Facts:
    return {"axle": facts["axle"], "side": side, "dual": dual or facts["dual"]}


def read(facts: Facts, day: dt.date = DAY, side: str = "left", dual: str | None = None, **more: Any) -> Cells:
    return cells(place_of(facts, side, dual) | more, read_on=day)


def tire_cells(facts: Facts, number: str, **more: Any) -> list[Cells]:
    """A row of the tires table, where a fact is one of that table."""
    row = cells(facts, IN_TIRES, **more)
    return [row | {("tire", ""): number}] if row else []


def one_tire(facts: Facts, rows: list[dict[str, Any]], day: dt.date = DAY, **position: Any) -> dict[str, Any]:
    """Readings of one tire of an axle, each row of which holds ``rows``."""
    tires = tire_cells(facts, "@1")
    more = {"tire": "@1"} if tires else {}
    return {
        "positions": axle_of(facts, **position),
        "readings": [read(facts, day, **row, **more) for row in rows],
        "tires": tires,
        "at": (int(facts["axle"].amount), "left", facts["dual"]),
        "day": day,
    }


Built = dict[str, Any] | None  # of a scene; None where a value cannot be read at all


def grooves(*depths: Number) -> dict[str, Any] | None:
    if not all(possible(dictionary.GROOVE, d) for d in depths):
        return None
    return {f"tread_{i}": d for i, d in enumerate(depths, 1)}


def more_than(v: Number, steps: int = 1) -> Number:
    return Number(v.amount + steps * step_of(v.label), v.label)


def tread_scene(rule: Rule, facts: Facts, v: Number) -> Built:
    """Grooves of which the statistic is the value, beside lower and deeper ones that must not decide."""
    bald, deep, deeper = Number(Fraction(0), v.label), more_than(v), more_than(v, 2)
    marked = {"tread_barred": "1;2"}
    by_statistic: dict[str, list[tuple[Any, dict[str, Any]]]] = {
        "lowest_depth": [(grooves(v, deep, bald), marked)],  # the third has no indicator
        "lowest_any_groove": [(grooves(deep, deeper, v), marked)],
        "three_quarter_band": [(grooves(bald, v, deep, deeper), {"tread_at": "5;30;60;80"})],
        "second_lowest_of_four": [(grooves(d, deeper), {"place": i}) for i, d in enumerate((v, bald, deep, deep), 1)],
        "adjacent_pair": [(grooves(bald, v, deep), {})],
        "adjacent_pair_three_places": [
            (grooves(*depths), {"place": i})
            for i, depths in enumerate(((bald, bald, v), (bald, v, deep), (bald, bald, deep), (deep, deep, deep)), 1)
        ],
    }
    rows = by_statistic[rule["statistic"]]
    if any(depths is None for depths, _ in rows):
        return None
    return one_tire(facts, [depths | more for depths, more in rows])


def pressure_scene(rule: Rule, facts: Facts, v: Number) -> Built:
    column = dictionary.columns("readings")["pressure", True]
    return one_tire(facts, [{"pressure": v, "warm": "no"}]) if possible(column, v) else None


def speed_scene(rule: Rule, facts: Facts, v: Number) -> Built:
    column = dictionary.columns("readings")["speed_last_hour", True]
    return one_tire(facts, [{"speed_last_hour": v}]) if possible(column, v) else None


def capacity_scene(rule: Rule, facts: Facts, v: Number) -> Built:
    return one_tire(facts, [{}], rated_load=v) if possible(column_of("rated_load"), v) else None


def load_scene(rule: Rule, facts: Facts, v: Number) -> Built:
    """The load on the end of the axle, shared by its tires."""
    whole = Number(v.amount * len(duals(facts)), v.label)
    return one_tire(facts, [{}], end_load=whole) if possible(column_of("end_load"), whole) else None


def pair_scene(rule: Rule, facts: Facts, v: Number) -> Built:
    """A dual pair that differs by the value: the outer tire is the larger."""
    name = {"pair_depth": "tread_1", "pair_pressure": "pressure"}.get(rule["statistic"], rule["statistic"][5:])
    column = dictionary.GROOVE if name == "tread_1" else column_of_reading(name)
    low = Number(Fraction(LOWER_OF_PAIR[name][v.label]), v.label)
    high = Number(low.amount + v.amount, v.label)
    if v.amount < 0 or not possible(column, high):
        return None
    alike = facts | {fact: facts.get(fact, "alike") for fact in rule.listed("same")}
    tires, readings = [], []
    for dual, value in (("outer", high), ("inner", low)):
        of_tire = {name: value} if name in IN_TIRES else {}
        row = tire_cells(alike, f"@{dual}", **of_tire)
        tires += row
        readings.append(
            read(alike, dual=dual, **({} if of_tire else {name: value}), **({"tire": f"@{dual}"} if row else {}))
        )
    at = (int(facts["axle"].amount), "left", "inner")
    return {"positions": axle_of(alike), "readings": readings, "tires": tires, "at": at}


# Any that leave room above them.
LOWER_OF_PAIR = {
    "tread_1": {"32nds": "3", "mm": "3", "in": "0.1"},
    "pressure": {"psi": "90", "kpa": "620", "bar": "6"},
    "diameter": {"in": "40", "mm": "1000"},
    "circumference": {"in": "125", "mm": "3200"},
}


def column_of_reading(name: str) -> Column:
    return dictionary.columns("readings").get((name, True)) or column_of(name)


def axle_depth_scene(rule: Rule, facts: Facts, v: Number) -> Built:
    low = Number(Fraction(LOWER_OF_PAIR["tread_1"][v.label]), v.label)
    high = Number(low.amount + v.amount, v.label)
    if v.amount < 0 or not possible(dictionary.GROOVE, high):
        return None
    readings = [
        read(facts, side=side, dual=dual, tread_1=high if side == "right" else low)
        for side in ("left", "right")
        for dual in duals(facts)
    ]
    return {"positions": axle_of(facts), "readings": readings, "at": (int(facts["axle"].amount), None, None)}


# ---- scenes of wheel-end readings


def wheelend_row(facts: Facts, quantity: str, level: str = "wheel", side: str = "left", **more: Any) -> Cells:
    place = {"wheel": place_of(facts, side), "axle": {"axle": facts["axle"]}, "unit": {}}[level]
    own = {n: v for n, v in facts.items() if n in IN_WHEELENDS}
    return cells(place | own | {"quantity": quantity} | more, read_on=DAY)


def can_be(quantity: str, *values: Number) -> bool:
    q = QUANTITIES[quantity]
    least, most = (Number(Fraction(repr(b)), q.range_measure).si for b in (q.least, q.most))
    return all(least <= v.si <= most for v in values)


def wheelend_scene(facts: Facts, quantity: str, rows: list[Cells], level: str = "wheel") -> dict[str, Any]:
    tires = tire_cells(facts, "@1")
    axle = int(facts["axle"].amount)
    at = {"wheel": (axle, "left", facts["dual"]), "axle": (axle, None, None), "unit": (None, None, None)}[level]
    readings = [read(facts, tire="@1")] if tires else []
    return {"positions": axle_of(facts), "readings": readings, "tires": tires, "wheelends": rows, "at": at}


def visible(facts: Facts, level: str) -> Facts:
    """What a reading of an axle or unit knows: the facts of its own row, and those of its level."""
    levels = ("unit", "axle", "wheel")
    known = levels[: levels.index(level) + 1]
    return {n: v for n, v in facts.items() if n in IN_WHEELENDS or column_of(n).level in known}


def levels_of(rule: Rule, facts: Facts, rules: dict[str, Rule]) -> list[str]:
    """Of the wheel, and the coarsest at which the row still knows all that it asks for."""

    def knows(level: str) -> bool:
        seen = visible(facts, level)
        bases = {*bases_of(rule, "base"), *bases_of(rule, "or_base")} & set(facts)
        asked = speaks_of(rule, seen, rules) is True and all_hold(rule.needs, seen) is True
        return asked and bases <= set(seen)

    return ["wheel", *[level for level in ("unit", "axle") if knows(level)][:1]]


def above_the_rest_scene(rule: Rule, facts: Facts, quantity: str, v: Number) -> Built:
    """Four hubs, three of them equally warm."""
    label = v.label.removesuffix("_apart")
    warm = Number(Fraction(100 if label == "degf" else 40), label)
    hot = Number(warm.amount + v.amount, label)
    if not can_be(quantity, hot):
        return None
    next_axle = facts | {"axle": Number(facts["axle"].amount + 1, "count")}
    rows = [
        wheelend_row(facts, quantity, value=hot),
        wheelend_row(facts, quantity, side="right", value=warm),
        wheelend_row(next_axle, quantity, value=warm),
        wheelend_row(next_axle, quantity, side="right", value=warm),
    ]
    scene = wheelend_scene(facts, quantity, rows)
    return scene | {"positions": axle_of(facts) + axle_of(next_axle)}


def side_to_side_scene(rule: Rule, facts: Facts, quantity: str, v: Number) -> Built:
    q = QUANTITIES[quantity]
    half = Number(Number(Fraction(repr((q.least + q.most) / 2)), q.range_measure).amount_in(v.label) // 1, v.label)
    other = Number(half.amount + v.amount, v.label)
    if v.amount < 0 or not can_be(quantity, half, other):
        return None
    rows = [wheelend_row(facts, quantity, value=other), wheelend_row(facts, quantity, side="right", value=half)]
    return wheelend_scene(facts, quantity, rows)


def ways_to_lose(facts: Facts, quantity: str, v: Number, level: str) -> Iterator[dict[str, Any]]:
    """A rate of loss as it is read, and as pressures over a time: a minute, and half a minute."""
    if can_be(quantity, v):
        yield wheelend_scene(facts, quantity, [wheelend_row(facts, quantity, level, value=v)], level)
    label = v.label.removesuffix("_per_min")
    start = facts.get("start", Number(Fraction(ROUND[label]), label))
    if "before" in facts and "start" not in facts:  # timing begins after the drop of the application
        start = Number(facts["before"].amount_in(label) * Fraction("0.95") // 1, label)
    for seconds in (60, 30):
        end = Number(start.amount - v.amount * Fraction(seconds, 60), label)
        if start.label == label and possible(column_of("end"), end) and not {"end", "duration"} & set(facts):
            timed = {"start": start, "end": end, "duration": Number(Fraction(seconds), "s")}
            yield wheelend_scene(facts, quantity, [wheelend_row(facts, quantity, level, **timed)], level)


def ceilings_for(rules: dict[str, Rule], facts: Facts, quantity: str) -> list[Rule]:
    """Rows of the set by which a reading of the quantity can be too much, and a violation."""
    as_read = [r for r in rules.values() if r["statistic"] == "as_read" and quantity in r.listed("quantity", "|")]
    lawful = [r for r in as_read if (r["sense"], r["severity"]) == ("<=", "violation")]
    return [r for r in lawful if speaks_of(r, facts, rules) is True]


def facts_with_ceiling(rule: Rule, rules: dict[str, Rule], quantity: str) -> Facts | None:
    """Facts with which one row of the set, without a base, alone gives the limit that a reading may exceed."""
    for ceiling in rules.values():
        if ceiling["status"] == "memory":  # without being counted it decides nothing: see the C++ tests
            continue
        both = replace(rule, where=rule.where + ceiling.where, needs=rule.needs + ceiling.needs)
        if quantity in ceiling.listed("quantity", "|") and not ceiling["base"]:
            facts = facts_for(both, rules)
            if facts and ceilings_for(rules, facts, quantity) == [ceiling]:
                return facts
    return None


def beyond_scene(rule: Rule, ceiling: Rule, facts: Facts, quantity: str, v: Number) -> Built:
    bound = bounds_for(ceiling, facts, v.label)[0][0]
    value = Number(bound.amount_in(v.label) + v.amount, v.label)
    if places_of(value.amount) is None or not can_be(quantity, value):
        return None
    return wheelend_scene(facts, quantity, [wheelend_row(facts, quantity, value=value)])


# ---- things that are there or not


def thing_scenes(rule: Rule, rules: dict[str, Rule], facts: Facts, quantity: str) -> Iterator[tuple[str, bool, Any]]:
    """Scenes with the thing (True) and without."""
    statistic = rule["statistic"]
    if statistic == "retread_or_regrooved":
        for retread, regrooved in (("no", "no"), ("yes", "no"), ("no", "yes"), ("no", "")):
            cells_of = {"retread": retread, "regrooved": regrooved}
            if all_hold(rule.where, facts | cells_of) is True:
                yield f"{cells_of}", "yes" in (retread, regrooved), one_tire(facts, [{}], **cells_of)
    elif statistic in ("axle_sizes", "axle_constructions"):
        yield "alike", False, mixing_scene(rule, facts, mixed=False)
        yield "mixed", True, mixing_scene(rule, facts, mixed=True)
    elif statistic == "sides_unlike":
        yield "alike", False, sides_scene(rule, facts, quantity, unlike=False)
        yield "unlike", True, sides_scene(rule, facts, quantity, unlike=True)
    else:
        for level in levels_of(rule, facts, rules):
            for there, given in seen_or_counted(quantity):
                row = wheelend_row(facts, quantity, level, **given)
                yield f"{given} {level}", there, wheelend_scene(facts, quantity, [row], level)


def seen_or_counted(quantity: str) -> list[tuple[bool, dict[str, Any]]]:
    if QUANTITIES[quantity].dimension == "count":
        return [(bool(n), {"value": Number(Fraction(n), "count")}) for n in (0, 1)]
    return [(word == "yes", {"present": word}) for word in ("no", "yes")]


def two_words(fact: str) -> tuple[str, str]:
    first, second, *_ = column_of(fact).codes or ("this", "that")
    return first, second


def mixing_scene(rule: Rule, facts: Facts, *, mixed: bool) -> dict[str, Any]:
    """The tire that is named is the first that differs."""
    one, other = two_words(rule["fact"])
    places = axle_of(facts)
    for row in places:
        row[rule["fact"], ""] = other if mixed and row["side", ""] == "right" else one
    readings = [read(facts, side=side, dual=dual) for side in ("left", "right") for dual in duals(facts)]
    axle = int(facts["axle"].amount)
    at = (axle, "right", duals(facts)[0]) if mixed else (axle, None, None)
    return {"positions": places, "readings": readings, "at": at}


def sides_scene(rule: Rule, facts: Facts, quantity: str, *, unlike: bool) -> dict[str, Any]:
    one, other = two_words(rule["fact"])
    q = QUANTITIES[quantity]
    value = {"present": "no"} if q.dimension == "observation" else {"value": Number(Fraction(1), q.range_measure)}
    rows = [
        wheelend_row(facts, quantity, side=side, **{rule["fact"]: word}, **value)
        for side, word in (("left", one), ("right", other if unlike else one))
    ]
    return wheelend_scene(facts, quantity, rows)


# ---- ages, dates, shares


def whole(number: Fraction) -> int:
    assert number.denominator == 1, f"{number}: only whole steps of the calendar are built here"
    return int(number)


def years_later(day: dt.date, years: int) -> dt.date:
    return day.replace(year=day.year + years)  # never 29 February here


def months_before(day: dt.date, months: int) -> dt.date:
    at = day.year * 12 + day.month - 1 - months
    return dt.date(at // 12, at % 12 + 1, day.day)  # the tenth, which every month has


def week(code: str) -> tuple[dt.date, dt.date]:
    """First and last day of a date code: week 01 begins on the first Sunday of the year (SOR/2013-198 s. 6(4)(c))."""
    first = dt.date(2000 + int(code[2:]), 1, 1)
    sunday = first + dt.timedelta(days=(6 - first.weekday()) % 7 + 7 * (int(code[:2]) - 1))
    return sunday, sunday + dt.timedelta(days=6)


def age_scenes(rule: Rule, facts: Facts) -> Iterator[tuple[str, str, Any]]:
    """A tire of one week, judged on the days on which its first or last day comes of age, and the days after."""
    years = whole(Fraction(rule["bound"]) / (12 if rule["measure"] == "months" else 1))
    since = dt.date.fromisoformat(rule["valid_from"] or "2020-01-01")
    code = f"20{since.year + 2 - years - 2000:02d}"
    born = week(code)
    columns = [{"date_code": code}]
    if rule["statistic"] == "age_of_tire":  # counted from retreading, where the tire was retreaded
        columns.append({"date_code": f"20{int(code[2:]) - 3:02d}", "retread_date_code": code})
    else:
        columns.append({"date_code": code, "retread_date_code": f"20{int(code[2:]) + 3:02d}"})
    days = [years_later(b, years) + dt.timedelta(days=d) for b in born for d in (-1, 0, 1)]
    for on, given in itertools.product(sorted(set(days)), columns):
        said = {meets(compared(on, years_later(b, years)), rule["sense"]) for b in born}
        word = "no_verdict" if len(said) == 2 else "pass" if True in said else "fail"
        scene = one_tire(facts, [{}], on)
        scene["readings"] = [row | {("tire", ""): "@1"} for row in scene["readings"]]
        yield f"{given} on {on}", word, scene | {"tires": tire_cells(facts, "@1", **given)}


def months_scenes(rule: Rule, rules: dict[str, Rule]) -> Iterator[tuple[str, bool, Any]]:
    """A date so many months before the day of judging, and the days beside it."""
    months = whole(Fraction(rule["bound"]) * (12 if rule["measure"] == "years" else 1))
    even = months_before(DAY, months)
    for date in beside(even):
        facts = facts_for(rule, rules, {rule["fact"]: date})
        if facts:
            passed = meets(compared(even, date), rule["sense"])  # a later date is a younger thing
            yield f"{rule['fact']} {date}", passed, {"positions": axle_of(facts), "at": (None, None, None)}


def brake_that_counts(rules: dict[str, Rule]) -> tuple[Rule, str] | None:
    """A row by which a brake counts as one defect, the less unsure the better, and its quantity."""
    whole = [r for r in rules.values() if r["counts"] and Fraction(r["counts"]) == 1 and r["sense"] == "absent"]
    whole.sort(key=lambda r: (r["status"] == "memory", len(r.where)))
    return (whole[0], whole[0].listed("quantity", "|")[0]) if whole else None


def share_scenes(rule: Rule, rules: dict[str, Rule]) -> Iterator[tuple[str, bool, Any]]:
    """Brakes of one unit, of which so many are defective: a share below, at and above the bound."""
    found = brake_that_counts(rules)
    facts = facts_for(replace(rule, where=rule.where + found[0].where), rules) if found else None
    if found is None or facts is None:
        return
    share = Fraction(rule["bound"]) / 100
    brakes = next(n for n in range(10, 61, 2) if (share * n).denominator == 1)
    axles = [facts | {"axle": Number(Fraction(a), "count")} for a in range(1, brakes // 2 + 1)]
    if not all(speaks_of(found[0], f, rules) for f in axles):
        return
    for defective in (int(share * brakes) + d for d in (-1, 0, 1)):
        ends = [(f, side) for f in axles for side in ("left", "right")]
        rows = [
            wheelend_row(f, found[1], side=side, present="yes" if i < defective else "no")
            for i, (f, side) in enumerate(ends)
        ]
        scene = {"positions": [p for f in axles for p in axle_of(f)], "wheelends": rows, "at": (None, None, None)}
        passed = meets(compared(Fraction(defective, brakes), share), rule["sense"])
        yield f"{defective} of {brakes}", passed, scene | {"counted_only": found[0]["status"] == "memory"}


# ---- all scenes of a row

PLACES = 9  # of a value that is worked out (a difference, a share of a load) as many are kept
TREAD = (
    *("lowest_depth", "lowest_any_groove", "three_quarter_band", "second_lowest_of_four"),
    *("adjacent_pair", "adjacent_pair_three_places"),
)
Maker = Callable[[Rule, Facts, Number], Built]
# Statistic: scene, measures in which it is read, decimal places that are kept (None: all).
OF_TIRES: dict[str, tuple[Maker, tuple[str, ...], int | None]] = {
    **dict.fromkeys(TREAD, (tread_scene, LENGTH, None)),
    "cold_pressure": (pressure_scene, PRESSURE, None),
    "pressure_as_found": (pressure_scene, PRESSURE, None),
    "speed_last_hour": (speed_scene, SPEED, None),
    "regrooved_capacity": (capacity_scene, LOAD, None),
    "load_carried": (load_scene, LOAD, PLACES),
    "pair_depth": (pair_scene, LENGTH, PLACES),
    "pair_pressure": (pair_scene, PRESSURE, PLACES),
    "pair_diameter": (pair_scene, ("in", "mm"), PLACES),
    "pair_circumference": (pair_scene, ("in", "mm"), PLACES),
    "axle_depth": (axle_depth_scene, LENGTH, PLACES),
}
GIVEN = {
    "regrooved_capacity": {"regrooved": "yes"},
    **{f"pair_{of}": {"dual": "outer"} for of in ("depth", "pressure", "diameter", "circumference")},
}


def day_in_force(rule: Rule) -> dt.date:
    until = dt.date.fromisoformat(rule["valid_until"] or "9999-12-31")
    since = dt.date.fromisoformat(rule["valid_from"] or "1970-01-01")
    return max(min(DAY, until), since)


def moved(built: dict[str, Any], day: dt.date) -> dict[str, Any]:
    """The scene with all readings on another day."""
    at = {("read_on", ""): day.isoformat()}
    tables = {t: [row | at for row in built.get(t, [])] for t in ("readings", "wheelends")}
    return built | tables | {"day": day}


def scenes_of(rule: Rule, rules: dict[str, Rule]) -> Iterator[Scene]:
    for quantity in rule.listed("quantity", "|"):
        for told, passed, severity, built in told_scenes(rule, rules, quantity):
            word = passed if isinstance(passed, str) else "pass" if passed else "fail"
            on = moved(built, day_in_force(rule)) if built.get("day", DAY) == DAY else built
            yield Scene(rule, quantity, told, word, severity=severity, **on)


Told = tuple[str, bool | str, str, Any]  # what is tried, whether it passes (or the word), the severity, the scene


def told_scenes(rule: Rule, rules: dict[str, Rule], quantity: str) -> Iterator[Told]:
    statistic, severity = rule["statistic"], rule["severity"]
    if statistic in ("months_since", "defective_brakes"):
        make = months_scenes if statistic == "months_since" else share_scenes
        yield from ((told, passed, severity, built) for told, passed, built in make(rule, rules))
        return
    facts = facts_of(rule, rules, quantity)
    if facts is not None:
        yield from scenes_given(rule, rules, facts, quantity)


def facts_of(rule: Rule, rules: dict[str, Rule], quantity: str) -> Facts | None:
    if rule["statistic"] == "beyond_limit":
        return facts_with_ceiling(rule, rules, quantity)
    return facts_for(rule, rules, GIVEN.get(rule["statistic"]))


def scenes_given(rule: Rule, rules: dict[str, Rule], facts: Facts, quantity: str) -> Iterator[Told]:
    statistic, severity = rule["statistic"], rule["severity"]
    if statistic in ("age_of_tire", "age_of_casing"):
        yield from ((told, word, severity, built) for told, word, built in age_scenes(rule, facts))
    elif rule["sense"] == "absent":
        for told, there, built in thing_scenes(rule, rules, facts, quantity):
            yield told, not there, severity, built
    else:
        yield from compared_scenes(rule, rules, facts, quantity)


def compared_scenes(rule: Rule, rules: dict[str, Rule], facts: Facts, quantity: str) -> Iterator[Told]:
    if rule["statistic"] == "beyond_limit":
        yield from beyond_scenes(rule, rules, facts, quantity)
        return
    for based, stands_in in with_bases(rule, facts):
        # A single rating in place of that for duals is the law's all the same, but within it nothing is shown.
        of_load = stands_in and rule["statistic"] == "load_carried"
        severity = "own" if stands_in and not of_load else rule["severity"]
        labels, places = labels_of(rule, quantity)
        for value in values_to_try(rule, based, labels, places):
            for told, built in scenes_with(rule, rules, based, quantity, value):
                if built is not None:
                    passed = passes(rule, based, value)
                    word = "no_verdict" if of_load and passed else passed
                    yield f"{told} {bases_told(rule, based)}", word, severity, built


def bases_told(rule: Rule, facts: Facts) -> str:
    bases = [b for b in (*bases_of(rule, "base"), *bases_of(rule, "or_base")) if b in facts]
    return ", ".join(f"{b} {facts[b]}" for b in bases)


def labels_of(rule: Rule, quantity: str) -> tuple[tuple[str, ...], int | None]:
    """Measures in which the value is read, and the places that are kept."""
    statistic = rule["statistic"]
    if statistic in OF_TIRES:
        return OF_TIRES[statistic][1:]
    if statistic == "above_the_rest":
        return ("degf_apart", "degc_apart"), PLACES
    fit = tuple(m for m in VALUE_MEASURES if measures.table()[m].dimension == QUANTITIES[quantity].dimension)
    if statistic == "as_read":
        return fit, None
    return tuple(m for m in fit if measures.table()[m].gauge_step or m == rule["measure"]), PLACES


def scenes_with(
    rule: Rule, rules: dict[str, Rule], facts: Facts, quantity: str, v: Number
) -> Iterator[tuple[str, Built]]:
    statistic = rule["statistic"]
    if statistic in OF_TIRES:
        yield str(v), OF_TIRES[statistic][0](rule, facts, v)
    elif statistic == "above_the_rest":
        yield str(v), above_the_rest_scene(rule, facts, quantity, v)
    elif statistic == "side_to_side":
        yield str(v), side_to_side_scene(rule, facts, quantity, v)
    else:
        for level in levels_of(rule, facts, rules):
            if statistic == "loss_rate":
                yield from ((f"{v} {level}", built) for built in ways_to_lose(facts, quantity, v, level))
            elif can_be(quantity, v):
                row = wheelend_row(facts, quantity, level, value=v)
                yield f"{v} {level}", wheelend_scene(facts, quantity, [row], level)


def beyond_scenes(rule: Rule, rules: dict[str, Rule], facts: Facts, quantity: str) -> Iterator[Told]:
    (ceiling,) = ceilings_for(rules, facts, quantity)
    for v in values_to_try(rule, facts, *labels_of(rule, quantity)):
        built = beyond_scene(rule, ceiling, facts, quantity, v)
        if built is not None:
            excess = Number(max(v.amount, Fraction(0)), v.label)  # a reading within its limit exceeds it by nothing
            yield f"{v} beyond {ceiling['id']}", passes(rule, facts, excess), rule["severity"], built


# ---- whom and when: scenes at the edges of the conditions

UNDECIDED = "no_verdict, or no row"  # a fact is not known: the row, or another of its clause, says so, or none does
VALUE_IS_A_FACT = ("months_since", "defective_brakes")  # a date, or what other rows say: nothing varies beside it
THING_IS_A_FACT = ("US-A-03-REGROOVED",)  # its condition is what it forbids, so that nothing passes by it
OF_AXLE = ("axle_depth", "axle_sizes", "axle_constructions")
KEYS = ("axle", "side", "dual")


def scenes_beside(rule: Rule, rules: dict[str, Rule]) -> Iterator[Scene]:
    """The row with a value that passes, where one fact is another than the row asks for, or is not known."""
    quantity, statistic = rule.listed("quantity", "|")[0], rule["statistic"]
    facts = facts_of(rule, rules, quantity)
    if facts is None or statistic in VALUE_IS_A_FACT:
        return
    for told, other in with_one_other_fact(rule, rules, facts):
        found = next((t for t in scenes_given(rule, rules, other, quantity) if t[1] is True or t[1] == "pass"), None)
        if found is None:
            continue
        seen = visible(other, "axle") if statistic in OF_AXLE else other
        word, reason = word_by_conditions(rule, rules, seen)
        on = moved(found[3], day_in_force(rule)) if found[3].get("day", DAY) == DAY else found[3]
        severity = rule["severity"] if word == "no_verdict" else found[2]
        yield Scene(rule, quantity, told, word, severity=severity, reason=reason, **on)


def with_one_other_fact(rule: Rule, rules: dict[str, Rule], facts: Facts) -> Iterator[tuple[str, Facts]]:
    about = list(mentioned(rule, rules))
    given = GIVEN.get(rule["statistic"], {})
    for fact in dict.fromkeys(c.fact for c in about if c.fact not in given):
        for value in candidates(fact, about):
            other = facts | {fact: value}
            if value is not None and buildable(other):
                yield f"{fact} {value}", other
        if fact not in (*KEYS, *rule.listed("base", "|")):
            yield f"{fact} not stated", {n: v for n, v in facts.items() if n != fact}


def word_by_conditions(rule: Rule, rules: dict[str, Rule], facts: Facts) -> tuple[str | None, str]:
    """The verdict of the row on a value that passes, and what the reason must say."""
    speaks = speaks_of(rule, facts, rules)
    if speaks is not True:
        return (None if speaks is False else UNDECIDED), ""
    unmet = [c for c in rule.needs if holds(c, facts) is not True]
    if not unmet:
        return "pass", ""
    missing = holds(unmet[0], facts) is None
    return (
        "no_verdict",
        f"{unmet[0].fact} is not given" if missing else f"not admissible: the rule asks for {unmet[0].fact} ",
    )


def scenes_of_unlike_tires(rule: Rule, rules: dict[str, Rule]) -> Iterator[Scene]:
    """A dual pair, of which the inner tire is unlike the outer one in what they must share, or not known in it."""
    plain = next((s for s in scenes_of(rule, rules) if s.word == "pass"), None) if rule["same"] else None
    if plain is None:
        return
    for fact in rule.listed("same"):
        for text, word, reason in (("another", None, ""), ("", "no_verdict", f"{fact} is not given")):
            tables = {t: [inner_with(row, fact, text) for row in getattr(plain, t)] for t in ("positions", "tires")}
            yield replace(plain, told=f"{fact} {text!r}", word=word, reason=reason, **tables)


def inner_with(row: Cells, fact: str, text: str) -> Cells:
    is_inner = "inner" in (row.get(("dual", "")), row.get(("tire", ""), "").removeprefix("@"))
    return row | {(fact, ""): text} if is_inner and (fact, "") in row else row


def scenes_out_of_force(rule: Rule, rules: dict[str, Rule]) -> Iterator[Scene]:
    """The day before the row came into force, and the day after it went out."""
    one = dt.timedelta(days=1)
    for column, beyond in (("valid_from", -one), ("valid_until", one)):
        if rule[column]:
            day = dt.date.fromisoformat(rule[column]) + beyond
            for scene in scenes_of(rule, rules):
                moved_to = moved({"readings": scene.readings, "wheelends": scene.wheelends}, day)
                yield replace(scene, told=f"{scene.told} on {day}", word=None, **moved_to)


# ---- logs of many scenes


def label_conflicts(scene: Scene, batch: dict[tuple[str, str], str]) -> bool:
    return any(batch.get(key, label) != label for key, label in labels_in(scene))


def labels_in(scene: Scene) -> set[tuple[tuple[str, str], str]]:
    """Columns of the scene's tables with their measures. A table has each quantity in one measure only."""
    found = set()
    for table in ("positions", "readings", "tires", "wheelends"):
        for row in getattr(scene, table):
            found |= {
                ((table, name), label) for name, label in row if label and (table, name) != ("wheelends", "value")
            }
    return found


def batches(scenes: Iterable[Scene]) -> list[list[Scene]]:
    """Scenes of one day that can stand in one log."""
    logs: list[tuple[dt.date, dict[tuple[str, str], str], list[Scene]]] = []
    for scene in scenes:
        log = next((log for log in logs if log[0] == scene.day and not label_conflicts(scene, log[1])), None)
        if log is None:
            log = (scene.day, {}, [])
            logs.append(log)
        log[1].update(labels_in(scene))
        log[2].append(scene)
    return [log[2] for log in logs]


def table_of(rows: list[Cells]) -> dict[str, list[str]] | None:
    names = dict.fromkeys(key for row in rows for key in row)
    return {f"{n}_{m}" if m else n: [row.get((n, m), "") for row in rows] for n, m in names} or None


def log_of(batch: list[Scene]) -> wheelend.Log:
    """One unit a scene, and a unit of its own whose reading alone makes the log one."""
    pressure = next((m for s in batch for (k, m) in labels_in(s) if k == ("readings", "pressure")), "psi")
    other = {("unit", ""): "other", ("axle", ""): "1", ("side", ""): "left", ("dual", ""): "single"}
    tables: dict[str, list[Cells]] = {
        "positions": [other | {("kind", ""): "", ("role", ""): ""}],
        "readings": [other | {("read_on", ""): batch[0].day.isoformat(), ("pressure", pressure): "8"}],
        "tires": [],
        "wheelends": [],
    }
    for i, scene in enumerate(batch):
        unit = f"U{i}"
        for table, rows in tables.items():
            of_unit = {} if table == "tires" else {("unit", ""): unit}
            rows += [{k: t.replace("@", unit) for k, t in row.items()} | of_unit for row in getattr(scene, table)]
    log = wheelend.read_log(
        *(table_of(tables[name]) for name in ("readings", "positions", "tires", "wheelends")), today=batch[0].day
    )
    lost = [i for i in zip(*log.issues.values(), strict=True) if "row" in i or "cell" in i]
    assert lost == []
    return log


def verdicts(log: wheelend.Log, name: str, day: dt.date, counted: bool) -> dict[tuple[str, str], list[dict[str, Any]]]:
    """By unit and row of the set."""
    table = wheelend.judge(log, limits=name, as_of=day, count_unconfirmed=counted)
    found: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for values in zip(*table.values(), strict=True):
        row = dict(zip(table, values, strict=True))
        found.setdefault((row["unit"], row["limit_id"]), []).append(row)
    return found


def none_if_nan(value: Any) -> Any:
    return None if value != value else value


def complaints(name: str, scenes: Iterable[Scene]) -> list[str]:
    """What did not come out as it must."""
    found = []
    for batch in batches(scenes):
        log = log_of(batch)
        for counted in (False, True):
            by_row = verdicts(log, name, batch[0].day, counted)
            for i, scene in enumerate(batch):
                if scene.counted_only and not counted:
                    continue
                said = by_row.get((f"U{i}", scene.rule["id"]), [])
                wrong = difference(scene, said, counted)
                if wrong:
                    found.append(f"{scene.rule['id']} {scene.quantity} {scene.told} counted={counted}: {wrong}")
    return found


def difference(scene: Scene, said: list[dict[str, Any]], counted: bool) -> str:
    """How the verdicts of the row on a unit differ from the one that must come out; empty where they do not."""
    place = [tuple(none_if_nan(v[k]) for k in ("axle", "side", "dual")) for v in said]
    of_scene = [v for v, at in zip(said, place, strict=True) if v["quantity"] == scene.quantity and at == scene.at]
    if scene.word in (None, UNDECIDED):
        found = [v["verdict"] for v in said]
        return f"{found}, want {scene.word}" if set(found) - ({"no_verdict"} if scene.word else set()) else ""
    if len(of_scene) != 1:
        return f"{len(of_scene)} verdicts at {scene.at}, verdicts at {place}"
    v, word = of_scene[0], scene.word
    would_fail = word == "fail" and scene.rule["status"] == "memory" and not counted
    reason = f"unconfirmed row {scene.rule['id']} would fail" if would_fail else scene.reason
    word = "no_verdict" if would_fail else word
    if (v["verdict"], v["severity"]) != (word, scene.severity) or reason not in (v["reason"] or ""):
        return f"{v['verdict']} ({v['severity']}, {v['reason']}), want {word} ({scene.severity}, {reason})"
    return ""


# ---- the tests


def judged(name: str) -> list[Rule]:
    return [r for r in rules_of(name).values() if r["statistic"] not in RECORD]


@pytest.mark.parametrize("name", SETS)
def test_rows_pass_and_fail_at_their_bounds(name: str) -> None:
    """Acceptance: below, at and above every bound, in every measure; a row that nothing reaches fails here too."""
    rules = rules_of(name)
    scenes = [s for rule in judged(name) for s in scenes_of(rule, rules)]
    reached = {(s.rule["id"], s.quantity, s.word) for s in scenes}
    every = [(r["id"], q, word) for r in judged(name) for q in r.listed("quantity", "|") for word in ("pass", "fail")]
    never = {(name, "retread", "pass") for name in THING_IS_A_FACT}
    assert [key for key in every if key not in reached | never] == []
    wrong = complaints(name, scenes)
    assert wrong == [], "\n".join(wrong[:40])


@pytest.mark.parametrize("name", SETS)
def test_rows_speak_of_whom_they_say(name: str) -> None:
    """Each condition at its edges and beside them: mass and date thresholds with their equality, words, what is not
    stated, and the days on which a row comes into force and goes out of it."""
    rules = rules_of(name)
    makers = (scenes_beside, scenes_of_unlike_tires, scenes_out_of_force)
    scenes = [s for r in judged(name) for make in makers for s in make(r, rules)]
    with_conditions = {
        r["id"] for r in judged(name) if r["where"] + r["needs"] and r["statistic"] not in VALUE_IS_A_FACT
    } - set(THING_IS_A_FACT)
    assert with_conditions <= {s.rule["id"] for s in scenes}
    wrong = complaints(name, scenes)
    assert wrong == [], "\n".join(wrong[:40])


RECORD_SETS = [name for name in SETS if any(r["statistic"] in RECORD for r in rules_of(name).values())]


@pytest.mark.parametrize("name", RECORD_SETS)
@pytest.mark.parametrize("dated", [dt.date(2024, 1, 15), dt.date(2023, 12, 31), dt.date(2024, 2, 29)], ids=str)
def test_rows_on_records(name: str, dated: dt.date) -> None:
    """Calendar months, a day that the month has not being its last (worked verdict 113 of the project's list)."""
    for rule in rules_of(name).values():
        if rule["statistic"] in RECORD:
            said = {r.limit_id: r for r in records(rule["fact"], dated=dated, limits=name)}[rule["id"]]
            assert (said.record, said.rule) == (rule["fact"], rule["statistic"])
            assert (said.number, said.clause, said.status) == (int(rule["bound"]), rule["clause"], rule["status"])
            assert said.date == later(dated, int(rule["bound"]), rule["statistic"])


def later(day: dt.date, number: int, statistic: str) -> dt.date:
    if statistic == "due_days":
        return day + dt.timedelta(days=number)
    at = day.year * 12 + day.month - 1 + number
    last = calendar.monthrange(at // 12, at % 12 + 1)[1]
    return dt.date(at // 12, at % 12 + 1, min(day.day, last))


def test_conflicts_name_rows_that_there_are() -> None:
    every = {limit_id for name in SETS for limit_id in rules_of(name)}
    named = {(r["id"], other) for name in SETS for r in rules_of(name).values() for other in r.listed("conflicts")}
    assert len(named) > 10
    assert [pair for pair in sorted(named) if pair[1] not in every or pair[0] == pair[1]] == []


def test_every_file_is_listed() -> None:
    """Nothing else is in the folder but sets and the thresholds of pressure states."""
    listed = {row["name"]: row for row in wheelend.limits().to_pylist()}
    assert set(listed) == {p.stem for p in (ROOT / "data" / "limits").glob("*.csv")} - {"pressure_states"}
    for name, row in listed.items():
        lines = (ROOT / "data" / "limits" / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        written_rows = [line for line in lines if line.strip() and not line.startswith("#")][1:]
        assert row["rows"] == len(written_rows), name
        assert row["confirmed"] + row["partly"] + row["memory"] == row["rows"]
        assert row["title"] != name, f"{name}: give it a '# title:'"
