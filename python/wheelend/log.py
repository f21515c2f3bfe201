"""The log: readings, positions and tires, checked once and shared by every function."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _cells, _core, _positions, _results
from wheelend._cells import Coder
from wheelend._intake import Checked, Counts, Style, TableIntake, none_usable
from wheelend._issues import Issues
from wheelend._sources import open_source
from wheelend.errors import BadCall, DataRefused

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._positions import Positions

_EPOCH = dt.date(1970, 1, 1)
_DATE_ORDERS = ("iso", "mdy", "dmy")
_ON_BAD = ("report", "raise")
_DECIMALS = (".", ",")
_THOUSANDS = ("", ",", ".", " ", "'")


@dataclass(eq=False)
class Log:
    """Checked readings of a fleet; made by :func:`read_log`.

    Attributes
    ----------
    units : list of str
        Unit numbers, sorted.
    first_day, last_day : datetime.date
        Days of the first and the last reading; ``last_day`` is the default ``as_of``.
    counts : dict of str to Counts
        Rows and values of each table: in, used, refused.
    lost_columns : list of str
        Columns of which no value is used, each with its reason: no measure, or two columns for one quantity.
    """

    kind: str
    positions: Positions
    issue_list: Issues
    counts: dict[str, Counts]
    grooves: list[str]
    depth_measure: str
    pressure_measure: str
    core_readings: dict[str, Any]
    core_positions: dict[str, Any]
    core_tires: dict[str, Any]
    attribute_names: list[str]
    read_on_form: npt.NDArray[np.uint8]
    rows: npt.NDArray[np.int64]
    lost_columns: list[str] = field(default_factory=list)

    @property
    def units(self) -> list[str]:
        return self.positions.units

    @property
    def first_day(self) -> dt.date:
        return _EPOCH + dt.timedelta(days=int(self.core_readings["day"].min()))

    @property
    def last_day(self) -> dt.date:
        return _EPOCH + dt.timedelta(days=int(self.core_readings["day"].max()))

    @property
    def issues(self) -> Any:
        """Every problem of the input, as a table of the kind that came in."""
        return _results.native(self.issue_list.table(), self.kind)

    @cached_property
    def distance_measure(self) -> str:
        return str(self.core_readings["odometer"][1]) if "odometer" in self.core_readings else "mi"

    def __repr__(self) -> str:
        n = self.issue_list.counts
        return (
            f"<wheelend.Log: {len(self.rows)} readings of {len(self.positions)} positions, {len(self.units)} units, "
            f"{self.first_day} to {self.last_day}; {n['row']} rows and {n['cell']} values not used, {n['note']} notes>"
        )


def read_log(
    readings: Any,
    positions: Any = None,
    tires: Any = None,
    *,
    measures: Mapping[str, str] | None = None,
    decimal: str = ".",
    thousands: str = "",
    dates: str = "iso",
    delimiter: str | None = None,
    sheet: str | None = None,
    today: dt.date | str | None = None,
    on_bad: str = "report",
) -> Log:
    """Read and check the tables of a fleet.

    Parameters
    ----------
    readings, positions, tires : path, data frame, Arrow table or stream, DuckDB relation, or dict of arrays
        Tables as the data dictionary describes them. Files: CSV, Parquet, xlsx. ``positions`` may be left out when
        readings carries ``kind`` and ``role``; ``tires`` is optional. A measured column carries its measure as a
        suffix (``pressure_psi``). Missing values: blank, ``n/a``, null, NaN.
    measures : mapping of str to str, optional
        Measures of columns without a suffix, e.g. ``{"pressure": "psi"}``.
    decimal, thousands : str
        Marks in the numbers of text files and text columns. None is guessed.
    dates : {"iso", "mdy", "dmy"}
        Order of dates that are not ISO 8601.
    delimiter : str, optional
        Of CSV files; by default the one of ``, ; tab |`` that the header has most of.
    sheet : str, optional
        Sheet of a workbook; by default the first.
    today : date, optional
        Readings of later days are refused; by default the machine's date.
    on_bad : {"report", "raise"}
        ``"raise"`` turns the first row or value that cannot be used into a :class:`BadValue`.

    Returns
    -------
    Log
        Every problem is a row of ``log.issues``.

    Raises
    ------
    DataRefused
        Nothing of a table can be used: no file, no rows, a key column missing, no tread and no pressure.
    BadCall
        An argument is none of those above.
    """
    if dates not in _DATE_ORDERS:
        raise BadCall(f"dates: expected one of {', '.join(_DATE_ORDERS)}, got {dates!r}")
    if on_bad not in _ON_BAD:
        raise BadCall(f"on_bad: expected one of {', '.join(_ON_BAD)}, got {on_bad!r}")
    if decimal not in _DECIMALS:
        raise BadCall(f"decimal: expected a point or a comma, got {decimal!r}")
    if thousands not in _THOUSANDS or thousands == decimal:
        raise BadCall(
            f"thousands: expected nothing, a comma, a point, a blank or an apostrophe, and not the decimal mark, got "
            f"{thousands!r}"
        )
    if delimiter is not None and len(delimiter.encode()) != 1:
        raise BadCall(f"delimiter: expected one character, got {delimiter!r}")
    style = Style(decimal, thousands, dates, day_number(today if today is not None else dt.date.today()))
    issues = Issues(on_bad)
    try:
        return _Reader(issues, style, measures or {}, delimiter, sheet).read(readings, positions, tires)
    except DataRefused as refusal:
        if on_bad == "report":
            issues.add((refusal.file, ""), [1], "", "", "refused", "row", str(refusal))
        refusal.issues = issues
        raise


def day_number(day: dt.date | str) -> int:
    """Days since 1970-01-01 of a date or of ISO text."""
    if isinstance(day, str):
        try:
            day = dt.date.fromisoformat(day)
        except ValueError:
            raise BadCall(f"expected a date as YYYY-MM-DD, got {day!r}") from None
    if isinstance(day, dt.datetime):
        day = day.date()
    return (day - _EPOCH).days


class _Reader:
    def __init__(
        self, issues: Issues, style: Style, given: Mapping[str, str], delimiter: str | None, sheet: str | None
    ) -> None:
        self.issues, self.style, self.given = issues, style, given
        self.delimiter, self.sheet = delimiter, sheet
        self.lost_columns: list[str] = []
        self.coders = {name: Coder() for name in ("unit", "tire", "text", "attribute")}

    def _intake(self, table: Any, name: str, **how: Any) -> tuple[TableIntake, str]:
        sheet = self.sheet if name == "readings" else None
        source = open_source(table, name, sheet=sheet, delimiter=self.delimiter)
        intake = TableIntake(source, name, self.issues, self.style, self.given, self.coders, **how)
        self.lost_columns += [
            f"{source.name}, column {r.header}: {r.message}" for r in intake.refused if r.effect == "cell"
        ]
        return intake, source.kind

    def read(self, readings: Any, positions: Any, tires: Any) -> Log:
        places = fleet = None
        counts: dict[str, Counts] = {}
        if positions is not None:
            places = self._intake(positions, "positions", attributes=None)[0].read()
            fleet = _positions.build(places, self.coders["unit"], self.issues, one_row_each=True)
            counts["positions"] = places.counts()
        known_units = len(self.coders["unit"].names)
        tire_table = self._read_tires(tires) if tires is not None else None
        if tire_table is not None:
            counts["tires"] = tire_table.counts()
        intake, kind = self._intake(
            readings,
            "readings",
            also=("positions",) if fleet is None else (),
            attributes=("site", "group") if fleet is None else (),
        )
        self._require_something(intake)
        table = intake.read()
        if fleet is None:
            fleet = _positions.build(table, self.coders["unit"], self.issues, one_row_each=False)
            known_units = len(self.coders["unit"].names)
        found = _positions.locate(table, fleet, self.coders["unit"], known_units, self.issues)
        if len(table) == 0:
            raise DataRefused(none_usable(table.place[0], table.rows_in, self.issues))
        return self._log(table, found, fleet, tire_table, intake.grooves, kind, counts)

    def _require_something(self, intake: TableIntake) -> None:
        read = {f.name for f in intake.fields}
        if intake.grooves or "pressure" in read:
            return
        name = intake.source.name
        raise DataRefused(
            f"{name} has no tread depth and no pressure that can be used. {self.issues.first_of(name)}"
            "Name them tread_outer_32nds (_mm, _in) and pressure_psi (_kpa, _bar)"
        )

    def _read_tires(self, tires: Any) -> Checked:
        table = self._intake(tires, "tires", attributes=None)[0].read()
        code = table.columns["tire"]
        _, first, inverse = np.unique(code, return_index=True, return_inverse=True)
        again = first[inverse] != np.arange(len(table))
        if again.any():
            at = np.flatnonzero(again)
            messages = [
                f"the tire of row {table.rows[first[inverse[i]]]} again; that row is used: keep one" for i in at
            ]
            self.issues.add(table.place, table.rows[at], table.headers["tire"], "", "duplicate_row", "row", messages)
            table.keep(~again)
        return table

    # ---- the log

    def _log(
        self,
        table: Checked,
        found: npt.NDArray[np.int32],
        fleet: Positions,
        tires: Checked | None,
        grooves: list[str],
        kind: str,
        counts: dict[str, Counts],
    ) -> Log:
        core = _core_readings(table, found, grooves)
        places = _core_positions(fleet)
        self._note_repeats(table, core, len(fleet))
        self._note_odometers(table, core, places, len(fleet.units))
        counts["readings"] = table.counts()
        depth = [table.measure[f"tread_{g}"] for g in grooves]
        return Log(
            kind=kind,
            positions=fleet,
            issue_list=self.issues,
            counts=counts,
            grooves=grooves,
            depth_measure=depth[0] if depth else "32nds",
            pressure_measure=table.measure.get("pressure", "psi"),
            core_readings=core,
            core_positions=places,
            core_tires=_core_tires(tires, self.coders["tire"]),
            attribute_names=self.coders["attribute"].names,
            read_on_form=table.columns["read_on_form"],
            rows=table.rows,
            lost_columns=self.lost_columns,
        )

    def _note_repeats(self, table: Checked, core: dict[str, Any], positions: int) -> None:
        first, conflict, identical = _core.find_repeats(core, positions)
        core["conflict"] = conflict
        again = (first >= 0) & (conflict == 0) & (identical == 1)
        at = np.flatnonzero(again)
        self.issues.add(
            table.place,
            table.rows[at],
            "",
            "",
            "duplicate_row",
            "note",
            (f"says the same as row {table.rows[first[i]]}: it counts once; remove one of them" for i in at),
        )
        what = {1: "tread", 2: "pressure", 4: "odometer"}
        at = np.flatnonzero((first >= 0) & (conflict > 0))
        parts = {bits: " and ".join(w for bit, w in what.items() if bits & bit) for bits in range(8)}
        messages = (
            f"rows {table.rows[first[i]]} and {table.rows[i]} disagree on {parts[int(conflict[i])]}: the lower value "
            "is judged, neither is used in trends; correct one of them"
            for i in at
        )
        self.issues.add(table.place, table.rows[at], "", "", "conflict", "note", messages)

    def _note_odometers(self, table: Checked, core: dict[str, Any], places: dict[str, Any], units: int) -> None:
        if "odometer" not in core:
            return
        out = np.flatnonzero(_core.odometers_out_of_line(core, places, units))
        texts = (f"{table.columns['odometer'][i]:.15g}" for i in out)
        self.issues.add(
            table.place,
            table.rows[out],
            table.headers["odometer"],
            texts,
            "odometer",
            "note",
            "cannot stand with the unit's other odometer readings (it runs back, or too fast): left out of trends; "
            "correct it",
        )


def _numbers(table: Checked, name: str) -> tuple[Any, ...] | None:
    if name not in table.columns:
        return None
    return table.columns[name], table.measure[name], table.long_texts.get(name, [])


def _core_readings(table: Checked, found: npt.NDArray[np.int32], grooves: list[str]) -> dict[str, Any]:
    c = table.columns
    core: dict[str, Any] = {
        "position": found,
        "microsecond": c["microsecond"],
        "day": c["read_on"],
        "grooves": [_numbers(table, f"tread_{g}") for g in grooves],
    }
    for ours, theirs in (("place", "place"), ("tire", "tire"), ("warm", "warm"), ("event", "event")):
        if theirs in c:
            core[ours] = c[theirs]
    if "tread_barred" in c:
        core["barred"] = c["tread_barred"]
    if "not_admissible" in c:
        core["inadmissible"] = c["not_admissible"]
    for name in (
        "pressure",
        "inflated_to",
        "speed_last_hour",
        "odometer",
        "tire_temperature",
        "ambient",
        "altitude",
    ):
        if (numbers := _numbers(table, name)) is not None:
            core[name] = numbers
    return core


def _core_positions(fleet: Positions) -> dict[str, Any]:
    core: dict[str, Any] = {"axle": fleet.axle, "unit": fleet.unit}
    for name in ("kind", "role", "retread", "regrooved"):
        if name in fleet.columns:
            core[name] = fleet.columns[name]
    for name in ("target", "needed", "pull", "sidewall_max", "rated_load"):
        if name in fleet.columns:
            core[name] = (fleet.columns[name], fleet.measure[name])
    return core


def _core_tires(tires: Checked | None, coder: Coder) -> dict[str, Any]:
    """One entry per tire number that was met anywhere; readings index it."""
    if tires is None:
        return {}
    n, code = len(coder.names), tires.columns["tire"]
    core: dict[str, Any] = {}
    for name in ("sidewall_max", "rated_load", "new"):
        if name in tires.columns:
            values = np.full(n, np.nan)
            values[code] = tires.columns[name]
            core[name] = (values, tires.measure[name])
    for name in ("retread", "regrooved"):
        if name in tires.columns:
            flags = np.full(n, -1, np.int8)
            flags[code] = tires.columns[name]
            core[name] = flags
    return core


def read_on(log: Log, rows: npt.NDArray[np.int64]) -> pa.Array:
    """When the readings of these rows were taken: dates stay dates, timestamps stay timestamps."""
    if (log.read_on_form == _cells.DATE).all():
        return pa.array(log.core_readings["day"][rows], pa.int32()).cast(pa.date32())
    micro = pa.array(log.core_readings["microsecond"][rows], pa.int64())
    if (log.read_on_form == _cells.ZONED_TIME).all():
        return micro.cast(pa.timestamp("us", "UTC"))
    if (log.read_on_form == _cells.LOCAL_TIME).all():
        return micro.cast(pa.timestamp("us"))
    return pa.array([_read_on_text(log, int(i)) for i in rows], pa.string())


def _read_on_text(log: Log, row: int) -> str:
    form = log.read_on_form[row]
    if form == _cells.DATE:
        return (_EPOCH + dt.timedelta(days=int(log.core_readings["day"][row]))).isoformat()
    zone = dt.UTC if form == _cells.ZONED_TIME else None
    moment = dt.datetime(1970, 1, 1, tzinfo=zone) + dt.timedelta(
        microseconds=int(log.core_readings["microsecond"][row])
    )
    return moment.isoformat()
