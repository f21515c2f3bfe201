"""Load tables: files of ``data/loads`` or of the same form, read and checked."""

from __future__ import annotations

import csv
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wheelend import _core, _data, measures
from wheelend.errors import BadCall, WheelendError

if TYPE_CHECKING:
    import numpy.typing as npt

    _Column = tuple[npt.NDArray[np.float64], str]

SHIPPED = "radial_truck"
CERTAINTIES = ("confirmed", "partly", "memory")

_COLUMNS = (
    "size", "load_range", "assembly", "pressure", "pressure_measure", "load", "load_measure", "source", "status",
)  # fmt: skip
_NOT_TABLES = ("load_index", "speed_symbols")
_ASSEMBLIES = {"single": False, "dual": True}


class TableFileError(WheelendError):
    """A file of load tables cannot be used as written; the message names file, line and remedy."""


@dataclass(frozen=True, eq=False)
class LoadTable:
    """Rows of one size and assembly, as printed; pressures (gauge, cold) rise and loads rise.

    Attributes
    ----------
    size : str
        As :func:`size_key` writes it.
    dual : bool
        For one tire of a dual pair; else single.
    pressure, load : (array of float, str)
        The numbers of the rows, and their measure. Loads are those of one tire.
    load_range : tuple of str
        The load range whose maximum a row is, blank for the rows between.
    source : tuple of str
        Where each row is printed.
    certainty : tuple of str
        One of ``CERTAINTIES`` for each row.
    """

    size: str
    dual: bool
    pressure: _Column
    load: _Column
    load_range: tuple[str, ...]
    source: tuple[str, ...]
    certainty: tuple[str, ...]

    def __repr__(self) -> str:
        """Of what it is; the rows are not listed."""
        return f"<LoadTable {self.size}{' dual' if self.dual else ''}: {len(self.source)} rows>"

    @property
    def core(self) -> tuple[_Column, _Column]:
        """What the core takes."""
        return self.pressure, self.load

    def up_to(self, load_range: str) -> LoadTable:
        """The rows that a tire of this load range may use.

        Parameters
        ----------
        load_range : str
            As the table writes it, in any case.

        Returns
        -------
        LoadTable

        Raises
        ------
        BadCall
            The table has no row that is the maximum of this load range.
        """
        wanted = load_range.strip().upper()
        known = [r for r in self.load_range if r]
        if wanted not in known:
            raise BadCall(
                f"load_range: the table of {self.size} has no load range {load_range!r}; "
                + (f"it has {', '.join(known)}" if known else "it names none: leave it out")
            )
        n = self.load_range.index(wanted) + 1
        return LoadTable(
            self.size, self.dual, (self.pressure[0][:n], self.pressure[1]), (self.load[0][:n], self.load[1]),
            self.load_range[:n], self.source[:n], self.certainty[:n],
        )  # fmt: skip


_SIZES_SHOWN = 5  # of a repr


@dataclass(frozen=True)
class LoadTables:
    """All tables of the file ``name``: ``tables`` by size (as :func:`size_key` writes it) and by whether it is dual."""

    name: str
    tables: dict[tuple[str, bool], LoadTable]

    def __repr__(self) -> str:
        """Which sizes there are; their rows are not listed."""
        sizes = [f"{size}{' dual' if dual else ''}" for size, dual in self.tables]
        shown = ", ".join(sizes[:_SIZES_SHOWN]) + (", ..." if len(sizes) > _SIZES_SHOWN else "")
        return f"<LoadTables {self.name}: {len(sizes)} tables, {shown}>"

    def find(self, size: str, dual: bool) -> LoadTable | None:
        """The table of a size, or None.

        Parameters
        ----------
        size : str
            Spaces and case do not matter.
        dual : bool
            One tire of a dual pair; else single.

        Returns
        -------
        LoadTable or None
        """
        return self.tables.get((size_key(size), dual))


def size_key(size: str) -> str:
    """A size designation without spaces, in capitals: ``"295/75 r22.5"`` is ``"295/75R22.5"``.

    Parameters
    ----------
    size : str
        As people or tables write it.

    Returns
    -------
    str
        The form in which sizes are compared.
    """
    return "".join(size.split()).upper()


def table_names() -> list[str]:
    """Names of the files of load tables that ship with the package.

    Returns
    -------
    list of str
        Sorted; what :func:`load_tables` takes.
    """
    return sorted(p.stem for p in (_data.root() / "loads").glob("*.csv") if p.stem not in _NOT_TABLES)


