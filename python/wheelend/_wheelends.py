"""Wheel-end readings: one quantity at one place a row, checked against what the quantity is, and put in their place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend import measures
from wheelend._positions import locate_units
from wheelend.dictionary import QUANTITIES, columns

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._cells import Coder
    from wheelend._intake import Checked
    from wheelend._issues import Issues
    from wheelend._positions import Positions

_PREFIX = "value_"
_ANY = -1


def check(table: Checked, fleet: Positions, coder: Coder, known_units: int, issues: Issues) -> dict[str, Any]:
    """Columns for the core. Rows of unknown places are refused, values that cannot be are not used."""
    for name, missing in (("axle", -1), ("side", -1), ("dual", -1)):
        if name not in table.columns:
            dtype = np.int32 if name == "axle" else np.int8
            table.columns[name] = np.full(len(table), missing, dtype)
    _refuse_unread_places(table, issues)
    unit = locate_units(table, fleet, coder, known_units, issues)
    position, unit = _places(table, fleet, unit, issues)
    value, measure, texts = _values(table, issues)
    value, measure = _counted_as_one(table, value, measure, issues)
    _note_empty(table, value, issues)
    _note_conflicts(table, unit, value, measure, issues)
    given = table.columns
    core: dict[str, Any] = {
        "position": position,
        "axle": given["axle"],
        "side": given["side"],
        "dual": given["dual"],
        "microsecond": given["microsecond"],
        "day": given["read_on"],
        "quantity": given["quantity"].astype(np.int32),
        "value": value,
        "measure": measure,
        "long_texts": texts,
    }
    for name in ("place", "present"):
        if name in given:
            core[name] = given[name]
    if (combination := _combination(given, fleet, position)) is not None:
        core["combination"] = combination
    for name in ("start", "end", "before", "duration"):
        if name in given:
            core[name] = (given[name], table.measure[name], table.long_texts.get(name, []))
    return core


def _refuse_unread_places(table: Checked, issues: Issues) -> None:
    """Rows whose axle, side or dual cannot be read: they would pass for readings of the whole axle or unit."""
    headers = [table.headers[name] for name in ("axle", "side", "dual") if name in table.headers]
    unread = issues.rows_that_lost(table.place, headers)
    mask = np.isin(table.rows, unread)
    if mask.any():
        message = "axle, side or dual cannot be read, so that the reading belongs nowhere: correct it"
        issues.add(table.place, table.rows[mask], "", "", "unknown_position", "row", message)
        table.keep(~mask)


def _combination(
    columns: dict[str, Any], fleet: Positions, position: npt.NDArray[np.int32]
) -> npt.NDArray[np.int32] | None:
    """Which units were presented together: as the row says, else as the positions do."""
    given, of_position = columns.get("combination"), fleet.columns.get("combination")
    if of_position is None:
        return given
    there: npt.NDArray[np.int32] = of_position[position].astype(np.int32)
    return there if given is None else np.where(given >= 0, given, there).astype(np.int32)


def _places(
    table: Checked, fleet: Positions, unit: npt.NDArray[np.int32], issues: Issues
) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """The position of each row: its own where axle, side and dual name one, else the first that they leave open."""
    first: dict[tuple[int, int, int, int], int] = {}
    for p, key in enumerate(zip(fleet.unit, fleet.axle, fleet.side, fleet.dual, strict=True)):
        u, axle, side, dual = map(int, key)
        for place in ((u, axle, side, dual), (u, axle, side, _ANY), (u, axle, _ANY, _ANY), (u, _ANY, _ANY, _ANY)):
            first.setdefault(place, p)
    c = table.columns
    wanted = np.column_stack([unit, c["axle"], c["side"], c["dual"]]).astype(np.int64)
    distinct, inverse = np.unique(wanted, axis=0, return_inverse=True)
    found = np.array([first.get((int(u), int(a), int(s), int(d)), -1) for u, a, s, d in distinct] + [-1], np.int32)[
        inverse.ravel()
    ]
    lost = found < 0
    if lost.any():
        at = np.flatnonzero(lost)
        issues.add(
            table.place,
            table.rows[at],
            "",
            (_place_words(c, int(i)) for i in at),
            "unknown_position",
            "row",
            "this unit has no such place: correct axle, side or dual (a side needs its axle), or leave blank what the "
            "reading is not of",
        )
        table.keep(~lost)
    return found[~lost], unit[~lost]


def _place_words(c: dict[str, Any], i: int) -> str:
    side, dual = columns("positions")["side", False].codes, columns("positions")["dual", False].codes
    words = [f"axle {c['axle'][i]}" if c["axle"][i] >= 0 else ""]
    words += [side[c["side"][i]] if c["side"][i] >= 0 else "", dual[c["dual"][i]] if c["dual"][i] >= 0 else ""]
    return " ".join(w for w in words if w)


def _values(table: Checked, issues: Issues) -> tuple[Any, Any, list[tuple[int, str]]]:
    """The one value of each row, and its measure. Two values in one row: neither is used."""
    n = len(table)
    names = [name for name in table.columns if name.startswith(_PREFIX)]
    given = np.array([~np.isnan(table.columns[name]) for name in names]).reshape(len(names), n)
    twice = given.sum(axis=0) > 1
    value, measure = np.full(n, np.nan), np.zeros(n, np.uint8)
    texts: list[tuple[int, str]] = []
    for name, there in zip(names, given, strict=True):
        _lose(table, issues, name, there & twice, "two_values", "the row gives two values: keep one, in one measure")
        there = there & ~twice & ~_unfit(table, issues, name, there & ~twice)
        value = np.where(there, table.columns[name], value)
        measure = np.where(there, np.uint8(measures.labels().index(table.measure[name])), measure)
        texts += [(i, text) for i, text in table.long_texts.get(name, []) if there[i]]
    return value, measure, sorted(texts)


def _unfit(table: Checked, issues: Issues, name: str, there: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Values whose measure does not fit their quantity, or that it cannot have: written down and taken out."""
    label, values = table.measure[name], table.columns[name].copy()
    dimension = measures.table()[label].dimension
    unfit = np.zeros(len(table), bool)
    for code in np.unique(table.columns["quantity"][there]):
        q = QUANTITIES[int(code)]
        here = there & (table.columns["quantity"] == code)
        if q.dimension != dimension:
            _lose(table, issues, name, here, "unknown_measure", _remedy(q.name, q.dimension, label))
            unfit |= here
            continue
        least, most = measures.convert(np.array([q.least, q.most]), q.range_measure, label)
        beyond = here & ((values < least) | (values > most))
        message = f"outside {least:g} to {most:g} {label}, which cannot be ({q.words}): correct it"
        _lose(table, issues, name, beyond, "out_of_range", message)
        unfit |= beyond
    return unfit


