"""Load and inflation: the cold pressure that a load needs, the load that a pressure carries, load index, speed symbol.

A load table always wins. Tables stand in ``data/loads`` (form: data/README.md) or in a file of the same form, whose
path may be given instead. Without a table the power law of radial truck tires is a screening tool.
"""

from __future__ import annotations

import math
import os
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from wheelend import _core, _data, measures
from wheelend._load_tables import (
    CERTAINTIES,
    LoadTable,
    LoadTables,
    TableFileError,
    labels_of,
    load_tables,
    size_key,
    table_names,
)
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy.typing as npt

    _Amount = tuple[float, str]
    _Column = tuple[npt.NDArray[np.float64], str]

__all__ = [
    "CarriedLoad", "LoadTable", "LoadTables", "RequiredColumn", "RequiredPressure", "ServiceDescription",
    "TableFileError", "index_of_load", "load_at", "load_of_index", "load_tables", "required_column",
    "required_pressure", "service_description", "size_key", "speed_of_symbol", "table_names", "tire_load",
]  # fmt: skip
EXPONENT: float = _core.radial_truck_exponent  # 0.7; load_inflation.hpp says where it is from
DUAL_FACTOR: float = _core.dual_factor  # 0.91, dual load over single load at one pressure: from memory
STATUSES = (*_core.load_statuses(), "no_table")
SIDEWALL_SLACK_LB = 10.0  # the pounds on a sidewall are no single rounding of the kilograms; indexes lie 55 lb apart

_NO_TABLE = STATUSES.index("no_table")


# ---- one load, one pressure


@dataclass(frozen=True)
class RequiredPressure:
    """The cold inflation pressure (gauge) that a load needs.

    Attributes
    ----------
    pressure : float or None
        Of a table the smallest row that carries the load; of the power law its pressure rounded up to the next 5 psi
        (a multiple stays), at most the maximum. None unless ``status`` is ``found``.
    measure : str
        Of the pressures: that of the table or of ``max_pressure``.
    unrounded : float or None
        Between the rows by the power law through both; of the power law its own number. None where there is no row
        below.
    carries : float or None
        Load that ``pressure`` carries, in ``load_measure``.
    load_measure : str
    method : str
        ``table`` or ``power_law``.
    status : str
        One of ``STATUSES``: ``found``; ``over_the_table`` (more than the last row carries); ``over_the_maximum``,
        ``below_the_range`` (power law: more than the maximum, or less than 65 % of the maximum pressure).
    certainty : str
        Of the row: one of ``CERTAINTIES``; ``memory`` for the power law; blank where there is no pressure.
    source : str
        Where the row or the formula is from.
    """

    pressure: float | None
    measure: str
    unrounded: float | None
    carries: float | None
    load_measure: str
    method: str
    status: str
    certainty: str
    source: str


@dataclass(frozen=True)
class CarriedLoad:
    """The load that a tire carries at a cold pressure (gauge).

    Attributes
    ----------
    load : float or None
        On one tire; None unless ``status`` is ``found``.
    measure : str
        Of the load: that of the table or of ``max_load``.
    method, source : str
        As of :class:`RequiredPressure`.
    status : str
        As of :class:`RequiredPressure`; may also be ``under_the_table``.
    certainty : str
        Of the least certain row of the table; ``memory`` for the power law.
    """

    load: float | None
    measure: str
    method: str
    status: str
    certainty: str
    source: str


@dataclass(frozen=True)
class _PowerLaw:
    """Maximum for single use, and what the curve is scaled with."""

    pressure: _Amount
    load: _Amount
    factor_of_single: float
    exponent: float

    @property
    def source(self) -> str:
        return f"power law, exponent {self.exponent:g}, from {self.load[0]:g} {self.load[1]} at " + (
            f"{self.pressure[0]:g} {self.pressure[1]}"
            + ("" if self.factor_of_single == 1.0 else f", dual {self.factor_of_single:g} of single")
        )

    def required(self, load: _Amount) -> tuple[float | None, str]:
        return _core.pressure_by_power_law(load, (self.pressure, self.load), self.factor_of_single, self.exponent)

    def carried(self, pressure: _Amount) -> tuple[float | None, str]:
        return _core.load_by_power_law(pressure, (self.pressure, self.load), self.factor_of_single, self.exponent)


