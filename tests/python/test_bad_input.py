"""Bad input: each way in which a file can be wrong, with the row, column, effect and remedy that must be said."""

from __future__ import annotations

import codecs
import random
import re
import zipfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet
import pytest
import xlsxwriter

import wheelend
from wheelend import BadCall, BadValue, DataRefused, _sources

TODAY = "2025-06-20"
VALUES = 6  # of a row of the fixture, besides its keys
ROWS = 6
BALD = ("T1", 1, "left")  # its tread fails in row 2 of the fixture, whatever single value is spoiled
MEASURED = (
    *("odometer_mi", "tread_outer_32nds", "tread_middle_32nds", "tread_inner_32nds"),
    *("pressure_psi", "tire_degf"),
)
BLANK = "\u00a0"  # no-break space, as web pages and word processors leave it


@dataclass(frozen=True)
class Issue:
    """What ``issues`` must say. ``text`` is compared where it is given, ``remedy`` must stand in the message."""

    row: int
    column: str
    effect: str
    rule: str
    remedy: str
    text: str | None = None


@dataclass(frozen=True)
class Case:
    """A spoiled table. ``lost`` counts the values that are not used, ``rows`` and ``used`` the rows in and used."""

    name: str
    edit: Callable[[Any], Any]  # takes the table, gives it back, or text or bytes
    expect: tuple[Issue, ...] = ()
    lost: int = 0
    rows: int = ROWS
    used: int = ROWS
    values: int | None = None  # in the rows that are used; by default six a row
    bald: bool = True  # whether the bald tire of row 2 is still found
    options: dict[str, Any] = field(default_factory=dict)
    file: str = "readings.csv"


def row(at: int, column: str, rule: str, remedy: str, text: str | None = None) -> Issue:
    return Issue(at, column, "row", rule, remedy, text)


def cell(at: int, column: str, rule: str, remedy: str, text: str | None = None) -> Issue:
    return Issue(at, column, "cell", rule, remedy, text)


def note(at: int, column: str, rule: str, remedy: str, text: str | None = None) -> Issue:
    return Issue(at, column, "note", rule, remedy, text)


def bad_cell(name: str, column: str, text: str, rule: str, remedy: str, **options: Any) -> Case:
    """A value of the bald tire that cannot be used: it alone is lost."""
    return Case(name, lambda t: t.set(2, column, text), (cell(2, column, rule, remedy, text),), lost=1, options=options)


def bad_key(name: str, column: str, text: str, rule: str, remedy: str, **options: Any) -> Case:
    """A key of row 3 that cannot be used: the row is lost, the bald tire beside it is not."""
    shown = text if rule != "missing_key" else ""
    return Case(name, lambda t: t.set(3, column, text), (row(3, column, rule, remedy, shown),), used=5, options=options)


def fine(name: str, edit: Callable[[Any], Any], **other: Any) -> Case:
    return Case(name, edit, **other)


def missing(name: str, column: str, text: str) -> Case:
    """A cell that says nothing: no problem, and no value."""
    return Case(name, lambda t: t.set(2, column, text), values=ROWS * VALUES - 1)


def lost_column(name: str, edit: Callable[[Any], Any], *expect: Issue, columns: int = 1) -> Case:
    """A column that cannot be read: its six values are lost, the rest is used."""
    return Case(name, edit, expect, lost=ROWS * columns, values=ROWS * (VALUES + columns - 1))


NUMBER = "write the number alone"
LEAVE_BLANK = "leave the cell blank"
ISO = "YYYY-MM-DD"

HEADERS = [
    lost_column(
        "no measure on a column",
        lambda t: t.set(1, "pressure_psi", "pressure"),
        cell(1, "pressure", "missing_measure", "_psi or _kpa or _bar", "pressure"),
    ),
    lost_column(
        "no measure on a groove",
        lambda t: t.set(1, "tread_middle_32nds", "tread_middle"),
        cell(1, "tread_middle", "missing_measure", "--measure tread_middle=32nds"),
    ),
    fine(
        "no measure on a column, but given",
        lambda t: t.set(1, "pressure_psi", "pressure"),
        options={"measures": {"pressure": "psi"}},
    ),
    fine(
        "given measure in other letters",
        lambda t: t.set(1, "pressure_psi", "Pressure"),
        options={"measures": {"pressure": "PSI"}},
    ),
    fine("given measure that says the same", lambda t: t, options={"measures": {"pressure_psi": "psi"}}),
    lost_column(
        "a measure nobody has",
        lambda t: t.set(1, "pressure_psi", "pressure_furlong"),
        cell(1, "pressure_furlong", "unknown_measure", "_psi or _kpa or _bar"),
    ),
    lost_column(
        "a measure of something else",
        lambda t: t.set(1, "pressure_psi", "pressure_mm"),
        cell(1, "pressure_mm", "unknown_measure", "_psi or _kpa or _bar"),
    ),
    lost_column(
        "two measures for one quantity",
        lambda t: t.column("pressure_kpa", "690"),
        cell(1, "pressure_psi", "two_columns", "keep one"),
        cell(1, "pressure_kpa", "two_columns", "keep one"),
        columns=2,
    ),
    lost_column(
        "two measures for one groove",
        lambda t: t.column("tread_inner_mm", "9"),
        cell(1, "tread_inner_32nds", "two_columns", "keep one"),
        cell(1, "tread_inner_mm", "two_columns", "keep one"),
        columns=2,
    ),
    lost_column(
        "one header twice",
        lambda t: t.column("x", "75").set(1, "x", "tire_degf"),
        cell(1, "tire_degf", "two_columns", "keep one"),
        cell(1, "tire_degf", "two_columns", "keep one"),
        columns=2,
    ),
    Case(
        "a misspelt column",
        lambda t: t.column("presure_psi", "99").drop("pressure_psi"),
        (note(1, "presure_psi", "unknown_column", "did you mean 'pressure_psi'?", "presure_psi"),),
        values=ROWS * 5,
    ),
    Case(
        "a column of the fleet's own",
        lambda t: t.column("colour", "red"),
        (note(1, "colour", "unknown_column", "not read"),),
    ),
    fine(
        "headers in capitals and with blanks",
        lambda t: t.set(1, "pressure_psi", " Pressure_PSI ").set(1, "unit", "UNIT"),
    ),
    fine("header with no-break blanks", lambda t: t.set(1, "pressure_psi", f"{BLANK}pressure_psi{BLANK}")),
    fine("header with a line break after it", lambda t: t.set(1, "pressure_psi", "pressure_psi\n")),
]

