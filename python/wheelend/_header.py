"""Headers: which column of the data dictionary each column of a table is, and in which measure."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from wheelend import measures
from wheelend._words import nearest
from wheelend.dictionary import GROOVE, OTHER_NAMES, VALUE, Column, columns
from wheelend.errors import BadCall, DataRefused

_GROOVE_PREFIX = "tread_"


@dataclass(frozen=True)
class Field:
    """A column that is read: its place in the table, its header as written, and what it is.

    ``name`` is the name in the dictionary, or ``tread_outer`` and the like for a groove, ``value_in`` and the like for
    values of wheel-end readings; ``column`` is None for an attribute that is only kept (``site``, ``group``).
    """

    index: int
    header: str
    name: str
    column: Column | None
    measure: str = ""

    @property
    def is_groove(self) -> bool:
        return self.column is GROOVE


@dataclass(frozen=True)
class HeaderIssue:
    """A column that is not read, and why. ``effect`` is ``cell`` when its values are lost, ``note`` when none were
    asked for."""

    index: int
    header: str
    rule: str
    effect: str
    message: str


def resolve(
    header: list[str],
    table: str,
    given: Mapping[str, str],
    *,
    also: tuple[str, ...] = (),
    attributes: tuple[str, ...] | None = (),
) -> tuple[list[Field], list[HeaderIssue]]:
    """Match a header to the data dictionary.

    Parameters
    ----------
    header : list of str
        Names as written.
    table : str
        ``"readings"``, ``"positions"`` or ``"tires"``.
    given : mapping
        Measures of columns that carry none in their name.
    also : tuple of str
        Other tables whose columns may stand here too.
    attributes : tuple of str or None
        Further names that are kept as they are; None keeps every one.
    """
    known: dict[tuple[str, bool], Column] = {}
    for name in (*also, table):
        known.update(columns(name))
    fields: list[Field] = []
    issues: list[HeaderIssue] = []
    likely = Likely(known, header, grooves=table == "readings")
    for index, written in enumerate(header):
        found = _match(index, written, known, given, table, attributes, likely)
        if isinstance(found, Field):
            fields.append(found)
        else:
            issues.append(found)
    return _refuse_doubles(fields, issues)


def _match(
    index: int,
    written: str,
    known: Mapping[tuple[str, bool], Column],
    given: Mapping[str, str],
    table: str,
    attributes: tuple[str, ...] | None,
    likely: Likely,
) -> Field | HeaderIssue:
    name = written.strip().lower()
    if (plain := known.get((name, False))) is not None:
        return Field(index, written, plain.name, plain)
    base, label = _split_measure(name)
    column = _measured(base, known, table) if base else None
    if column is not None:
        _require_agreement(written, base, label, given)
        return _with_measure(index, written, base, column, label)
    if (column := _measured(name, known, table)) is not None:
        return _without_measure(index, written, name, column, given)
    stem = name.rpartition("_")[0]
    if stem and (column := _measured(stem, known, table)) is not None:
        ending = name[len(stem) + 1 :]
        close = nearest(ending, column.measures)
        hint = f" (did you mean '{stem}_{close[0]}'?)" if close else ""
        message = f"'{ending}' is not a measure of {column.name}: end the name with {_endings(column)}{hint}"
        return HeaderIssue(index, written, "unknown_measure", "cell", message)
    if (meant := likely.surely(written)) is not None:
        message = f"not a column of this table, but it looks like '{meant}': rename it so"
        return HeaderIssue(index, written, "unknown_column", "cell", message)
    if attributes is None or name in attributes:
        return Field(index, written, name, None)
    what = "not a column of this table" if name else "a column without a name"
    message = f"{what}, not read{likely.hint(name)}; rename it if it should be"
    return HeaderIssue(index, written, "unknown_column", "note", message)


def _split_measure(name: str) -> tuple[str, str]:
    best = ("", "")
    for label in measures.labels():
        if name.endswith("_" + label) and len(label) > len(best[1]):
            best = (name[: -len(label) - 1], label)
    return best


def _measured(base: str, known: Mapping[tuple[str, bool], Column], table: str) -> Column | None:
    if table == "readings" and base.startswith(_GROOVE_PREFIX) and len(base) > len(_GROOVE_PREFIX):
        return GROOVE
    return known.get((base, True))


def _require_agreement(written: str, base: str, label: str, given: Mapping[str, str]) -> None:
    for name, measure in given.items():
        if name.strip().lower() not in (base, written.strip().lower()):
            continue
        found = measures.find(measure)
        if found is None or found.label != label:
            raise BadCall(
                f"measures: {name!r} is given as {measure!r}, but the column is named {written!r}: correct one of them"
            )


def _with_measure(index: int, written: str, base: str, column: Column, label: str) -> Field | HeaderIssue:
    if label not in column.measures:
        message = f"'{label}' does not measure {column.words}: end the name with {_endings(column)}"
        return HeaderIssue(index, written, "unknown_measure", "cell", message)
    return Field(index, written, _field_name(column, base, label), column, label)


def _field_name(column: Column, base: str, label: str) -> str:
    """Grooves go by their own names; values of wheel-end readings may stand in several columns, one per measure."""
    if column is GROOVE:
        return base
    return f"value_{label}" if column is VALUE else column.name


def _without_measure(
    index: int, written: str, name: str, column: Column, given: Mapping[str, str]
) -> Field | HeaderIssue:
    label = next((v for k, v in given.items() if k.strip().lower() == name), None)
    if label is None:
        message = (
            f"no measure is given, and none is guessed: end the name with {_endings(column)}, "
            f"or pass measures={{'{written}': '{column.measures[0]}'}} (--measure {written}={column.measures[0]})"
        )
        return HeaderIssue(index, written, "missing_measure", "cell", message)
    found = measures.find(label)
    if found is None or found.label not in column.measures:
        raise BadCall(f"measures: {label!r} does not measure {written!r}; use {', '.join(column.measures)}")
    return Field(index, written, _field_name(column, name, found.label), column, found.label)


def _endings(column: Column) -> str:
    return " or ".join("_" + m for m in column.measures)


class Likely:
    """Which column a name that is none may have meant."""

    def __init__(self, known: Mapping[tuple[str, bool], Column], header: list[str], *, grooves: bool) -> None:
        self._grooves = grooves
        self._columns = {c.name: c for c in known.values()}
        there = [h.strip().lower() for h in header]
        # A column that the table has under its own name is not what another one means.
        self._open = {name for name, c in self._columns.items() if not _is_there(c, there)}

    def surely(self, written: str) -> str | None:
        """The column whose name this is in another spelling, or in other words that people use for it."""
        plain = _plain(written)
        base, label = _split_measure(plain.replace(" ", "_"))
        if self._grooves and base.startswith(_GROOVE_PREFIX) and label in GROOVE.measures:
            return f"{base}_{label}"
        for name in self._open:
            column = self._columns[name]
            spoken = name.replace("_", " ")
            words = (spoken, *OTHER_NAMES.get(name, ()))
            if plain in words or _unnumbered(plain) in words:
                return f"{name}_{_label_in(plain, column)}" if column.measures else name
            if column.measures and label in column.measures and base.replace("_", " ") in words:
                return f"{name}_{label}"
        return None

    def hint(self, name: str) -> str:
        names = [c.name if not c.measures else f"{c.name}_{c.measures[0]}" for c in self._columns.values()]
        close = nearest(name, names, likeness=0.75)
        return f" (did you mean '{close[0]}'?)" if close else ""


def _plain(written: str) -> str:
    """'Target PSI', 'target-psi' and 'Target (psi)' as 'target psi'."""
    return " ".join(re.findall(r"[^\W_]+", written.casefold()))


def _unnumbered(plain: str) -> str:
    """'truck no' as 'truck'."""
    return re.sub(r" (number|no|nr|id)$", "", plain)


def _is_there(column: Column, there: list[str]) -> bool:
    if not column.measures:
        return column.name in there
    return any(h == column.name or h in {f"{column.name}_{m}" for m in column.measures} for h in there)


_SPOKEN = {"psi": "psi", "kpa": "kpa", "miles": "mi", "mileage": "mi", "kilometers": "km"}


def _label_in(plain: str, column: Column) -> str:
    """The measure that the words themselves name, else the first one: it is only said, never taken."""
    label = _SPOKEN.get(plain, "")
    return label if label in column.measures else column.measures[0]


def _refuse_doubles(fields: list[Field], issues: list[HeaderIssue]) -> tuple[list[Field], list[HeaderIssue]]:
    """Two columns for one quantity: neither is read, since neither may win silently."""
    count = Counter((f.name, f.column is not None and f.column.form == "measured") for f in fields)
    kept = []
    for f in fields:
        key = (f.name, f.column is not None and f.column.form == "measured")
        if count[key] == 1:
            kept.append(f)
            continue
        others = [o.header for o in fields if (o.name == f.name and o is not f)]
        message = f"the column '{others[0]}' gives the same quantity: keep one of them"
        issues.append(HeaderIssue(f.index, f.header, "two_columns", "cell", message))
    return kept, issues


def require_keys(fields: list[Field], issues: list[HeaderIssue], table: str, header: list[str], file: str) -> None:
    """Refuse a table that lacks a key column: no row of it could be used."""
    have = {f.name for f in fields if f.column is not None and f.column.key}
    missing = [c.name for c in columns(table).values() if c.key and c.name not in have]
    if not missing:
        return
    doubled = [i.header for i in issues if i.rule == "two_columns"]
    shown = ", ".join(header[:12]) + (", ..." if len(header) > 12 else "")
    hints = []
    for name in missing:
        spoken = (name.replace("_", " "), *OTHER_NAMES.get(name, ()))
        close = [h for h in header if {_plain(h), _unnumbered(_plain(h))} & set(spoken)] or nearest(name, header)
        hints.append(f"'{name}'" + (f" (is it '{close[0]}'?)" if close else ""))
    twice = f" Named twice: {', '.join(doubled)}." if doubled else ""
    raise DataRefused(
        f"{file} is not a table of {table}: it lacks the column{'s' if len(missing) > 1 else ''} {', '.join(hints)}."
        f"{twice} Its header is: {shown}. Name the columns as the data dictionary does (see README)."
    )
