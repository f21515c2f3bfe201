"""Results as tables: wheel positions in words, the kind of table that came in, files."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core
from wheelend._progress import Progress
from wheelend._words import did_you_mean
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend.log import Log

SUFFIXES = (".csv", ".parquet", ".json", ".xlsx")
_ROWS_AT_ONCE = 2**16  # a row group of Parquet, and a step of progress
_XLSX_ROWS = 1_048_575  # rows of a sheet below its header: limit of the file format


def native(table: pa.Table, kind: str) -> Any:
    """The table as the kind that came in; Arrow for files."""
    if kind == "pandas":
        return table.to_pandas()
    if kind == "polars":
        import polars

        return polars.from_arrow(table)
    if kind == "dict":
        return {name: table[name].to_numpy() for name in table.column_names}
    return table


def names_of(codes: npt.NDArray[Any], names: Sequence[str]) -> pa.Array:
    """Text of each code; a negative code is null."""
    index = pa.array(codes.astype(np.int32), mask=codes < 0)
    return pa.DictionaryArray.from_arrays(index, pa.array(list(names), pa.string())).cast(pa.string())


def numbers(values: npt.NDArray[Any]) -> pa.Array:
    """Doubles with NaN as null."""
    return pa.array(values, pa.float64(), from_pandas=True)


NO_DAY = np.iinfo(np.int32).min  # of the core: no day is known


def dates_of(day: npt.NDArray[Any], missing: npt.NDArray[np.bool_]) -> pa.Array:
    """Dates of day numbers, whole or not; what is missing is null."""
    whole = np.floor(np.where(missing, 0, day)).astype(np.int32)
    return pa.array(whole, pa.int32(), mask=missing).cast(pa.date32())


UNIT, AXLE, WHEEL, WHEEL_END = 0, 1, 2, 3  # of what a result is one; the first three as `Level` in facts.hpp


def place_columns(
    log: Log, position: npt.NDArray[np.int32], level: npt.NDArray[np.uint8] | None = None
) -> dict[str, pa.Array]:
    """The four columns that name a wheel position; null in those that a result of an axle or unit has not."""
    p = log.positions
    of = np.full(len(position), WHEEL, np.uint8) if level is None else level
    side = np.where(of >= WHEEL, p.side[position], np.int8(-1))
    dual = np.where(of == WHEEL, p.dual[position], np.int8(-1))
    return {
        "unit": names_of(p.unit[position], p.units),
        "axle": pa.array(p.axle[position], pa.int32(), mask=of == UNIT),
        "side": names_of(side, _core.codes["side"]),
        "dual": names_of(dual, _core.codes["dual"]),
    }


def positions_of(log: Log, table: pa.Table) -> npt.NDArray[np.int64]:
    """Position of each row of a result; all of its rows must be of a wheel."""
    p = log.positions
    place = {key: i for i, key in enumerate(zip(p.unit, p.axle, p.side, p.dual, strict=True))}
    units = {name: i for i, name in enumerate(p.units)}
    side, dual = _core.codes["side"], _core.codes["dual"]
    rows = table.select(["unit", "axle", "side", "dual"]).to_pylist()
    found = [place[units[r["unit"]], r["axle"], side.index(r["side"]), dual.index(r["dual"])] for r in rows]
    return np.array(found, np.int64)


def bits_to_text(bits: npt.NDArray[Any], texts: Sequence[str]) -> pa.Array:
    """One text per set bit, in order, joined; null where no bit is set. Built once per combination that occurs."""
    unique, inverse = np.unique(bits, return_inverse=True)
    words = ["; ".join(t for bit, t in enumerate(texts) if (int(b) >> bit) & 1) for b in unique]
    return pa.array([w or None for w in words], pa.string()).take(pa.array(inverse))


def chosen(
    log: Log,
    unit: Iterable[str] | str | None,
    site: Iterable[str] | str | None,
    group: Iterable[str] | str | None,
) -> npt.NDArray[np.bool_]:
    """Mask of the positions that the filters leave."""
    mask = np.ones(len(log.positions), bool)
    if unit is not None:
        wanted = _as_list(unit)
        _require_known(wanted, log.units, "unit")
        codes = [log.units.index(u) for u in wanted]
        mask &= np.isin(log.positions.unit, codes)
    for name, given in (("site", site), ("group", group)):
        if given is None:
            continue
        column = log.positions.columns.get(f"attribute:{name}")
        if column is None:
            raise BadCall(f"{name}: the positions carry no column {name!r}")
        values = [log.attribute_names[c] if c >= 0 else "" for c in column]
        wanted = _as_list(given)
        _require_known(wanted, sorted(set(values)), name)
        mask &= np.isin(values, wanted)
    return mask


def _as_list(value: Iterable[str] | str) -> list[str]:
    return [str(value)] if isinstance(value, str) or not isinstance(value, Iterable) else [str(v) for v in value]


_FEW = 20  # names that a message lists


def _require_known(wanted: list[str], known: list[str], what: str) -> None:
    for name in wanted:
        if name not in known:
            near = did_you_mean(name, known, most=3)
            some = f" (there are {', '.join(known)})" if not near and len(known) <= _FEW else ""
            raise BadCall(f"{what}: {name!r} is not in the data{near}{some}")


# ---- files


def require_suffix(path: Path) -> str:
    """The ending of a file that can be written; any other is refused."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise BadCall(f"-o {path.name}: expected a name ending in {', '.join(SUFFIXES)}")
    return suffix