NUMBERS = [
    bad_cell("mm in a 32nds column", "tread_outer_32nds", "41", "out_of_range", "another measure"),
    bad_cell("a pressure in kPa typed under psi", "pressure_psi", "690", "out_of_range", "another measure"),
    Case(
        "an unusual depth is used",
        lambda t: t.set(4, "tread_outer_32nds", "33"),
        (note(4, "tread_outer_32nds", "unusual", "check the reading", "33"),),
    ),
    Case(
        "the deepest depth that is used",
        lambda t: t.set(4, "tread_outer_32nds", "40"),
        (note(4, "tread_outer_32nds", "unusual", "check the reading", "40"),),
    ),
    fine("the deepest usual depth", lambda t: t.set(4, "tread_outer_32nds", "32")),
    bad_cell("decimal comma", "tread_outer_32nds", "2,5", "decimal_comma", "--decimal ,"),
    bad_cell("decimal comma with one zero", "tread_outer_32nds", "0,125", "decimal_comma", "--decimal ,"),
    bad_cell("thousands comma", "odometer_mi", "120,000", "thousands", "--thousands ,"),
    bad_cell("thousands comma in one cell only", "pressure_psi", "1,234", "thousands", "write the digits alone"),
    bad_cell("thousands comma and a point", "odometer_mi", "120,000.5", "thousands", "--thousands ,"),
    bad_cell("thousands blank", "odometer_mi", "120 000", "thousands", "write the digits alone"),
    bad_cell("thousands no-break blank", "odometer_mi", f"120{BLANK}000", "thousands", "write the digits alone"),
    fine(
        "thousands no-break blank as agreed",
        lambda t: t.set(2, "odometer_mi", "120\u202f000"),
        options={"thousands": " "},
    ),
    bad_cell("thousands apostrophe", "odometer_mi", "120'000", "thousands", "write the digits alone"),
    bad_cell("comma at an odd place", "odometer_mi", "12,0000", "decimal_comma", "with a point"),
    bad_cell("two commas", "odometer_mi", "1,2,3", "not_a_number", NUMBER),
    fine("thousands comma as agreed", lambda t: t.set(2, "odometer_mi", "120,000"), options={"thousands": ","}),
    bad_cell("a thousands mark at an odd place", "odometer_mi", "12,00", "decimal_comma", "point", thousands=","),
    missing("blank", "tread_outer_32nds", ""),
    missing("blanks only", "tread_outer_32nds", "   "),
    missing("no-break blank only", "tread_outer_32nds", BLANK),
    missing("wide blank only", "tread_outer_32nds", "\u3000"),
    missing("blank in a text column", "pressure_psi", "\t"),
    missing("NaN", "tread_outer_32nds", "NaN"),
    missing("n/a", "pressure_psi", "n/a"),
    missing("N/A", "pressure_psi", "N/A"),
    missing("NA", "odometer_mi", "NA"),
    missing("null", "tire_degf", "null"),
    missing("None", "tire_degf", "None"),
    missing("a dash", "tire_degf", "-"),
    fine("blanks round a number", lambda t: t.set(2, "tread_outer_32nds", " 2 ")),
    fine("no-break blanks round a number", lambda t: t.set(2, "tread_outer_32nds", f"{BLANK}2{BLANK}")),
    fine("a plus sign", lambda t: t.set(2, "tread_outer_32nds", "+2")),
    fine("a power of ten", lambda t: t.set(2, "odometer_mi", "1.2e5")),
    fine("a bare point", lambda t: t.set(2, "tread_outer_32nds", ".5").set(2, "pressure_psi", "99.")),
    fine("zero", lambda t: t.set(2, "tread_outer_32nds", "0").set(2, "pressure_psi", "-0")),
    fine("more digits than a double holds", lambda t: t.set(2, "tread_outer_32nds", "2.00000000000000000001")),
    bad_cell("negative depth", "tread_outer_32nds", "-2", "negative", "correct it"),
    bad_cell("negative pressure", "pressure_psi", "-99", "negative", "correct it"),
    bad_cell("negative odometer", "odometer_mi", "-120000", "negative", "correct it"),
    bad_cell("infinite", "pressure_psi", "inf", "not_finite", LEAVE_BLANK),
    bad_cell("beyond all numbers", "pressure_psi", "1e999", "not_finite", LEAVE_BLANK),
    bad_cell("a word", "tire_degf", "warm", "not_a_number", NUMBER),
    bad_cell("a letter for a digit", "tread_outer_32nds", "l2", "not_a_number", NUMBER),
    bad_cell("a measure in the cell", "pressure_psi", "99 psi", "not_a_number", NUMBER),
    bad_cell("a fraction", "tread_outer_32nds", "2/32", "not_a_number", NUMBER),
    bad_cell("an inch mark", "tread_outer_32nds", '2"', "not_a_number", NUMBER),
    bad_cell("two numbers", "pressure_psi", "99 / 101", "not_a_number", NUMBER),
    bad_cell("an error of a spreadsheet", "pressure_psi", "#DIV/0!", "not_a_number", NUMBER),
    bad_cell("a hexadecimal number", "pressure_psi", "0x63", "not_a_number", NUMBER),
    bad_cell("digits of another script", "pressure_psi", "\uff19\uff19", "not_a_number", NUMBER),
    bad_cell("a typographic minus", "tread_outer_32nds", "\u22122", "not_a_number", NUMBER),
    bad_cell("a date in a number", "pressure_psi", "2025-06-10", "not_a_number", NUMBER),
    bad_cell("a NUL", "pressure_psi", "9\x009", "not_a_number", NUMBER),
    bad_cell("hotter than rubber stands", "tire_degf", "500", "out_of_range", "correct it"),
    bad_cell("colder than air gets", "tire_degf", "-200", "out_of_range", "correct it"),
    Case(
        "every value of a row",
        lambda t: [t.set(3, n, "x") for n in t.header[5:]][-1],
        tuple(cell(3, n, "not_a_number", NUMBER, "x") for n in MEASURED),
        lost=6,
    ),
]  # fmt: skip

DATES = [
    bad_key("month first", "read_on", "06/10/2025", "date_order", "--dates mdy"),
    bad_key("day first", "read_on", "25/06/2025", "date_order", "dates='dmy'"),
    bad_key("points in a date", "read_on", "10.06.2025", "date_order", ISO),
    fine("month first as agreed", lambda t: t.column("read_on", "06/10/2025"), options={"dates": "mdy"}),
    fine("ISO beside month first as agreed", lambda t: t.set(2, "read_on", "06/10/2025"), options={"dates": "mdy"}),
    bad_key("day first under mdy", "read_on", "25/06/2025", "no_such_day", "correct the date", dates="mdy"),
    bad_key("a year of two digits", "read_on", "06/10/25", "two_digit_year", "in full"),
    bad_key("a year of two digits under mdy", "read_on", "6/10/25", "two_digit_year", "in full", dates="mdy"),
    bad_key("30 February", "read_on", "2025-02-30", "no_such_day", "correct the date"),
    bad_key("29 February of a common year", "read_on", "2025-02-29", "no_such_day", "correct the date"),
    bad_key("month 13", "read_on", "2024-13-01", "no_such_day", "correct the date"),
    bad_key("day 0", "read_on", "2025-06-00", "no_such_day", "correct the date"),
    bad_key("tomorrow", "read_on", "2025-06-21", "future_date", "correct the date"),
    bad_key("next century", "read_on", "2125-06-10", "future_date", "correct the date"),
    bad_key("a year too far back", "read_on", "0025-06-10", "past_date", "correct the date"),
    bad_key("the first day of a spreadsheet", "read_on", "1900-01-01", "past_date", "correct the date"),
    fine("today", lambda t: t.set(3, "read_on", TODAY)),
    bad_key("a spreadsheet's day number", "read_on", "45818", "serial_date", "format the cell as a date"),
    bad_key("a spreadsheet's day and time", "read_on", "45818.375", "serial_date", "format the cell as a date"),
    bad_key("a month in letters", "read_on", "10-Jun-2025", "not_a_date", ISO),
    bad_key("digits only", "read_on", "20250610", "not_a_date", ISO),
    bad_key("words", "read_on", "last Tuesday", "not_a_date", ISO),
    bad_key("hour 25", "read_on", "2025-06-10T25:00", "not_a_date", "RFC 3339"),
    bad_key("no date", "read_on", "", "missing_key", "fill it in"),
    bad_key("n/a for a date", "read_on", "n/a", "missing_key", "fill it in"),
    fine("a time of day", lambda t: t.column("read_on", "2025-06-10T08:30")),
    fine("a time of day after a blank", lambda t: t.column("read_on", "2025-06-10 08:30:00")),
    fine("times with offsets", lambda t: t.column("read_on", "2025-06-10T08:30:00-05:00")),
    fine("a date beside a time", lambda t: t.set(2, "read_on", "2025-06-10T08:30")),
    fine("a date beside a time with an offset", lambda t: t.set(3, "read_on", "2025-06-10T08:30Z")),
    fine("no-break blanks round a date", lambda t: t.set(3, "read_on", f"2025-06-10{BLANK}")),
]  # fmt: skip

KEYS = [
    bad_key("no unit", "unit", "", "missing_key", "fill it in"),
    bad_key("unit n/a", "unit", "n/a", "missing_key", "fill it in"),
    bad_key("unit of a no-break blank", "unit", BLANK, "missing_key", "fill it in"),
    bad_key("unknown unit", "unit", "T1.", "unknown_unit", "did you mean T1?"),
    bad_key("unknown unit, nothing like it", "unit", "bus-40", "unknown_unit", "add the unit"),
    bad_key("a unit in small letters", "unit", "t1", "unknown_unit", "did you mean T1?"),
    fine("blanks round a unit", lambda t: t.set(3, "unit", f" T1{BLANK}")),
    Case(
        "unknown axle",
        lambda t: t.set(3, "axle", "3"),
        (row(3, "", "unknown_position", "correct axle, side or dual", "axle 3 right single"),),
        used=5,
    ),
    Case(
        "an inner tire on an axle of singles",
        lambda t: t.set(3, "dual", "inner"),
        (row(3, "", "unknown_position", "correct axle, side or dual", "axle 1 right inner"),),
        used=5,
    ),
    Case(
        "a single tire on an axle of duals",
        lambda t: t.set(4, "dual", "single"),
        (row(4, "", "unknown_position", "correct axle, side or dual", "axle 2 left single"),),
        used=5,
    ),
    bad_key("axle 0", "axle", "0", "out_of_range", "correct it"),
    bad_key("axle -1", "axle", "-1", "out_of_range", "correct it"),
    bad_key("axle 31", "axle", "31", "out_of_range", "correct it"),
    bad_key("axle 1.5", "axle", "1.5", "not_whole", "correct it"),
    bad_key("axle A", "axle", "A", "not_a_number", NUMBER),
    bad_key("no axle", "axle", "", "missing_key", "fill it in"),
    fine("axle 1.0", lambda t: t.set(3, "axle", "1.0")),
    bad_key("unknown side", "side", "curb", "unknown_code", "write left, right"),
    bad_key("no side", "side", "", "missing_key", "fill it in"),
    fine("a side in capitals", lambda t: t.set(3, "side", "RIGHT")),
    bad_key("unknown dual", "dual", "innner", "unknown_code", "write single, outer, inner"),
    bad_key("no dual", "dual", "NaN", "missing_key", "fill it in"),
    Case(
        "two bad keys in one row are both named",
        lambda t: t.set(3, "side", "curb").set(3, "read_on", "yesterday"),
        (row(3, "side", "unknown_code", "left"), row(3, "read_on", "not_a_date", ISO)),
        used=5,
    ),
    Case(
        "a bad value in a row that is lost is named too",
        lambda t: t.set(3, "side", "curb").set(3, "pressure_psi", "x"),
        (row(3, "side", "unknown_code", "left"), cell(3, "pressure_psi", "not_a_number", NUMBER)),
        used=5,
    ),
    Case(
        "the key of the bald tire",
        lambda t: t.set(2, "side", ""),
        (row(2, "side", "missing_key", "fill it in"),),
        used=5,
        bald=False,
    ),
]  # fmt: skip