def required_pressure(
    load: str,
    size: str | None = None,
    *,
    dual: bool = False,
    load_range: str | None = None,
    table: str | os.PathLike[str] | None = None,
    max_pressure: str | None = None,
    max_load: str | None = None,
    exponent: float = EXPONENT,
    factor: float = DUAL_FACTOR,
) -> RequiredPressure:
    """The cold inflation pressure that the load on one tire needs.

    By the load table of the size where there is one: the smallest pressure whose load is at least this load, never
    between rows. Else, where ``max_pressure`` and ``max_load`` are given, by the power law
    ``P = P_max (L / L_max)^(1/n)``, rounded up to the next 5 psi; it is not used below 65 % of ``P_max``. For duals
    the curve is ``factor`` times that of the tire used single.

    Parameters
    ----------
    load : str
        On one tire (see :func:`tire_load`), above zero, e.g. ``"6000 lb"`` or ``"2725 kg"``.
    size : str, optional
        Size designation, e.g. ``"295/75R22.5"``; spaces and case do not matter.
    dual : bool
        One tire of a dual pair.
    load_range : str, optional
        Load range of the tire: rows above its maximum are then left out. By default all rows of the size.
    table : str or path, optional
        As for :func:`load_tables`.
    max_pressure, max_load : str, optional
        Maximum load *for single use* on the sidewall and its pressure, e.g. ``"110 psi"`` and ``"6175 lb"``. Only used
        where the size has no table.
    exponent : float in [0.5, 1], default 0.7
        Of the power law; 0.7 is for radial truck tires of 17.5, 19.5, 22.5 and 24.5 in.
    factor : float in (0, 1], default 0.91
        Dual load over single load at one pressure, for the power law.

    Returns
    -------
    RequiredPressure
        A load that is not covered gives a ``status`` and no pressure.

    Raises
    ------
    BadCall
        A text cannot be read, neither a table nor a maximum is there, or a number is out of range.
    TableFileError
        The file of ``table`` cannot be used as written.

    Notes
    -----
    The exponent reproduces two published rows of 295/75R22.5; as an official number it is from memory, and so is the
    factor. The trade reads a table upwards: 49 CFR 393.75(i) asks for the pressure specified for the load carried.

    Examples
    --------
    >>> required_pressure("6000 lb", "295/75R22.5").pressure
    110.0
    >>> required_pressure("4250 lb", dual=True, max_pressure="110 psi", max_load="6175 lb").pressure
    75.0
    """
    amount = _amount(load, "mass", "load")
    basis = _basis(size, dual, load_range, table, max_pressure, max_load, exponent, factor)
    if isinstance(basis, LoadTable):
        return _required_by_table(amount, basis)
    return _required_by_power_law(amount, basis)


def load_at(
    pressure: str,
    size: str | None = None,
    *,
    dual: bool = False,
    load_range: str | None = None,
    table: str | os.PathLike[str] | None = None,
    max_pressure: str | None = None,
    max_load: str | None = None,
    exponent: float = EXPONENT,
    factor: float = DUAL_FACTOR,
) -> CarriedLoad:
    """The load that one tire carries at a cold pressure.

    Of a table its row, or between two rows the power law through both; nothing beyond the first and last row. Else
    the power law ``L = L_max (P / P_max)^n``.

    Parameters
    ----------
    pressure : str
        Cold, gauge, above zero, e.g. ``"105 psi"`` or ``"720 kpa"``.
    size : str, optional
        As for :func:`required_pressure`.
    dual : bool
        As for :func:`required_pressure`.
    load_range : str, optional
        As for :func:`required_pressure`.
    table : str or path, optional
        As for :func:`required_pressure`.
    max_pressure, max_load : str, optional
        As for :func:`required_pressure`.
    exponent, factor : float
        As for :func:`required_pressure`.

    Returns
    -------
    CarriedLoad
        A pressure that is not covered gives a ``status`` and no load.

    Raises
    ------
    BadCall, TableFileError
        As for :func:`required_pressure`.
    """
    amount = _amount(pressure, "pressure", "pressure")
    basis = _basis(size, dual, load_range, table, max_pressure, max_load, exponent, factor)
    if isinstance(basis, LoadTable):
        load, status = _core.load_in_table(basis.core, amount)
        certainty = max(basis.certainty, key=CERTAINTIES.index)
        source = "; ".join(dict.fromkeys(basis.source))
        return CarriedLoad(load, basis.load[1], "table", status, "" if load is None else certainty, source)
    load, status = basis.carried(amount)
    certainty = "" if load is None else "memory"
    return CarriedLoad(load, basis.load[1], "power_law", status, certainty, basis.source)