def _remedy(quantity: str, dimension: str, label: str) -> str:
    if dimension == "observation":
        return f"{quantity} is an observation: write yes or no into the column present"
    fit = [
        m for m in columns("wheelend_readings")["value", True].measures if measures.table()[m].dimension == dimension
    ]
    return f"'{label}' does not measure {quantity}: write it into {' or '.join('value_' + m for m in fit)}"


def _lose(table: Checked, issues: Issues, name: str, mask: npt.NDArray[np.bool_], rule: str, message: str) -> None:
    at = np.flatnonzero(mask)
    if len(at):
        texts = (f"{table.columns[name][i]:.15g}" for i in at)
        issues.add(table.place, table.rows[at], table.headers[name], texts, rule, "cell", message)
        table.lose(name, mask)


_FASTENERS = ("fasteners_defective", "fasteners_missing", "fasteners_loose")


def _counted_as_one(
    table: Checked, value: npt.NDArray[np.float64], measure: npt.NDArray[np.uint8], issues: Issues
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.uint8]]:
    """Fasteners that are only said to be there or not: yes is one at least, no is none."""
    present = table.columns.get("present")
    if present is None:
        return value, measure
    counts = np.array([q.name in _FASTENERS for q in QUANTITIES])[table.columns["quantity"]]
    said = counts & np.isnan(value) & (present >= 0)
    at = np.flatnonzero(said & (present == 1))
    if len(at):
        message = "counted as one fastener: write their number into value_count"
        issues.add(table.place, table.rows[at], table.headers["present"], "yes", "not_counted", "note", message)
    count = np.uint8(measures.labels().index("count"))
    return np.where(said, present.astype(np.float64), value), np.where(said, count, measure)


def _note_conflicts(
    table: Checked, unit: npt.NDArray[Any], value: npt.NDArray[np.float64], measure: npt.NDArray[Any], issues: Issues
) -> None:
    """Rows that say of one thing at one time something else than an earlier row. Both are judged: the worse decides."""
    c = table.columns
    present = c.get("present", np.full(len(table), -1, np.int8))
    place = c.get("place", np.full(len(table), -1, np.int32))
    of = (unit, c["axle"], c["side"], c["dual"], c["microsecond"], c["quantity"], place)
    says = ~np.isnan(value) | (present >= 0)
    at = np.flatnonzero(says)
    keys = np.column_stack([np.asarray(column, np.int64)[at] for column in of])
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    source = at[first[inverse.ravel()]]
    same_value = (value[at] == value[source]) & (measure[at] == measure[source])
    same_value |= np.isnan(value[at]) & np.isnan(value[source])
    other = ~same_value | (present[at] != present[source])
    rows = at[other]
    messages = (
        f"rows {table.rows[s]} and {table.rows[i]} give two readings of one thing at one time: both are judged; "
        "correct one of them, or number their places"
        for i, s in zip(rows, source[other], strict=True)
    )
    issues.add(table.place, table.rows[rows], "", "", "conflict", "note", messages)


def _note_empty(table: Checked, value: npt.NDArray[np.float64], issues: Issues) -> None:
    """Rows that say nothing of their quantity, or no longer do."""
    dimension = np.array([q.dimension for q in QUANTITIES])[table.columns["quantity"]]
    seen = (dimension == "observation") & _given(table, "present")
    timed = _given(table, "start") & _given(table, "end") & _given(table, "duration")
    says = ~np.isnan(value) | seen | (timed & (dimension == "pressure_per_time"))
    at = np.flatnonzero(~says)
    if len(at):
        message = (
            "the row says nothing of its quantity: fill in a value, present (yes, no) of an observation, or start, end "
            "and duration of a leak"
        )
        issues.add(table.place, table.rows[at], "", "", "no_value", "note", message)


def _given(table: Checked, name: str) -> npt.NDArray[np.bool_]:
    values = table.columns.get(name)
    if values is None:
        return np.zeros(len(table), bool)
    there: npt.NDArray[np.bool_] = ~np.isnan(values) if values.dtype.kind == "f" else values >= 0
    return there
