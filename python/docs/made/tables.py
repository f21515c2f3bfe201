"""The data dictionary as a page: from ``wheelend.dictionary`` and the factor table of the core."""

from __future__ import annotations

from fractions import Fraction

from made.text import cell, code, table
from wheelend import dictionary
from wheelend import measures as factor_table
from wheelend.dictionary import Column, Quantity

FORMS = {
    "text": "text",
    "whole": "whole number",
    "number": "number",
    "date": "date",
    "measured": "number",
    "code": "one of the words",
    "yes_no": "yes or no",
    "grooves": "names of grooves, `;` between",
    "percents": "numbers, `;` between",
}
HEADS = {
    "readings": "Readings: one row per wheel position and inspection",
    "positions": "Positions: one row per wheel position",
    "tires": "Tires: one row per tire",
    "wheelend_readings": "Wheel-end readings: one row per quantity read",
}
PARTS = {"unit": "unit", "axle": "axle", "wheel": ""}


def _range(column: Column | Quantity) -> str:
    if column.least is None or column.most is None or (not column.range_measure and isinstance(column, Quantity)):
        return ""
    measure = f" {column.range_measure}" if column.range_measure else ""
    return f"{_number(column.least)} to {_number(column.most)}{measure}"


def _number(value: float) -> str:
    return f"{value:,.10g}"


def _names(column: Column) -> str:
    name = column.name if column is not dictionary.GROOVE else "tread_<groove>"
    return " ".join(code(f"{name}_{m}") for m in column.measures) if column.measures else code(name)


def _takes(column: Column) -> str:
    if column.name == "quantity":
        return "one of the [quantities](#quantities)"
    return ", ".join(code(word) for word in column.codes) if column.codes else FORMS[column.form]


def _column(column: Column) -> list[str]:
    words = cell(column.words) + (" **(key)**" if column.key else "")
    usual = f"; counts as {column.usual} where nothing is stated" if column.usual else ""
    of = f"; of the {PARTS[column.level]}" if PARTS[column.level] and not column.key else ""
    return [_names(column), words + of + usual, _takes(column), _range(column)]


def input_tables(_: str) -> str:
    """Every column of every input table."""
    parts = []
    for name, columns in dictionary.TABLES.items():
        rows = list(columns)
        if name == "readings":
            rows.insert([c.name for c in rows].index("tread_barred"), dictionary.GROOVE)
        parts.append(f"(table-{name})=\n### {HEADS.get(name, name)}\n")
        parts.append(table(["column", "meaning", "takes", "range"], [_column(c) for c in rows]))
    return "\n".join(parts)


def quantities(_: str) -> str:
    """Every quantity of the wheel-end readings."""
    rows = [[code(q.name), cell(q.words), q.dimension.replace("_", " "), _range(q)] for q in dictionary.QUANTITIES]
    return table(["quantity", "what is read", "dimension", "range"], rows)


def results(_: str) -> str:
    """Every column of every result."""
    parts = []
    for name, columns in dictionary.RESULTS.items():
        parts.append(f"(results-{name})=\n### {name}\n")
        parts.append(table(["column", "meaning"], [[code(c.name), cell(c.words)] for c in columns]))
    return "\n".join(parts)


def measures(_: str) -> str:
    """The factor table: every measure with its exact ratio."""
    rows = []
    for m in factor_table.table().values():
        offset = Fraction(m.offset_numerator, m.offset_denominator)
        factor = f"{Fraction(m.numerator, m.denominator)}" + (f" (+ {offset})" if offset else "")
        rows.append([code(m.label), cell(m.words), m.dimension.replace("_", " "), cell(factor), cell(m.source)])
    return table(["measure", "written", "dimension", "SI value of 1", "source"], rows)