def _amount(text: str, dimension: str, what: str) -> _Amount:
    number, label = measures.parse_quantity(text, dimension, what)
    if not (math.isfinite(float(number)) and float(number) > 0.0):
        raise BadCall(f"{what}: expected more than zero, got {text!r}")
    return float(number), label


def _basis(
    size: str | None,
    dual: bool,
    load_range: str | None,
    table: str | os.PathLike[str] | None,
    max_pressure: str | None,
    max_load: str | None,
    exponent: float,
    factor: float,
) -> LoadTable | _PowerLaw:
    """What answers: the table of the size, else the power law from the maximum that was given."""
    if size is None and (table is not None or load_range is not None):
        raise BadCall("size: a table is of one size; give it, e.g. '295/75R22.5'")
    law = _power_law(dual, max_pressure, max_load, exponent, factor)
    if size is None:
        if law is None:
            raise BadCall("give the size of the tire, or max_pressure and max_load of its sidewall")
        return law
    tables = load_tables(table)
    found = tables.find(size, dual)
    if found is not None:
        return found if load_range is None else found.up_to(load_range)
    if law is None:
        known = ", ".join(f"{s} {'dual' if d else 'single'}" for s, d in tables.tables)
        raise BadCall(
            f"size: {tables.name} has no {'dual' if dual else 'single'} table of {size!r}, only {known}; give a table "
            "that has it, or max_pressure and max_load of the sidewall"
        )
    return law


def _power_law(
    dual: bool, max_pressure: str | None, max_load: str | None, exponent: float, factor: float
) -> _PowerLaw | None:
    if max_pressure is None and max_load is None:
        return None
    if max_pressure is None or max_load is None:
        raise BadCall("max_pressure and max_load belong together: the sidewall says both")
    pressure = _amount(max_pressure, "pressure", "max_pressure")
    law = _PowerLaw(pressure, _amount(max_load, "mass", "max_load"), factor if dual else 1.0, exponent)
    try:
        law.carried(pressure)
    except _core.ColumnError as error:
        raise BadCall(str(error)) from None
    return law


def _required_by_table(load: _Amount, table: LoadTable) -> RequiredPressure:
    rows, statuses = _core.required_rows(table.core, (np.array([load[0]]), load[1]))
    row, status = int(rows[0]), STATUSES[statuses[0]]
    between, _ = _core.pressure_between_rows(table.core, load)
    found = row >= 0
    return RequiredPressure(
        pressure=float(table.pressure[0][row]) if found else None,
        measure=table.pressure[1],
        unrounded=between,
        carries=float(table.load[0][row]) if found else None,
        load_measure=table.load[1],
        method="table",
        status=status,
        certainty=table.certainty[row] if found else "",
        source=table.source[row] if found else "; ".join(dict.fromkeys(table.source)),
    )


def _required_by_power_law(load: _Amount, law: _PowerLaw) -> RequiredPressure:
    unrounded, status = law.required(load)
    pressure = carries = None
    if unrounded is not None:
        pressure = _core.up_to_next_5_psi((unrounded, law.pressure[1]), law.pressure)
        carries, _ = law.carried((pressure, law.pressure[1]))
    return RequiredPressure(
        pressure=pressure,
        measure=law.pressure[1],
        unrounded=unrounded,
        carries=carries,
        load_measure=law.load[1],
        method="power_law",
        status=status,
        certainty="" if pressure is None else "memory",
        source=law.source,
    )


def tire_load(axle_load: str | None = None, *, left: str | None = None, right: str | None = None, tires: int) -> str:
    """The load on one tire, from the load on its axle or on both ends of it.

    With both ends weighed the heavier end counts: half of the axle hides what one side carries too much.

    Parameters
    ----------
    axle_load : str, optional
        On all tires of the axle (or tandem), above zero, e.g. ``"12000 lb"``.
    left, right : str, optional
        On each end, instead of ``axle_load``.
    tires : int, 1 or more
        On the axle; with ``left`` and ``right``, on one end.

    Returns
    -------
    str
        In the measure that the load was written in, e.g. ``"6000 lb"``: as :func:`required_pressure` takes it.

    Raises
    ------
    BadCall
        A text cannot be read, or there is no tire.
    """
    ends = (left is not None) + (right is not None)
    if (axle_load is None) == (ends == 0) or ends == 1:
        raise BadCall("give axle_load, or both left and right")
    if isinstance(tires, bool) or not isinstance(tires, int) or tires < 1:
        raise BadCall(f"tires: expected a whole number of 1 or more, got {tires!r}")
    if axle_load is not None:
        load, label = _amount(axle_load, "mass", "axle_load")
        return _written(_core.tire_load((load, label), tires), label)
    assert left is not None
    assert right is not None
    return _written(*_core.tire_load_of_ends(_amount(left, "mass", "left"), _amount(right, "mass", "right"), tires))