REPEATS = [
    Case(
        "one reading twice",
        lambda t: t.again(3),
        (note(8, "", "duplicate_row", "row 3"),),
        rows=7,
        used=7,
    ),
    Case(
        "one reading twice, written otherwise",
        lambda t: t.again(3, axle="1.0", pressure_psi="101.0"),
        (note(8, "", "duplicate_row", "row 3"),),
        rows=7,
        used=7,
    ),
    Case(
        "one reading, two depths",
        lambda t: t.again(3, tread_outer_32nds="3"),
        (note(8, "", "conflict", "rows 3 and 8 disagree on tread: the lower"),),
        rows=7,
        used=7,
    ),
    Case(
        "one reading, two pressures",
        lambda t: t.again(3, pressure_psi="80"),
        (note(8, "", "conflict", "rows 3 and 8 disagree on pressure"),),
        rows=7,
        used=7,
    ),
    Case(
        "one reading, two depths and two pressures",
        lambda t: t.again(3, tread_outer_32nds="3", pressure_psi="80"),
        (note(8, "", "conflict", "rows 3 and 8 disagree on tread and pressure"),),
        rows=7,
        used=7,
    ),
    fine(
        "two places round the tire are no repeat",
        lambda t: t.column("place", "1").again(3, place="2", tread_outer_32nds="11"),
        rows=7,
        used=7,
        values=7 * 7,
    ),
    Case(
        "an odometer that runs back",
        lambda t: (
            t.again(6, read_on="2025-03-10", odometer_mi="90000")
            .again(6, read_on="2025-01-10", odometer_mi="70000")
            .again(7, read_on="2025-03-10", odometer_mi="75000")
        ),
        (note(8, "odometer_mi", "odometer", "correct it", "90000"),),
        rows=9,
        used=9,
    ),
]  # fmt: skip

WORDS = [
    Case(
        "place 1.5",
        lambda t: t.column("place", "1").set(2, "place", "1.5"),
        (cell(2, "place", "not_whole", "correct it", "1.5"),),
        lost=1,
        values=ROWS * 7,
    ),
    Case(
        "place 0",
        lambda t: t.column("place", "1").set(2, "place", "0"),
        (cell(2, "place", "out_of_range", "correct it", "0"),),
        lost=1,
        values=ROWS * 7,
    ),
    Case(
        "wear indicator in an unknown groove",
        lambda t: t.column("tread_barred", "outer;inner").set(2, "tread_barred", "outer;shoulder"),
        (cell(2, "tread_barred", "unknown_groove", "outer, middle, inner", "outer;shoulder"),),
        lost=1,
        values=ROWS * 7,
    ),
    Case(
        "tie bar in an unknown groove",
        lambda t: t.column("not_admissible", "").set(2, "not_admissible", "4"),
        (cell(2, "not_admissible", "unknown_groove", "outer, middle, inner", "4"),),
        lost=1,
        values=ROWS * 6 + 1,
    ),
    fine(
        "grooves in capitals and with blanks",
        lambda t: t.column("tread_barred", " Outer ; INNER "),
        values=ROWS * 7,
    ),
    Case(
        "warm, perhaps",
        lambda t: t.column("warm", "no").set(2, "warm", "perhaps"),
        (cell(2, "warm", "unknown_code", "write yes or no", "perhaps"),),
        lost=1,
        values=ROWS * 7,
    ),
    fine("yes and no otherwise", lambda t: t.column("warm", ["Y", "n", "TRUE", "false", "1", "0"]), values=ROWS * 7),
    Case(
        "an event nobody knows",
        lambda t: t.column("event", "").set(2, "event", "swapped"),
        (cell(2, "event", "unknown_code", "fitted, removed, rotated, retreaded, regrooved", "swapped"),),
        lost=1,
        values=ROWS * 6 + 1,
    ),
]  # fmt: skip


def longer(t: Any, extra: str = ",77") -> str:
    lines = t.csv().splitlines()
    lines[3] += extra
    return "\n".join(lines) + "\n"


def shorter(t: Any) -> str:
    lines = t.csv().splitlines()
    lines[3] = lines[3].rpartition(",")[0]
    return "\n".join(lines) + "\n"


def with_lines(t: Any, at: int, *new: str) -> str:
    """Further lines before the line ``at``, counted from 1."""
    lines = t.csv().splitlines()
    return "\n".join([*lines[: at - 1], *new, *lines[at - 1 :]]) + "\n"


