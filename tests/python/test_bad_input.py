"""Bad input: each way in which a file can be wrong, with the row, the column, the effect and the remedy it must have."""

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
HEADER_ONLY_VALUES = 6  # values of a row of the fixture besides its keys
ROWS = 6
BALD = ("T1", 1, "left")  # its tread fails in row 2 of the fixture, whatever single value is spoiled
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
    return Case(
        name, lambda t: t.set(2, column, text), (cell(2, column, rule, remedy, text),), lost=1, options=options
    )


def bad_key(name: str, column: str, text: str, rule: str, remedy: str, **options: Any) -> Case:
    """A key of row 3 that cannot be used: the row is lost, the bald tire beside it is not."""
    shown = text if rule != "missing_key" else ""
    return Case(name, lambda t: t.set(3, column, text), (row(3, column, rule, remedy, shown),), used=5, options=options)


def fine(name: str, edit: Callable[[Any], Any], **other: Any) -> Case:
    return Case(name, edit, **other)


def missing(name: str, column: str, text: str) -> Case:
    """A cell that says nothing: no problem, and no value."""
    return Case(name, lambda t: t.set(2, column, text), values=ROWS * HEADER_ONLY_VALUES - 1)


def lost_column(name: str, edit: Callable[[Any], Any], *expect: Issue, columns: int = 1) -> Case:
    """A column that cannot be read: its six values are lost, the rest is used."""
    return Case(name, edit, expect, lost=ROWS * columns, values=ROWS * (HEADER_ONLY_VALUES + columns - 1))


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
    fine("headers in capitals and with blanks", lambda t: t.set(1, "pressure_psi", " Pressure_PSI ").set(1, "unit", "UNIT")),
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
        tuple(cell(3, n, "not_a_number", NUMBER, "x") for n in (
            "odometer_mi", "tread_outer_32nds", "tread_middle_32nds", "tread_inner_32nds", "pressure_psi", "tire_degf",
        )),
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
    fine("a date, a time and an offset mixed", lambda t: t.set(2, "read_on", "2025-06-10T08:30").set(3, "read_on", "2025-06-10T08:30Z")),
    fine("no-break blanks round a date", lambda t: t.set(3, "read_on", f"2025-06-10{BLANK}")),
]  # fmt: skip

KEYS = [
    bad_key("no unit", "unit", "", "missing_key", "fill it in"),
    bad_key("unit n/a", "unit", "n/a", "missing_key", "fill it in"),
    bad_key("unit of a no-break blank", "unit", BLANK, "missing_key", "fill it in"),
    bad_key("unknown unit", "unit", "T9", "unknown_unit", "did you mean T1?"),
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
        lambda t: t.again(6, read_on="2025-03-10", odometer_mi="90000").again(6, read_on="2025-01-10", odometer_mi="70000").again(
            7, read_on="2025-03-10", odometer_mi="75000"
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
    fine("yes and no in other words", lambda t: t.column("warm", ["Y", "n", "TRUE", "false", "1", "0"]), values=ROWS * 7),
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
    fine("a delimiter too many at the end of a row", lambda t: longer(t, ",")) if False else fine(
        "blank lines at the end", lambda t: t.csv() + "\n\n\n"
    ),
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
                for n in (
                    "odometer_mi", "tread_outer_32nds", "tread_middle_32nds", "tread_inner_32nds", "pressure_psi",
                    "tire_degf",
                )
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
    assert Counter(tuple(i[k] for k in key) for i in found) == Counter((e.row, e.column, e.effect, e.rule) for e in expect)
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
    values = case.used * HEADER_ONLY_VALUES if case.values is None else case.values
    assert (counts.rows_in, counts.rows_used, counts.rows_refused) == (case.rows, case.used, case.rows - case.used)
    assert (counts.values_in, counts.values_used, counts.values_refused) == (values, values - case.lost, case.lost)
    assert (BALD in tread_fails(log)) == case.bald
