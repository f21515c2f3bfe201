"""Where tables come from: CSV, Parquet and xlsx files, data frames, Arrow streams, dicts of arrays.

Every source is a header and blocks of Arrow arrays with the row numbers that a spreadsheet would show. Nothing is
interpreted here: text stays text.
"""

from __future__ import annotations

import codecs
import datetime as dt
import io
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pv

from wheelend._form._typed import FORM_SHEET, Numbered, days_of, made_with, settle
from wheelend._words import did_you_mean
from wheelend.errors import BadCall, DataRefused

if TYPE_CHECKING:
    import numpy.typing as npt

FIRST_ROW = 2  # the header is row 1
_BLOCK_BYTES = 2**20  # Arrow reads up to 32 of them ahead
_BLOCK_ROWS = 2**18
_RAGGED_TEXT = 400  # characters of a ragged row that are kept


@dataclass(slots=True)
class RaggedRow:
    """A row of a text file with another number of cells than the header, or with whole rows inside a cell."""

    row: int
    cells: int
    text: str
    inside: int = 0  # rows that a quotation mark which is not closed has swallowed


@dataclass
class Block:
    """Some rows: their numbers, one Arrow array per column of the header, and the ragged rows met on the way."""

    rows: npt.NDArray[np.int64]
    arrays: list[pa.Array]
    ragged: list[RaggedRow] = field(default_factory=list)


@dataclass
class Source:
    """A table that is being read. ``kind`` is what results are turned back into; ``is_unwritten``: a table of a form in
    which nothing was written, which is no mistake where another of its tables was filled in."""

    name: str
    kind: str
    header: list[str]
    blocks: Iterator[Block]
    sheet: str = ""
    notes: list[tuple[str, str, str]] = field(default_factory=list)  # rule, text, message
    is_text: bool = False
    is_unwritten: bool = False

    @property
    def place(self) -> tuple[str, str]:
        return self.name, self.sheet


def open_source(table: Any, what: str, *, sheet: str | None = None, delimiter: str | None = None) -> Source:
    """Open a path, a data frame, an Arrow stream or a dict of arrays.

    Raises
    ------
    DataRefused
        The file is empty, or of other content than its name says.
    BadCall
        The object is not a table.
    """
    if isinstance(table, str | os.PathLike):
        return _open_file(Path(table), what, sheet, delimiter)
    if isinstance(table, Mapping):
        return _from_mapping(table, what)
    module = type(table).__module__.partition(".")[0]
    if module == "pandas":
        # By place, since two columns may have one name.
        return _from_columns([(str(name), table.iloc[:, i]) for i, name in enumerate(table.columns)], what, "pandas")
    if module == "polars":
        frame = table.collect() if hasattr(table, "collect") else table
        return _from_arrow(frame.to_arrow(), what, "polars")
    if hasattr(table, "__arrow_c_stream__") or isinstance(table, pa.RecordBatchReader):
        # A stream may be readable only once: it is imported here and nowhere else.
        return _from_arrow(pa.table(table), what, "arrow")
    if hasattr(table, "fetch_arrow_table"):
        return _from_arrow(table.fetch_arrow_table(), what, "arrow")
    raise BadCall(
        f"{what}: expected a path, a pandas or polars frame, an Arrow table or stream, a DuckDB relation or a dict of "
        f"arrays, got {type(table).__name__}"
    )


# ---- files


def _open_file(path: Path, what: str, sheet: str | None, delimiter: str | None) -> Source:
    if not path.is_file():
        raise BadCall(f"{what}: there is no file {path}: check the path")
    if path.stat().st_size == 0:
        raise DataRefused(f"{path.name} is empty: write a header row and at least one row of readings")
    with path.open("rb") as f:
        head = f.read(65536)
    if head.startswith(b"PAR1"):
        return _open_parquet(path)
    if head.startswith(b"PK\x03\x04") or head.startswith(b"\xd0\xcf\x11\xe0"):
        return _open_workbook(path, what, sheet)
    return _open_csv(path, head, delimiter)


def _open_parquet(path: Path) -> Source:
    import pyarrow.parquet as pq

    try:
        file = pq.ParquetFile(path)
    except pa.ArrowInvalid as error:
        raise DataRefused(f"{path.name} is not a readable Parquet file: {error}") from None
    header = list(file.schema_arrow.names)
    batches = file.iter_batches(batch_size=_BLOCK_ROWS)
    return Source(path.name, "arrow", header, _number_batches(batches))


