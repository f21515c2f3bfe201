"""A form as a workbook: cells to write in, pick lists, checks of numbers; the rest is locked.

A hidden sheet says what the form was made with, so that reading it back can tell what was typed (``_typed``).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
import xlsxwriter
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from wheelend import measures
from wheelend._form import _texts
from wheelend._form._layout import ASKED, QUALIFIERS, Field, Page, value_of
from wheelend._form._typed import FORM_SHEET, VERSION
from wheelend._look import FRAME, INK, SHADE
from wheelend._progress import Progress
from wheelend.dictionary import QUANTITIES, Column

if TYPE_CHECKING:
    from collections.abc import Sequence

PAPERS = {"letter": 1, "a4": 9}  # numbers of the file format
SPARE_ROWS = 12  # blank rows at the end of each table
_LISTS = "lists"
_FIRST_DAY = dt.date(1950, 1, 1)  # as the intake
_ROW_HEIGHT, _HEAD_HEIGHT = 22, 48
_WIDTHS = {"unit": 9, "axle": 5, "side": 6, "dual": 7, "quantity": 20, "read_on": 12, "reader": 10, "tire": 14,
           "event": 10, _texts.WHERE: 16, _texts.WHAT: 34}  # fmt: skip
_MOST_RANGES = 100  # of one check; longer lists of ranges are split


class _Book:
    """The workbook, its cell formats by what a cell is, and the lists that cells pick from."""

    def __init__(self, stream: BinaryIO, paper: str) -> None:
        options = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
        self.book = xlsxwriter.Workbook(stream, options)
        self.paper = PAPERS[paper]
        self._formats: dict[tuple[tuple[str, Any], ...], Any] = {}
        self._lists: dict[tuple[str, ...], str] = {}
        self._list_sheet: Any = None

    def format(self, **how: Any) -> Any:
        key = tuple(sorted(how.items()))
        if key not in self._formats:
            self._formats[key] = self.book.add_format({"font_color": INK, "valign": "vcenter", **how})
        return self._formats[key]

    def list(self, words: Sequence[str]) -> str:
        """Where a list stands; the same list is written once."""
        key = tuple(words)
        if key not in self._lists:
            if self._list_sheet is None:
                self._list_sheet = self.book.add_worksheet(_LISTS)
                self._list_sheet.hide()
            column = len(self._lists)
            self._list_sheet.write_column(0, column, key)
            self._lists[key] = f"={_LISTS}!{xl_range_abs(0, column, max(len(key) - 1, 0), column)}"
        return self._lists[key]


def write(stream: BinaryIO, pages: list[Page], readers: list[str], paper: str) -> None:
    """Write the form; ``readers``: names that the reader's cell offers, others may be written."""
    book = _Book(stream, paper)
    with book.book:
        sheets = [book.book.add_worksheet(page.name) for page in pages]
        _write_cautions(book)
        for page, sheet in zip(pages, sheets, strict=True):
            _Table(book, page, sheet, readers).write()
        _write_made_with(book, pages)
        sheets[0].activate()


