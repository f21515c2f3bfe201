"""Wheel positions: one entry for each, from the positions table or from the columns that readings carry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend._words import nearest
from wheelend.dictionary import columns
from wheelend.errors import DataRefused

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._cells import Coder
    from wheelend._intake import Checked
    from wheelend._issues import Issues

_SINGLE = 0  # code of dual=single
_STEER = 0  # code of role=steer
_AXLES, _SIDES, _DUALS = 64, 2, 3


@dataclass
class Positions:
    """Positions in the order unit, axle, side, dual. ``unit`` indexes ``units``, which are sorted by name."""

    units: list[str]
    unit: npt.NDArray[np.int32]
    axle: npt.NDArray[np.int32]
    side: npt.NDArray[np.int8]
    dual: npt.NDArray[np.int8]
    columns: dict[str, npt.NDArray[Any]]
    measure: dict[str, str]
    keys: npt.NDArray[np.int64]  # of key(), sorted
    order: npt.NDArray[np.int64]  # position of each of the sorted keys

    def __len__(self) -> int:
        return len(self.unit)

    def find(self, keys: npt.NDArray[np.int64]) -> npt.NDArray[np.int32]:
        """Position of each key; -1 where there is none."""
        if len(self.keys) == 0:
            return np.full(len(keys), -1, np.int32)
        at = np.minimum(np.searchsorted(self.keys, keys), len(self.keys) - 1)
        return np.where(self.keys[at] == keys, self.order[at], -1).astype(np.int32)


def key(table: Checked) -> npt.NDArray[np.int64]:
    """One number for unit, axle, side and dual of each row."""
    c = table.columns
    unit_axle: npt.NDArray[np.int64] = c["unit"].astype(np.int64) * _AXLES + c["axle"]
    number: npt.NDArray[np.int64] = (unit_axle * _SIDES + c["side"]) * _DUALS + c["dual"]
    return number


def build(table: Checked, unit_coder: Coder, issues: Issues, *, one_row_each: bool) -> Positions:
    """Positions of a table.

    ``one_row_each``: the table is the positions table, where a second row for a position is a mistake; otherwise it is
    a table of readings, where each row carries the facts of its position again.
    """
    if "kind" not in table.columns or "role" not in table.columns:
        raise DataRefused(
            f"{table.place[0]} lacks the columns 'kind' and 'role': give a positions table (--positions), or put both "
            "columns into this one"
        )
    _refuse_impossible(table, issues)
    if one_row_each:
        _refuse_second_rows(table, issues)
    else:
        _drop_contradictions(table, issues)
    _spread_over_units(table, issues)
    keys = key(table)
    unique, first = np.unique(keys, return_index=True)
    return _sorted_positions(table, unit_coder, unique, first, keys)


def _refuse(table: Checked, issues: Issues, mask: npt.NDArray[np.bool_], column: str, rule: str, messages: Any) -> None:
    """Rows that cannot be used. ``messages`` is one text, or one per masked row."""
    at = np.flatnonzero(mask)
    if len(at):
        issues.add(table.place, table.rows[at], table.headers.get(column, column), "", rule, "row", messages)
        table.keep(~mask)


def _refuse_impossible(table: Checked, issues: Issues) -> None:
    c = table.columns
    dual = c["dual"] != _SINGLE
    message = "an inner or outer tire on a steer axle, which carries singles: correct dual or role"
    _refuse(table, issues, dual & (c["role"] == _STEER), "dual", "dual_on_steer", message)
    c = table.columns
    axle = c["unit"].astype(np.int64) * _AXLES + c["axle"]
    _, first, inverse = np.unique(axle, return_index=True, return_inverse=True)
    if len(axle) == 0:
        return
    first_dual = (c["dual"] != _SINGLE)[first][inverse]
    mixed = (c["dual"] != _SINGLE) != first_dual
    at = np.flatnonzero(mixed)
    rows = table.rows
    messages = (
        f"single and dual tires on one axle (row {rows[first[inverse[i]]]} says otherwise): correct dual or axle"
        for i in at
    )
    _refuse(table, issues, mixed, "dual", "single_and_dual", messages)


def _facts(table: Checked) -> list[str]:
    """Names of the columns that say something of a position."""
    of_position = {c.name for c in columns("positions").values() if not c.key}
    return [n for n in table.columns if n in of_position or n.startswith("attribute:")]


def _differs(values: npt.NDArray[Any], other: npt.NDArray[Any]) -> npt.NDArray[np.bool_]:
    differs: npt.NDArray[np.bool_] = values != other
    if values.dtype.kind == "f":
        differs &= ~(np.isnan(values) & np.isnan(other))
    return differs


def _refuse_second_rows(table: Checked, issues: Issues) -> None:
    _, first, inverse = np.unique(key(table), return_index=True, return_inverse=True)
    source = first[inverse]
    again = source != np.arange(len(table))
    if not again.any():
        return
    other = np.zeros(len(table), bool)
    for name in _facts(table):
        other |= again & _differs(table.columns[name], table.columns[name][source])
    same = np.flatnonzero(again & ~other)
    issues.add(
        table.place,
        table.rows[same],
        "",
        "",
        "duplicate_row",
        "note",
        (f"says the same as row {table.rows[source[i]]}: remove one of them" for i in same),
    )
    at = np.flatnonzero(other)
    messages = (
        f"describes the position of row {table.rows[source[i]]} otherwise; that row is used: keep the right one"
        for i in at
    )
    _refuse(table, issues, other, "", "conflict", messages)


def _drop_contradictions(table: Checked, issues: Issues) -> None:
    """Facts of a position that a row of readings gives otherwise than an earlier row."""
    _, inverse = np.unique(key(table), return_inverse=True)
    for name in _facts(table):
        _first_says(table, issues, name, inverse, "position")


def _spread_over_units(table: Checked, issues: Issues) -> None:
    """Facts of the whole unit: what the first row of a unit says counts for all of its positions."""
    _, inverse = np.unique(table.columns["unit"], return_inverse=True)
    for column in columns("positions").values():
        if column.level == "unit" and not column.key and column.name in table.columns:
            _first_says(table, issues, column.name, inverse, "unit")


def _first_says(table: Checked, issues: Issues, name: str, group: npt.NDArray[np.intp], of: str) -> None:
    """The first value within each group counts for all of it; others become issues."""
    values = table.columns[name]
    present = ~np.isnan(values) if values.dtype.kind == "f" else values != -1
    at = np.flatnonzero(present)
    if len(at) == 0:
        return
    groups, first = np.unique(group[at], return_index=True)
    source = np.full(group.max() + 1, -1)
    source[groups] = at[first]
    said = source[group]
    wrong = present & (said >= 0) & (values != values[said])
    rows = np.flatnonzero(wrong)
    if len(rows):
        messages = (
            f"row {table.rows[said[i]]} says otherwise of this {of}, and is used: correct one of them" for i in rows
        )
        issues.add(table.place, table.rows[rows], table.headers.get(name, name), "", "conflict", "cell", messages)
        if not name.startswith("attribute:"):
            table.lose(name, wrong)
    table.columns[name] = np.where(said >= 0, values[said], values)


def _sorted_positions(
    table: Checked,
    unit_coder: Coder,
    unique: npt.NDArray[np.int64],
    first: npt.NDArray[np.int64],
    keys: npt.NDArray[np.int64],
) -> Positions:
    c = table.columns
    units = sorted({unit_coder.names[u] for u in np.unique(c["unit"])})
    rank = {name: i for i, name in enumerate(units)}
    new_unit = np.array([rank.get(name, -1) for name in unit_coder.names] + [-1], np.int32)
    unit = new_unit[c["unit"][first]]
    order = np.lexsort((c["dual"][first], c["side"][first], c["axle"][first], unit))
    place = np.empty(len(order), np.int64)
    place[order] = np.arange(len(order))
    row = first[order]
    return Positions(
        units,
        unit[order],
        c["axle"][row].astype(np.int32),
        c["side"][row],
        c["dual"][row],
        {name: c[name][row] for name in _facts(table)},
        {n: m for n, m in table.measure.items() if n in _facts(table)},
        unique,
        place,
    )


def locate(
    readings: Checked, positions: Positions, unit_coder: Coder, known_units: int, issues: Issues
) -> npt.NDArray[np.int32]:
    """Position of each row of readings; rows of unknown units and positions are refused."""
    _refuse_unknown_units(readings, unit_coder, known_units, issues)
    found = positions.find(key(readings))
    lost = found < 0
    if lost.any():
        at = np.flatnonzero(lost)
        c = readings.columns
        side, dual = columns("readings")["side", False].codes, columns("readings")["dual", False].codes
        texts = (f"axle {c['axle'][i]} {side[c['side'][i]]} {dual[c['dual'][i]]}" for i in at)
        issues.add(
            readings.place,
            readings.rows[at],
            "",
            texts,
            "unknown_position",
            "row",
            "this unit has no such position: correct axle, side or dual, or add it to the positions table",
        )
        readings.keep(~lost)
        found = found[~lost]
    return found


def locate_units(
    table: Checked, positions: Positions, unit_coder: Coder, known_units: int, issues: Issues
) -> npt.NDArray[np.int32]:
    """Unit of each row as ``positions`` numbers them; rows of unknown units are refused."""
    _refuse_unknown_units(table, unit_coder, known_units, issues)
    rank = {name: i for i, name in enumerate(positions.units)}
    number = np.array([rank.get(name, -1) for name in unit_coder.names] + [-1], np.int32)
    unit: npt.NDArray[np.int32] = number[table.columns["unit"]]
    return unit


def _refuse_unknown_units(table: Checked, unit_coder: Coder, known_units: int, issues: Issues) -> None:
    unit = table.columns["unit"]
    strange = unit >= known_units
    if strange.any():
        known = unit_coder.names[:known_units]
        hints, otherwise = _hints(np.unique(unit[strange]), unit_coder.names, known)
        at = np.flatnonzero(strange)
        issues.add(
            table.place,
            table.rows[at],
            table.headers["unit"],
            (unit_coder.names[unit[i]] for i in at),
            "unknown_unit",
            "row",
            (hints.get(int(unit[i]), otherwise) for i in at),
        )
        table.keep(~strange)


_MOST_COMPARISONS = 200_000  # of a name with a known one; about a second


def _hints(strange: npt.NDArray[np.int32], names: list[str], known: list[str]) -> tuple[dict[int, str], str]:
    """Messages for unknown units by code, and the one for all others.

    The likeliest name is sought for the first units only, since a search takes long.
    """
    what, remedy = "no unit of this number in the positions table", "correct it, or add the unit to the positions table"
    messages = {}
    for code in map(int, strange[: _MOST_COMPARISONS // max(len(known), 1)]):
        close = nearest(names[code], known)
        if close:
            messages[code] = f"{what}; did you mean {close[0]}? If not, {remedy}"
    return messages, f"{what}: {remedy}"