FILES = [
    fine("as it should be", lambda t: t),
    fine("byte order mark", lambda t: codecs.BOM_UTF8 + t.csv().encode()),
    fine("byte order mark and quotes", lambda t: codecs.BOM_UTF8 + t.csv(quote=True).encode()),
    fine("UTF-16, little end first", lambda t: codecs.BOM_UTF16_LE + t.csv().encode("utf-16-le")),
    fine("UTF-16, big end first", lambda t: codecs.BOM_UTF16_BE + t.csv().encode("utf-16-be")),
    fine("UTF-16 with tabs, as spreadsheets save it", lambda t: t.csv("\t", "\r\n").encode("utf-16")),
    fine("UTF-16 without a mark", lambda t: t.csv().encode("utf-16-le")),
    Case(
        "Windows-1252",
        lambda t: t.column("reader", "Jos\u00e9").csv().encode("cp1252"),
        (note(1, "", "encoding", "save it as UTF-8"),),
        values=ROWS * 7,
    ),
    Case(
        "a byte that even Windows-1252 has not",
        lambda t: t.column("reader", "Jos\u00e9").csv().encode("cp1252").replace(b"Jos", b"Jos\x81", 1),
        (note(1, "", "encoding", "save it as UTF-8"),),
        values=ROWS * 7,
    ),
    Case(
        "an accent late in a long file",
        lambda t: (t.csv() + " " * 70000 + "\n" + ",".join(["T1"] * 11) + "\n").encode() + b"T\xe9,1\n",
        (
            note(1, "", "encoding", "save it as UTF-8"),
            row(9, "axle", "not_a_number", NUMBER),
            row(9, "side", "unknown_code", "left"),
            row(9, "dual", "unknown_code", "single"),
            row(9, "read_on", "not_a_date", ISO),
            *(cell(9, n, "not_a_number", NUMBER) for n in MEASURED),
            row(10, "", "ragged_row", "2 cells", "T\u00e9,1"),
        ),
        rows=8,
    ),
    fine("UTF-8 with accents", lambda t: t.column("reader", "Jos\u00e9").csv().encode(), values=ROWS * 7),
    fine("CRLF", lambda t: t.csv(end="\r\n")),
    fine("CR alone", lambda t: t.csv(end="\r")),
    fine("quotes round every cell", lambda t: t.csv(quote=True)),
    fine("no line end at the end", lambda t: t.csv().rstrip("\n")),
    fine("semicolons", lambda t: t.csv(";")),
    fine("tabs", lambda t: t.csv("\t")),
    fine("bars", lambda t: t.csv("|")),
    fine("a delimiter as agreed", lambda t: t.csv("^"), options={"delimiter": "^"}),
    Case(
        "semicolons and decimal commas, not agreed",
        lambda t: t.set(2, "tread_outer_32nds", "2,5").csv(";"),
        (cell(2, "tread_outer_32nds", "decimal_comma", "--decimal ,", "2,5"),),
        lost=1,
    ),
    fine(
        "semicolons and decimal commas as agreed",
        lambda t: t.set(2, "tread_outer_32nds", "2,5").csv(";"),
        options={"decimal": ","},
    ),
    fine(
        "thousands points and decimal commas as agreed",
        lambda t: t.set(2, "odometer_mi", "120.000,0").csv(";"),
        options={"decimal": ",", "thousands": "."},
    ),
    fine("the delimiter inside quotes", lambda t: t.column("reader", "Doe, J"), values=ROWS * 7),
    fine("quotes inside quotes", lambda t: t.column("reader", 'J "Jay" Doe'), values=ROWS * 7),
    Case(
        "line breaks inside quotes keep the row numbers",
        lambda t: t.column("reader", "Doe\nJ").set(5, "pressure_psi", "x"),
        (cell(5, "pressure_psi", "not_a_number", NUMBER),),
        lost=1,
        values=ROWS * 7,
    ),
    Case("a row too long", longer, (row(4, "", "ragged_row", "12 cells where the header has 11"),), used=5),
    Case("a row too short", shorter, (row(4, "", "ragged_row", "10 cells where the header has 11"),), used=5),
    Case(
        "an unquoted comma makes a row too long",
        lambda t: longer(t, "").replace(",120000,15", ",120,000,15"),
        (row(4, "", "ragged_row", "quote a text that holds the delimiter"),),
        used=5,
    ),
    fine("blank lines at the end", lambda t: t.csv() + "\n\n\n"),
    fine("rows of delimiters at the end", lambda t: t.csv() + ",,,,,,,,,,\n,,,\n"),
    Case(
        "blank lines keep the row numbers",
        lambda t: with_lines(t.set(5, "pressure_psi", "x"), 3, "", ",,,,,,,,,,", "   "),
        (cell(8, "pressure_psi", "not_a_number", NUMBER),),
        lost=1,
    ),
    Case(
        "ragged rows keep the row numbers",
        lambda t: with_lines(t.set(5, "pressure_psi", "x"), 3, "T1,1", "T1,1,left"),
        (
            row(3, "", "ragged_row", "2 cells", "T1,1"),
            row(4, "", "ragged_row", "3 cells", "T1,1,left"),
            cell(7, "pressure_psi", "not_a_number", NUMBER),
        ),
        lost=1,
        rows=8,
    ),
    Case(
        "a quotation mark that is not closed",
        lambda t: t.column("reader", "JD").csv().replace("76,JD", '76,"JD', 1),
        (row(3, "", "unclosed_quote", "close it"),),
        rows=2,
        used=1,
        values=7,
    ),
    Case(
        "a header repeated in the middle",
        lambda t: with_lines(t, 4, t.csv().splitlines()[0]),
        (
            row(4, "axle", "not_a_number", NUMBER, "axle"),
            row(4, "side", "unknown_code", "left, right", "side"),
            row(4, "dual", "unknown_code", "single", "dual"),
            row(4, "read_on", "not_a_date", ISO, "read_on"),
            *(
                cell(4, n, "not_a_number", NUMBER, n)
                for n in MEASURED
            ),
        ),
        rows=7,
    ),
    Case(
        "a longer cell is cut in the list",
        lambda t: t.set(2, "tire_degf", "x" * 5000),
        (cell(2, "tire_degf", "not_a_number", NUMBER, "x" * 200),),
        lost=1,
    ),
]  # fmt: skip


def names(cases: list[Case]) -> list[Any]:
    return [pytest.param(c, id=re.sub(r"\W+", "_", c.name)) for c in cases]


def place(made: Any, folder: Path, name: str = "readings.csv") -> Path:
    """Text, bytes or a table as a file."""
    content = made if isinstance(made, str | bytes) else made.csv()
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def check_issues(found: list[dict[str, Any]], expect: tuple[Issue, ...], file: str) -> None:
    key = ("row", "column", "effect", "rule")
    assert Counter(tuple(i[k] for k in key) for i in found) == Counter(
        (e.row, e.column, e.effect, e.rule) for e in expect
    )
    for e in expect:
        same = [i for i in found if (i["row"], i["column"], i["rule"]) == (e.row, e.column, e.rule)]
        assert same[0]["file"] == file
        assert any(e.remedy in i["message"] for i in same), same
        assert e.text is None or [i["text"] for i in same] == [e.text] * len(same)


def tread_fails(log: wheelend.Log) -> set[tuple[str, int, str]]:
    verdicts = wheelend.judge(log).to_pylist()
    return {
        (v["unit"], v["axle"], v["side"]) for v in verdicts if v["quantity"] == "tread_depth" and v["verdict"] == "fail"
    }


@pytest.mark.parametrize("case", names([*HEADERS, *NUMBERS, *DATES, *KEYS, *REPEATS, *WORDS, *FILES]))
def test_readings(case: Case, readings: Any, positions: Any, tmp_path: Path) -> None:
    path = place(case.edit(readings), tmp_path, case.file)
    log = wheelend.read_log(path, positions.columns(), today=TODAY, **case.options)
    check_issues(log.issues.to_pylist(), case.expect, case.file)

    counts = log.counts["readings"]
    values = case.used * VALUES if case.values is None else case.values
    assert (counts.rows_in, counts.rows_used, counts.rows_refused) == (case.rows, case.used, case.rows - case.used)
    assert (counts.values_in, counts.values_used, counts.values_refused) == (values, values - case.lost, case.lost)
    assert (BALD in tread_fails(log)) == case.bald


# ---- the other tables


def one_file(t: Any) -> Any:
    """Readings that carry the facts of their positions: one file is enough for a small shop."""
    return t.column("kind", ["tractor"] * 4 + ["trailer"] * 2).column(
        "role", ["steer"] * 2 + ["drive"] * 2 + ["trailer"] * 2
    )


POSITION_CASES = [
    Case("positions as they should be", lambda t: t),
    Case("a position twice, alike", lambda t: t.again(3), (note(8, "", "duplicate_row", "row 3"),), rows=7, used=7),
    Case(
        "a position twice, with another target",
        lambda t: t.again(3, target_psi="90"),
        (row(8, "", "conflict", "row 3"),),
        rows=7,
    ),
    Case(
        "a position twice, with another role",
        lambda t: t.again(3, role="tag"),
        (row(8, "", "conflict", "keep the right one"),),
        rows=7,
    ),
    Case(
        "a dual on a steer axle",
        lambda t: t.again(3, axle="3", dual="outer"),
        (row(8, "dual", "dual_on_steer", "correct dual or role"),),
        rows=7,
    ),
    Case(
        "a single on an axle of duals",
        lambda t: t.again(4, side="right", dual="single"),
        (row(8, "dual", "single_and_dual", "row 4"),),
        rows=7,
    ),
    Case(
        "a dual on an axle of singles",
        lambda t: t.again(6, side="right", dual="inner"),
        (row(8, "dual", "single_and_dual", "row 6"),),
        rows=7,
    ),
    Case(
        "an unknown kind",
        lambda t: t.set(5, "kind", "lorry"),
        (cell(5, "kind", "unknown_code", "truck, tractor", "lorry"),),
        lost=1,
    ),
    Case(
        "an unknown role",
        lambda t: t.set(5, "role", "rear"),
        (cell(5, "role", "unknown_code", "steer, drive", "rear"),),
        lost=1,
    ),
    Case("no kind", lambda t: t.set(5, "kind", ""), values=6 * 3 - 1),
    Case(
        "a target of 0 point 7",
        lambda t: t.set(5, "target_psi", "0,7"),
        (cell(5, "target_psi", "decimal_comma", "--decimal ,", "0,7"),),
        lost=1,
    ),
    Case(
        "a target in kPa",
        lambda t: t.set(5, "target_psi", "655"),
        (cell(5, "target_psi", "out_of_range", "another measure", "655"),),
        lost=1,
    ),
    Case(
        "a target without a measure",
        lambda t: t.set(1, "target_psi", "target"),
        (cell(1, "target", "missing_measure", "_psi or _kpa or _bar"),),
        lost=6,
    ),
    Case(
        "a deep pull depth",
        lambda t: t.column("pull_32nds", "4").set(5, "pull_32nds", "44"),
        (cell(5, "pull_32nds", "out_of_range", "another measure", "44"),),
        lost=1,
        values=6 * 4,
    ),
    Case(
        "built tomorrow",
        lambda t: t.column("built_on", "2019-03-01").set(5, "built_on", "2025-06-21"),
        (cell(5, "built_on", "future_date", "correct the date"),),
        lost=1,
        values=6 * 4,
    ),
    Case(
        "no side",
        lambda t: t.again(3, axle="3", side=""),
        (row(8, "side", "missing_key", "fill it in"),),
        rows=7,
    ),
    Case("attributes of the fleet's own", lambda t: t.column("site", "North").column("paint", "red"), values=6 * 3),
]  # fmt: skip