def _number_batches(batches: Any) -> Iterator[Block]:
    first = FIRST_ROW
    for batch in batches:
        yield Block(np.arange(first, first + batch.num_rows, dtype=np.int64), list(batch.columns))
        first += batch.num_rows


def _open_workbook(path: Path, what: str, sheet: str | None) -> Source:
    """A sheet of a workbook: the one that is asked for, else the one that is named as the table, else the first."""
    from python_calamine import CalamineWorkbook

    try:
        book = CalamineWorkbook.from_path(path)
        names = book.sheet_names
        if sheet is not None and sheet not in names:
            raise BadCall(f"{path.name} has no sheet {sheet!r}; it has {', '.join(names)}{did_you_mean(sheet, names)}")
        name = sheet if sheet is not None else what if what in names else names[0]
        cells = _sheet_cells(book, name)
        if FORM_SHEET in names:
            return _typed_source(path, book, name, cells)
    except (BadCall, DataRefused):
        raise
    except Exception as error:
        raise DataRefused(f"{path.name} is not a readable workbook: {error}") from None
    if not cells:
        raise DataRefused(f"{path.name}, sheet {name} is empty: write a header row and rows of readings")
    notes = []
    if sheet is None and name != what and len(names) > 1:
        others = ", ".join(n for n in names if n != name)
        notes.append(("first_sheet", name, f"sheet {name!r} was read; the others ({others}) were not"))
    return _workbook_source(path, name, *_table_of(cells), notes)


def _sheet_cells(book: Any, name: str) -> list[list[str | None]]:
    return [[_cell_text(c) for c in row] for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)]


def _table_of(cells: list[list[str | None]]) -> tuple[list[str], list[Numbered]]:
    """Header, and rows of which a cell under a header is filled, each with its number."""
    header = [c or "" for c in cells[0]] if cells else []
    width = max((i + 1 for i, h in enumerate(header) if h), default=0)
    rows = [(i, row[:width]) for i, row in enumerate(cells[1:], FIRST_ROW) if any(c is not None for c in row[:width])]
    return header[:width], rows


def _workbook_source(
    path: Path, name: str, header: list[str], rows: list[Numbered], notes: list[tuple[str, str, str]]
) -> Source:
    arrays = [pa.array([row[c] for _, row in rows], pa.large_string()) for c in range(len(header))]
    block = Block(np.array([i for i, _ in rows], np.int64), arrays)
    return Source(path.name, "arrow", header, iter([block]), sheet=name, notes=notes, is_text=True)


def _typed_source(path: Path, book: Any, name: str, cells: list[list[str | None]]) -> Source:
    """A table of an entry form: what was typed into it."""
    made = made_with(_sheet_cells(book, FORM_SHEET), path.name)
    if name not in made:
        raise DataRefused(f"{path.name}, sheet {name} is no table of the form; those are {', '.join(made)}")
    has_days = name != "readings" and "readings" in book.sheet_names
    days = days_of(*_table_of(_sheet_cells(book, "readings"))) if has_days else None
    typed = settle(made[name], *_table_of(cells), days)
    source = _workbook_source(path, name, typed.header, typed.rows, typed.notes)
    source.is_unwritten = not typed.rows
    return source


def _cell_text(cell: Any) -> str | None:
    """A cell of a workbook as it would be written in a text file; a number as its shortest decimal."""
    if cell is None or cell == "":
        return None
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, dt.datetime):
        return cell.date().isoformat() if cell.time() == dt.time() else cell.isoformat()
    return str(cell)


