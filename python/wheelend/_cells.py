"""Cells of one column of a block: values and, for each cell, whether it is missing, usable, or why it is not."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core

if TYPE_CHECKING:
    import numpy.typing as npt

_NUMBER_CELL, _DATE_CELL = _core.codes["number_cell"], _core.codes["date_cell"]
NUMBER = _NUMBER_CELL.index("number")
MISSING = _NUMBER_CELL.index("missing")
DECIMAL_COMMA = _NUMBER_CELL.index("decimal_comma")
THOUSANDS = _NUMBER_CELL.index("thousands")
NOT_FINITE = _NUMBER_CELL.index("not_finite")
NOT_A_NUMBER = _NUMBER_CELL.index("not_a_number")
LONG_NUMBER = _NUMBER_CELL.index("long_number")
DATE = _DATE_CELL.index("date")
LOCAL_TIME = _DATE_CELL.index("local_time")
ZONED_TIME = _DATE_CELL.index("zoned_time")
DATE_MISSING = _DATE_CELL.index("missing")
OTHER_ORDER = _DATE_CELL.index("other_order")
TWO_DIGIT_YEAR = _DATE_CELL.index("two_digit_year")
NO_SUCH_DAY = _DATE_CELL.index("no_such_day")
SERIAL = _DATE_CELL.index("serial")
NOT_A_DATE = _DATE_CELL.index("not_a_date")
MICROSECONDS_PER_DAY = 86_400_000_000
_MISSING_WORDS = ("", "n/a", "na", "nan", "null", "none", "-")


@dataclass
class Numbers:
    """Values (NaN where not usable), statuses, and the texts of cells that hold more digits than a double."""

    values: npt.NDArray[np.float64]
    status: npt.NDArray[np.uint8]
    long_texts: list[tuple[int, str]] = field(default_factory=list)


@dataclass
class Dates:
    day: npt.NDArray[np.int32]
    microsecond: npt.NDArray[np.int64]
    status: npt.NDArray[np.uint8]

    def usable(self) -> npt.NDArray[np.bool_]:
        return self.status <= ZONED_TIME


def plain(array: pa.Array) -> pa.Array:
    """Without dictionary coding and views."""
    if pa.types.is_dictionary(array.type):
        array = array.dictionary_decode()
    if array.type in (pa.string_view(), pa.binary_view()):
        array = array.cast(pa.large_string())
    return array


def is_text(array: pa.Array) -> bool:
    return bool(pa.types.is_string(array.type) or pa.types.is_large_string(array.type))


def as_text(array: pa.Array) -> pa.Array:
    """Each cell as it would be written; a whole float without its point ('101', not '101.0')."""
    array = plain(array)
    if is_text(array):
        return array.cast(pa.large_string())
    if pa.types.is_boolean(array.type):
        return pc.if_else(array, "yes", "no").cast(pa.large_string())
    if pa.types.is_floating(array.type):
        text = array.cast(pa.large_string())
        return pc.replace_substring_regex(text, r"\.0$", "")
    try:
        return array.cast(pa.large_string())
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError):
        return pa.array([None if v is None else str(v) for v in array.to_pylist()], pa.large_string())


def buffers(text: pa.Array) -> tuple[Any, Any, Any]:
    """Offsets, bytes and validity of a large_string array, as the core takes them."""
    n = len(text)
    _, offsets, data = text.buffers()
    if n == 0 or offsets is None:
        return np.zeros(1, np.int64), np.zeros(0, np.uint8), None
    o = np.frombuffer(offsets, np.int64)[text.offset : text.offset + n + 1]
    d = np.zeros(0, np.uint8) if data is None else np.frombuffer(data, np.uint8)
    valid = None
    if text.null_count:
        valid = text.is_valid().to_numpy(zero_copy_only=False).astype(np.uint8)
    return o, d, valid


def numbers(array: pa.Array, decimal: str = ".", thousands: str = "") -> Numbers:
    """A column as numbers. Doubles stand for their shortest decimals, text for the decimal written."""
    array = plain(array)
    kind = array.type
    if is_text(array):
        return _numbers_of_text(array.cast(pa.large_string()), decimal, thousands)
    if pa.types.is_decimal(kind) or pa.types.is_float16(kind) or pa.types.is_float32(kind):
        # Through text: a 32-bit 3.17 means 3.17, not the binary fraction nearest to it.
        return _numbers_of_text(array.cast(pa.large_string()), ".", "")
    if pa.types.is_integer(kind) or pa.types.is_floating(kind):
        values = array.cast(pa.float64(), safe=False).to_numpy(zero_copy_only=False)
        values = np.ascontiguousarray(values, dtype=np.float64)
        status = np.where(np.isnan(values), MISSING, np.where(np.isinf(values), NOT_FINITE, NUMBER))
        if np.isinf(values).any():
            values = np.where(np.isinf(values), np.nan, values)
        return Numbers(values, status.astype(np.uint8))
    missing = array.is_null(nan_is_null=True).to_numpy(zero_copy_only=False)
    status = np.where(missing, MISSING, NOT_A_NUMBER).astype(np.uint8)
    return Numbers(np.full(len(array), np.nan), status)


def _plain_blanks(text: pa.Array) -> pa.Array:
    """With the blanks of ASCII for no-break, narrow and thin ones, and without wide ones round a cell.

    The core knows the blanks of ASCII only; they are all that most files have.
    """
    data = text.buffers()[2]
    if data is None or not (np.frombuffer(data, np.uint8) & 0x80).any():
        return text
    return pc.utf8_trim_whitespace(pc.replace_substring_regex(text, "[\u00a0\u2009\u202f]", " "))


def _numbers_of_text(text: pa.Array, decimal: str, thousands: str) -> Numbers:
    text = _plain_blanks(text)
    values, status = _core.parse_numbers(*buffers(text), decimal, thousands)
    long_texts = []
    if (status == LONG_NUMBER).any():
        for i in np.flatnonzero(status == LONG_NUMBER):
            written = text[int(i)].as_py().strip()
            joined = written.replace(thousands, "") if thousands else written
            long_texts.append((int(i), joined.replace(decimal, ".")))
    return Numbers(values, status, long_texts)


def dates(array: pa.Array, order: str) -> Dates:
    """A column as days and instants. Dates stay dates: their instant is their midnight."""
    array = plain(array)
    kind = array.type
    if pa.types.is_date(kind):
        day = pc.fill_null(array.cast(pa.date32()).cast(pa.int32()), 0).to_numpy(zero_copy_only=False)
        return _dates_of(array, day.astype(np.int32), day.astype(np.int64) * MICROSECONDS_PER_DAY, DATE)
    if pa.types.is_timestamp(kind):
        zone = kind.tz
        micro = pc.fill_null(array.cast(pa.timestamp("us", zone), safe=False).cast(pa.int64()), 0)
        micro = micro.to_numpy(zero_copy_only=False).astype(np.int64)
        local = pc.local_timestamp(array) if zone is not None else array
        local_us = pc.fill_null(local.cast(pa.timestamp("us"), safe=False).cast(pa.int64()), 0)
        day = np.floor_divide(local_us.to_numpy(zero_copy_only=False), MICROSECONDS_PER_DAY)
        # A data frame has no other way to write a date than a midnight without a zone.
        midnight = zone is None and bool((micro % MICROSECONDS_PER_DAY == 0).all())
        status = DATE if midnight else (LOCAL_TIME if zone is None else ZONED_TIME)
        return _dates_of(array, day.astype(np.int32), micro, status)
    text = _plain_blanks(as_text(array))
    day, micro, status = _core.parse_dates(*buffers(text), order)
    return Dates(day, micro, status)


def _dates_of(array: pa.Array, day: Any, micro: Any, status: int) -> Dates:
    missing = array.is_null().to_numpy(zero_copy_only=False)
    return Dates(day, micro, np.where(missing, DATE_MISSING, status).astype(np.uint8))


def words(array: pa.Array) -> pa.Array:
    """A text column, blanks cut, missing words (n/a, blank) as null. Dictionary coded."""
    text = pc.utf8_trim_whitespace(as_text(array))
    missing = pc.is_in(pc.utf8_lower(text), pa.array(_MISSING_WORDS, pa.large_string()))
    return pc.if_else(missing, pa.scalar(None, pa.large_string()), text).dictionary_encode()


def codes(array: pa.Array, names: tuple[str, ...]) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.bool_]]:
    """Code of each cell among ``names`` (-1: missing or not one of them) and a mask of those that are not one."""
    coded = words(array)
    table = np.array(
        [names.index(w.lower()) if w.lower() in names else -2 for w in coded.dictionary.to_pylist()] + [-1],
        np.int8,
    )
    index = pc.fill_null(coded.indices, len(table) - 1).to_numpy(zero_copy_only=False)
    found = table[index]
    return np.where(found < 0, np.int8(-1), found), found == -2


YES_NO = {"yes": 1, "y": 1, "true": 1, "1": 1, "no": 0, "n": 0, "false": 0, "0": 0}


def yes_no(array: pa.Array) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.bool_]]:
    """1 yes, 0 no, -1 missing, and a mask of cells that say neither."""
    coded = words(array)
    table = np.array([YES_NO.get(w.lower(), -2) for w in coded.dictionary.to_pylist()] + [-1], np.int8)
    index = pc.fill_null(coded.indices, len(table) - 1).to_numpy(zero_copy_only=False)
    found = table[index]
    return np.where(found < 0, np.int8(-1), found), found == -2


class Coder:
    """Numbers text values in the order in which they come."""

    def __init__(self) -> None:
        self.names: list[str] = []
        self._code: dict[str, int] = {}

    def code_of(self, name: str) -> int:
        code = self._code.get(name)
        if code is None:
            code = self._code[name] = len(self.names)
            self.names.append(name)
        return code

    def find(self, name: str) -> int:
        return self._code.get(name, -1)

    def codes(self, array: pa.Array, *, extend: bool = True) -> npt.NDArray[np.int32]:
        """Code of each cell; -1 where missing, or unknown when ``extend`` is off."""
        coded = words(array)
        number = self.code_of if extend else self.find
        table = np.array([number(w) for w in coded.dictionary.to_pylist()] + [-1], np.int32)
        index = pc.fill_null(coded.indices, len(table) - 1).to_numpy(zero_copy_only=False)
        found: npt.NDArray[np.int32] = table[index]
        return found
