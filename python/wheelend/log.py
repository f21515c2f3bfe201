"""The log: readings, positions and tires, checked once and shared by every function."""

from __future__ import annotations

import datetime as dt
import html
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _cells, _core, _loads_of_log, _positions, _prices, _results, _tires, _wheelends
from wheelend._cells import Coder
from wheelend._intake import Checked, Counts, Style, TableIntake, none_usable, percents
from wheelend._issues import Issues
from wheelend._sources import open_source
from wheelend._words import EPOCH, expected
from wheelend.errors import BadCall, DataRefused

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._positions import Positions
    from wheelend._prices import PriceList

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
    prices : PriceList, optional
        Prices that can be used, where a table of them was given.
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
    core_wheelends: dict[str, Any]
    position_facts: dict[str, Any]
    tire_facts: dict[str, Any]
    wheelend_facts: dict[str, Any]
    attribute_names: list[str]
    text_names: list[str]
    tire_names: list[str]
    read_on_form: npt.NDArray[np.uint8]
    wheelend_read_on_form: npt.NDArray[np.uint8]
    rows: npt.NDArray[np.int64]
    lost_columns: list[str] = field(default_factory=list)
    load_tables: Any = None
    prices: PriceList | None = None

    @property
    def units(self) -> list[str]:
        """Unit numbers, sorted."""
        return self.positions.units

    @property
    def first_day(self) -> dt.date:
        """Day of the first reading."""
        return self._span[0]

    @property
    def last_day(self) -> dt.date:
        """Day of the last reading."""
        return self._span[1]

    @cached_property
    def _span(self) -> tuple[dt.date, dt.date]:
        both = (self.core_readings["day"], self.core_wheelends.get("day", np.zeros(0, np.int32)))
        ends = [(int(days.min()), int(days.max())) for days in both if len(days)]
        first, last = min(a for a, _ in ends), max(b for _, b in ends)
        return EPOCH + dt.timedelta(days=first), EPOCH + dt.timedelta(days=last)

    @property
    def issues(self) -> Any:
        """Every problem of the input, as a table of the kind that came in."""
        return _results.native(self.issue_list.table(), self.kind)

    @cached_property
    def distance_measure(self) -> str:
        """Measure of the odometers; ``mi`` where there is none."""
        return str(self.core_readings["odometer"][1]) if "odometer" in self.core_readings else "mi"

    def __repr__(self) -> str:
        n = self.issue_list.counts
        return (
            f"<wheelend.Log: {len(self.rows)} readings of {len(self.positions)} positions, {len(self.units)} units, "
            f"{len(self.core_wheelends.get('day', ()))} wheel-end readings, "
            f"{self.first_day} to {self.last_day}; {n['row']} rows and {n['cell']} values not used, {n['note']} notes>"
        )

    def _repr_html_(self) -> str:
        """Counts of each table, and the first readings as they came in."""
        from wheelend._notebook import Shown, facts

        of_tables = [
            (t, f"{c.rows_in:,} rows, {c.rows_used:,} used; {c.values_in:,} values, {c.values_used:,} used")
            for t, c in self.counts.items()
        ]
        span = f"{len(self.units):,} units, {len(self.positions):,} positions, {self.first_day} to {self.last_day}"
        issues = "".join(f"<p>{html.escape(lost)}</p>" for lost in self.lost_columns)
        total = len(self.core_readings["day"])
        return facts(f"Log of {span}", of_tables) + issues + Shown(_first_readings(self), total)._repr_html_()


