"""Tables that pictures are drawn from: read whatever their kind, with the measures their columns carry."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import measures
from wheelend._words import position_words
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]


class Drawn:
    """A table to draw, column by column, whether it is Arrow, pandas, polars or a dict of arrays."""

    def __init__(self, table: Any, picture: str, needs: tuple[str, ...]) -> None:
        self.table = _arrow(table, picture)
        lost = [n for n in needs if not any(re.fullmatch(n.replace("<m>", "(.+)"), c) for c in self.table.column_names)]
        if lost:
            raise BadCall(
                f"plot_{picture}: the table has no column {', '.join(lost)}: give it what {picture}_data returns"
            )

    def __len__(self) -> int:
        return int(self.table.num_rows)

    def measure(self, name: str) -> str:
        """Measure of ``name_<m>``."""
        known = measures.table()
        found = [c.removeprefix(f"{name}_") for c in self.table.column_names if c.startswith(f"{name}_")]
        return next(str(m) for m in found if m in known)

    def numbers(self, name: str) -> Numbers:
        """A column of numbers; missing is NaN."""
        column = self.table[name].cast(pa.float64()).to_numpy(zero_copy_only=False)
        return np.asarray(column, np.float64)

    def days(self, name: str) -> Numbers:
        """A column of dates or moments as days since 1970-01-01, as matplotlib counts them; missing is NaN."""
        column = self.table[name]
        if pa.types.is_string(column.type) or pa.types.is_large_string(column.type):
            column = column.cast(pa.timestamp("us"))
        if pa.types.is_date32(column.type):
            return np.asarray(column.cast(pa.int32()).cast(pa.float64()).to_numpy(zero_copy_only=False), np.float64)
        moments = column.cast(pa.timestamp("us")).cast(pa.int64()).cast(pa.float64())
        return np.asarray(moments.to_numpy(zero_copy_only=False), np.float64) / 86_400e6

    def words(self, name: str) -> list[Any]:
        return list(self.table[name].to_pylist())

    def first_word(self, name: str) -> str:
        return next((str(w) for w in self.words(name) if w is not None), "")

    def where(self, name: str, word: str) -> npt.NDArray[np.bool_]:
        return np.array([w == word for w in self.words(name)], bool)

    def place(self) -> str:
        """'T104, axle 2 left outer' of the first row; nothing of an empty table."""
        if len(self) == 0:
            return ""
        row = self.table.select(["unit", "axle", "side", "dual"]).slice(0, 1).to_pylist()[0]
        return f"{row['unit']}, {position_words(row)}"


def _arrow(table: Any, picture: str) -> pa.Table:
    if isinstance(table, pa.Table):
        return table
    if isinstance(table, Mapping):
        return pa.table(dict(table))
    if hasattr(table, "__arrow_c_stream__"):
        return pa.table(table)
    raise BadCall(f"plot_{picture}: expected the table that {picture}_data returns, got {type(table).__name__}")


def words_of(measure: str) -> str:
    """What stands on an axis: '1/32 in', 'psi', 'mi'."""
    found = measures.find(measure)
    if found is None or not found.words:
        return measure
    words = str(found.words)
    return f"1{words}" if words.startswith("/") else words
