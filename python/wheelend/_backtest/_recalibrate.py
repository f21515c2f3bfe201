"""Due dates by what the back-test found: the levels that are asked of a forecast, so that it covers what it says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv
import pyarrow.parquet

from wheelend import _results
from wheelend._backtest._levels import day_at
from wheelend._backtest._scores import GROUPS
from wheelend._fleet_wear import HORIZON_DAYS
from wheelend.dictionary import QUANTILES
from wheelend.errors import BadCall, DataRefused

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

_ASKED = tuple(f"level_for_{q}" for q in QUANTILES)
_DONE = "recalibrated by a back-test"


def recalibrate(wear: Any, by: Any) -> Any:
    """Remaining days, miles and due dates of :func:`wheelend.wear`, put right by a back-test of the same fleet.

    Each quantile is read off the forecast's own distribution at the level which, by the back-test, it takes to cover
    that share of outcomes for tires with as many readings; with few tires seen at their limit this is nearly the level
    itself. The back-test speaks of days; miles are read off at the same levels. A tire forecast to be at its limit
    already keeps its row.

    Parameters
    ----------
    wear : table
        Result of :func:`wheelend.wear`: Arrow, pandas, polars, or dict of arrays.
    by : table
        Result of :func:`wheelend.backtest`, of any of these kinds.

    Returns
    -------
    table of the kind of ``wear``
        The same rows and columns; ``reason`` says that it was done. Missing values stay missing, and days beyond ten
        years become missing.

    Raises
    ------
    BadCall
        A table lacks its columns, levels do not rise between 0 and 1, or it was done before.
    """
    kind, table = _as_arrow(wear, "wear")
    return _results.native(recalibrated_table(table, _as_arrow(by, "by")[1]), kind)


def read_backtest(path: Path) -> pa.Table:
    """A back-test from the file that the command wrote."""
    readers = {".csv": pyarrow.csv.read_csv, ".parquet": pyarrow.parquet.read_table}
    if path.suffix.lower() not in readers:
        raise BadCall(f"{path.name}: expected the .csv or .parquet that `wheelend backtest -o` wrote")
    try:
        return readers[path.suffix.lower()](path)
    except (OSError, pa.ArrowInvalid) as error:
        raise DataRefused(f"{path.name} cannot be read as the result of `wheelend backtest`: {error}") from None


def recalibrated_table(wear: pa.Table, by: pa.Table) -> pa.Table:
    """:func:`recalibrate` on Arrow tables."""
    days, miles, due = ([f"{what}_{q}" for q in QUANTILES] for what in ("remaining_days", "remaining_mi", "due"))
    _require(wear, ["readings_used", "reason", *days, *miles, *due], "wear", "wheelend.wear")
    reasons = wear["reason"].to_pylist()
    if any(_DONE in (r or "") for r in reasons):
        raise BadCall("wear: it was recalibrated before; start from what wheelend.wear gives")
    level = _levels_of(by)[_group_of(np.asarray(wear["readings_used"].to_numpy()))]
    start = _as_of(wear, days, due)
    for names, most in ((days, HORIZON_DAYS), (miles, np.inf)):
        right = _at(_columns(wear, names), level)
        right[right > most] = np.nan
        for i, name in enumerate(names):
            wear = _put(wear, name, _results.numbers(right[:, i]))
    for day_name, due_name in zip(days, due, strict=True):
        ahead = wear[day_name].to_numpy()
        missing = np.isnan(ahead)
        day = np.where(missing, 0, np.floor(ahead)).astype(np.int32) + np.int32(start)
        wear = _put(wear, due_name, pa.array(day, pa.int32(), mask=missing).cast(pa.date32()))
    return _put(wear, "reason", pa.array([f"{r}; {_DONE}" if r else _DONE for r in reasons], pa.string()))


def _put(table: pa.Table, name: str, column: pa.Array) -> pa.Table:
    return table.set_column(table.column_names.index(name), name, column)


def _columns(table: pa.Table, names: list[str]) -> Numbers:
    return np.column_stack([np.asarray(table[n].to_numpy(), np.float64) for n in names])


def _at(quantiles: Numbers, level: Numbers) -> Numbers:
    """Quantiles at other levels, by row. A row without a median keeps what it has."""
    with np.errstate(invalid="ignore"):
        out = np.column_stack([day_at(quantiles, level[:, i]) for i in range(level.shape[1])])
    return np.maximum.accumulate(out, axis=1)


def _as_of(wear: pa.Table, days: list[str], due: list[str]) -> int:
    """Day number that the remaining days are counted from, by the first due date that there is."""
    for day_name, due_name in zip(days, due, strict=True):
        number = pc.cast(pc.cast(wear[due_name], pa.date32()), pa.int32())
        for ahead, there in zip(wear[day_name].to_pylist(), number.to_pylist(), strict=True):
            if there is not None:
                return int(there - np.floor(ahead))
    return 0


def _group_of(readings: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Row of the back-test by the readings of a tire: the first that takes it."""
    most = np.array([m for _, _, m in GROUPS[:-1]])
    return np.minimum(np.searchsorted(most, readings), len(most) - 1)


def _levels_of(by: pa.Table) -> Numbers:
    """Levels to ask for, by group and quantile."""
    _require(by, ["readings", *_ASKED], "by", "wheelend.backtest")
    names = [str(n) for n in by["readings"].to_pylist()]
    if missing := [name for name, _, _ in GROUPS if name not in names]:
        raise BadCall(f"by: no row for readings {', '.join(missing)}; give what wheelend.backtest gives, whole")
    level = _columns(by, list(_ASKED))[[names.index(name) for name, _, _ in GROUPS]]
    if not ((level > 0) & (level < 1)).all() or (np.diff(level, axis=1) <= 0).any():
        raise BadCall(f"by: the levels of {_ASKED[0]} to {_ASKED[-1]} must rise between 0 and 1")
    return level


def _require(table: pa.Table, names: list[str], argument: str, function: str) -> None:
    if missing := [n for n in names if n not in table.column_names]:
        raise BadCall(f"{argument}: no column {missing[0]!r}; give what {function} gives")


def _as_arrow(table: Any, argument: str) -> tuple[str, pa.Table]:
    """Kind of a table, and the table as Arrow."""
    if isinstance(table, pa.Table):
        return "arrow", table
    if isinstance(table, dict):
        return "dict", pa.table({n: pa.array(v, from_pandas=True) for n, v in table.items()})
    module = type(table).__module__.partition(".")[0]
    if module == "pandas":
        return "pandas", pa.Table.from_pandas(table, preserve_index=False)
    if module == "polars":
        return "polars", table.to_arrow()
    raise BadCall(f"{argument}: expected a table of pandas, polars or Arrow, or a dict of arrays")