class _Table:
    def __init__(self, book: _Book, page: Page, sheet: Any, readers: list[str]) -> None:
        self.book, self.page, self.sheet, self.readers = book, page, sheet, readers
        self.rows = page.rows
        self.last = len(self.rows) + SPARE_ROWS  # last row; row 0 is the header

    def write(self) -> None:
        self._set_up()
        for column, field in enumerate(self.page.fields):
            self._write_head(column, field)
            self._check(column, field)
        at = 1
        progress = Progress("form", "units")
        for count, block in enumerate(self.page.blocks, start=1):
            for i, row in enumerate(block.rows):
                self._write_row(at, row, first=i == 0)
                at += 1
            progress(count)
        progress.done()
        for spare in range(SPARE_ROWS):
            self._write_spare(at + spare, first=spare == 0)

    def _set_up(self) -> None:
        sheet = self.sheet
        keys = sum(f.kind == "key" for f in self.page.fields)
        sheet.freeze_panes(1, keys)
        sheet.set_row(0, _HEAD_HEIGHT)
        sheet.set_default_row(_ROW_HEIGHT)
        sheet.protect("", {"format_columns": True, "format_rows": True, "sort": False})
        sheet.set_landscape()
        sheet.set_paper(self.book.paper)
        sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.8)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
        sheet.set_header(f"&L{_texts.TITLE}&R&P / &N")
        sheet.set_footer(f"&L&8{_texts.SHORT_CAUTION}")
        sheet.print_area(0, 0, self.last, len(self.page.fields) - 1)

    def _write_head(self, column: int, field: Field) -> None:
        grey = {"bg_color": SHADE, "italic": True} if field.kind == "helper" else {"bold": True}
        self.sheet.write_string(0, column, field.header, self.book.format(text_wrap=True, bottom=2, **grey))
        width = _WIDTHS.get(field.header, 8 if field.kind == "helper" else min(max(len(field.header), 8), 13))
        self.sheet.set_column(column, column, width)
        if note := _note(field):
            self.sheet.write_comment(0, column, note, {"x_scale": 1.6})

    # ---- cells

    def _write_row(self, at: int, row: dict[str, Any], *, first: bool) -> None:
        own = value_of(row)
        for column, field in enumerate(self.page.fields):
            shut = own is not None and (self._is_other_value(field, own) or _is_not_asked(field, row))
            form = self._format(field, first=first, shut=shut)
            if field.kind == "once" and not first:
                above = xl_rowcol_to_cell(at - 1, column)
                self.sheet.write_formula(at, column, f'=IF({above}="","",{above})', form, "")
            else:
                _write_cell(self.sheet, at, column, row.get(field.header), form)

    def _write_spare(self, at: int, *, first: bool) -> None:
        for column, field in enumerate(self.page.fields):
            if field.kind != "helper":
                self.sheet.write_blank(at, column, None, self._format(field, first=first, spare=True))

    @staticmethod
    def _is_other_value(field: Field, own: str) -> bool:
        """Whether the quantity of the row has no business in this column."""
        of_value = field.header == "present" or (field.column is not None and field.column.name == "value")
        return of_value and field.header != own

    def _format(self, field: Field, *, first: bool, shut: bool = False, spare: bool = False) -> Any:
        how: dict[str, Any] = {"top": 2} if first else {}
        if shut or field.kind == "helper" or (field.kind == "key" and not spare):
            how |= {"bg_color": SHADE} if field.kind != "key" else {"bold": True}
            how |= {"num_format": "yyyy-mm-dd"} if field.header == _texts.READ_LAST else {}
            return self.book.format(**how, align="left")
        form = field.column.form if field.column is not None else "text"
        how |= {"locked": False, "left": 1, "right": 1, "bottom": 1, "border_color": FRAME}
        how |= {"top": 1} if not first else {}
        how["num_format"] = {"date": "yyyy-mm-dd", "text": "@"}.get(form, "General")
        return self.book.format(**how)

    # ---- checks

    def _check(self, column: int, field: Field) -> None:
        if field.kind == "helper" or field.column is None:
            return
        first = 1 if field.kind != "key" else len(self.rows) + 1
        if field.column.name == "value":
            self._check_values(column, field)
        elif (check := self._check_of(field)) is not None:
            self.sheet.data_validation(first, column, self.last, column, check)

    def _check_of(self, field: Field) -> dict[str, Any] | None:
        c = field.column
        assert c is not None
        if c.name == "reader" and self.readers:
            return {"validate": "list", "source": self.book.list(self.readers), "show_error": False}
        if c.name == "unit":
            units = [block.unit for block in self.page.blocks]
            return {"validate": "list", "source": self.book.list(units), "show_error": False}
        if c.codes or c.form == "yes_no":
            words = c.codes or ("yes", "no")
            return _refusing({"validate": "list", "source": self.book.list(words)}, _texts.PICK)
        if c.form == "date":
            between = {"validate": "date", "criteria": "between", "minimum": _FIRST_DAY, "maximum": "=TODAY()"}
            return _refusing(between, _texts.DAY)
        if c.least is None or c.most is None:
            return None
        return _number_check(c, field.measure, c.least, c.most, c.range_measure, c.words)

    def _check_values(self, column: int, field: Field) -> None:
        """Each quantity has bounds of its own."""
        for quantity in QUANTITIES:
            if not quantity.range_measure:
                continue
            at = [
                i for i, row in enumerate(self.rows, 1)
                if row["quantity"] == quantity.name and value_of(row) == field.header
            ]  # fmt: skip
            if not at:
                continue
            assert field.column is not None
            bounds = (quantity.least, quantity.most, quantity.range_measure)
            check = _number_check(field.column, field.measure, *bounds, quantity.words)
            for cells in _pieces([xl_rowcol_to_cell(i, column) for i in at]):
                ranges = {"multi_range": " ".join(cells)} if len(cells) > 1 else {}
                row = int("".join(c for c in cells[0] if c.isdigit())) - 1
                self.sheet.data_validation(row, column, row, column, {**check, **ranges})