def read_log(
    readings: Any = None,
    positions: Any = None,
    tires: Any = None,
    wheelend_readings: Any = None,
    *,
    prices: Any = None,
    load_tables: Any = None,
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
    readings, positions, tires, wheelend_readings : path, data frame, Arrow table or stream, DuckDB relation, or dict
        Tables as the data dictionary describes them. Files: CSV, Parquet, xlsx. ``positions`` may be left out when
        readings carries ``kind`` and ``role``; ``tires`` is optional, and so is ``readings`` where there are wheel-end
        readings and positions. A measured column carries its measure as a suffix (``pressure_psi``). Missing values:
        blank, ``n/a``, null, NaN.
    prices : table, optional
        What tires, retreads, casings, labor, disposal and downtime cost, by validity; amounts are decimals. Of several
        rows that fit the most narrowly meant holds: design before size, make, role and site. Two prices for one thing
        on one day: neither is used. Currencies are never added.
    load_tables : path, optional
        Load and inflation tables of the form of data/loads/ (see :mod:`wheelend.loads`); by default those that ship.
        With ``axle_load`` or ``end_load`` and ``size`` they give the cold pressure that the load carried needs.
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
        raise BadCall(expected("dates", _DATE_ORDERS, dates))
    if on_bad not in _ON_BAD:
        raise BadCall(expected("on_bad", _ON_BAD, on_bad))
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
        reader = _Reader(issues, style, measures or {}, delimiter, sheet, load_tables)
        return reader.read(readings, positions, tires, wheelend_readings, prices)
    except DataRefused as refusal:
        if on_bad == "report":
            issues.add((refusal.file, ""), [1], "", "", "refused", "row", str(refusal))
        refusal.issues = issues
        raise


def read_places(
    positions: Any,
    tires: Any = None,
    *,
    measures: Mapping[str, str] | None = None,
    decimal: str = ".",
    thousands: str = "",
    dates: str = "iso",
    delimiter: str | None = None,
    on_bad: str = "report",
) -> Log:
    """A log of wheel positions that were not read yet: what an entry form needs. Arguments as of :func:`read_log`."""
    style = Style(decimal, thousands, dates, day_number(dt.date.today()))
    reader = _Reader(Issues(on_bad), style, measures or {}, delimiter, None, None)
    return reader.read(None, positions, tires, None, unread=True)


def _first_readings(log: Log, rows: int = 5) -> pa.Table:
    """The first readings that are used: where, when, depths and pressure."""
    core = log.core_readings
    first = np.arange(min(rows, len(core["day"])))
    columns = _results.place_columns(log, core["position"][first]) | {"read_on": read_on(log, first)}
    for name, numbers in [
        *((f"tread_{g}", n) for g, n in zip(log.grooves, core["grooves"], strict=True)),
        ("pressure", core.get("pressure")),
    ]:
        if numbers is not None:
            columns[f"{name}_{numbers[1]}"] = _results.numbers(numbers[0][first])
    return pa.table(columns)


def price_list(log: Log, prices: Any) -> PriceList | None:
    """Prices as an argument gives them: a list that was read, a table to be read now, or those of the log.

    Problems of a table that is read now become rows of ``log.issues``.
    """
    require_log(log)
    if prices is None or isinstance(prices, _prices.PriceList):
        return log.prices if prices is None else prices
    reader = _Reader(log.issue_list, Style(), {}, None, None, None)
    found, log.counts["prices"] = reader.read_prices(prices)
    return found


def read_purchases(log: Log, purchases: Any) -> tuple[Checked, list[str]]:
    """A table of purchases, checked, and the texts that its codes stand for; its problems join ``log.issues``."""
    reader = _Reader(log.issue_list, Style(today=day_number(dt.date.today())), {}, None, None, None)
    table = reader._intake(purchases, "purchases")[0].read()
    log.counts["purchases"] = table.counts()
    return table, reader.coders["text"].names


def require_log(log: Any) -> None:
    """Refuse a file or a table in the place of what was read of it."""
    if not isinstance(log, Log):
        raise BadCall(f"expected what wheelend.read_log returns, got {type(log).__name__}: read the files first")


def day_number(day: dt.date | str) -> int:
    """Days since 1970-01-01 of a date or of ISO text."""
    if isinstance(day, str):
        try:
            day = dt.date.fromisoformat(day)
        except ValueError:
            raise BadCall(f"expected a date as YYYY-MM-DD, got {day!r}") from None
    if isinstance(day, dt.datetime):
        day = day.date()
    if not isinstance(day, dt.date):
        raise BadCall(f"expected a date, or its text as YYYY-MM-DD, got {day!r}")
    return (day - EPOCH).days


class _Reader:
    def __init__(
        self,
        issues: Issues,
        style: Style,
        given: Mapping[str, str],
        delimiter: str | None,
        sheet: str | None,
        load_tables: Any,
    ) -> None:
        self.issues, self.style, self.given = issues, style, given
        self.delimiter, self.sheet, self.load_tables = delimiter, sheet, load_tables
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

    def read(
        self,
        readings: Any,
        positions: Any,
        tires: Any,
        wheelends: Any,
        prices: Any = None,
        *,
        unread: bool = False,
    ) -> Log:
        if readings is None and not unread and (wheelends is None or positions is None):
            raise BadCall(
                "read_log: give readings, or wheel-end readings together with positions (--readings FILE, or "
                "--wheelend-readings FILE with --positions FILE)"
            )
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
        table, kind, grooves = None, "arrow", []
        if readings is not None:
            intake, kind = self._intake(
                readings,
                "readings",
                also=("positions",) if fleet is None else (),
                attributes=("site", "group") if fleet is None else (),
            )
            if wheelends is None:
                self._require_something(intake)
            if fleet is None or wheelends is None or not intake.source.is_unwritten:
                table, grooves = intake.read(), intake.grooves
            if fleet is None:
                assert table is not None
                fleet = _positions.build(table, self.coders["unit"], self.issues, one_row_each=False)
                known_units = len(self.coders["unit"].names)
        assert fleet is not None
        found = np.zeros(0, np.int32)
        if table is not None:
            found = _positions.locate(table, fleet, self.coders["unit"], known_units, self.issues)
            if len(table) == 0:
                raise DataRefused(none_usable(table.place[0], table.rows_in, self.issues))
        core_wheelends, wheelend_table = {}, None
        if wheelends is not None:
            intake, other_kind = self._intake(wheelends, "wheelend_readings")
            kind = kind if readings is not None else other_kind
            if table is None or not intake.source.is_unwritten:
                wheelend_table = intake.read()
                core_wheelends = _wheelends.check(wheelend_table, fleet, self.coders["unit"], known_units, self.issues)
                if len(wheelend_table) == 0 and table is None:
                    raise DataRefused(none_usable(wheelend_table.place[0], wheelend_table.rows_in, self.issues))
                counts["wheelend_readings"] = wheelend_table.counts()
        log = self._log(table, found, fleet, tire_table, grooves, kind, counts, core_wheelends, wheelend_table)
        if prices is not None:
            log.prices, counts["prices"] = self.read_prices(prices)
        return log

    def read_prices(self, prices: Any) -> tuple[PriceList, Counts]:
        table = self._intake(prices, "prices")[0].read()
        found = _prices.build(table, self.coders, self.issues)
        if len(found) == 0:
            raise DataRefused(none_usable(table.place[0], table.rows_in, self.issues))
        return found, table.counts()

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
        table: Checked | None,
        found: npt.NDArray[np.int32],
        fleet: Positions,
        tires: Checked | None,
        grooves: list[str],
        kind: str,
        counts: dict[str, Counts],
        core_wheelends: dict[str, Any],
        wheelends: Checked | None,
    ) -> Log:
        today = self.style.today
        tire_facts = _tires.facts(tires, self.coders["tire"])
        core_tires = _tires.core(tires, self.coders, tire_facts, self.issues, today)
        places = _core_positions(fleet)
        core = _core_readings(table, found, grooves)
        if table is not None:
            _place_grooves(core, table, tire_facts, self.coders["text"].names, len(grooves))
            self._note_repeats(table, core, len(fleet))
            self._note_odometers(table, core, places, len(fleet.units))
            counts["readings"] = table.counts()
        depth = [table.measure[f"tread_{g}"] for g in grooves] if table is not None else []
        position_facts = _position_facts(fleet)
        text_names = self.coders["text"].names
        log = Log(
            kind=kind,
            positions=fleet,
            issue_list=self.issues,
            counts=counts,
            grooves=grooves,
            depth_measure=depth[0] if depth else "32nds",
            pressure_measure=table.measure.get("pressure", "psi") if table is not None else "psi",
            core_readings=core,
            core_positions=places,
            core_tires=core_tires,
            core_wheelends=core_wheelends,
            position_facts=position_facts,
            tire_facts=tire_facts,
            wheelend_facts=_wheelend_facts(wheelends),
            attribute_names=self.coders["attribute"].names,
            text_names=text_names,
            tire_names=self.coders["tire"].names,
            read_on_form=table.columns["read_on_form"] if table is not None else np.zeros(0, np.uint8),
            wheelend_read_on_form=wheelends.columns["read_on_form"] if wheelends is not None else np.zeros(0, np.uint8),
            rows=table.rows if table is not None else np.zeros(0, np.int64),
            lost_columns=self.lost_columns,
            load_tables=self.load_tables,
        )
        _loads_of_log.needed_by_load(log, _loads_of_log.LAST_DAY)  # a load table that cannot be used is refused now
        return log

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


