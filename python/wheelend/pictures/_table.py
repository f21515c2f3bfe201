"""Tables that pictures are drawn from: read whatever their kind, with the measures their columns carry."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import measures
from wheelend._words import position_words
from wheelend.dictionary import RESULTS
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]


class Drawn:
    """A table to draw, column by column, whether it is Arrow, pandas, polars or a dict of arrays.

    It must have the columns that the data dictionary says of ``PICTURE_data``, but for the ``optional`` ones.
    """

    def __init__(self, table: Any, picture: str, optional: tuple[str, ...] = ()) -> None:
        self.picture = picture
        self.table = _arrow(table, picture)
        needs = [r.name for r in RESULTS[f"{picture}_data"] if r.name not in optional]
        if lost := [name for name in needs if not self._has(name)]:
            raise self._other_table(f"the table has no column {', '.join(lost)}")

    def _has(self, name: str) -> bool:
        known = "|".join(map(re.escape, measures.table()))
        return any(re.fullmatch(name.replace("<m>", f"({known})"), c) for c in self.table.column_names)

    def _other_table(self, what: str) -> BadCall:
        return BadCall(f"plot_{self.picture}: {what}: give it what {self.picture}_data returns")

    def _as(self, name: str, kind: pa.DataType, words: str) -> pa.ChunkedArray:
        column = self.table[name]
        try:
            return column.cast(kind)
        except (pa.ArrowInvalid, pa.ArrowNotImplementedError):
            raise self._other_table(f"column {name} is not of {words} ({column.type})") from None

    def __len__(self) -> int:
        return int(self.table.num_rows)

    def measure(self, name: str) -> str:
        """Measure of ``name_<m>``."""
        known = measures.table()
        found = [c.removeprefix(f"{name}_") for c in self.table.column_names if c.startswith(f"{name}_")]
        return next(str(m) for m in found if m in known)

    def numbers(self, name: str) -> Numbers:
        """A column of numbers; missing is NaN."""
        return np.asarray(self._as(name, pa.float64(), "numbers").to_numpy(zero_copy_only=False), np.float64)

    def days(self, name: str) -> Numbers:
        """A column of dates or moments as days since 1970-01-01, as matplotlib counts them; missing is NaN."""
        moments = self._as(name, pa.timestamp("us"), "days").cast(pa.int64()).cast(pa.float64())
        return np.asarray(moments.to_numpy(zero_copy_only=False), np.float64) / 86_400e6

    def words(self, name: str) -> list[Any]:
        return list(self.table[name].to_pylist())

    def first_word(self, name: str) -> str:
        return next((str(w) for w in self.words(name) if w is not None), "")

    def where(self, name: str, word: str) -> npt.NDArray[np.bool_]:
        return np.array([w == word for w in self.words(name)], bool)

    def check_words(self, name: str, known: Iterable[str]) -> None:
        """Refuse a word that nothing would be drawn for."""
        if strange := [w for w in self.words(name) if w is not None and w not in known]:
            raise self._other_table(f"column {name} holds {strange[0]!r} (known: {', '.join(known)})")

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
        try:
            return pa.table(dict(table))
        except (pa.ArrowException, TypeError):
            raise BadCall(
                f"plot_{picture}: the columns are not all of one length: give it what {picture}_data returns"
            ) from None
    if hasattr(table, "__arrow_c_stream__"):
        return pa.table(table)
    raise BadCall(f"plot_{picture}: expected the table that {picture}_data returns, got {type(table).__name__}")
