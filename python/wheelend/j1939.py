"""Tire messages of the vehicle network (SAE J1939, PGN 65268 Tire Condition) into a table of readings.

Only the raw numbers of that one message are scaled here; taking them off the bus is the work of other programs. Other
messages scale otherwise: the reference pressure of PGN 64953 (SPN 3191) has 8 kPa a bit and is not read.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any, overload

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _cells, _core, _header, _positions, _results
from wheelend._cells import Coder
from wheelend._intake import Checked, Counts, Style, TableIntake, none_usable
from wheelend._issues import Issues
from wheelend._sources import open_source
from wheelend.dictionary import Column, columns
from wheelend.errors import BadCall, DataRefused
from wheelend.log import day_number

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from wheelend._header import Field
    from wheelend._intake import _Piece
    from wheelend._positions import Positions
    from wheelend._sources import Source

# ---- the message: SAE J1939-71 and the J1939 digital annex, PGN 65268 (0xFEF4). J-01 to J-09 are rows of the project's
# list of limits. "Confirmed": found in a public listing of the parameters; the standard itself is not public.

STATUSES = ("value", "not_available", "error", "reserved")
_VALUE, _NOT_AVAILABLE, _ERROR, _RESERVED = range(4)

# One byte (J-08): 0-250 data, partly confirmed, by the range of J-02; 251-253 reserved and 254 error, from memory; 255
# not available, partly confirmed.
_BYTE = np.array([_VALUE] * 251 + [_RESERVED] * 3 + [_ERROR, _NOT_AVAILABLE], np.int8)
# Two bytes (J-08): the high byte decides. Data up to 0xFAFF, partly confirmed, by the range of J-03; 0xFExx error,
# 0xFFxx not available and the numbers between reserved, from memory.
_TWO_BYTES = np.repeat(_BYTE, 256)
# Location (J-01): all of 0-254 are places, confirmed by its range of 0-255; 255 not available, confirmed.
_LOCATION = np.array([_VALUE] * 255 + [_NOT_AVAILABLE], np.int8)


@dataclass(frozen=True)
class Parameter:
    """A parameter of the message: what its raw numbers mean.

    ``words`` say what it is, ``column`` names it in the readings. ``status`` holds one of ``STATUSES``, by place, for
    each raw number that its bits can write. A value is ``raw * resolution + offset``; for a parameter with ``states``
    it is the place of a word among them.
    """

    words: str
    column: str  # of the readings
    status: npt.NDArray[np.int8] = field(repr=False)
    resolution: Fraction = Fraction(1)
    offset: float = 0.0
    states: tuple[str, ...] = ()

    @property
    def bits(self) -> int:
        """How many bits of the message it takes."""
        return len(self.status).bit_length() - 1


def _states(words: str, column: str, states: tuple[str, ...], *other: int) -> Parameter:
    """Raw numbers from 0 are ``states``; those after them have the statuses ``other``."""
    return Parameter(words, column, np.array([_VALUE] * len(states) + [*other], np.int8), states=states)


PARAMETERS: dict[int, Parameter] = {
    # J-01: one byte, nibbles and counting order confirmed
    929: Parameter("location of the tire", "", _LOCATION),
    # J-02: 4 kPa a bit, offset 0, to 1000 kPa, confirmed; that it is gauge pressure, from memory
    241: Parameter("tire pressure", "pressure_kpa", _BYTE, Fraction(4)),
    # J-03: 0.03125 degC (1/32) a bit, offset -273 degC, to 1734.96875 degC, confirmed
    242: Parameter("tire temperature", "tire_degc", _TWO_BYTES, Fraction(1, 32), -273.0),
    # J-04: confirmed. No name that begins with "tire_": that would be read as a temperature without its measure.
    1698: _states("tire status", "status", ("no_fault", "leak"), _ERROR, _NOT_AVAILABLE),
    # J-05: both confirmed
    1697: _states("electrical fault", "electrical_fault", ("no_fault",), _RESERVED, _ERROR, _NOT_AVAILABLE),
    1699: _states("sensor status", "sensor", ("off_or_isolated", "on_and_polled"), _RESERVED, _NOT_AVAILABLE),
    # J-06: 0.1 Pa/s a bit, to 6425.5 Pa/s, confirmed
    2586: Parameter("air leakage rate", "leak_rate_pa_per_s", _TWO_BYTES, Fraction(1, 10)),
    # J-07: confirmed
    2587: _states(
        "pressure threshold detection", "threshold", ("extreme_over", "over", "no_warning", "under", "extreme_under"),
        _RESERVED, _ERROR, _NOT_AVAILABLE,
    ),
}  # fmt: skip

# Tires of an axle from left to right, facing forward, from number 0 (J-01, confirmed). The same number is another side
# where the axle has another number of tires.
_TIRES_ACROSS = (
    (("left", "single"), ("right", "single")),
    (("left", "outer"), ("left", "inner"), ("right", "inner"), ("right", "outer")),
)

# J-09, confirmed: parameters of PGN 64953, which look like ours and scale otherwise.
_OTHER_MESSAGE = {"spn_3190": "location", "spn_3191": "pressure, 8 kPa a bit,"}

_LOCATED_BY = "spn_929"
_COLUMNS = (
    columns("readings")["unit", False],
    columns("readings")["read_on", False],
    *(Column(f"spn_{spn}", "whole", p.words, key=spn == 929) for spn, p in PARAMETERS.items()),
)


# ---- scaling


@overload
def scaled(spn: int, raw: float) -> tuple[float, str]: ...
@overload
def scaled(spn: int, raw: npt.ArrayLike) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.str_]]: ...


def scaled(spn: int, raw: Any) -> tuple[Any, Any]:
    """Value and status of raw numbers of one parameter.

    Parameters
    ----------
    spn : {929, 241, 242, 1697, 1698, 1699, 2586, 2587}
        Suspect parameter number of SAE J1939.
    raw : number or array of numbers, any shape
        Whole numbers as they stand in the message, 0 to ``2**bits - 1``. NaN: no message, which is ``not_available``.

    Returns
    -------
    value : float, or array of float of the shape of ``raw``
        NaN where the status is not ``value``. 241: kPa, gauge, 0 to 1000. 242: degC, -273 to 1734.96875. 2586: Pa/s,
        0 to 6425.5. All others: the raw number.
    status : str, or array of str of the shape of ``raw``
        ``value``, ``not_available``, ``error`` or ``reserved``.

    Raises
    ------
    BadCall
        Another parameter, a number that is not whole, or one that the bits of the parameter cannot write.

    Notes
    -----
    Resolution, offset and codes: SAE J1939-71 and J1939 digital annex, PGN 65268, from public listings.

    Examples
    --------
    >>> scaled(241, 172)
    (688.0, 'value')
    >>> scaled(241, 255)
    (nan, 'not_available')
    """
    if spn not in PARAMETERS:
        raise BadCall(f"spn: expected one of {', '.join(map(str, PARAMETERS))}, got {spn!r}")
    parameter = PARAMETERS[spn]
    try:
        numbers = np.asarray(raw, np.float64)
    except (TypeError, ValueError):
        raise BadCall(f"raw: expected a number or an array of numbers, got {raw!r}") from None
    if (_is_broken(numbers) | _is_beyond(numbers, parameter)).any():
        raise BadCall(f"raw: expected whole numbers from 0 to {2**parameter.bits - 1} ({parameter.words})")
    value, status = _scale(parameter, numbers)
    names = np.array(STATUSES)[status]
    return (value, names) if numbers.ndim else (float(value), str(names))


def _is_broken(raw: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    broken: npt.NDArray[np.bool_] = ~np.isnan(raw) & (raw != np.floor(raw))
    return broken


def _is_beyond(raw: npt.NDArray[np.float64], parameter: Parameter) -> npt.NDArray[np.bool_]:
    beyond: npt.NDArray[np.bool_] = (raw < 0) | (raw >= 2**parameter.bits)
    return beyond


def _scale(parameter: Parameter, raw: npt.NDArray[np.float64]) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.int8]]:
    """Values (NaN where there is none) and statuses of numbers that the parameter can write, or NaN."""
    there = ~np.isnan(raw)
    found = parameter.status[np.where(there, raw, 0).astype(np.int32)]
    status = np.where(there, found, np.int8(_NOT_AVAILABLE))
    # Times the numerator first: both steps then give the double nearest to the decimal (3 bits of 0.1 are 0.3).
    value = raw * parameter.resolution.numerator / parameter.resolution.denominator + parameter.offset
    return np.where(status == _VALUE, value, np.nan), status


# ---- the table of messages

_NOT_A_NUMBER = "not a number: write the raw number in decimal digits (172), or hexadecimal ones after 0x (0xAC)"
_GIVE_RAW = "give the raw number of the message, not the value it stands for"
_NO_LOCATION = "the message does not say which tire it speaks of: find the place of its sensor, and fill it in"
_CODES = {
    _ERROR: ("error_code", "the message gives its error code: have the sensor checked, and read the tire by hand"),
    _RESERVED: (
        "reserved_code",
        "a number to which the standard gives no meaning: check the device or the program that wrote it",
    ),
}
_HEXADECIMAL = re.compile("0[xX][0-9a-fA-F]+")


class _MessageIntake(TableIntake):
    """The table of messages into scaled columns.

    Dates and locations are kept as written besides: for the result, and for what is said of a location that is no tire.
    """

    def __init__(self, source: Source, issues: Issues, style: Style, coders: Mapping[str, Coder]) -> None:
        self.source, self.table, self.issues, self.style, self.coders = source, "messages", issues, style, coders
        self.fields, self.refused = _resolve(source.header)
        self.grooves = []
        self.rows_in = self.rows_refused = 0
        self.written: dict[str, list[pa.Array]] = {"read_on": [], _LOCATED_BY: []}
        _require_columns(self.fields, source)
        self._note_header()

    def _check_field(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        super()._check_field(f, array, piece)
        if f.name in self.written:
            before = sum(map(len, self.written[f.name]))
            piece.columns["written"] = np.arange(before, before + len(array))
            self.written[f.name].append(array)

    def _check_number(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        assert f.column is not None
        parameter = PARAMETERS[int(f.name.removeprefix("spn_"))]
        raw, present = _raw_numbers(array)
        room = f"{parameter.bits} bits (0 to {2**parameter.bits - 1})"
        problems = {
            ("not_a_number", _NOT_A_NUMBER): present & np.isnan(raw),
            ("not_whole", f"not a whole number: {_GIVE_RAW}"): _is_broken(raw),
            ("out_of_range", f"no number of {room}: {_GIVE_RAW}"): _is_beyond(raw, parameter) & ~_is_broken(raw),
        }
        unusable = np.any(list(problems.values()), axis=0)
        values, status = _scale(parameter, np.where(unusable, np.nan, raw))
        problems |= {problem: status == code for code, problem in _CODES.items()}
        said_nothing = present & ~unusable & (status == _NOT_AVAILABLE)
        if f.column.key:
            problems["not_available", _NO_LOCATION] = said_nothing
        piece.columns[f.name] = values
        self._settle(f, array, piece, status == _VALUE, problems, present & ~said_nothing)


def _resolve(header: list[str]) -> tuple[list[Field], list[_header.HeaderIssue]]:
    known = {(c.name, False): c for c in _COLUMNS}
    fields, refused = [], []
    likely = _header.Likely(known, header, grooves=False)
    for index, written in enumerate(header):
        found = _header._match(index, written, known, {}, "messages", (), likely)
        if isinstance(found, _header.Field):
            fields.append(found)
        elif (other := _OTHER_MESSAGE.get(written.strip().lower())) is not None:
            message = f"{other} of another message (PGN 64953), not read: give the parameters of PGN 65268"
            refused.append(_header.HeaderIssue(index, written, "other_message", "cell", message))
        else:
            refused.append(found)
    return _header._refuse_doubles(fields, refused)


def _require_columns(fields: list[Field], source: Source) -> None:
    have = {f.name for f in fields}
    missing = [c.name for c in _COLUMNS if c.key and c.name not in have]
    if missing:
        raise DataRefused(
            f"{source.name} is not a table of tire messages: it lacks, or has twice, {', '.join(missing)}. Its header "
            f"is: {', '.join(source.header[:12])}. Name the columns unit, read_on, spn_929, spn_241 and so on"
        )
    others = [c.name for c in _COLUMNS if not c.key]
    if have.isdisjoint(others):
        raise DataRefused(f"{source.name} has no parameter that can be read: give one of {', '.join(others)}")


def _raw_numbers(array: pa.Array) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    """Numbers (NaN where there is none) and where a cell is filled in."""
    if not _cells.is_text(array):
        read = _cells.numbers(array)
        return np.where(read.status == _cells.NUMBER, read.values, np.nan), read.status != _cells.MISSING
    coded = _cells.words(array)
    read = _cells.numbers(coded.dictionary)
    # A number of more digits than a double has is none that a message can hold, however it rounds.
    numbers = np.append(np.where(read.status == _cells.NUMBER, read.values, np.nan), np.nan)
    for i, word in enumerate(coded.dictionary.to_pylist()):
        if _HEXADECIMAL.fullmatch(word):
            numbers[i] = min(int(word, 16), 2**32)  # beyond any parameter, and not beyond a double
    missing = len(coded.dictionary)
    index = pc.fill_null(coded.indices, missing).to_numpy(zero_copy_only=False)
    return numbers[index], index < missing


# ---- places

_SIDES, _DUALS = tuple(_core.codes["side"]), tuple(_core.codes["dual"])
_MOST_AXLES = 32  # more than the positions table takes (30) and a nibble counts (16)
_UNTOLD = -1


def _place_code(side: Any, dual: Any) -> Any:
    return side * len(_DUALS) + dual


def _place_table() -> npt.NDArray[np.int8]:
    """Place by the set of places of an axle, as bits, and the number of the tire."""
    table = np.full((1 << (len(_SIDES) * len(_DUALS)), 16), _UNTOLD, np.int8)
    for tires in _TIRES_ACROSS:
        places = [_place_code(_SIDES.index(side), _DUALS.index(dual)) for side, dual in tires]
        table[sum(1 << place for place in places), : len(places)] = places
    return table


_PLACE = _place_table()


def _axle_sets(places: Checked, units: int) -> npt.NDArray[np.uint8]:
    """The set of places of each axle, as bits; 0 where there is no axle."""
    c = places.columns
    sets = np.zeros((units, _MOST_AXLES), np.uint8)
    bits = np.left_shift(1, _place_code(c["side"], c["dual"])).astype(np.uint8)
    np.bitwise_or.at(sets, (c["unit"], c["axle"]), bits)
    return sets


def _locate(
    table: Checked,
    written: list[pa.Array],
    places: Checked,
    fleet: Positions,
    coder: Coder,
    known_units: int,
    issues: Issues,
) -> npt.NDArray[np.int32]:
    """Position of each message; those that cannot be told are refused. ``written`` holds their locations."""
    c = table.columns
    location = c[_LOCATED_BY].astype(np.int32)
    c["axle"], number = (location >> 4) + 1, location & 15
    strange = c["unit"] >= known_units  # refused below, with the likeliest name
    tires = _axle_sets(places, known_units)[np.where(strange, 0, c["unit"]), c["axle"]]
    place = np.where(strange, np.int8(0), _PLACE[tires, number])
    c["side"], c["dual"] = place // len(_DUALS), place % len(_DUALS)
    _refuse_untold(table, written, tires, number, place, issues)
    return _positions.locate(table, fleet, coder, known_units, issues)


def _refuse_untold(
    table: Checked,
    written: list[pa.Array],
    tires: npt.NDArray[np.uint8],
    number: npt.NDArray[np.int32],
    place: npt.NDArray[np.int8],
    issues: Issues,
) -> None:
    untold = place == _UNTOLD
    has_numbers = (_PLACE != _UNTOLD).any(axis=1)[tires]
    axle = table.columns["axle"]
    remedies = {
        "unknown_axle": (tires == 0, "correct the location, or add the axle to the positions table"),
        "axle_layout": (
            (tires != 0) & ~has_numbers,
            "tires are numbered on axles of two singles or of two pairs of duals only: complete the positions table",
        ),
        "unknown_position": (has_numbers, "correct the location, or complete the positions table"),
    }
    for rule, (mask, remedy) in remedies.items():
        at = np.flatnonzero(untold & mask)
        texts = _cells.as_text(_as_written(table, written, at))
        messages = (
            f"tire {number[i] + 1} from the left on axle {axle[i]}, of whose tires the positions table lists "
            f"{int(tires[i]).bit_count()}: {remedy}"
            for i in at
        )
        issues.add(table.place, table.rows[at], table.headers[_LOCATED_BY], texts, rule, "row", messages)
    table.keep(~untold)


def _as_written(table: Checked, written: list[pa.Array], rows: npt.NDArray[np.intp]) -> pa.Array:
    """Cells of the source, of rows that are still in use."""
    return pa.chunked_array(written).take(pa.array(table.columns["written"][rows])).combine_chunks()


# ---- readings


@dataclass(frozen=True)
class Decoded:
    """Readings of tire messages, and what could not be used of them.

    Attributes
    ----------
    readings : pyarrow.Table
        One row per message that can be used, in their order.
    issues : pyarrow.Table
        One row per problem of the two tables, with the columns of the data dictionary's ``issues``.
    counts : dict of str to Counts
        Rows and values of ``messages`` and ``positions``: in, used, refused. Not-available codes are no values.
    """

    readings: pa.Table
    issues: pa.Table
    counts: dict[str, Counts]

    def __repr__(self) -> str:
        """How much came out; the rows are not listed."""
        return f"<wheelend.j1939.Decoded: {len(self.readings)} readings, {len(self.issues)} issues>"


def readings(messages: Any, positions: Any, *, today: dt.date | str | None = None) -> Decoded:
    """Readings from messages of PGN 65268 (Tire Condition), as :func:`wheelend.read_log` takes them.

    Parameters
    ----------
    messages : path, data frame, Arrow table or stream, DuckDB relation, or dict of arrays
        One row per message: ``unit``, ``read_on`` (date or RFC 3339 timestamp), ``spn_929`` (location of the tire) and
        at least one of ``spn_241`` (pressure), ``spn_242`` (temperature), ``spn_1698`` (tire status), ``spn_1697``
        (electrical fault), ``spn_1699`` (sensor status), ``spn_2586`` (leak rate), ``spn_2587`` (threshold detection).
        Raw whole numbers, two bytes already put together, in decimal digits or hexadecimal ones after ``0x``. Files:
        CSV, Parquet, xlsx. Missing values: blank, ``n/a``, null, NaN, and the not-available code.
    positions : path, data frame, Arrow table or stream, DuckDB relation, or dict of arrays
        The positions table: the number of a tire is a side only once it is known how many tires the axle has.
    today : date, optional
        Messages of later days are refused; by default the machine's date.

    Returns
    -------
    Decoded
        ``readings`` has ``unit``, ``axle`` (from 1), ``side``, ``dual``, ``read_on``, ``pressure_kpa`` (gauge, 0 to
        1000), ``tire_degc`` (-273 to 1734.96875), and of each further parameter that came in, with names that
        ``read_log`` notes and does not read: ``status``, ``electrical_fault``, ``sensor`` and ``threshold`` (words)
        and ``leak_rate_pa_per_s`` (0 to 6425.5). Missing values are null. A date stays a date; timestamps stay as they
        were written. Error and reserved codes cost their value; an unknown unit, an axle or a tire that the positions
        table has not, and an axle without two singles or four duals cost the row: rows in = rows of ``readings`` +
        rows refused.

    Raises
    ------
    DataRefused
        Nothing of a table can be used.
    BadCall
        An argument is none of those above.

    Notes
    -----
    Scaling, codes and location: SAE J1939-71 and J1939 digital annex, from public listings; the table at the head of
    this module says of each what is confirmed. The high nibble of the location is the axle from the front, the low one
    the tire from the left, both from 0, for each unit anew.

    No message says whether the vehicle ran: give the readings a column ``warm`` where it did, or a warm pressure is
    judged as a cold one.
    """
    style = Style(today=day_number(today if today is not None else dt.date.today()))
    issues = Issues()
    try:
        return _read(messages, positions, style, issues)
    except DataRefused as refusal:
        issues.add((refusal.file, ""), [1], "", "", "refused", "row", str(refusal))
        refusal.issues = issues
        raise


def _read(messages: Any, positions: Any, style: Style, issues: Issues) -> Decoded:
    coders = {name: Coder() for name in ("unit", "tire", "text", "attribute")}
    units = coders["unit"]
    source = open_source(positions, "positions")
    places = TableIntake(source, "positions", issues, style, {}, coders, attributes=None).read()
    fleet = _positions.build(places, units, issues, one_row_each=True)
    known_units = len(units.names)
    intake = _MessageIntake(open_source(messages, "messages"), issues, style, coders)
    table = intake.read()
    found = _locate(table, intake.written[_LOCATED_BY], places, fleet, units, known_units, issues)
    if len(table) == 0:
        raise DataRefused(none_usable(table.place[0], table.rows_in, issues))
    counts = {"messages": table.counts(), "positions": places.counts()}
    return Decoded(_table(table, fleet, found, intake.written["read_on"]), issues.table(), counts)


def _table(table: Checked, fleet: Positions, found: npt.NDArray[np.int32], written: list[pa.Array]) -> pa.Table:
    out = {
        "unit": _results.names_of(fleet.unit[found], fleet.units),
        "axle": pa.array(fleet.axle[found], pa.int32()),
        "side": _results.names_of(fleet.side[found], _SIDES),
        "dual": _results.names_of(fleet.dual[found], _DUALS),
        "read_on": _read_on(table, written),
    }
    nothing = np.full(len(table), np.nan)
    for spn in (241, 242):  # what readings are for: there, if empty, in every result
        out[PARAMETERS[spn].column] = _results.numbers(table.columns.get(f"spn_{spn}", nothing))
    for spn, parameter in PARAMETERS.items():
        values = table.columns.get(f"spn_{spn}")
        if values is not None and parameter.column and parameter.column not in out:
            out[parameter.column] = _values(parameter, values)
    return pa.table(out)


def _values(parameter: Parameter, values: npt.NDArray[np.float64]) -> pa.Array:
    if not parameter.states:
        return _results.numbers(values)
    return _results.names_of(np.where(np.isnan(values), -1, values), parameter.states)


def _read_on(table: Checked, written: list[pa.Array]) -> pa.Array:
    """Dates where all are; else the cells as written, since an instant does not know the day of its place."""
    if (table.columns["read_on_form"] == _cells.DATE).all():
        return pa.array(table.columns["read_on"], pa.int32()).cast(pa.date32())
    return _as_written(table, written, np.arange(len(table)))