def _written(value: float, label: str) -> str:
    return f"{np.format_float_positional(value, trim='-')} {label}"


# ---- load index and speed symbol


@dataclass(frozen=True)
class ServiceDescription:
    """Load indexes and speed symbol of a tire, with what they mean.

    Attributes
    ----------
    single_index : int
        Load index of the tire used single.
    dual_index : int or None
        In a dual pair; None for a tire that is used single only.
    single_kg, dual_kg : float or None
        Loads of the two; None where the index is outside the table (100 to 180).
    speed_symbol : str
        Blank where there is none.
    speed_kmh : int or None
        None where there is no symbol or none that is known.
    certainty : str
        Of the less certain index, blank where neither is in the table.
    """

    single_index: int
    dual_index: int | None
    single_kg: float | None
    dual_kg: float | None
    speed_symbol: str
    speed_kmh: int | None
    certainty: str


_SERVICE_DESCRIPTION = re.compile(r"(\d{1,3})(?:\s*/\s*(\d{1,3}))?\s*([A-Z])?", re.ASCII)


def load_of_index(index: int) -> float | None:
    """The load of a load index, in kg.

    Parameters
    ----------
    index : int
        100 to 180.

    Returns
    -------
    float or None
        None outside the table.

    Notes
    -----
    ISO 4000-1 and UN R54, as public listings give them: data/loads/load_index.csv says how sure each is.
    """
    return _core.load_of_index(index)


def index_of_load(load: str) -> int | None:
    """The load index of a load on the sidewall.

    Kilograms must be those of the index. Pounds may be 10 lb off: sidewalls do not round by one rule (2800 kg is
    6172.9 lb and is marked 6175; 4125 kg is 9094.1 lb and is marked 9090).

    Parameters
    ----------
    load : str
        E.g. ``"2800 kg"`` or ``"6175 lb"``.

    Returns
    -------
    int or None
        None where no index from 100 to 180 has this load.

    Raises
    ------
    BadCall
        The text cannot be read.
    """
    value, label = _amount(load, "mass", "load")
    return _core.index_of_load((value, label), (SIDEWALL_SLACK_LB if label == "lb" else 0.0, label))


def speed_of_symbol(symbol: str) -> int | None:
    """The speed of a speed symbol, in km/h.

    Parameters
    ----------
    symbol : str
        One letter, in any case.

    Returns
    -------
    int or None
        None for a symbol that is not known.

    Notes
    -----
    UN R54, as public listings give it. H (210) stands between U (200) and V (240).
    """
    wanted = symbol.strip().upper()
    return _core.speed_of_symbol(wanted) if len(wanted) == 1 and wanted.isascii() else None


def service_description(text: str) -> ServiceDescription:
    """What a service description says, e.g. ``"144/141"``, ``"156/150 L"`` or ``"165K"``.

    Parameters
    ----------
    text : str
        Load index for single use, ``/`` and the one for dual use where there is one, speed symbol where there is one.

    Returns
    -------
    ServiceDescription
        Loads in kg, speed in km/h; what the text does not say is None or blank.

    Raises
    ------
    BadCall
        The text has another form.
    """
    match = _SERVICE_DESCRIPTION.fullmatch(text.strip().upper())
    if match is None:
        raise BadCall(f"service description: expected a text such as '144/141L' or '165K', got {text!r}")
    single, dual = int(match[1]), int(match[2]) if match[2] else None
    certain = _index_certainty()
    known = [certain[i] for i in (single, dual) if i in certain]
    return ServiceDescription(
        single_index=single,
        dual_index=dual,
        single_kg=load_of_index(single),
        dual_kg=None if dual is None else load_of_index(dual),
        speed_symbol=match[3] or "",
        speed_kmh=speed_of_symbol(match[3] or ""),
        certainty=max(known, key=CERTAINTIES.index, default=""),
    )


def _index_certainty() -> dict[int | None, str]:
    rows = _data.read_rows(_data.root() / "loads" / "load_index.csv")
    return {int(row["index"]): row["status"] for row in rows}


# ---- columns


class RequiredColumn(NamedTuple):
    """One entry a row.

    ``pressure`` is NaN unless it was found, ``status`` indexes ``STATUSES``, and ``certainty`` indexes ``CERTAINTIES``,
    -1 where there is no pressure.
    """

    pressure: npt.NDArray[np.float64]
    status: npt.NDArray[np.uint8]
    certainty: npt.NDArray[np.int8]


