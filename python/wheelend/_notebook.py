"""How results look in a notebook and at a prompt: first rows, measures in the head, at a cost that does not grow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

import pyarrow as pa

from wheelend import measures
from wheelend.errors import BadCall

ROWS = 8
_WIDEST = 60  # letters of a cell: a reason may be long
_NUMBER = "text-align:right;font-variant-numeric:tabular-nums"
_SMALL = "font-weight:normal;font-size:85%"


class Shown:
    """The first rows of a table, for a prompt (``repr``) and a notebook (HTML)."""

    def __init__(self, head: pa.Table, total: int, title: str = "") -> None:
        self._names: list[str] = list(head.column_names)
        self._rows: list[dict[str, Any]] = head.to_pylist()
        kinds = (pa.types.is_floating, pa.types.is_integer, pa.types.is_decimal)
        self._numeric = [any(is_kind(f.type) for is_kind in kinds) for f in head.schema]
        self._total, self._title = total, title

    def __repr__(self) -> str:
        cells = [[_cell(row[n]) for n in self._names] for row in self._rows]
        widths = [max(len(line[i]) for line in [self._names, *cells]) for i in range(len(self._names))]
        lines = [
            "  ".join(
                text.rjust(w) if right else text.ljust(w)
                for text, w, right in zip(line, widths, self._numeric, strict=True)
            ).rstrip()
            for line in [self._names, *cells]
        ]
        return "\n".join([*([self._title] if self._title else []), *lines, self._rest()])

    def _repr_html_(self) -> str:
        heads = "".join(f"<th>{_head(n)}</th>" for n in self._names)
        body = "".join(
            "<tr>"
            + "".join(
                f'<td style="{_NUMBER if right else "text-align:left"}">{escape(_cell(row[n]))}</td>'
                for n, right in zip(self._names, self._numeric, strict=True)
            )
            + "</tr>"
            for row in self._rows
        )
        title = f"<caption>{escape(self._title)}</caption>" if self._title else ""
        return (
            f"<table>{title}<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"
            f'<p style="{_SMALL}">{escape(self._rest())}</p>'
        )

    def _rest(self) -> str:
        rows, columns = len(self._rows), len(self._names)
        many = f"{self._total:,} row{'' if self._total == 1 else 's'}"
        shown = many if rows == self._total else f"first {rows} of {many}"
        return f"{shown}, {columns} column{'' if columns == 1 else 's'}"


def show(table: Any, rows: int = ROWS, *, columns: Sequence[str] | None = None) -> Shown:
    """The first rows of a result, to look at: at a prompt as text, in a notebook as a table with measures in its head.

    Parameters
    ----------
    table : table of any kind
        A result: Arrow, pandas, polars or a dict of arrays.
    rows : int
        How many at most, from 0.
    columns : list of str, optional
        Only these, in this order.

    Returns
    -------
    Shown
        Has ``__repr__`` and ``_repr_html_``. Only the rows shown are read: a large table costs no more than a small
        one.

    Raises
    ------
    BadCall
        Not a table, or a column that it has not.
    """
    head, total = _head_of(table, max(rows, 0))
    if columns is not None:
        lost = [c for c in columns if c not in head.column_names]
        if lost:
            raise BadCall(f"show: the table has no column {', '.join(lost)}; it has {', '.join(head.column_names)}")
        head = head.select(list(columns))
    return Shown(head, total)


def _head_of(table: Any, rows: int) -> tuple[pa.Table, int]:
    if isinstance(table, pa.Table):
        return table.slice(0, rows), len(table)
    if isinstance(table, Mapping):
        columns = {name: values[:rows] for name, values in table.items()}
        return pa.table(columns), len(next(iter(table.values()), ()))
    if hasattr(table, "head") and hasattr(table, "__arrow_c_stream__"):
        head = table.head(rows)
        if hasattr(head, "to_arrow"):  # polars
            return head.to_arrow(), len(table)
        return pa.Table.from_pandas(head, preserve_index=False), len(table)
    raise BadCall(f"show: expected a table, got {type(table).__name__}")


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return "" if value != value else f"{value:.5g}"
    if isinstance(value, dt.datetime):
        return value.isoformat(sep=" ", timespec="minutes")
    text = str(value)
    return text if len(text) <= _WIDEST else f"{text[: _WIDEST - 3]}..."


def _head(name: str) -> str:
    """'depth_32nds' as depth over 1/32 in."""
    known = [m for m in measures.labels() if name.endswith(f"_{m}")]
    if not known:
        return escape(name)
    label = max(known, key=len)
    info = measures.find(label)
    words = info.words if info is not None and info.words else label
    words = f"1{words}" if words.startswith("/") else words
    return f'{escape(name.removesuffix(f"_{label}"))}<br><span style="{_SMALL}">{escape(words)}</span>'


def facts(title: str, rows: Iterable[tuple[str, str]]) -> str:
    """A small table of facts in HTML."""
    body = "".join(f"<tr><th>{escape(name)}</th><td>{escape(text)}</td></tr>" for name, text in rows)
    return f"<table><caption>{escape(title)}</caption><tbody>{body}</tbody></table>"


def load_ipython_extension(ipython: Any) -> None:
    """``%load_ext wheelend``: Arrow tables, as results from files are, show their first rows as :func:`show` does."""
    forms = ipython.display_formatter.formatters
    forms["text/html"].for_type(pa.Table, lambda table: show(table)._repr_html_())
    forms["text/plain"].for_type(pa.Table, lambda table, printer, _: printer.text(repr(show(table))))