@pytest.mark.parametrize("case", names(POSITION_CASES))
def test_positions(case: Case, readings: Any, positions: Any, tmp_path: Path) -> None:
    path = place(case.edit(positions), tmp_path, "positions.csv")
    log = wheelend.read_log(readings.columns(), path, today=TODAY)
    check_issues(log.issue_list.table().to_pylist(), case.expect, "positions.csv")
    counts = log.counts["positions"]
    values = 6 * 3 + 3 * (case.used - 6) if case.values is None else case.values
    assert (counts.rows_in, counts.rows_used, counts.rows_refused) == (case.rows, case.used, case.rows - case.used)
    assert (counts.values_in, counts.values_used, counts.values_refused) == (values, values - case.lost, case.lost)
    # No mistake in the table of positions keeps a reading of the others from being judged.
    assert log.counts["readings"].rows_used == ROWS
    assert BALD in {(u, a, s) for u, a, s, *_ in fails_of(log)}


def fails_of(log: wheelend.Log) -> set[tuple[Any, ...]]:
    table = wheelend.verdicts.judge_table(log, "us-federal", False, None, wheelend.verdicts.Selection())
    return {
        tuple(v[k] for k in ("unit", "axle", "side", "quantity", "reading"))
        for v in table.to_pylist()
        if v["verdict"] == "fail" and v["severity"] == "violation"
    }


def test_of_two_rows_for_a_position_the_first_is_used(readings: Any, positions: Any) -> None:
    log = wheelend.read_log(readings.columns(), positions.again(3, target_psi="200").columns(), today=TODAY)
    found = wheelend.pressures(log)
    at = list(zip(found["unit"], found["axle"], found["side"], strict=True)).index(("T1", 1, "right"))
    assert found["target_psi"][at] == 100