def write(
    table: pa.Table | Iterable[pa.RecordBatch],
    path: str | os.PathLike[str],
    schema: pa.Schema | None = None,
    suffix: str | None = None,
) -> None:
    """Write a table, or batches of ``schema``, as ``suffix`` says, else as the file's own: ``.csv``, ``.parquet``,
    ``.json`` or ``.xlsx``.

    Batches go to csv, json and parquet one by one, so that memory stays bounded.
    """
    target = Path(path)
    suffix = suffix or require_suffix(target)
    if isinstance(table, pa.Table):
        schema = table.schema
        batches: Iterable[pa.RecordBatch] = table.to_batches(max_chunksize=_ROWS_AT_ONCE)
    else:
        assert schema is not None
        batches = table
    with whole(target) as part, part.open("wb") as stream:
        write_to(stream, _shown(batches, target.name), schema, suffix)


def _shown(batches: Iterable[pa.RecordBatch], name: str) -> Iterator[pa.RecordBatch]:
    """The same batches; a long file shows how far it is."""
    progress, rows = Progress(f"writing {name}"), 0
    for batch in batches:
        yield batch
        rows += len(batch)
        progress(rows)
    progress.done()


@contextlib.contextmanager
def whole(target: Path) -> Iterator[Path]:
    """A file to write beside ``target``, moved there at the end: a half-written file must never pass for a result."""
    part = target.with_name(f".{target.name}.part")
    try:
        yield part
        part.replace(target)
    except OSError as error:
        raise type(error)(error.errno, error.strerror, str(target)) from None
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def write_to(stream: BinaryIO, batches: Iterable[pa.RecordBatch], schema: pa.Schema, suffix: str) -> None:
    """Write batches to an open file, in the form that ``suffix`` names; the file stays open."""
    {".csv": _csv, ".parquet": _parquet, ".json": _json, ".xlsx": _xlsx}[suffix](batches, schema, stream)


def _csv(batches: Iterable[pa.RecordBatch], schema: pa.Schema, stream: BinaryIO) -> None:
    import pyarrow.csv as pv

    with pv.CSVWriter(stream, schema, write_options=pv.WriteOptions(quoting_style="needed")) as writer:
        for batch in batches:
            writer.write_batch(batch)


def _parquet(batches: Iterable[pa.RecordBatch], schema: pa.Schema, stream: BinaryIO) -> None:
    import pyarrow.parquet as pq

    with pq.ParquetWriter(stream, schema) as writer:
        for batch in batches:
            writer.write_batch(batch)


def _json(batches: Iterable[pa.RecordBatch], schema: pa.Schema, stream: BinaryIO) -> None:
    """An array of objects, one row a line."""
    import json

    stream.write(b"[")
    mark = "\n"
    for batch in batches:
        for row in batch.to_pylist():
            stream.write((mark + json.dumps(row, default=_json_value, allow_nan=False)).encode())
            mark = ",\n"
    stream.write(b"\n]\n")


def _json_value(value: Any) -> str:
    """Dates as ISO text; amounts of money as text too, since a number of JSON is read as a double."""
    return str(value) if isinstance(value, Decimal) else str(value.isoformat())


def _xlsx(batches: Iterable[pa.RecordBatch], schema: pa.Schema, stream: BinaryIO) -> None:
    import xlsxwriter

    # Pasted text must stay text: no formulas, no links.
    options = {
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "constant_memory": True,
        "remove_timezone": True,
    }
    # Written aside first: a zip file that cannot be finished (a closed pipe) is closed with complaints.
    with tempfile.SpooledTemporaryFile(max_size=2**24) as made:
        _fill_workbook(xlsxwriter.Workbook(made, options), batches, schema)
        made.seek(0)
        shutil.copyfileobj(made, stream)


def _fill_workbook(book: Any, batches: Iterable[pa.RecordBatch], schema: pa.Schema) -> None:
    with book:
        sheet = book.add_worksheet("wheelend")
        date = book.add_format({"num_format": "yyyy-mm-dd"})
        moment = book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"})
        sheet.write_row(0, 0, schema.names, book.add_format({"bold": True}))
        sheet.freeze_panes(1, 0)
        at = 1
        for batch in batches:
            for row in zip(*(c.to_pylist() for c in batch.columns), strict=True):
                if at > _XLSX_ROWS:
                    raise BadCall(f"an xlsx sheet ends at {_XLSX_ROWS} rows: write .csv or .parquet")
                for column, value in enumerate(row):
                    if value is not None:
                        form = moment if hasattr(value, "hour") else date if hasattr(value, "year") else None
                        sheet.write(at, column, value, form)
                at += 1


def empty(values: Any) -> pa.Array:
    """Text column with empty strings as null."""
    return pc.if_else(pc.equal(values, ""), pa.scalar(None, pa.string()), values)