def _core_readings(table: Checked | None, found: npt.NDArray[np.int32], grooves: list[str]) -> dict[str, Any]:
    if table is None:
        return {"position": found, "microsecond": np.zeros(0, np.int64), "day": np.zeros(0, np.int32), "grooves": []}
    c = table.columns
    core: dict[str, Any] = {
        "position": found,
        "microsecond": c["microsecond"],
        "day": c["read_on"],
        "grooves": [_numbers(table, f"tread_{g}") for g in grooves],
    }
    for ours, theirs in (
        ("place", "place"),
        ("tire", "tire"),
        ("warm", "warm"),
        ("event", "event"),
        ("reader", "reader"),
    ):
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


def _place_grooves(
    core: dict[str, Any], table: Checked, tire_facts: dict[str, Any], texts: list[str], grooves: int
) -> None:
    """Where the grooves lie across the tread: as the row says, else as its tire's row says."""
    codes = table.columns.get("tread_at", np.full(len(table), -1, np.int32))
    of_tire, tire = tire_facts.get("tread_at"), table.columns.get("tire")
    if of_tire is not None and tire is not None:
        codes = np.where((codes < 0) & (tire >= 0), of_tire[np.maximum(tire, 0)], codes)
    if grooves == 0 or not (codes >= 0).any():
        return
    distinct = np.unique(codes[codes >= 0])
    places = {int(code): percents(texts[code], grooves) for code in distinct}
    known = {code: at for code, at in places.items() if at is not None}
    number = np.full(int(distinct[-1]) + 1, -1, np.int32)
    for i, code in enumerate(known):
        number[code] = i
    core["across_sets"] = list(known.values())
    core["across"] = np.where(codes >= 0, number[np.maximum(codes, 0)], -1).astype(np.int32)