ONE_FILE_CASES = [
    Case("one file as it should be", one_file, values=6 * 8),
    Case(
        "another kind than a row before",
        lambda t: one_file(t).again(3, read_on="2025-05-10", odometer_mi="119000", kind="bus"),
        (cell(8, "kind", "conflict", "row 3 says otherwise"),),
        lost=1,
        rows=7,
        used=7,
        values=7 * 8,
    ),
    Case(
        "a kind that is missing once",
        lambda t: one_file(t).again(3, read_on="2025-05-10", odometer_mi="119000", kind=""),
        rows=7,
        used=7,
        values=7 * 8 - 1,
    ),
    Case(
        "a date of building that is missing once",
        lambda t: (
            one_file(t)
            .column("built_on", "2019-03-01")
            .again(3, read_on="2025-05-10", odometer_mi="119000", built_on="")
        ),
        rows=7,
        used=7,
        values=7 * 9 - 1,
    ),
    Case(
        "a dual on a steer axle, in one file",
        lambda t: one_file(t).set(3, "dual", "inner"),
        (row(3, "dual", "dual_on_steer", "correct dual or role"),),
        used=5,
        values=5 * 8,
    ),
    Case(
        "single and dual on one axle, in one file",
        lambda t: one_file(t).set(5, "dual", "single"),
        (row(5, "dual", "single_and_dual", "row 4"),),
        used=5,
        values=5 * 8,
    ),
    Case(
        "no role where one is asked for",
        lambda t: one_file(t).set(3, "role", "front"),
        (cell(3, "role", "unknown_code", "steer, drive", "front"),),
        lost=1,
        values=6 * 8,
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", names(ONE_FILE_CASES))
def test_readings_that_carry_their_positions(case: Case, readings: Any, tmp_path: Path) -> None:
    log = wheelend.read_log(place(case.edit(readings), tmp_path), today=TODAY)
    check_issues(log.issues.to_pylist(), case.expect, "readings.csv")
    counts = log.counts["readings"]
    assert (counts.rows_in, counts.rows_used, counts.rows_refused) == (case.rows, case.used, case.rows - case.used)
    assert (counts.values_in, counts.values_used) == (case.values, (case.values or 0) - case.lost)
    assert BALD in tread_fails(log)


TIRES = """
tire  make  new_32nds sidewall_max_psi retread
A-1   Acorn 18        120              no
A-2   Acorn 26        120              yes
A-3   Birch 26        110              no
"""

TIRE_CASES = [
    Case("tires as they should be", lambda t: t),
    Case("a tire twice", lambda t: t.again(3), (row(5, "tire", "duplicate_row", "row 3"),), rows=4),
    Case(
        "a tire twice, with another depth",
        lambda t: t.again(3, new_32nds="20"),
        (row(5, "tire", "duplicate_row", "keep one"),),
        rows=4,
    ),
    Case(
        "a tire without a number",
        lambda t: t.again(3, tire=""),
        (row(5, "tire", "missing_key", "fill it in"),),
        rows=4,
    ),
    Case(
        "a retread, perhaps",
        lambda t: t.set(3, "retread", "maybe"),
        (cell(3, "retread", "unknown_code", "yes or no", "maybe"),),
        lost=1,
    ),
    Case(
        "new depth in mm",
        lambda t: t.set(3, "new_32nds", "206"),
        (cell(3, "new_32nds", "out_of_range", "another measure", "206"),),
        lost=1,
    ),
    Case(
        "a bald new tire",
        lambda t: t.set(3, "new_32nds", "1"),
        (cell(3, "new_32nds", "out_of_range", "correct it", "1"),),
        lost=1,
    ),
    Case(
        "a sidewall without a measure",
        lambda t: t.set(1, "sidewall_max_psi", "sidewall_max"),
        (cell(1, "sidewall_max", "missing_measure", "_psi or _kpa or _bar"),),
        lost=3,
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", names(TIRE_CASES))
def test_tires(case: Case, readings: Any, positions: Any, tmp_path: Path) -> None:
    path = place(case.edit(type(readings)(TIRES)), tmp_path, "tires.csv")
    log = wheelend.read_log(readings.columns(), positions.columns(), path, today=TODAY)
    check_issues(log.issue_list.table().to_pylist(), case.expect, "tires.csv")
    counts = log.counts["tires"]
    rows = 3 if case.rows == ROWS else case.rows  # ROWS is the default of a case; it is made for readings
    assert (counts.rows_in, counts.rows_used, counts.rows_refused) == (
        rows,
        3,
        rows - 3,
    )
    assert (counts.values_in, counts.values_used, counts.values_refused) == (3 * 4, 3 * 4 - case.lost, case.lost)


# ---- workbooks


def workbook(path: Path, sheets: dict[str, list[list[Any]]]) -> Path:
    import datetime as dt

    with xlsxwriter.Workbook(path) as book:
        date = book.add_format({"num_format": "yyyy-mm-dd"})
        time = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for i, cells in enumerate(rows):
                for j, value in enumerate(cells):
                    if isinstance(value, dt.date):
                        sheet.write_datetime(i, j, value, time if isinstance(value, dt.datetime) else date)
                    elif isinstance(value, str):
                        sheet.write_string(i, j, value) if value else None
                    else:
                        sheet.write(i, j, value)
    return path


def typed(readings: Any) -> list[list[Any]]:
    """The table as a person types it into a spreadsheet: numbers and dates, not text."""
    import datetime as dt

    def value(text: str) -> Any:
        if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
            return dt.date.fromisoformat(text)
        return int(text) if text.isdigit() else text

    return [readings.header, *([value(text) for text in cells] for cells in readings.rows)]


@pytest.fixture
def sheet(readings: Any) -> list[list[Any]]:
    return typed(readings)


def test_a_workbook_of_typed_cells_is_fine(sheet: Any, positions: Any, tmp_path: Path) -> None:
    log = wheelend.read_log(workbook(tmp_path / "r.xlsx", {"R": sheet}), positions.columns(), today=TODAY)
    assert log.issues.num_rows == 0
    assert log.counts["readings"].values_used == 36
    assert (log.first_day.isoformat(), log.last_day.isoformat()) == ("2025-06-10", "2025-06-10")
    assert BALD in tread_fails(log)


def test_a_workbook_of_text_cells_is_fine(readings: Any, positions: Any, tmp_path: Path) -> None:
    path = workbook(tmp_path / "r.xlsx", {"R": [readings.header, *readings.rows]})
    log = wheelend.read_log(path, positions.columns(), today=TODAY)
    assert log.issues.num_rows == 0
    assert log.counts["readings"].values_used == 36
    assert BALD in tread_fails(log)


def test_a_time_of_day_in_a_workbook_is_kept(sheet: Any, positions: Any, tmp_path: Path) -> None:
    import datetime as dt

    for cells in sheet[1:]:
        cells[4] = dt.datetime(2025, 6, 10, 8, 30)
    log = wheelend.read_log(workbook(tmp_path / "r.xlsx", {"R": sheet}), positions.columns(), today=TODAY)
    assert log.issues.num_rows == 0
    assert set(wheelend.judge(log)["read_on"].to_pylist()) == {dt.datetime(2025, 6, 10, 8, 30)}


WORKBOOK_CELLS = [
    ("serial", 3, "read_on", 45818, row(3, "read_on", "serial_date", "format the cell as a date", "45818")),
    ("serial_and_time", 3, "read_on", 45818.5, row(3, "read_on", "serial_date", "format", "45818.5")),
    ("date_as_text", 3, "read_on", "06/10/2025", row(3, "read_on", "date_order", "--dates mdy", "06/10/2025")),
    ("no_date", 3, "read_on", "", row(3, "read_on", "missing_key", "fill it in", "")),
    ("text_in_a_number", 2, "pressure_psi", "99 psi", cell(2, "pressure_psi", "not_a_number", NUMBER, "99 psi")),
    ("decimal_comma", 2, "pressure_psi", "99,5", cell(2, "pressure_psi", "decimal_comma", "--decimal ,", "99,5")),
    ("yes_in_a_number", 2, "pressure_psi", True, cell(2, "pressure_psi", "not_a_number", NUMBER)),
    ("negative", 2, "tread_outer_32nds", -2, cell(2, "tread_outer_32nds", "negative", "correct it", "-2")),
    ("deep", 2, "tread_outer_32nds", 41.5, cell(2, "tread_outer_32nds", "out_of_range", "another measure", "41.5")),
    ("half_an_axle", 3, "axle", 1.5, row(3, "axle", "not_whole", "correct it", "1.5")),
]


@pytest.mark.parametrize(("at", "column", "value", "expect"), [pytest.param(*c[1:], id=c[0]) for c in WORKBOOK_CELLS])
def test_cells_of_a_workbook(
    at: int, column: str, value: Any, expect: Issue, sheet: Any, positions: Any, tmp_path: Path
) -> None:
    sheet[at - 1][sheet[0].index(column)] = value
    log = wheelend.read_log(workbook(tmp_path / "r.xlsx", {"R": sheet}), positions.columns(), today=TODAY)
    found = log.issues.to_pylist()
    check_issues(found, (expect,), "r.xlsx")
    assert found[0]["sheet"] == "R"
    assert log.counts["readings"].rows_used == ROWS - (expect.effect == "row")
    assert log.counts["readings"].values_refused == (expect.effect == "cell")
    assert BALD in tread_fails(log)


def test_an_error_in_a_workbook_counts_as_missing(sheet: Any, positions: Any, tmp_path: Path) -> None:
    path = tmp_path / "r.xlsx"
    with xlsxwriter.Workbook(path) as book:
        page = book.add_worksheet("R")
        for i, cells in enumerate(sheet):
            for j, value in enumerate(cells):
                page.write(i, j, value.isoformat() if hasattr(value, "year") else value)
        page.write_formula(1, sheet[0].index("pressure_psi"), "=1/0", None, "#DIV/0!")
    log = wheelend.read_log(path, positions.columns(), today=TODAY)
    assert log.issues.num_rows == 0
    assert log.counts["readings"].values_in == 35
    assert BALD in tread_fails(log)


def test_empty_rows_of_a_workbook_keep_the_row_numbers(sheet: Any, positions: Any, tmp_path: Path) -> None:
    sheet[4][9] = "x"
    sheet[2:2] = [[], []]
    log = wheelend.read_log(workbook(tmp_path / "r.xlsx", {"R": sheet}), positions.columns(), today=TODAY)
    check_issues(log.issues.to_pylist(), (cell(7, "pressure_psi", "not_a_number", NUMBER, "x"),), "r.xlsx")
    assert log.counts["readings"].rows_in == ROWS


def test_of_two_sheets_the_first_is_read_and_said(sheet: Any, positions: Any, tmp_path: Path) -> None:
    path = workbook(tmp_path / "r.xlsx", {"June": sheet, "Old": [["nothing"]]})
    log = wheelend.read_log(path, positions.columns(), today=TODAY)
    check_issues(log.issues.to_pylist(), (note(1, "", "first_sheet", "the others (Old) were not", "June"),), "r.xlsx")
    chosen = wheelend.read_log(path, positions.columns(), today=TODAY, sheet="June")
    assert chosen.issues.num_rows == 0
    with pytest.raises(BadCall, match=r"no sheet 'July'; it has June, Old"):
        wheelend.read_log(path, positions.columns(), today=TODAY, sheet="July")


def test_a_workbook_named_csv_and_a_parquet_file_named_csv_are_read(
    sheet: Any, readings: Any, positions: Any, tmp_path: Path
) -> None:
    book = workbook(tmp_path / "r.xlsx", {"R": sheet}).rename(tmp_path / "book.csv")
    parquet = tmp_path / "parquet.csv"
    pyarrow.parquet.write_table(pa.table(readings.columns()), parquet)
    for path in (book, parquet):
        log = wheelend.read_log(path, positions.columns(), today=TODAY)
        assert log.issues.num_rows == 0
        assert BALD in tread_fails(log)


# ---- refused as a whole

PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x06\x00\x00\x00\x1f\x15\xc4\x89"
PDF = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<< /Type /Catalog /Pages 2 0 R >>\nendobj\n"
HTML = "<!DOCTYPE html>\n<html><head><title>Not found</title></head><body></body></html>\n"


def zipped(folder: Path) -> bytes:
    path = folder / "x.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("readings.csv", "unit\nT1\n")
    return path.read_bytes()


REFUSED: list[tuple[str, Callable[[Any, Path], Any], str]] = [
    ("empty", lambda t, d: b"", r"is empty: write a header row"),
    ("one_line_end", lambda t, d: b"\n", r"has no header: its first row must name the columns"),
    ("blank_lines", lambda t, d: "\n \n\n", r"has no header: its first row must name the columns"),
    ("byte_order_mark_only", lambda t, d: codecs.BOM_UTF8, r"has no header"),
    ("UTF16_mark_only", lambda t, d: codecs.BOM_UTF16_LE, r"has no header"),
    ("header_only", lambda t, d: t.csv().splitlines()[0] + "\n", r"a header and no rows"),
    ("header_without_line_end", lambda t, d: t.csv().splitlines()[0], r"a header and no rows"),
    ("header_and_blank_rows", lambda t, d: t.csv().splitlines()[0] + "\n\n,,,,,,,,,,\n", r"a header and no rows"),
    ("PNG", lambda t, d: PNG * 40, r"not a text table .* export it as CSV"),
    ("PDF", lambda t, d: PDF, r"is not a table of readings: it lacks the columns"),
    ("HTML", lambda t, d: HTML, r"is not a table of readings: it lacks the columns"),
    ("JSON", lambda t, d: '[{"unit": "T1", "axle": 1}]', r"is not a table of readings: it lacks the columns"),
    ("zip", lambda t, d: zipped(d), r"not a readable workbook"),
    ("cut_zip", lambda t, d: b"PK\x03\x04" + bytes(100), r"not a readable workbook"),
    ("cut_Parquet", lambda t, d: b"PAR1" + bytes(100), r"not a readable Parquet file"),
    ("random_bytes", lambda t, d: random.Random(5).randbytes(5000), r"not a text table"),
    ("cut_UTF16", lambda t, d: t.csv().encode("utf-16") + b"x", r"cannot be read: .* Save the file again"),
    (
        "too_many_grooves",
        lambda t, d: [t.column(f"tread_{i}_mm", "9") for i in range(62)][-1].csv(),
        r"65 columns of tread depth, more than 64: name one per groove",
    ),
    ("another_table", lambda t, d: "date,amount\n2025-01-01,5\n", r"lacks the columns 'unit'"),
    ("a_title_above_the_header", lambda t, d: "Readings of June\n\n" + t.csv(), r"Its header is: Readings of June"),
    ("no_header", lambda t, d: t.csv().partition("\n")[2], r"lacks the columns 'unit'"),
    ("no_unit", lambda t, d: t.set(1, "unit", "units").csv(), r"lacks the column 'unit' \(is it 'units'\?\)"),
    ("unit_twice", lambda t, d: t.column("x", "T1").set(1, "x", "unit").csv(), r"Named twice: unit, unit"),
    ("header_with_an_open_quote", lambda t, d: '"' + t.csv(), r"lacks the columns"),
    (
        "neither_tread_nor_pressure",
        lambda t, d: t.drop(*(n for n in t.header if "tread" in n or "pressure" in n)).csv(),
        r"no tread depth and no pressure .* Name them tread_outer_32nds",
    ),
    (
        "no_measure_on_any",
        lambda t, d: t.csv().replace("32nds", "").replace("_psi", ""),
        r"no tread depth and no pressure .*First problems: .*_32nds or _mm or _in",
    ),
    (
        "every_row_bad",
        lambda t, d: t.column("read_on", "soon").csv(),
        r"none of its 6 rows can be used. First problems: readings.csv, row 2, column read_on: not a date: write YYYY",
    ),
    ("other_units", lambda t, d: t.column("unit", "B-40").csv(), r"none of its 6 rows .* no unit of this number"),
    ("every_row_ragged", lambda t, d: t.csv().replace("2025-", ",2025-"), r"none of its 6 rows .*12 cells where"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "message"), [pytest.param(*c[1:], id=c[0]) for c in REFUSED])
def test_refused(
    make: Callable[[Any, Path], Any], message: str, readings: Any, positions: Any, tmp_path: Path, run: Any
) -> None:
    path = place(make(readings, tmp_path), tmp_path)
    with pytest.raises(DataRefused, match=message) as refused:
        wheelend.read_log(path, positions.columns(), today=TODAY)
    last = refused.value.issues.table().to_pylist()[-1]
    assert (last["file"], last["row"], last["effect"], last["rule"]) == ("readings.csv", 1, "row", "refused")

    where = place(positions, tmp_path, "positions.csv")
    for word in ("judge", "issues"):
        shown = run(word, "--readings", path, "--positions", where)
        assert shown.code == 3
        assert re.search(message, shown.err)
        assert "Traceback" not in shown.err
    # What was found up to there is listed all the same.
    assert "refused" in shown.out or re.search(message, " ".join(shown.out.split()))


def test_a_row_longer_than_a_block_is_refused_with_its_place(
    readings: Any, positions: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The usual cause is a quotation mark that is not closed in a long file."""
    monkeypatch.setattr(_sources, "_BLOCK_BYTES", 4096)
    text = readings.column("reader", "JD").csv()
    many = text + text.partition("\n")[2] * 60
    path = place(many.replace("76,JD", '76,"JD', 1), tmp_path)
    assert path.stat().st_size > 4 * 4096
    with pytest.raises(DataRefused, match=r"row 3 or below: .*quotation mark"):
        wheelend.read_log(path, positions.columns(), today=TODAY)


def test_a_file_that_is_not_there(positions: Any, readings: Any, tmp_path: Path, run: Any) -> None:
    for path in (tmp_path / "nothing.csv", tmp_path):
        with pytest.raises(BadCall, match="no file"):
            wheelend.read_log(path, positions.columns())
    where = place(positions, tmp_path, "positions.csv")
    shown = run("judge", "--readings", tmp_path / "nothing.csv", "--positions", where)
    assert (shown.code, "check the path" in shown.err) == (2, True)


def test_readings_without_kind_and_role_need_positions(readings: Any) -> None:
    with pytest.raises(DataRefused, match=r"lacks the columns 'kind' and 'role': give a positions table"):
        wheelend.read_log(readings.columns(), today=TODAY)


def test_positions_of_which_no_row_is_good(readings: Any, positions: Any) -> None:
    with pytest.raises(DataRefused, match=r"First problems: positions, row 2, column axle"):
        wheelend.read_log(readings.columns(), positions.column("axle", "0").columns(), today=TODAY)


# ---- arguments

BAD_ARGUMENTS = [
    ({"measures": {"pressure_psi": "kpa"}}, "'pressure_psi' is given as 'kpa', but the column is named 'pressure_psi'"),
    ({"measures": {"pressure": "kpa"}}, "'pressure' is given as 'kpa', but the column is named 'pressure_psi'"),
    ({"measures": {"tread_outer": "mm"}}, "but the column is named 'tread_outer_32nds'"),
    ({"dates": "ymd"}, "dates: expected one of iso, mdy, dmy, got 'ymd'"),
    ({"on_bad": "ignore"}, "on_bad: expected one of report, raise, got 'ignore'"),
    ({"today": "10.06.2025"}, "expected a date as YYYY-MM-DD, got '10.06.2025'"),
    ({"decimal": ";"}, "decimal: expected"),
    ({"decimal": ",", "thousands": ","}, "thousands: expected"),
    ({"thousands": "ab"}, "thousands: expected"),
    ({"delimiter": ",,"}, "delimiter: expected one character"),
]


@pytest.mark.parametrize(("options", "message"), BAD_ARGUMENTS, ids=lambda v: str(v)[:40])
def test_bad_arguments(options: dict[str, Any], message: str, readings: Any, positions: Any, tmp_path: Path) -> None:
    path = place(readings, tmp_path)
    with pytest.raises(BadCall, match=re.escape(message)):
        wheelend.read_log(path, positions.columns(), **{"today": TODAY, **options})


def test_a_given_measure_that_does_not_fit(readings: Any, positions: Any) -> None:
    table = readings.set(1, "pressure_psi", "pressure").columns()
    with pytest.raises(BadCall, match=r"'degc' does not measure 'pressure'; use psi, kpa, bar"):
        wheelend.read_log(table, positions.columns(), measures={"pressure": "degc"}, today=TODAY)


def test_options_of_the_command_line(readings: Any, positions: Any, tmp_path: Path, run: Any) -> None:
    """A file as it comes from a spreadsheet of another country: refused cell by cell, fine once its marks are given."""
    spoiled = readings.column("read_on", "10/06/2025").set(1, "pressure_psi", "pressure")
    spoiled.set(2, "odometer_mi", "120.000,5").set(2, "tread_outer_32nds", "1,5")
    where = place(positions.csv(";"), tmp_path, "positions.csv")
    files = ("-r", place(spoiled.csv(";"), tmp_path), "-p", where)
    marks = ("--decimal", ",", "--thousands", ".", "--dates", "dmy", "--measure", "pressure=psi", "--delimiter", ";")
    shown = run("issues", *files)
    assert shown.code == 3
    assert "--dates mdy" in shown.err
    out = tmp_path / "issues.csv"
    shown = run("issues", *files, *marks, "-o", out)
    assert shown.code == 0
    assert out.read_text(encoding="utf-8").count("\n") == 1  # a header, and no problem
    shown = run("judge", *files, *marks)
    assert shown.code == 1
    assert "1.5/32 in" in shown.out


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--measure", "pressure"), "COLUMN=MEASURE"),
        (("--measure", "pressure_psi=kpa"), "correct one of them"),
        (("--dates", "ymd"), "expected one of iso, mdy, dmy"),
        (("--decimal", ";"), "expected a point or a comma"),
        (("--delimiter", ",,"), "expected one character"),
        (("--sheet", "June"), "no sheet 'June'"),
    ],
    ids=lambda v: " ".join(v) if isinstance(v, tuple) else "",
)
def test_wrong_options_are_wrong_usage(
    options: tuple[str, ...], message: str, readings: Any, positions: Any, tmp_path: Path, run: Any
) -> None:
    rows = [readings.header, *readings.rows]
    path = workbook(tmp_path / "r.xlsx", {"R": rows}) if "--sheet" in options else place(readings, tmp_path)
    shown = run("judge", "-r", path, "-p", place(positions, tmp_path, "positions.csv"), *options)
    assert shown.code == 2
    assert message in " ".join(shown.err.split())


# ---- stop at the first


def test_on_bad_raise_names_row_column_and_remedy(readings: Any, positions: Any, tmp_path: Path, run: Any) -> None:
    path = place(readings.set(4, "tire_degf", "hot"), tmp_path)
    pattern = r"^readings\.csv, row 4, column tire_degf: not a number: write the number alone"
    with pytest.raises(BadValue, match=pattern):
        wheelend.read_log(path, positions.columns(), today=TODAY, on_bad="raise")
    shown = run("judge", "-r", path, "-p", place(positions, tmp_path, "p.csv"), "--on-bad", "raise")
    assert shown.code == 3
    assert "readings.csv, row 4, column tire_degf: not a number: write the number alone" in shown.err


def test_on_bad_raise_lets_notes_pass(readings: Any, positions: Any) -> None:
    table = readings.set(4, "tread_outer_32nds", "33").again(3).columns()
    log = wheelend.read_log(table, positions.columns(), today=TODAY, on_bad="raise")
    assert log.issue_list.counts == {"row": 0, "cell": 0, "note": 2}


# ---- what the effects mean


def test_of_two_different_readings_the_lower_is_judged(readings: Any, positions: Any) -> None:
    """Neither order of the rows lets the higher one win."""
    for first, second in (("2", "12"), ("12", "2")):
        table = type(readings)("\n".join(" ".join(r) for r in [readings.header, *readings.rows]))
        table.set(3, "tread_outer_32nds", first).again(3, tread_outer_32nds=second)
        log = wheelend.read_log(pa.table(table.columns()), positions.columns(), today=TODAY)
        assert tread_fails(log) == {BALD, ("T1", 1, "right")}
        found = {i["message"].partition(":")[0] for i in log.issues.to_pylist()}
        assert found == {"rows 3 and 8 disagree on tread"}


def test_two_different_readings_are_kept_out_of_trends(history: Any, positions: Any) -> None:
    """Wear comes out as if the inspection with the two depths had no tread reading at all."""
    spoiled = type(history)("\n".join(" ".join(r) for r in [history.header, *history.rows]))
    spoiled.again(9, tread_outer_32nds="29")  # row 9: T1 axle 1 right on 2025-04-11
    for groove in ("outer", "middle", "inner"):
        history.set(9, f"tread_{groove}_32nds", "")
    found, expected = (
        wheelend.wear(wheelend.read_log(pa.table(t.columns()), positions.columns(), today=TODAY))
        for t in (spoiled, history)
    )
    assert found.equals(expected)
    key = ("unit", "axle", "side", "dual")
    used = {tuple(w[k] for k in key): w["readings_used"] for w in found.to_pylist()}
    assert used["T1", 1, "right", "single"] == 3
    assert used["T1", 1, "left", "single"] == 4


def test_a_value_that_is_not_used_is_not_used(readings: Any, positions: Any) -> None:
    """A wrong pressure gives no pressure; a wrong temperature leaves the pressure as it was read."""
    table = (
        readings.set(2, "pressure_psi", "99 psi")
        .set(3, "tire_degf", "hot")
        .set(6, "tread_outer_32nds", "l9")
        .set(6, "tread_inner_32nds", "9?")
    )
    log = wheelend.read_log(pa.table(table.columns()), positions.columns(), today=TODAY)
    found = {
        (p["unit"], p["axle"], p["side"], p["dual"]): (p["pressure_psi"], p["method"])
        for p in wheelend.pressures(log).to_pylist()
    }
    assert ("T1", 1, "left", "single") not in found
    assert found["T1", 1, "right", "single"] == (101, "as_read")
    assert found["R7", 1, "left", "single"] == (96, "gas_law")
    lowest = {
        (v["unit"], v["side"]): v["reading"] for v in wheelend.judge(log).to_pylist() if v["limit_id"] == "US-T-03"
    }
    assert lowest["R7", "left"] == 10  # of 9, 10 and 9 the two nines are spoiled
    assert lowest["R7", "right"] == 8


def test_every_problem_of_a_file_in_one_pass(readings: Any, positions: Any, tmp_path: Path, run: Any) -> None:
    """A file with a problem of each kind: all are listed, in the file that -o names and on the screen."""
    spoiled = (
        readings.set(2, "tire_degf", "hot")
        .set(3, "side", "curb")
        .set(4, "tread_outer_32nds", "33")
        .set(5, "pressure_psi", "1,234")
        .set(7, "unit", "R77")
        .set(1, "odometer_mi", "odometer")
    )
    path = place(spoiled.csv() + "T1,1\n", tmp_path)
    where = place(positions, tmp_path, "positions.csv")
    expect = {
        (1, "odometer", "cell", "missing_measure"),
        (2, "tire_degf", "cell", "not_a_number"),
        (3, "side", "row", "unknown_code"),
        (4, "tread_outer_32nds", "note", "unusual"),
        (5, "pressure_psi", "cell", "thousands"),
        (7, "unit", "row", "unknown_unit"),
        (8, "", "row", "ragged_row"),
    }
    out = tmp_path / "issues.csv"
    shown = run("issues", "-r", path, "-p", where, "-o", out)
    assert shown.code == 0
    assert "readings: rows 7 in, 4 used, 3 not;" in shown.err
    assert "values 24 in, 18 used, 6 not." in shown.err
    listed = pyarrow.csv.read_csv(
        out, convert_options=pyarrow.csv.ConvertOptions(column_types={"text": pa.string()}, strings_can_be_null=False)
    )
    assert listed.column_names == ["file", "sheet", "row", "column", "text", "rule", "effect", "message"]
    assert {(i["row"], i["column"], i["effect"], i["rule"]) for i in listed.to_pylist()} == expect
    shown = run("issues", "-r", path, "-p", where)
    assert shown.code == 0
    for at, column, *_ in expect:
        assert re.search(rf"row {at}\b.*{re.escape(column)}", shown.out), shown.out
    shown = run("judge", "-r", path, "-p", where)
    assert shown.code == 1
    assert "T1" in shown.out
    assert "See: wheelend issues" in shown.err


@pytest.mark.parametrize("suffix", ["csv", "json", "parquet", "xlsx"])
def test_text_of_a_cell_goes_through_every_kind_of_file(
    suffix: str, readings: Any, positions: Any, tmp_path: Path, run: Any
) -> None:
    """Whatever was typed comes back as it was: formulas, quotes, line breaks, other scripts."""
    texts = ["=1+1", 'say "ah"', "two\nlines", "\u8f6e\u80ce", "a,b;c", "http://example.org"]
    path = place(readings.column("tire_degf", texts), tmp_path)
    out = tmp_path / f"issues.{suffix}"
    shown = run("issues", "-r", path, "-p", place(positions, tmp_path, "p.csv"), "-o", out)
    assert shown.code == 0
    if suffix == "csv":
        import csv

        with out.open(encoding="utf-8", newline="") as f:
            found = [r["text"] for r in csv.DictReader(f)]
    elif suffix == "json":
        import json

        found = [r["text"] for r in json.loads(out.read_text(encoding="utf-8"))]
    elif suffix == "parquet":
        found = pyarrow.parquet.read_table(out)["text"].to_pylist()
    else:
        from python_calamine import CalamineWorkbook

        head, *rows = CalamineWorkbook.from_path(out).get_sheet_by_index(0).to_python()
        found = [r[head.index("text")] for r in rows]
    assert found == texts


# ---- row numbers


@pytest.mark.parametrize("block", [256, 700, 5000])
@pytest.mark.parametrize("seed", range(8))
def test_row_numbers_across_blocks(
    block: int, seed: int, readings: Any, positions: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ragged rows, blank rows and line breaks in cells, in any order and wherever a block ends."""
    monkeypatch.setattr(_sources, "_BLOCK_BYTES", block)
    draw = random.Random(seed)
    header, *lines = readings.column("reader", "JD").csv().splitlines()
    text, expect, used = [header], [], 0
    for at in range(2, 200):
        kind = draw.choice(["good", "good", "good", "bad", "ragged", "ragged", "blank", "delimiters", "broken"])
        line = draw.choice(lines)
        if kind == "bad":
            line = line.replace(",2025-06-10,", ",2025-06-31,")
            expect.append((at, "read_on", "no_such_day"))
        elif kind == "ragged":
            line = draw.choice(["T1", "T1,1,left", line + ",9", line + ',"Doe, J",9'])
            expect.append((at, "", "ragged_row"))
        elif kind == "blank":
            line = ""
        elif kind == "delimiters":
            line = "," * draw.choice([3, 11, 15])
        elif kind == "broken":
            line = line.replace(",JD", ',"Doe\nJane"')
        used += kind in ("good", "broken")
        text.append(line)
    path = place("\n".join(text) + "\n", tmp_path)
    log = wheelend.read_log(path, positions.columns(), today=TODAY)
    found = [(i["row"], i["column"], i["rule"]) for i in log.issues.to_pylist() if i["effect"] == "row"]
    assert sorted(found) == expect
    assert log.counts["readings"].rows_used == used
    assert log.counts["readings"].rows_refused == len(expect)


def test_row_numbers_in_a_long_file(readings: Any, positions: Any, tmp_path: Path) -> None:
    """The same with blocks of their real size: some ten megabytes."""
    header, *lines = readings.csv().splitlines()
    good = len(lines) * 30_000
    text = lines * 30_000
    bad = {at: f"T1,1,{at}" for at in (*range(10, good, 9973), good + 1)}
    for at, line in bad.items():  # at: row number of the ragged row
        text.insert(at - 2, line)
    text.insert(good - 100, lines[0].replace("2025-06-10", "2025-06-31"))
    path = place("\n".join([header, *text]) + "\n", tmp_path)
    assert path.stat().st_size > 2 * 4 * 2**20
    log = wheelend.read_log(path, positions.columns(), today=TODAY)
    found = [
        (i["row"], i["rule"]) for i in log.issue_list.table().filter(pa.compute.field("effect") == "row").to_pylist()
    ]
    lines_of = {at + 2: line for at, line in enumerate(text)}
    assert sorted(found) == sorted(
        (at, "ragged_row" if line.count(",") == 2 else "no_such_day")
        for at, line in lines_of.items()
        if line.count(",") == 2 or "2025-06-31" in line
    )
    assert len(found) == len(bad) + 1
    assert log.counts["readings"].rows_used == good