def required_column(
    tire_load: npt.ArrayLike,
    sizes: list[str | None],
    size_code: npt.ArrayLike,
    dual: npt.ArrayLike,
    tables: str | os.PathLike[str] | None = None,
    *,
    load_measure: str = "lb",
    measure: str = "psi",
) -> RequiredColumn:
    """The cold pressure that each load needs by the load table of its size; no power law.

    Parameters
    ----------
    tire_load : array-like of float, shape (n,)
        Load on one tire, in ``load_measure``; NaN where it is missing.
    sizes : list of str or None
        Size designations.
    size_code : array-like of int, shape (n,)
        Index into ``sizes``; -1 where the size is missing.
    dual : array-like of bool or int, shape (n,)
        1 for one tire of a dual pair, 0 for single, -1 where it is missing.
    tables : str or path, optional
        As for :func:`load_tables`.
    load_measure, measure : str
        Of ``tire_load`` and of the pressures that come back. Loads are compared exactly in the measure they were
        written in: give the one of the file. A pressure in the table's own measure comes back as printed.

    Returns
    -------
    RequiredColumn
        ``pressure`` (NaN unless found), ``status`` (index into ``STATUSES``: ``found``, ``over_the_table``,
        ``no_value`` for a load that is missing, below zero or infinite, ``no_table`` where size or assembly is missing
        or has no table), ``certainty`` of the row.

    Raises
    ------
    BadCall
        Lengths differ, a code is outside ``sizes``, or a measure is not one of load or pressure.
    TableFileError
        The file of ``tables`` cannot be used as written.
    """
    loads = np.ascontiguousarray(tire_load, np.float64)
    codes = _codes(size_code, len(sizes) - 1, loads.shape, "size_code")
    assembly = _codes(dual, 1, loads.shape, "dual")
    for name, label, dimension in (("load_measure", load_measure, "mass"), ("measure", measure, "pressure")):
        found = measures.find(label)
        if found is None or found.dimension != dimension:
            raise BadCall(f"{name}: expected one of {labels_of(dimension)}, got {label!r}")
    known = load_tables(tables)
    out = RequiredColumn(
        np.full(loads.shape, np.nan), np.full(loads.shape, _NO_TABLE, np.uint8), np.full(loads.shape, -1, np.int8)
    )
    for code, is_dual, rows in _groups(codes, assembly):
        size = sizes[code]
        table = None if size is None else known.find(size, is_dual)
        if table is not None:
            _fill(out, rows, table, (loads[rows], load_measure), measure)
    return out


def _codes(values: npt.ArrayLike, highest: int, shape: tuple[int, ...], name: str) -> npt.NDArray[np.int64]:
    array = np.asarray(values)
    if array.shape != shape or len(shape) != 1:
        raise BadCall(f"{name}: expected the shape {shape} of tire_load, one dimension, got {array.shape}")
    if array.dtype.kind not in "biu" and array.size:
        raise BadCall(f"{name}: expected whole numbers, got {array.dtype}")
    if array.size and not (array.min() >= -1 and array.max() <= highest):
        raise BadCall(f"{name}: expected -1 to {highest}, got {array.min()} to {array.max()}")
    return array.astype(np.int64)


def _groups(
    codes: npt.NDArray[np.int64], assembly: npt.NDArray[np.int64]
) -> list[tuple[int, bool, npt.NDArray[np.intp]]]:
    """Rows of each size and assembly; rows where one of them is missing are in none."""
    present = np.flatnonzero((codes >= 0) & (assembly >= 0))
    key = codes[present] * 2 + assembly[present]
    order = np.argsort(key, kind="stable")
    keys, first = np.unique(key[order], return_index=True)
    parts = np.split(present[order], first[1:])  # one empty part where there is no key: zip leaves it
    return [(int(k) // 2, bool(k % 2), part) for k, part in zip(keys, parts, strict=False)]


def _fill(out: RequiredColumn, rows: npt.NDArray[np.intp], table: LoadTable, loads: _Column, measure: str) -> None:
    row, status = _core.required_rows(table.core, loads)
    pressure = measures.convert(table.pressure[0], table.pressure[1], measure)
    certainty = np.array([CERTAINTIES.index(c) for c in table.certainty], np.int8)
    out.status[rows] = status
    out.pressure[rows] = np.where(row >= 0, pressure[row], np.nan)
    out.certainty[rows] = np.where(row >= 0, certainty[row], -1)
