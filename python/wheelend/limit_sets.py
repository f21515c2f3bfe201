"""Limit sets: those in data/limits and the caller's own, joined into the one that is judged by."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from wheelend import _core, _data, _limit_files
from wheelend._limit_files import COLUMNS, OWN_PULL, RECORD_STATISTICS, STATUSES, LimitFile, LimitRow
from wheelend._words import did_you_mean
from wheelend.dictionary import QUANTITIES
from wheelend.errors import BadCall, LimitFileError

if TYPE_CHECKING:
    from wheelend.log import Log

DEFAULT = "us-federal"
# What the verdicts OWN-PULL go by: each position's own figure, no row of a file.
_OWN_PULL_ROW = LimitRow(
    dict.fromkeys(COLUMNS, "")
    | {
        "id": OWN_PULL, "quantity": "tread_depth", "statistic": "lowest_depth", "bound": "0", "measure": "32nds",
        "base": "pull", "sense": ">=", "severity": "own", "clause": "own pull depth (positions)", "status": "own",
        "where": "pull = stated", "note": "the pull depth that the position gives; at the pull depth a tire passes",
    },
    "the positions table", 0, False, ("tread_depth",),
)  # fmt: skip
Name = str | os.PathLike[str]
Limits = Name | Iterable[Name]


@dataclass(frozen=True)
class LimitSet:
    """Rows that are judged together. ``core`` holds one entry per row and quantity, ``origin`` the row of each."""

    rows: tuple[LimitRow, ...]
    core: tuple[dict[str, Any], ...]
    origin: tuple[int, ...]
    quantities: tuple[str, ...]

    def __repr__(self) -> str:
        """From which files how many rows; the rows are not listed."""
        files = dict.fromkeys(r.file for r in self.rows)
        return f"<LimitSet: {len(self.rows)} rows of {', '.join(files)}>"

    def row(self, index: int) -> LimitRow:
        return self.rows[self.origin[index]]

    def clause(self, index: int) -> str:
        return self.row(index).clause if index >= 0 else "own pull depth (positions)"

    def id(self, index: int) -> str:
        return self.row(index).id if index >= 0 else OWN_PULL

    def quantity(self, index: int) -> str:
        return self.quantities[index] if index >= 0 else "tread_depth"

    def core_rows(self, log: Log) -> list[dict[str, Any]]:
        """Rows as the core takes them: words of conditions are the codes of this log."""
        return [
            {
                **core,
                "where": [c.core(log) for c in self.row(i).where],
                "needs": [c.core(log) for c in self.row(i).needs],
            }
            for i, core in enumerate(self.core)
        ]

    @property
    def records(self) -> list[LimitRow]:
        """Rows on records, which are not judged by readings."""
        return [r for r in self.rows if r.text["statistic"] in RECORD_STATISTICS]


def names() -> list[str]:
    """Names of the sets that ship with the package."""
    return sorted(p.stem for p in (_data.root() / "limits").glob("*.csv") if p.stem != "pressure_states")


def load(limits: Limits) -> LimitSet:
    """The rows of one set or of several: shipped ones by name, others by their path ending in ``.csv``.

    A set brings those that it includes. A row of the caller's own file may take the place of another (``overrides``)
    or be stricter than one (``tightens``, which is checked).

    Raises
    ------
    BadCall
        There is no such set, or none is named.
    LimitFileError
        A file cannot be used as written: names file, line and remedy.
    """
    wanted = _as_names(limits)
    if not wanted:
        raise BadCall(f"limits: name at least one set ({', '.join(names())}), or give a path ending in .csv")
    own = any(name.endswith(".csv") for name in wanted)  # a caller's file may change from call to call
    return _build(wanted) if own else _shipped_together(wanted)


def _as_names(limits: Limits) -> tuple[str, ...]:
    if isinstance(limits, str | os.PathLike):
        return (os.fspath(limits),)
    try:
        return tuple(os.fspath(n) for n in limits)
    except TypeError:
        raise BadCall(f"limits: expected names of sets, or paths ending in .csv, got {limits!r}") from None


@cache
def _shipped_together(wanted: tuple[str, ...]) -> LimitSet:
    return _build(wanted)


def _build(wanted: tuple[str, ...]) -> LimitSet:
    files: dict[str, LimitFile] = {}
    for name in wanted:
        _add(name, files)
    return _as_set(*_joined(files.values()))


@cache
def _shipped(name: str) -> LimitFile:
    return _limit_files.read(_data.root() / "limits" / f"{name}.csv", own=False)


def _add(name: str, files: dict[str, LimitFile]) -> None:
    """A set and those that it includes."""
    if name in files:
        return
    own = name.endswith(".csv")
    if not (Path(name).is_file() if own else name in names()):
        what = f"file {name!r}" if own else f"set {name!r}"
        hint = did_you_mean(name, names())
        raise BadCall(
            f"limits: there is no {what}{hint or ';'} there are {', '.join(names())}, or give a path ending in .csv"
        )
    file = files[name] = _limit_files.read(Path(name), own=True) if own else _shipped(name)
    for other in file.includes:
        if other not in names():
            raise LimitFileError(
                f"{Path(name).name}, the line '# includes': there is no set {other!r}: correct it; there are "
                f"{', '.join(names())}"
            )
        _add(other, files)


def _joined(files: Collection[LimitFile]) -> tuple[list[LimitRow], dict[str, LimitRow]]:
    """Rows that are judged by, and all by id."""
    rows = [row for file in files for row in file.rows]
    problems: list[str] = []
    by_id: dict[str, LimitRow] = {}
    for row in rows:
        if row.id in by_id:
            other = by_id[row.id]
            problems.append(
                f"{row.file}, line {row.line}: the id {row.id} stands in {other.file}, line {other.line}, too: give "
                "the row an id of its own; to take the place of the other, write its id into the column overrides"
            )
        by_id.setdefault(row.id, row)
    for file in files:
        for row in file.rows:
            faults = _faults_of_names(row, file, by_id)
            problems += [f"{row.file}, line {row.line}: {row.id}: {fault}" for fault in faults]
    if problems:
        raise LimitFileError("\n".join(problems))
    replaced = {row.text["overrides"] for row in rows}
    return [row for row in rows if row.id not in replaced], by_id


def _faults_of_names(row: LimitRow, file: LimitFile, by_id: dict[str, LimitRow]) -> Iterator[str]:
    """What is wrong with the rows that a row overrides or tightens."""
    for column in ("overrides", "tightens"):
        name = row.text[column]
        if name and name not in by_id:
            yield f"{column} names {name!r}, which no loaded set has: correct it, or judge by its set too"
    replaced = by_id.get(row.text["overrides"])
    if replaced is not None and any(replaced is other for other in file.rows):
        yield f"overrides names {replaced.id}, a row of the same file: change that row itself"
    elif replaced is not None and not _same_value(row, replaced):
        yield (
            f"overrides names {replaced.id}, which is of {replaced.text['quantity']}, {replaced.text['statistic']}: "
            "a row can take the place only of one of the same quantity and statistic"
        )
    elif _leads_back(row, by_id):
        yield "overrides leads back to the row itself: leave it out of one of them"
    tightened = by_id.get(row.text["tightens"])
    if tightened is not None and not _is_stricter(row, tightened):
        yield (
            f"is not stricter than {tightened.id}: give it a stricter bound of the same quantity, statistic and sense; "
            "to replace the row, use overrides"
        )


def _same_value(row: LimitRow, other: LimitRow) -> bool:
    return set(row.quantities) == set(other.quantities) and row.text["statistic"] == other.text["statistic"]


def _leads_back(row: LimitRow, by_id: dict[str, LimitRow]) -> bool:
    met, name = set(), row.text["overrides"]
    while name in by_id and name != row.id and name not in met:
        met.add(name)
        name = by_id[name].text["overrides"]
    return name == row.id


def _is_stricter(row: LimitRow, other: LimitRow) -> bool:
    a, b = row.amount, other.amount
    same = all(row.text[c] == other.text[c] for c in ("quantity", "statistic", "base", "fact"))
    if not same or a is None or b is None or row.text["sense"][0] != other.text["sense"][0]:
        return False
    if row.alternative not in (None, other.alternative):
        return False
    try:
        order = _core.compare(*a.bound, *b.bound)
    except ValueError:
        return False
    if row.text["sense"] == "within":
        upper = _core.compare(row.text["upper"], a.bound[1], other.text["upper"], b.bound[1])
        return order >= 0 and upper <= 0 and (order, upper) != (0, 0)
    equality_fails_now = len(row.text["sense"]) < len(other.text["sense"])  # > in place of >=
    beyond = order if row.text["sense"][0] == ">" else -order
    return beyond > 0 or (beyond == 0 and equality_fails_now)


def _stands_for(row: LimitRow, by_id: dict[str, LimitRow]) -> list[str]:
    """Its id, and those of the rows whose place it takes."""
    found, replaced = [row.id], row.text["overrides"]
    while replaced:
        found.append(replaced)
        replaced = by_id[replaced].text["overrides"]
    return found


def _as_set(rows: list[LimitRow], by_id: dict[str, LimitRow]) -> LimitSet:
    judged = [
        (i, quantity)
        for i, row in enumerate(rows)
        if row.text["statistic"] not in RECORD_STATISTICS
        for quantity in row.quantities
    ]
    ids: dict[str, list[int]] = {}
    clauses: dict[tuple[str, ...], int] = {}
    for index, (i, quantity) in enumerate(judged):
        # "All other tires" than those of a row are, once it is replaced, all but those of the row in its place.
        for limit_id in _stands_for(rows[i], by_id):
            ids.setdefault(limit_id, []).append(index)
        clauses.setdefault(_limit_files.clause_key(rows[i], quantity), len(clauses))
    indexes = {"id": ids, "clause": clauses, "quantity": {q.name: n for n, q in enumerate(QUANTITIES)}}
    core = tuple(_limit_files.core_row(rows[i], quantity, indexes) for i, quantity in judged)
    return LimitSet(tuple(rows), core, tuple(i for i, _ in judged), tuple(q for _, q in judged))


def limits(name: Limits | None = None) -> pa.Table:
    """The limit sets that ship with the package, or the rows of one.

    Parameters
    ----------
    name : str, path, or list of them, optional
        A set, or the path of a ``.csv`` file of the same form, or several. By default the sets themselves are listed.

    Returns
    -------
    pyarrow.Table
        Without a name: ``name``, ``title``, ``rows``, ``confirmed``, ``partly``, ``memory`` (how sure we are of how
        many of its own rows), ``includes``. With one: the columns of the file, as written (see data/README.md), then
        ``file`` and ``line``.
    """
    if name is not None:
        return _row_table(load(name).rows)
    files = [_shipped(n) for n in names()]
    count = {
        status: [sum(r.text["status"] == status for r in f.rows) for f in files]
        for status in STATUSES
        if status != "own"
    }
    return pa.table(
        {
            "name": [f.name for f in files],
            "title": [f.title for f in files],
            "rows": [len(f.rows) for f in files],
            **count,
            "includes": [", ".join(f.includes) for f in files],
        }
    )


def _row_table(rows: Iterable[LimitRow]) -> pa.Table:
    rows = list(rows)
    text = {column: pa.array([r.text[column] for r in rows], pa.string()) for column in COLUMNS}
    where = {
        "file": pa.array([r.file for r in rows], pa.string()),
        "line": pa.array([r.line for r in rows], pa.int64()),
    }
    return pa.table({**text, **where})


def explain(limit_id: str, limits: Limits | None = None) -> pa.Table:
    """The rows that go by an id: clause, condition, whom they speak of, and what contradicts them.

    Parameters
    ----------
    limit_id : str
        ``"US-T-02"``, or the first part of several (``"US-B-11"``); case does not matter.
    limits : str, path, or list of them, optional
        Sets to look in; by default all that ship.

    Returns
    -------
    pyarrow.Table
        The columns of :func:`limits` with a name, one row each.

    Raises
    ------
    BadCall
        No row goes by that id.
    """
    return _row_table(explained(limit_id, limits))


def explained(limit_id: str, limits: Limits | None = None) -> list[LimitRow]:
    """The rows that go by this id, or begin with it and a dash, in these sets; by default in all that ship.

    Raises
    ------
    BadCall
        There is none.
    """
    wanted = limit_id.strip().upper()
    files: dict[str, LimitFile] = {}
    for name in names() if limits is None else _as_names(limits):
        _add(name, files)
    rows = [row for file in files.values() for row in file.rows]
    if wanted == OWN_PULL:
        return [_OWN_PULL_ROW]
    found = [r for r in rows if r.id.upper() == wanted] or [r for r in rows if r.id.upper().startswith(wanted + "-")]
    for file in files.values():
        if not found and wanted in file.not_here:
            raise BadCall(f"explain: {wanted} has no row in {file.name}: {file.not_here[wanted]}")
    if not found:
        hint = did_you_mean(wanted, [r.id for r in rows], most=3)
        raise BadCall(f"explain: no limit goes by {limit_id!r}{hint} (wheelend limits NAME lists the rows of a set)")
    return found


@cache
def pressure_states() -> tuple[dict[str, Any], ...]:
    """Thresholds of the pressure states, first that holds wins: data/limits/pressure_states.csv."""
    rows = _data.read_rows(_data.root() / "limits" / "pressure_states.csv")
    return tuple({**row, "bound": float(row["bound"])} for row in rows)