def _is_not_asked(field: Field, row: dict[str, Any]) -> bool:
    """Whether a qualifier says nothing of the quantity of the row."""
    return field.column is not None and field.column.name in QUALIFIERS and field.column.name not in row[ASKED]


def _pieces(cells: list[str]) -> Iterator[list[str]]:
    for start in range(0, len(cells), _MOST_RANGES):
        yield cells[start : start + _MOST_RANGES]


def _number_check(c: Column, label: str, least: float, most: float, of: str, words: str) -> dict[str, Any]:
    """Bounds of the dictionary, in the measure of the column."""
    if label and of:
        least, most = (float(v) for v in measures.convert(np.array([least, most]), of, label))
    kind = "integer" if c.form == "whole" else "decimal"
    text = _texts.BETWEEN.format(
        least=f"{least:g}", most=f"{most:g}", measure=f" {label}" if label else "", words=words
    )
    return _refusing({"validate": kind, "criteria": "between", "minimum": least, "maximum": most}, text)


def _refusing(check: dict[str, Any], text: str) -> dict[str, Any]:
    """With the message of a cell that is refused; the file format ends titles at 32 and texts at 255 characters."""
    return {**check, "error_title": _texts.WRONG[:32], "error_message": text[:255], "error_type": "stop"}


def _note(field: Field) -> str:
    """What the head of a column says when the pointer rests on it."""
    parts = [field.words] if field.words else []
    if field.measure:
        parts.append(f"in {measures.table()[field.measure].label}")
    if field.kind == "once":
        parts.append(_texts.ONCE)
    if field.column is not None and field.column.codes and len(field.column.codes) <= 12:
        parts.append(", ".join(field.column.codes))
    return ". ".join(parts)


def _write_cell(sheet: Any, at: int, column: int, value: Any, form: Any) -> None:
    if value is None:
        sheet.write_blank(at, column, None, form)
    elif isinstance(value, dt.date):
        sheet.write_datetime(at, column, value, form)
    elif isinstance(value, str):
        sheet.write_string(at, column, value, form)  # a tire or chamber number keeps its zeros
    else:
        sheet.write_number(at, column, value, form)


def _write_cautions(book: _Book) -> None:
    sheet = book.book.add_worksheet("read first")
    sheet.set_column(0, 0, 110)
    sheet.set_paper(book.paper)
    lines = [(_texts.TITLE, {"bold": True, "font_size": 14})]
    lines += [(text, {"text_wrap": True, "bold": True}) for text in _texts.CAUTIONS]
    lines += [("", {})]
    lines += [(text, {"text_wrap": True}) for text in _texts.HOW_TO]
    for at, (text, how) in enumerate(lines):
        sheet.write_string(at, 0, text, book.format(**how))
        sheet.set_row(at, 32 if len(text) > 110 else 18)
    sheet.protect()


def _write_made_with(book: _Book, pages: list[Page]) -> None:
    """What every cell of the form held when it was made: ``_typed`` tells by it what was typed."""
    sheet = book.book.add_worksheet(FORM_SHEET)
    sheet.very_hidden()
    lines: list[list[Any]] = [["form", VERSION]]
    for page in pages:
        read = [f for f in page.fields if f.kind != "helper"]
        lines.append(["helper", page.name, *(f.header for f in page.fields if f.kind == "helper")])
        lines.append(["once", page.name, *(f.header for f in read if f.kind == "once")])
        made = [f.header for f in read if f.kind in ("key", "made")]
        lines.append(["columns", page.name, *made])
        lines += [["row", page.name, *(row.get(name) for name in made)] for row in page.rows]
    for at, line in enumerate(lines):
        for column, value in enumerate(line):
            if value is not None:
                _write_cell(sheet, at, column, value, None)