def _open_csv(path: Path, head: bytes, delimiter: str | None) -> Source:
    encoding, notes = _encoding(path, head)
    text = codecs.decode(head[: len(head) // 4 * 4], encoding, "ignore").lstrip("\ufeff")
    line = text.splitlines()[0] if text.strip() else ""
    if not line.strip():
        raise DataRefused(f"{path.name} has no header: its first row must name the columns")
    mark = delimiter or max(",;\t|", key=lambda c: (line.count(c), -",;\t|".index(c)))
    header = _split_header(text, mark)
    return Source(path.name, "arrow", header, _csv_blocks(path, encoding, mark, len(header)), notes=notes, is_text=True)


def _encoding(path: Path, head: bytes) -> tuple[str, list[tuple[str, str, str]]]:
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16", []
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if even or odd:
        half = len(head) // 2
        if odd > half * 0.8 and even < half * 0.05:
            return "utf-16-le", []
        if even > half * 0.8 and odd < half * 0.05:
            return "utf-16-be", []
    # A stray NUL is a bad cell; a file full of control characters is no text.
    if sum(head.count(c) for c in range(9)) > len(head) // 100:
        raise DataRefused(
            f"{path.name} is not a text table (it contains binary data): export it as CSV, Parquet or xlsx"
        )
    if _is_utf8(path):
        return "utf-8-sig" if head.startswith(codecs.BOM_UTF8) else "utf-8", []
    if even or odd:
        raise DataRefused(
            f"{path.name} is not a text table (it contains binary data): export it as CSV, Parquet or xlsx"
        )
    note = "the file is not UTF-8; it was read as Windows-1252: check names with accents, or save it as UTF-8"
    return _single_byte_encoding(path), [("encoding", "", note)]


def _single_byte_encoding(path: Path) -> str:
    """Windows-1252, or Latin-1 where a byte stands for nothing in it: that one takes every byte."""
    with path.open("rb") as f:
        while piece := f.read(2**20):
            if any(byte in piece for byte in (0x81, 0x8D, 0x8F, 0x90, 0x9D)):
                return "latin-1"
    return "cp1252"


def _is_utf8(path: Path) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        with path.open("rb") as f:
            while piece := f.read(2**20):
                decoder.decode(piece)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _split_header(text: str, mark: str) -> list[str]:
    """The first record; a header in quotes may hold line breaks."""
    import csv

    try:
        return [h.strip() for h in next(csv.reader(io.StringIO(text, newline=""), delimiter=mark))]
    except csv.Error:  # a quotation mark that is not closed: what is there is shown in the refusal
        return [h.strip() for h in text.splitlines()[0].split(mark)]


def _csv_blocks(path: Path, encoding: str, mark: str, width: int) -> Iterator[Block]:
    ragged: list[RaggedRow] = []

    def keep_ragged(row: Any) -> str:
        inside = _rows_inside(row.text, mark, width)
        ragged.append(RaggedRow(row.number, row.actual_columns, row.text[:_RAGGED_TEXT], inside))
        return "skip"

    names = [f"c{i}" for i in range(width)]
    try:
        reader = pv.open_csv(
            path,
            read_options=pv.ReadOptions(
                use_threads=False,
                encoding="utf8" if encoding.startswith("utf-8") else encoding,
                block_size=_BLOCK_BYTES,
                column_names=names,
                skip_rows=0,
            ),
            parse_options=pv.ParseOptions(
                delimiter=mark,
                newlines_in_values=True,
                ignore_empty_lines=False,
                invalid_row_handler=keep_ragged,
            ),
            convert_options=pv.ConvertOptions(column_types={n: pa.string() for n in names}, strings_can_be_null=False),
        )
    except (pa.ArrowInvalid, UnicodeDecodeError) as error:
        raise DataRefused(_unreadable(path, 1, error)) from None
    for block in _number_csv_batches(reader, path, ragged):
        _find_swallowed(block, mark, width)
        yield block


def _rows_inside(text: str, mark: str, width: int) -> int:
    """How many whole rows stand after the first line of a cell or record."""
    return sum(line.count(mark) >= width - 1 for line in text.splitlines()[1:])


def _find_swallowed(block: Block, mark: str, width: int) -> None:
    """Take out rows with a cell that holds other rows: a quotation mark is not closed there."""
    found: dict[int, RaggedRow] = {}
    for array in block.arrays:
        for i in np.flatnonzero(pc.match_substring(array, "\n").to_numpy(zero_copy_only=False)):
            text = array[int(i)].as_py()
            if width > 1 and (inside := _rows_inside(text, mark, width)):
                found[int(i)] = RaggedRow(int(block.rows[i]), width, text[:_RAGGED_TEXT], inside)
    if found:
        block.ragged += found.values()
        keep = np.ones(len(block.rows), bool)
        keep[list(found)] = False
        block.rows, block.arrays = block.rows[keep], [a.filter(pa.array(keep)) for a in block.arrays]


def _number_csv_batches(reader: Any, path: Path, ragged: list[RaggedRow]) -> Iterator[Block]:
    """Row numbers count every record, the ragged ones included. The header is the first record and is dropped.

    The reader meets ragged rows some blocks ahead. They are handed on at once, so that they never gather; only their
    numbers are kept until they are passed.
    """
    following = 1
    ahead = np.array([], np.int64)
    while True:
        try:
            batch = reader.read_next_batch()
        except StopIteration:
            break
        except (pa.ArrowInvalid, UnicodeDecodeError) as error:
            raise DataRefused(_unreadable(path, following, error)) from None
        new = ragged.copy()
        ragged.clear()
        ahead = np.concatenate([ahead, np.array([r.row for r in new], np.int64)])
        rows = _skip_rows(following, batch.num_rows, ahead)
        if len(rows):
            following = int(rows[-1]) + 1
            ahead = ahead[ahead > following - 1]
        arrays = list(batch.columns)
        if len(rows) and rows[0] == 1:
            rows, arrays = rows[1:], [a.slice(1) for a in arrays]
        yield Block(rows, arrays, new)
    if ragged:
        yield Block(np.array([], np.int64), [], ragged)


def _unreadable(path: Path, row: int, error: Exception) -> str:
    if "straddling" in str(error):
        size = _BLOCK_BYTES // 2**20
        return (
            f"{path.name}, row {row} or below: a row of more than {size} MiB: is a quotation mark not closed? Close it"
        )
    return f"{path.name}, row {row} or below, cannot be read: {error}. Save the file again, as UTF-8"


def _skip_rows(first: int, count: int, ragged: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """The next ``count`` row numbers from ``first`` that are not among the ragged ones."""
    last = first + count
    while True:
        skipped = int(np.searchsorted(ragged, last, side="left"))
        if first + count + skipped == last:
            break
        last = first + count + skipped
    rows = np.arange(first, last, dtype=np.int64)
    return rows[~np.isin(rows, ragged, assume_unique=True)] if skipped else rows


# ---- objects


def _from_arrow(table: pa.Table, what: str, kind: str) -> Source:
    keep = [i for i, name in enumerate(table.column_names) if not name.startswith("__index_level_")]
    table = table.select(keep)
    batches = table.to_batches(max_chunksize=_BLOCK_ROWS)
    return Source(what, kind, list(table.column_names), _number_batches(batches))


def _from_mapping(columns: Mapping[str, Any], what: str) -> Source:
    return _from_columns([(str(name), values) for name, values in columns.items()], what, "dict")


def _from_columns(columns: list[tuple[str, Any]], what: str, kind: str) -> Source:
    names = [name for name, _ in columns]
    arrays = [_to_array(values, f"{what}[{name!r}]") for name, values in columns]
    lengths = {len(a) for a in arrays}
    if len(lengths) > 1:
        sizes = ", ".join(f"{n}: {len(a)}" for n, a in zip(names, arrays, strict=True))
        raise BadCall(f"{what}: the columns differ in length ({sizes})")
    n = lengths.pop() if lengths else 0
    table = pa.Table.from_arrays(arrays, names=names) if arrays else pa.table({})
    batches = table.to_batches(max_chunksize=_BLOCK_ROWS) if n else []
    return Source(what, kind, names, _number_batches(batches))


def _to_array(values: Any, what: str) -> pa.Array:
    """One column as Arrow. Columns of mixed types become text, so that each cell is judged by what it says."""
    if isinstance(values, str | bytes) or not hasattr(values, "__len__"):
        raise BadCall(f"{what}: expected a column of values, got {type(values).__name__}")
    try:
        array = pa.array(values, from_pandas=True)
    except (pa.ArrowInvalid, pa.ArrowTypeError, pa.ArrowNotImplementedError):
        try:
            array = pa.array([_object_text(v) for v in values], pa.large_string())
        except TypeError:
            raise BadCall(f"{what}: expected a column of values, got {type(values).__name__}") from None
    return array.combine_chunks() if isinstance(array, pa.ChunkedArray) else array


def _object_text(value: Any) -> str | None:
    if value is None or (isinstance(value, float) and value != value):
        return None
    return _cell_text(value.item() if isinstance(value, np.generic) else value)