def _core_positions(fleet: Positions) -> dict[str, Any]:
    core: dict[str, Any] = {"axle": fleet.axle, "unit": fleet.unit, "side": fleet.side, "dual": fleet.dual}
    for name in ("kind", "role", "retread", "regrooved", "combination"):
        if name in fleet.columns:
            core[name] = fleet.columns[name]
    if "attribute:group" in fleet.columns:
        core["group"] = fleet.columns["attribute:group"]
    for name in ("target", "needed", "pull", "sidewall_max", "rated_load", "rated_load_dual", "axle_load", "end_load"):
        if name in fleet.columns:
            core[name] = (fleet.columns[name], fleet.measure[name])
    return core


def _position_facts(fleet: Positions) -> dict[str, Any]:
    """Every column of the positions by the name of its fact; numbers with their measure."""
    facts: dict[str, Any] = {"axle": fleet.axle, "side": fleet.side, "dual": fleet.dual}
    for name, values in fleet.columns.items():
        measure = fleet.measure.get(name)
        facts[name.removeprefix("attribute:")] = (values, measure) if measure else values
    return facts


def _wheelend_facts(table: Checked | None) -> dict[str, Any]:
    """Every column of the wheel-end readings; numbers with their measure and their long texts."""
    if table is None:
        return {}
    return {name: _numbers(table, name) if name in table.measure else values for name, values in table.columns.items()}


def read_on(log: Log, rows: npt.NDArray[np.int64], of_wheelend: npt.NDArray[np.bool_] | None = None) -> pa.Array:
    """When the readings of these rows were taken: dates stay dates, timestamps stay timestamps.

    ``of_wheelend``: rows that are those of the wheel-end readings; a negative row is null.
    """
    wheel = np.zeros(len(rows), bool) if of_wheelend is None else of_wheelend
    day = np.zeros(len(rows), np.int64)
    micro = np.zeros(len(rows), np.int64)
    form = np.full(len(rows), -1, np.int16)
    for core, forms, here in (
        (log.core_readings, log.read_on_form, ~wheel & (rows >= 0)),
        (log.core_wheelends, log.wheelend_read_on_form, wheel & (rows >= 0)),
    ):
        if here.any():
            at = rows[here]
            day[here], micro[here], form[here] = core["day"][at], core["microsecond"][at], forms[at]
    missing = form < 0
    met = set(np.unique(form[~missing]).tolist())
    if met <= {_cells.DATE}:
        return pa.array(day.astype(np.int32), pa.int32(), mask=missing).cast(pa.date32())
    instants = pa.array(micro, pa.int64(), mask=missing)
    if met == {_cells.ZONED_TIME}:
        return instants.cast(pa.timestamp("us", "UTC"))
    if met == {_cells.LOCAL_TIME}:
        return instants.cast(pa.timestamp("us"))
    texts = [
        None if absent else _read_on_text(int(f), int(d), int(m))
        for f, d, m, absent in zip(form, day, micro, missing, strict=True)
    ]
    return pa.array(texts, pa.string())


def _read_on_text(form: int, day: int, microsecond: int) -> str:
    if form == _cells.DATE:
        return (EPOCH + dt.timedelta(days=day)).isoformat()
    zone = dt.UTC if form == _cells.ZONED_TIME else None
    return (dt.datetime(1970, 1, 1, tzinfo=zone) + dt.timedelta(microseconds=microsecond)).isoformat()
