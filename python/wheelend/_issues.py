"""The list of problems in the input: held in memory while it is short, on disk when it is long."""

from __future__ import annotations

import itertools
import tempfile
import weakref
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend.errors import BadValue

if TYPE_CHECKING:
    import numpy.typing as npt

SCHEMA = pa.schema(
    [
        ("file", pa.string()),
        ("sheet", pa.string()),
        ("row", pa.int64()),
        ("column", pa.string()),
        ("text", pa.string()),
        ("rule", pa.string()),
        ("effect", pa.string()),
        ("message", pa.string()),
    ]
)
LONGEST_TEXT = 200  # characters of a cell that are shown
_SPILL_BYTES = 8 * 2**20
_PIECE = 2**15  # problems that are put together at once


class Issues:
    """Append-only list of problems. Every problem is kept; beyond 8 MiB they lie in a temporary file."""

    def __init__(self, on_bad: str = "report") -> None:
        self.counts = {"row": 0, "cell": 0, "note": 0}
        self._raise = on_bad == "raise"
        self._held: list[pa.RecordBatch] = []
        self._held_bytes = 0
        self._files: list[Any] = []
        weakref.finalize(self, _close, self._files)
        self._writer: pa.RecordBatchWriter | None = None

    def __len__(self) -> int:
        return sum(self.counts.values())

    def add(
        self,
        source: tuple[str, str],
        rows: npt.NDArray[np.int64] | list[int],
        column: str,
        texts: Any,
        rule: str,
        effect: str,
        messages: Any,
    ) -> None:
        """Append one problem per row.

        ``texts`` and ``messages`` are one string for all, a list, an Arrow array or an iterator. Long ones are taken
        in pieces, so that messages that are only made when asked for never lie in memory together.
        """
        file, sheet = source
        for start in range(0, len(rows), _PIECE):
            piece = rows[start : start + _PIECE]
            n = len(piece)
            batch = pa.RecordBatch.from_arrays(
                [
                    _repeat(file, n),
                    _repeat(sheet, n),
                    pa.array(piece, pa.int64()),
                    _repeat(column, n),
                    pc.utf8_slice_codeunits(_as_strings(_cut(texts, start, n), n), 0, LONGEST_TEXT),
                    _repeat(rule, n),
                    _repeat(effect, n),
                    _as_strings(_cut(messages, start, n), n),
                ],
                schema=SCHEMA,
            )
            self.counts[effect] += n
            if self._raise and effect != "note":
                first = batch.slice(0, 1).to_pylist()[0]
                raise BadValue(describe(first))
            self._held.append(batch)
            self._held_bytes += batch.nbytes
            if self._held_bytes > _SPILL_BYTES:
                self._spill()

    def _spill(self) -> None:
        if self._writer is None:
            # Lives as long as this list does, hence no context manager; it has no name and goes with the process.
            self._files.append(tempfile.TemporaryFile(prefix="wheelend_issues_"))  # noqa: SIM115
            self._writer = pa.ipc.new_stream(self._files[-1], SCHEMA)
        for batch in self._held:
            self._writer.write_batch(batch)
        self._held, self._held_bytes = [], 0

    def batches(self) -> Iterator[pa.RecordBatch]:
        """All problems in the order in which they were found, in pieces."""
        if self._writer is not None:
            self._spill()
            self._writer.close()
            self._writer = None
        for file in self._files:
            file.seek(0)
            yield from pa.ipc.open_stream(file)
        yield from self._held

    def first_of(self, file: str, most: int = 3) -> str:
        """The first rows and values of a file that cannot be used, as a sentence; empty if there are none."""
        lines: list[str] = []
        for batch in self.batches():
            mine = pc.and_(pc.equal(batch["file"], file), pc.not_equal(batch["effect"], "note"))
            lines += [describe(i) for i in batch.filter(mine).slice(0, most - len(lines)).to_pylist()]
            if len(lines) == most:
                break
        return f"First problems: {'; '.join(lines)}. " if lines else ""

    def rows_that_lost(self, source: tuple[str, str], columns: list[str]) -> list[int]:
        """Rows of a table of which a value in one of these columns (as written) is not used."""
        rows: list[int] = []
        for batch in self.batches():
            here = pc.and_(pc.equal(batch["file"], source[0]), pc.equal(batch["sheet"], source[1]))
            lost = pc.and_(pc.is_in(batch["column"], pa.array(columns, pa.string())), pc.equal(batch["effect"], "cell"))
            rows += batch["row"].filter(pc.and_(here, lost)).to_pylist()
        return rows

    def table(self) -> pa.Table:
        """All problems as one table."""
        return pa.Table.from_batches(list(self.batches()), schema=SCHEMA)


def _close(files: list[Any]) -> None:
    for file in files:
        file.close()


def _cut(values: Any, start: int, n: int) -> Any:
    """The next ``n`` of a list, an Arrow array or an iterator; a string stands for all."""
    if isinstance(values, str):
        return values
    if isinstance(values, Iterator):
        return list(itertools.islice(values, n))
    return values[start : start + n]


def describe(issue: dict[str, Any]) -> str:
    """One problem as one line for people."""
    where = issue["file"] + (f" [{issue['sheet']}]" if issue["sheet"] else "")
    column = f", column {issue['column']}" if issue["column"] else ""
    return f"{where}, row {issue['row']}{column}: {issue['message']}"


def _repeat(value: str, n: int) -> pa.Array:
    return pa.repeat(pa.scalar(value, pa.string()), n)


def _as_strings(value: Any, n: int) -> pa.Array:
    if isinstance(value, str):
        return _repeat(value, n)
    array = value.combine_chunks() if isinstance(value, pa.ChunkedArray) else value
    if isinstance(array, list):
        array = pa.array(array, pa.string())
    return pc.fill_null(array.cast(pa.string()), "")
