"""What stands on a form: its columns, and for each unit its rows in the order in which a person walks round it.

The walk goes down the left side from the front, across the rear and up the right side, so that it ends where it began
and no step is walked twice; the driver's door is on the left where traffic keeps to the right (common practice, no
source). Of a dual pair the outer tire comes first: it is reached first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from wheelend import _core, limit_sets, measures
from wheelend._form import _texts
from wheelend._words import did_you_mean, number
from wheelend.dictionary import GROOVE, QUANTITIES, Column, columns
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._form._last import Last
    from wheelend.log import Log

Kind = Literal["key", "once", "entry", "made", "helper"]
_SIDES, _DUALS = tuple(_core.codes["side"]), tuple(_core.codes["dual"])
_LEFT = _SIDES.index("left")
_QUANTITY = {q.name: q for q in QUANTITIES}
# What is seen at a wheel end without a tool (common practice, no source).
WITHOUT_TOOLS = ("fasteners_defective", "rust_streak", "wheel_cracked", "hub_leak")
GROOVES = ("outer", "middle", "inner")
# Facts of a test, not of the part: they are read anew each time.
_OF_THE_TEST = (
    "reservoir", "before", "start", "end", "cut_out", "duration", "combination_units", "present", "value",
)  # fmt: skip
MEASURE, ASKED = "measure of the value", "qualifiers"  # of a row; no columns of the form
_OF_THE_ROW = (
    "unit",
    "axle",
    "side",
    "dual",
    "read_on",
    "quantity",
    "value",
    "present",
    "place",
    "reader",
    "combination",
)
QUALIFIERS = {c.name for c in columns("wheelend_readings").values()} - set(_OF_THE_ROW)
_TIMED = ("start", "end", "duration")


@dataclass(frozen=True)
class Field:
    """A column. ``key`` names the place; ``once`` is written once for each unit; ``entry`` is read; ``made`` is filled
    in and may be corrected; ``helper`` is shown only."""

    header: str
    kind: Kind
    column: Column | None = None
    measure: str = ""
    words: str = ""


@dataclass
class Block:
    """One unit: its rows by header of the column."""

    unit: str
    words: str
    rows: list[dict[str, Any]] = field(default_factory=list)


@dataclass
class Page:
    """One table of the form: its columns, and the units in order."""

    name: str
    fields: list[Field]
    blocks: list[Block]

    @property
    def rows(self) -> list[dict[str, Any]]:
        return [row for block in self.blocks for row in block.rows]


@dataclass(frozen=True)
class Measures:
    depth: str
    pressure: str
    distance: str


def _dictionary(table: str, name: str, measured: bool = False) -> Column:
    return columns(table)[name, measured]


def _key(table: str, name: str) -> Field:
    column = _dictionary(table, name)
    return Field(name, "key", column, words=column.words)


def _measured(table: str, name: str, measure: str, kind: Kind = "entry") -> Field:
    column = _dictionary(table, name, measured=True)
    return Field(f"{name}_{measure}", kind, column, measure, column.words)


def _plain(table: str, name: str, kind: Kind = "entry") -> Field:
    column = _dictionary(table, name)
    return Field(name, kind, column, words=column.words)


def _helper(header: str) -> Field:
    return Field(header, "helper")


# ---- the walk


def walk(p: Any, chosen: npt.NDArray[np.bool_]) -> dict[int, list[int]]:
    """Positions of each unit in the order of the walk."""
    order: dict[int, list[int]] = {}
    for at in np.flatnonzero(chosen).tolist():
        order.setdefault(int(p.unit[at]), []).append(at)
    for places in order.values():
        places.sort(key=lambda at: step(int(p.axle[at]), int(p.side[at]), int(p.dual[at])))
    return order


def step(axle: int, side: int, dual: int) -> tuple[int, int, int]:
    """Sorts places of a unit by the walk; a negative code stands for the whole axle or unit, which comes at the end."""
    outer_first = (_DUALS.index("single"), _DUALS.index("outer"), _DUALS.index("inner"), -1)
    if axle < 0 or side < 0:
        return 2, axle if axle >= 0 else 1000, 0
    return (0, axle, outer_first.index(dual)) if side == _LEFT else (1, -axle, outer_first.index(dual))


# ---- tread and pressure


def readings_page(
    log: Log, order: dict[int, list[int]], last: Last | None, use: Measures, *, blank: bool = False
) -> Page:
    """The table of readings: one row a wheel position. ``blank``: without what was read last."""
    last = None if blank else last
    grooves = log.grooves or list(GROOVES)
    has_target = "target" in log.positions.columns
    fields = [_key("readings", name) for name in ("unit", "axle", "side", "dual")]
    fields += [
        _helper(_texts.WHERE),
        _plain("readings", "read_on", "once"),
        _measured("readings", "odometer", use.distance, "once"),
        _plain("readings", "reader", "once"),
    ]
    if last is not None:
        fields.append(_helper(_texts.READ_LAST))
    for groove in grooves:
        fields.append(Field(f"tread_{groove}_{use.depth}", "entry", GROOVE, use.depth, GROOVE.words))
        fields += [_helper(_texts.LAST.format(name=groove))] if last is not None else []
    fields.append(_measured("readings", "pressure", use.pressure))
    fields += [_helper(_texts.LAST.format(name="pressure"))] if last is not None else []
    fields += [_helper(_texts.TARGET.format(measure=use.pressure))] if has_target else []
    fields += [_measured("readings", "inflated_to", use.pressure), _plain("readings", "warm")]
    for name, kept in (("tire", "tire_temperature"), ("ambient", "ambient")):
        if kept in log.core_readings:
            fields.append(_measured("readings", name, log.core_readings[kept][1]))
    fields.append(_plain("readings", "tire"))
    fields += [_helper(_texts.LAST.format(name="tire"))] if last is not None else []
    fields.append(_plain("readings", "event"))
    blocks = []
    for unit, places in _by_name(log, order):
        block = Block(log.positions.units[unit], _unit_words(log, places[0]))
        for at in places:
            row = _position_cells(log, at)
            if last is not None:
                row |= last.of_position(at, grooves, use)
            if has_target:
                row[_texts.TARGET.format(measure=use.pressure)] = _target(log, at, use.pressure)
            block.rows.append(row)
        blocks.append(block)
    return Page("readings", fields, blocks)


def _by_name(log: Log, order: dict[int, list[int]]) -> list[tuple[int, list[int]]]:
    return sorted(order.items(), key=lambda item: log.positions.units[item[0]])


def _word(log: Log, name: str, at: int) -> str:
    codes = log.positions.columns.get(name)
    return str(_core.codes[name][codes[at]]) if codes is not None and codes[at] >= 0 else ""


def _unit_words(log: Log, at: int) -> str:
    return _word(log, "kind", at)


def _position_cells(log: Log, at: int) -> dict[str, Any]:
    p = log.positions
    side, dual = _SIDES[p.side[at]], _DUALS[p.dual[at]]
    words = " ".join(dict.fromkeys(w for w in (_word(log, "kind", at), _word(log, "role", at)) if w))
    return {"unit": p.units[p.unit[at]], "axle": int(p.axle[at]), "side": side, "dual": dual, _texts.WHERE: words}


def _target(log: Log, at: int, measure: str) -> float | None:
    value = log.positions.columns["target"][at]
    return None if np.isnan(value) else shown(float(value), log.positions.measure["target"], measure)


def shown(value: float, from_measure: str, to_measure: str) -> float:
    """A last reading in the measure of the form, to a tenth: what is shown, never what is judged."""
    if from_measure == to_measure:
        return value
    return round(float(measures.convert(np.array([value]), from_measure, to_measure)[0]), 1)


# ---- wheel ends


@dataclass(frozen=True)
class Check:
    """A quantity at a place: codes of axle, side and dual, negative for what it is not of."""

    axle: int
    side: int
    dual: int
    quantity: str

    @property
    def order(self) -> tuple[Any, ...]:
        return (*step(self.axle, self.side, self.dual), list(_QUANTITY).index(self.quantity))


def checks_page(
    log: Log,
    order: dict[int, list[int]],
    last: Last | None,
    quantities: Iterable[str] | str | None,
    *,
    blank: bool = False,
) -> Page | None:
    """The table of wheel-end readings: one row a quantity; None where none is asked for.

    Without ``quantities`` those that were ever read of the unit, at their places; where the log has none, what is seen
    without a tool.
    """
    asked = _known(quantities)
    checks = {unit: _checks_of(log, unit, places, last, asked) for unit, places in order.items()}
    met = {check.quantity for found in checks.values() for check in found}
    if not met:
        return None
    measure_of = {name: _measure(log, name) for name in met if _QUANTITY[name].range_measure}
    used = sorted(set(measure_of.values()), key=measures.labels().index)
    table = "wheelend_readings"
    fields = [_key(table, name) for name in ("unit", "axle", "side", "dual", "quantity")]
    fields += [_helper(_texts.WHAT), _plain(table, "read_on", "once"), _plain(table, "reader", "once")]
    shows = last is not None and last.has_checks and not blank
    fields += [_helper(_texts.READ_LAST)] if shows else []
    fields += [_measured(table, "value", measure) for measure in used]
    fields += [_helper(_texts.LAST.format(name="value"))] if shows else []
    fields += [_plain(table, "present"), _plain(table, "place")]
    asked_of = {name: _asked_of(log, name) for name in met}
    wanted = set().union(*asked_of.values())
    fields += [_qualifier(log, c) for c in columns(table).values() if c.name in wanted]
    blocks = []
    for unit, places in _by_name(log, order):
        block = Block(log.positions.units[unit], _unit_words(log, places[0]))
        for check in checks[unit]:
            row: dict[str, Any] = {
                "unit": block.unit,
                "axle": check.axle if check.axle >= 0 else None,
                "side": _SIDES[check.side] if check.side >= 0 else None,
                "dual": _DUALS[check.dual] if check.dual >= 0 else None,
                "quantity": check.quantity,
                _texts.WHAT: _QUANTITY[check.quantity].words,
                MEASURE: measure_of.get(check.quantity, ""),
                ASKED: asked_of[check.quantity],
            }
            if last is not None:
                row |= last.of_check(unit, check, [f for f in fields if f.kind == "made"])
            block.rows.append(row)
        blocks.append(block)
    return Page(table, fields, blocks)


def value_of(row: dict[str, Any]) -> str | None:
    """The column into which the quantity of a row is written: its value, or whether it is there."""
    if "quantity" not in row:
        return None
    return f"value_{row[MEASURE]}" if row[MEASURE] else "present"


def _known(quantities: Iterable[str] | str | None) -> list[str] | None:
    if quantities is None:
        return None
    asked = [quantities] if isinstance(quantities, str) else list(quantities)
    for name in asked:
        if name not in _QUANTITY:
            raise BadCall(
                f"quantity: {name!r} is not one{did_you_mean(name, _QUANTITY) or ';'} 'wheelend words' lists them"
            )
    return asked


def _checks_of(log: Log, unit: int, places: list[int], last: Last | None, asked: list[str] | None) -> list[Check]:
    if asked is None and last is not None and last.has_checks:
        return sorted(last.checks(unit), key=lambda c: c.order)
    ends = {(int(log.positions.axle[at]), int(log.positions.side[at])) for at in places}
    names = list(WITHOUT_TOOLS) if asked is None else asked
    return sorted((Check(axle, side, -1, name) for axle, side in ends for name in names), key=lambda c: c.order)


def _measure(log: Log, quantity: str) -> str:
    """As it was last read, else the measure of the dictionary."""
    w = log.core_wheelends
    if "quantity" in w:
        of = (w["quantity"] == list(_QUANTITY).index(quantity)) & ~np.isnan(w["value"])
        if of.any():
            at = np.flatnonzero(of)
            newest = at[np.argmax(w["microsecond"][at])]
            return measures.labels()[int(w["measure"][newest])]
    return _QUANTITY[quantity].range_measure


def _asked_of(log: Log, quantity: str) -> set[str]:
    """Qualifiers of a quantity: what limits ask, what was written beside it, and what a leak is timed by."""
    names: set[str] = set()
    for row in limit_sets.load(limit_sets.names()).rows:
        if quantity in row.quantities:
            names |= {c.fact.name for c in (*row.where, *row.needs)}
    facts = log.wheelend_facts
    if facts:
        of = facts["quantity"] == list(_QUANTITY).index(quantity)
        for name, values in facts.items():
            v = values[0] if isinstance(values, tuple) else values
            if v.dtype.kind in "fi" and ((~np.isnan(v) if v.dtype.kind == "f" else v >= 0) & of).any():
                names.add(name)
    if _QUANTITY[quantity].dimension == "pressure_per_time":
        names |= set(_TIMED)
    return names & QUALIFIERS


def _qualifier(log: Log, column: Column) -> Field:
    kind: Kind = "entry" if column.name in _OF_THE_TEST else "made"
    if not column.measures:
        return Field(column.name, kind, column, words=column.words)
    of_log = log.wheelend_facts.get(column.name)
    measure = of_log[1] if isinstance(of_log, tuple) else column.range_measure
    return Field(f"{column.name}_{measure}", kind, column, measure, column.words)


def text_of(value: Any) -> str:
    """A value as it is shown."""
    return number(value) if isinstance(value, float) else "" if value is None else str(value)