def load_tables(table: str | os.PathLike[str] | None = None) -> LoadTables:
    """The load tables of a file, checked.

    Parameters
    ----------
    table : str or path, optional
        A shipped file by name (:func:`table_names`), or the path of a ``.csv`` file of the same form, which then
        stands alone: nothing shipped is mixed in. By default the shipped ``radial_truck``.

    Returns
    -------
    LoadTables
        By size and assembly; rows rise in pressure and load.

    Raises
    ------
    BadCall
        There is no such file.
    TableFileError
        The file cannot be used as written: names file, line and remedy.
    """
    name = SHIPPED if table is None else os.fspath(table)
    path = Path(name) if name.endswith(".csv") else _data.root() / "loads" / f"{name}.csv"
    if not path.is_file() or path.stem in _NOT_TABLES:
        raise BadCall(
            f"table: there is no load table {name!r}; there are {', '.join(table_names())}, or give a path that ends "
            "in .csv"
        )
    tables: dict[tuple[str, bool], LoadTable] = {}
    for key, lines in _by_table(path, _read(path)).items():
        tables[key] = _table(path, key, lines)
    return LoadTables(path.stem, tables)


_Line = tuple[int, dict[str, str]]  # number in the file, cells


def _read(path: Path) -> list[_Line]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as f:
            reader = csv.reader(f, strict=True)
            rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader if row]
    except (UnicodeDecodeError, csv.Error) as error:
        raise TableFileError(f"{path.name}: not a CSV file in UTF-8 ({error}); save it as one") from None
    if not rows:
        raise TableFileError(f"{path.name}: no header; see data/README.md for the columns")
    header = rows[0][1]
    if sorted(header) != sorted(_COLUMNS):
        raise TableFileError(
            f"{path.name}, line 1: the columns must be {', '.join(_COLUMNS)}; got {', '.join(header)}; "
            "see data/README.md"
        )
    for line, cells in rows[1:]:
        if len(cells) != len(header):
            raise TableFileError(
                f"{path.name}, line {line}: {len(cells)} cells under {len(header)} columns; "
                "leave a cell blank, and quote a text that has a comma in it"
            )
    if len(rows) == 1:
        raise TableFileError(f"{path.name}: no rows; see data/README.md for the columns")
    return [(line, dict(zip(header, cells, strict=True))) for line, cells in rows[1:]]


def _by_table(path: Path, lines: list[_Line]) -> dict[tuple[str, bool], list[_Line]]:
    """Lines of each size and assembly, checked one by one."""
    out: dict[tuple[str, bool], list[_Line]] = {}
    for line, row in lines:
        for column, known in (("assembly", tuple(_ASSEMBLIES)), ("status", CERTAINTIES)):
            if row[column] not in known:
                raise _fault(path, line, f"{column} {row[column]!r}: write one of {', '.join(known)}")
        for column in ("size", "source"):
            if not row[column]:
                raise _fault(path, line, f"no {column}: write it" + ("" if column == "size" else ", or 'from memory'"))
        out.setdefault((size_key(row["size"]), _ASSEMBLIES[row["assembly"]]), []).append((line, row))
    return out


def _table(path: Path, key: tuple[str, bool], lines: list[_Line]) -> LoadTable:
    table = LoadTable(
        size=key[0],
        dual=key[1],
        pressure=_column(path, lines, "pressure", "pressure"),
        load=_column(path, lines, "load", "mass"),
        load_range=_load_ranges(path, lines),
        source=tuple(row["source"] for _, row in lines),
        certainty=tuple(row["status"] for _, row in lines),
    )
    fault = _core.load_table_fault(table.core)
    if fault is not None:
        row, what = fault
        raise _fault(path, lines[row][0], f"{what}; put the rows of a size in rising order, or correct the number")
    return table


def _column(path: Path, lines: list[_Line], name: str, dimension: str) -> _Column:
    """Numbers of one table, all in one measure."""
    values = []
    first = lines[0][1][f"{name}_measure"]
    for line, row in lines:
        label = row[f"{name}_measure"]
        if label != first:
            raise _fault(path, line, f"{name}_measure {label!r} after {first!r}: write one table in one measure")
        try:
            values.append(float(row[name]))
        except ValueError:
            raise _fault(path, line, f"{name} {row[name]!r} is not a number: write it as in 5980") from None
    found = measures.find(first)
    if found is None or found.dimension != dimension:
        raise _fault(path, lines[0][0], f"{name}_measure {first!r}: write one of {labels_of(dimension)}")
    return np.array(values, np.float64), found.label


def _load_ranges(path: Path, lines: list[_Line]) -> tuple[str, ...]:
    seen: set[str] = set()
    for line, row in lines:
        load_range = row["load_range"].upper()
        if load_range in seen:
            raise _fault(path, line, f"load range {load_range} has its maximum twice: name it on its last row only")
        seen |= {load_range} - {""}
    return tuple(row["load_range"].upper() for _, row in lines)


def _fault(path: Path, line: int, what: str) -> TableFileError:
    return TableFileError(f"{path.name}, line {line}: {what}")


def labels_of(dimension: str) -> str:
    return ", ".join(m.label for m in measures.table().values() if m.dimension == dimension)
