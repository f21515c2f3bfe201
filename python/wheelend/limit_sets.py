"""Limit sets: loaded from data/limits, checked at load, never half-loaded."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pyarrow as pa

from wheelend import _core, _data, measures
from wheelend.errors import BadCall, LimitFileError

OWN_PULL = "OWN-PULL"
_STATUSES = ("confirmed", "partly", "memory")
_COLUMNS = (
    "id", "statistic", "kinds", "wheels", "except", "bound", "measure", "base", "twin_bound", "twin_measure",
    "sense", "severity", "clause", "status", "note",
)  # fmt: skip


@dataclass(frozen=True)
class LimitSet:
    """Rows of one file. ``core`` is what the engine takes; ``rows`` are the texts of the file."""

    name: str
    rows: tuple[dict[str, str], ...]
    core: tuple[dict[str, Any], ...]

    def clause(self, index: int) -> str:
        return self.rows[index]["clause"] if index >= 0 else "own pull depth (positions)"

    def id(self, index: int) -> str:
        return self.rows[index]["id"] if index >= 0 else OWN_PULL

    def quantity(self, index: int) -> str:
        return _core.quantity_of[self.rows[index]["statistic"]] if index >= 0 else "tread_depth"


def names() -> list[str]:
    """Names of the sets that ship with the package."""
    return sorted(p.stem for p in (_data.root() / "limits").glob("*.csv") if p.stem != "pressure_states")


@cache
def load(name: str) -> LimitSet:
    """A shipped set by name, or a file of the same form by its path ending in ``.csv``.

    Raises
    ------
    BadCall
        There is no such set.
    LimitFileError
        The file cannot be used as written: names file, line and remedy.
    """
    path = Path(name) if name.endswith(".csv") else _data.root() / "limits" / f"{name}.csv"
    if not path.is_file():
        raise BadCall(
            f"limits: there is no set {name!r}; there are {', '.join(names())}, or give a path ending in .csv"
        )
    rows = _data.read_rows(path)
    return LimitSet(path.stem, tuple(rows), tuple(_checked(path, rows)))


def _checked(path: Path, rows: list[dict[str, str]]) -> list[dict[str, Any]]:
    if not rows:
        raise LimitFileError(f"{path.name}: no rows; see data/README.md for the columns")
    missing = [c for c in _COLUMNS if c not in rows[0]]
    if missing:
        raise LimitFileError(f"{path.name}, line 1: lacks the columns {', '.join(missing)}; see data/README.md")
    index = {row["id"]: i for i, row in enumerate(rows)}
    if len(index) != len(rows):
        twice = next(r["id"] for i, r in enumerate(rows) if index[r["id"]] != i)
        raise LimitFileError(f"{path.name}: the id {twice} stands twice; give each row its own")
    out = []
    for line, row in enumerate(rows, 2):
        try:
            out.append(_core_row(row, index))
        except ValueError as error:
            raise LimitFileError(f"{path.name}, line {line} ({row['id']}): {error}") from None
    return out


def _core_row(row: dict[str, str], index: dict[str, int]) -> dict[str, Any]:
    for name in ("statistic", "wheels", "base", "sense", "severity"):
        if row[name] not in _core.codes[name]:
            known = ", ".join(repr(c) for c in _core.codes[name])
            raise ValueError(f"{name} {row[name]!r} is not one of {known}")
    if row["status"] not in _STATUSES:
        raise ValueError(f"status {row['status']!r} is not one of {', '.join(_STATUSES)}")
    if not row["clause"]:
        raise ValueError("no clause: a verdict is worth its clause")
    kinds = _words(row["kinds"])
    for kind in kinds:
        if kind not in _core.codes["kind"]:
            raise ValueError(f"kind {kind!r} is not one of {', '.join(_core.codes['kind'])}")
    others = _words(row["except"])
    for other in others:
        if other not in index:
            raise ValueError(f"except names {other!r}, which is not a row of this file")
    bound = _bound(row, "bound", "measure") if row["sense"] != "absent" else None
    if row["sense"] != "absent" and bound is None:
        raise ValueError("no bound: write it in the clause's measure")
    _require_dimension(row)
    twin = _bound(row, "twin_bound", "twin_measure")
    return {
        **{name: row[name] for name in ("id", "statistic", "wheels", "base", "sense", "severity")},
        "kinds": kinds,
        "except": [index[other] for other in others],
        "bound": bound[0] if bound else "0",
        "measure": bound[1] if bound else "yes_no",
        "twin_bound": twin[0] if twin else None,
        "twin_measure": twin[1] if twin else None,
    }


_DIMENSIONS = {"tread_depth": "length", "pressure": "pressure", "rated_load": "mass"}


def _require_dimension(row: dict[str, str]) -> None:
    if row["sense"] == "absent":
        return
    found = measures.find(row["measure"])
    assert found is not None
    if (row["base"] != "") != (found.dimension == "share"):
        raise ValueError("a base and a bound in percent belong together")
    quantity = _core.quantity_of[row["statistic"]]
    if row["base"] == "" and found.dimension != _DIMENSIONS.get(quantity):
        raise ValueError(f"{row['measure']!r} does not measure {quantity}")


def _bound(row: dict[str, str], number: str, measure: str) -> tuple[str, str] | None:
    if not row[number]:
        return None
    found = measures.find(row[measure])
    if found is None:
        raise ValueError(f"measure {row[measure]!r} is not known; use one of {', '.join(measures.labels())}")
    try:
        _core.compare(row[number], found.label, "0", found.label)
    except ValueError:
        raise ValueError(f"{number} {row[number]!r} is not a decimal number") from None
    return row[number], found.label


def _words(text: str) -> list[str]:
    return [w.strip() for w in text.split(";") if w.strip()]


def limits(name: str | None = None) -> pa.Table:
    """The limit sets that ship with the package, or the rows of one.

    Parameters
    ----------
    name : str, optional
        A set, or the path of a ``.csv`` file of the same form. By default the sets themselves are listed.

    Returns
    -------
    pyarrow.Table
        Without a name: ``name``, ``rows``, ``confirmed``, ``partly``, ``memory`` (how sure we are of how many rows).
        With one: the columns of the file, as written (see data/README.md).
    """
    if name is not None:
        rows = load(name).rows
        return pa.table({column: pa.array([r[column] for r in rows], pa.string()) for column in _COLUMNS})
    sets = [load(n) for n in names()]
    count = {status: [sum(r["status"] == status for r in s.rows) for s in sets] for status in _STATUSES}
    return pa.table({"name": names(), "rows": [len(s.rows) for s in sets], **count})


@cache
def pressure_states() -> tuple[dict[str, Any], ...]:
    """Thresholds of the pressure states, first that holds wins: data/limits/pressure_states.csv."""
    rows = _data.read_rows(_data.root() / "limits" / "pressure_states.csv")
    return tuple({**row, "bound": float(row["bound"])} for row in rows)
