"""One table into checked columns. Every problem becomes a row of ``issues``; what is good is used.

A bad key costs its row, a bad value costs that value only. Both sums are checked for each table:
rows in = rows used + rows refused, values in = values used + values refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _cells, measures
from wheelend._cells import Coder
from wheelend._facts import spelled_size
from wheelend._header import Field, HeaderIssue, require_keys, resolve
from wheelend._issues import Issues
from wheelend._progress import Progress
from wheelend._words import did_you_mean
from wheelend.dictionary import Column
from wheelend.errors import DataRefused

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._sources import Block, Source

_NUMBER_RULES = {
    _cells.DECIMAL_COMMA: (
        "decimal_comma",
        "a comma where a decimal point belongs: write it with a point, or pass decimal=',' (--decimal ,)",
    ),
    _cells.THOUSANDS: (
        "thousands",
        "a thousands mark: write the digits alone, or pass thousands=',' (--thousands ,) if the whole file has it",
    ),
    _cells.NOT_FINITE: ("not_finite", "not a finite number: leave the cell blank where nothing was read"),
    _cells.NOT_A_NUMBER: (
        "not_a_number",
        "not a number: write the number alone, and leave the cell blank where nothing was read",
    ),
}
_DATE_RULES = {
    _cells.OTHER_ORDER: (
        "date_order",
        "day and month cannot be told apart: write YYYY-MM-DD, or pass dates='mdy' or dates='dmy' (--dates mdy)",
    ),
    _cells.TWO_DIGIT_YEAR: ("two_digit_year", "a year of two digits: write it in full, YYYY-MM-DD"),
    _cells.NO_SUCH_DAY: ("no_such_day", "there is no such day: correct the date (YYYY-MM-DD)"),
    _cells.SERIAL: (
        "serial_date",
        "a spreadsheet's day number: format the cell as a date (YYYY-MM-DD) and save it again",
    ),
    _cells.NOT_A_DATE: ("not_a_date", "not a date: write YYYY-MM-DD, or an RFC 3339 timestamp"),
}


_MOST_WORDS_SHOWN = 12  # in a message
_MOST_HINTS = 1000  # unlike words of a block that a likely one is sought for
_MOST_GROOVES = 64  # the core keeps a set of grooves in as many bits
_FIRST_DAY = -7305  # 1950-01-01: no unit in use is older (common practice, no source)


@dataclass(frozen=True)
class Style:
    """How the tables are written."""

    decimal: str = "."
    thousands: str = ""
    dates: str = "iso"
    today: int = 0  # day number; later readings cannot be


@dataclass
class Tally:
    """Values of each row: present, used, lost. Counted apart, so that their sum is a check."""

    present: npt.NDArray[np.int32]
    used: npt.NDArray[np.int32]
    lost: npt.NDArray[np.int32]

    @classmethod
    def of(cls, n: int) -> Tally:
        return cls(np.zeros(n, np.int32), np.zeros(n, np.int32), np.zeros(n, np.int32))

    @classmethod
    def join(cls, parts: list[Tally]) -> Tally:
        if not parts:
            return cls.of(0)
        return cls(
            np.concatenate([p.present for p in parts]),
            np.concatenate([p.used for p in parts]),
            np.concatenate([p.lost for p in parts]),
        )

    def add(self, present: npt.NDArray[np.bool_], usable: npt.NDArray[np.bool_]) -> None:
        self.present += present
        self.used += usable
        self.lost += present & ~usable

    def lose(self, present: npt.NDArray[np.bool_]) -> None:
        self.present += present
        self.lost += present

    def take(self, mask: npt.NDArray[np.bool_]) -> Tally:
        return Tally(self.present[mask], self.used[mask], self.lost[mask])


@dataclass(frozen=True)
class Counts:
    """The two sums of a table: rows in = used + refused; values in = used + refused (in the rows that are used)."""

    rows_in: int
    rows_used: int
    rows_refused: int
    values_in: int
    values_used: int
    values_refused: int

    def check(self, table: str) -> None:
        """Both sums must hold; if not, this package has a fault, and no result is given."""
        rows = self.rows_used + self.rows_refused
        values = self.values_used + self.values_refused
        if self.rows_in != rows or self.values_in != values:
            raise AssertionError(
                f"{table}: {self.rows_in} rows in, {rows} accounted for; {self.values_in} values in, {values} "
                "accounted for: a fault of wheelend, please report it"
            )


@dataclass
class Checked:
    """Columns of the rows that can be used. Codes and flags: -1 missing; numbers: NaN missing."""

    table: str
    place: tuple[str, str]
    fields: list[Field]
    rows: npt.NDArray[np.int64]
    columns: dict[str, npt.NDArray[Any]]
    measure: dict[str, str]
    headers: dict[str, str]
    long_texts: dict[str, list[tuple[int, str]]]
    tally: Tally
    rows_in: int
    rows_refused: int

    def __len__(self) -> int:
        return len(self.rows)

    def keep(self, mask: npt.NDArray[np.bool_]) -> None:
        """Refuse the rows outside ``mask``; their problems are written down by the caller."""
        if mask.all():
            return
        index = np.cumsum(mask) - 1
        self.long_texts = {
            name: [(int(index[i]), t) for i, t in texts if mask[i]] for name, texts in self.long_texts.items()
        }
        self.columns = {name: c[mask] for name, c in self.columns.items()}
        self.rows = self.rows[mask]
        self.tally = self.tally.take(mask)
        self.rows_refused += int((~mask).sum())

    def lose(self, column: str, mask: npt.NDArray[np.bool_]) -> None:
        """Take single values back out of use; their problems are written down by the caller."""
        values = self.columns[column]
        missing = np.nan if values.dtype.kind == "f" else -1
        self.columns[column] = np.where(mask, values.dtype.type(missing), values)
        self.tally.used[mask] -= 1
        self.tally.lost[mask] += 1

    def counts(self) -> Counts:
        """The sums, checked."""
        counts = Counts(
            self.rows_in,
            len(self),
            self.rows_refused,
            int(self.tally.present.sum(dtype=np.int64)),
            int(self.tally.used.sum(dtype=np.int64)),
            int(self.tally.lost.sum(dtype=np.int64)),
        )
        counts.check(self.table)
        return counts


@dataclass
class _Piece:
    """A block on its way: its rows, those that are refused, and the columns that were checked so far."""

    rows: npt.NDArray[np.int64]
    bad: npt.NDArray[np.bool_]
    tally: Tally
    columns: dict[str, npt.NDArray[Any]] = field(default_factory=dict)
    long_texts: dict[str, list[tuple[int, str]]] = field(default_factory=dict)

    def good(self, offset: int) -> _Piece:
        """The rows that can be used; ``offset`` rows of earlier blocks lie before them."""
        good = ~self.bad
        index = np.cumsum(good) - 1 + offset
        texts = {name: [(int(index[i]), t) for i, t in cells if good[i]] for name, cells in self.long_texts.items()}
        columns = {name: c[good] for name, c in self.columns.items()} if self.bad.any() else self.columns
        return _Piece(self.rows[good], self.bad[good], self.tally.take(good), columns, texts)


class TableIntake:
    """Reads one source, block by block."""

    def __init__(
        self,
        source: Source,
        table: str,
        issues: Issues,
        style: Style,
        given: Mapping[str, str],
        coders: Mapping[str, Coder],
        *,
        also: tuple[str, ...] = (),
        attributes: tuple[str, ...] | None = (),
    ) -> None:
        self.source, self.table, self.issues, self.style = source, table, issues, style
        self.coders = coders
        self.fields, self.refused = resolve(source.header, table, given, also=also, attributes=attributes)
        require_keys(self.fields, self.refused, table, source.header, source.name)
        self.grooves = [f.name.removeprefix("tread_") for f in self.fields if f.is_groove]
        if len(self.grooves) > _MOST_GROOVES:
            raise DataRefused(
                f"{source.name} has {len(self.grooves)} columns of tread depth, more than {_MOST_GROOVES}: name one "
                "per groove, and give places round the tire rows of their own"
            )
        self.rows_in = self.rows_refused = 0
        self._note_header()

    # ---- reading

    def read(self) -> Checked:
        """All blocks. Refuses a table without a single row."""
        pieces: list[_Piece] = []
        used = 0
        progress = Progress(f"reading {self.source.name}")
        for block in self.source.blocks:
            progress(self.rows_in)
            self._refuse_ragged(block)
            piece = self._check_block(block, used)
            if len(piece.rows):
                pieces.append(piece)
                used += len(piece.rows)
        progress.done()
        if self.rows_in == 0 and self.source.is_unwritten:
            raise DataRefused(f"{self.source.name}: nothing was written into the form. Fill it in, and read it again")
        if self.rows_in == 0:
            raise DataRefused(f"{self.source.name} has a header and no rows: nothing was read. Write rows below it")
        if used == 0:
            raise DataRefused(none_usable(self.source.name, self.rows_in, self.issues))
        return self._join(pieces)

    def _join(self, pieces: list[_Piece]) -> Checked:
        names = list(pieces[0].columns)
        columns = {n: np.concatenate([p.columns[n] for p in pieces]) for n in names}
        long_texts: dict[str, list[tuple[int, str]]] = {}
        for piece in pieces:
            for name, texts in piece.long_texts.items():
                long_texts.setdefault(name, []).extend(texts)
        return Checked(
            self.table,
            self.source.place,
            self.fields,
            np.concatenate([p.rows for p in pieces]),
            columns,
            {_key(f): f.measure for f in self.fields if f.measure},
            {_key(f): f.header for f in self.fields},
            long_texts,
            Tally.join([p.tally for p in pieces]),
            self.rows_in,
            self.rows_refused,
        )

    def _note_header(self) -> None:
        for rule, text, message in self.source.notes:
            self.issues.add(self.source.place, [1], "", text, rule, "note", message)
        for issue in self.refused:
            self.issues.add(self.source.place, [1], issue.header, issue.header, issue.rule, issue.effect, issue.message)

    def _refuse_ragged(self, block: Block) -> None:
        ragged = [r for r in block.ragged if r.text.strip(" ,;\t|\r\n")]
        if not ragged:
            return
        width = len(self.source.header)
        unlike = [r for r in ragged if not r.inside]
        swallowed = [r for r in ragged if r.inside]
        for rule, rows, messages in (
            (
                "ragged_row",
                unlike,
                [
                    f"{r.cells} cells where the header has {width}: add or remove cells, or quote a text that "
                    "holds the delimiter"
                    for r in unlike
                ],
            ),
            (
                "unclosed_quote",
                swallowed,
                [
                    f"a quotation mark is open, and {r.inside} more rows were read as part of a cell: close it, or "
                    "remove it"
                    for r in swallowed
                ],
            ),
        ):
            numbers, texts = [r.row for r in rows], [r.text for r in rows]
            self.issues.add(self.source.place, numbers, "", texts, rule, "row", messages)
        self.rows_in += len(ragged)
        self.rows_refused += len(ragged)

    # ---- one block

    def _check_block(self, block: Block, offset: int) -> _Piece:
        arrays = [_cells.plain(a) for a in block.arrays]
        if self.source.is_text and len(block.rows):
            blank = _blank_rows(arrays)
            if blank.any():
                keep = pa.array(~blank)
                arrays = [a.filter(keep) for a in arrays]
                block.rows = block.rows[~blank]
        piece = _Piece(block.rows, np.zeros(len(block.rows), bool), Tally.of(len(block.rows)))
        if len(block.rows) == 0:
            return piece
        for f in self.fields:
            self._check_field(f, arrays[f.index], piece)
        for issue in self.refused:
            if issue.effect == "cell":
                piece.tally.lose(_present(arrays[issue.index]))
        self.rows_in += len(piece.rows)
        self.rows_refused += int(piece.bad.sum())
        return piece.good(offset)

    def _check_field(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        if f.column is None:
            piece.columns[_key(f)] = self.coders["attribute"].codes(array)
            return
        form = f.column.form
        if form == "text":
            codes = self.coders[_coder_of(f.name)].codes(_sizes(array) if f.name == "size" else array)
            piece.columns[_key(f)] = codes
            self._settle(f, array, piece, codes >= 0, {})
        elif form == "date":
            self._check_date(f, array, piece)
        elif form in ("code", "yes_no"):
            self._check_code(f, array, piece)
        elif form == "grooves":
            self._check_grooves(f, array, piece)
        elif form == "percents":
            self._check_percents(f, array, piece)
        else:
            self._check_number(f, array, piece)

    def _settle(
        self,
        f: Field,
        array: pa.Array,
        piece: _Piece,
        usable: npt.NDArray[np.bool_],
        problems: Mapping[tuple[str, str], npt.NDArray[np.bool_]],
        present: npt.NDArray[np.bool_] | None = None,
    ) -> None:
        """Write the problems of a column down; a key that is not usable costs the row."""
        assert f.column is not None
        effect = "row" if f.column.key else "cell"
        for (rule, message), mask in problems.items():
            at = np.flatnonzero(mask)
            if len(at):
                texts = _cells.as_text(array.take(pa.array(at)))
                self.issues.add(self.source.place, piece.rows[at], f.header, texts, rule, effect, message)
        if f.column.key:
            missing = ~usable & ~np.any(list(problems.values()) or [np.zeros(len(piece.rows), bool)], axis=0)
            at = np.flatnonzero(missing)
            self.issues.add(
                self.source.place,
                piece.rows[at],
                f.header,
                "",
                "missing_key",
                "row",
                f"no {f.name}: without it the row belongs nowhere; fill it in",
            )
            piece.bad |= ~usable
        else:
            piece.tally.add(_present(array) if present is None else present, usable)

    def _check_number(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        assert f.column is not None
        read = _cells.numbers(array, self.style.decimal, self.style.thousands)
        values, status = read.values, read.status
        problems = {key: status == s for s, key in _NUMBER_RULES.items() if (status == s).any()}
        for key, mask in _beyond(f.column, f.measure, values).items():
            problems[key] = mask
            values = np.where(mask, np.nan, values)
        if f.column.form == "whole":
            broken = ~np.isnan(values) & (values != np.floor(values))
            if broken.any():
                problems["not_whole", "not a whole number: correct it"] = broken
                values = np.where(broken, np.nan, values)
            whole = np.where(np.isnan(values), -1, values).astype(np.int32)
            piece.columns[_key(f)] = whole
        else:
            piece.columns[_key(f)] = values
        if read.long_texts:
            kept = [(i, t) for i, t in read.long_texts if not np.isnan(values[i])]
            piece.long_texts.setdefault(_key(f), []).extend(kept)
        usable = ~np.isnan(values)
        self._note_unusual(f, array, piece, values)
        self._settle(f, array, piece, usable, problems, status != _cells.MISSING)

    def _note_unusual(self, f: Field, array: pa.Array, piece: _Piece, values: npt.NDArray[np.float64]) -> None:
        c = f.column
        if c is None or c.unusual is None:
            return
        most = measures.convert(np.array([c.unusual]), c.range_measure, f.measure)[0]
        at = np.flatnonzero(values > most)
        if len(at):
            self.issues.add(
                self.source.place,
                piece.rows[at],
                f.header,
                _cells.as_text(array.take(pa.array(at))),
                "unusual",
                "note",
                f"more than {most:g} {f.measure} is unusual: check the reading and its measure; it was used",
            )

    def _check_date(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        read = _cells.dates(array, self.style.dates)
        usable = read.usable()
        problems = {key: read.status == s for s, key in _DATE_RULES.items() if (read.status == s).any()}
        future = usable & (read.day > self.style.today)
        if future.any() and not (f.column is not None and f.column.to_come):
            problems["future_date", "a day that is still to come: correct the date"] = future
            usable = usable & ~future
        past = usable & (read.day < _FIRST_DAY)
        if past.any():
            problems["past_date", "a day before 1950: correct the date (YYYY-MM-DD)"] = past
            usable = usable & ~past
        piece.columns[f.name] = np.where(usable, read.day.astype(np.float64), np.nan)
        if f.name == "read_on":
            piece.columns["read_on"] = read.day
            piece.columns["microsecond"] = read.microsecond
            piece.columns["read_on_form"] = read.status
        self._settle(f, array, piece, usable, problems, read.status != _cells.DATE_MISSING)

    def _check_code(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        assert f.column is not None
        flags = f.column.form == "yes_no"
        small = tuple(word.lower() for word in f.column.codes)
        codes, unknown = _cells.yes_no(array) if flags else _cells.codes(array, small)
        piece.columns[f.name] = codes
        known = () if flags else f.column.codes
        problems = {("unknown_code", message): m for message, m in _nearest(array, unknown, f.name, known)}
        self._settle(f, array, piece, codes >= 0, problems)

    def _check_grooves(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        coded = _cells.words(array)
        masks = [_groove_mask(w, self.grooves) for w in coded.dictionary.to_pylist()]
        default = (1 << len(self.grooves)) - 1 if f.name == "tread_barred" else 0
        table = np.array([default if m is None else m for m in masks] + [default], np.uint64)
        index = pc.fill_null(coded.indices, len(masks)).to_numpy(zero_copy_only=False)
        piece.columns[f.name] = table[index]
        is_bad = np.array([m is None for m in masks] + [False])[index]
        known = ", ".join(self.grooves) or "none"
        message = f"names a groove that this table has not: write names of {known}, with ; between"
        present = index < len(masks)
        self._settle(f, array, piece, present & ~is_bad, {("unknown_groove", message): is_bad}, present)

    def _check_percents(self, f: Field, array: pa.Array, piece: _Piece) -> None:
        """Where the grooves lie: the text is kept as a code, and must be one number from 0 to 100 per groove."""
        coded = _cells.words(array)
        texts = coded.dictionary.to_pylist()
        fine = np.array([percents(t, len(self.grooves)) is not None for t in texts] + [False])
        index = pc.fill_null(coded.indices, len(texts)).to_numpy(zero_copy_only=False)
        present = index < len(texts)
        codes = self.coders["text"].codes(array)
        piece.columns[f.name] = np.where(fine[index], codes, -1).astype(np.int32)
        message = f"not {len(self.grooves)} numbers from 0 to 100, ; between: one per groove, outer edge to inner"
        self._settle(f, array, piece, fine[index], {("not_percents", message): present & ~fine[index]}, present)


def _nearest(
    array: pa.Array, unknown: npt.NDArray[np.bool_], name: str, known: tuple[str, ...]
) -> list[tuple[str, npt.NDArray[np.bool_]]]:
    """Messages for words that a column does not know, each with its rows; without ``known`` it takes yes and no."""
    if not unknown.any():
        return []
    few = len(known) <= _MOST_WORDS_SHOWN
    remedy = f"write {', '.join(known) or 'yes or no'}" if few else f"'wheelend words {name}' lists them"
    at = np.flatnonzero(unknown)
    words, word = np.unique(
        [t or "" for t in _cells.as_text(array.take(pa.array(at))).to_pylist()], return_inverse=True
    )
    rows: dict[str, list[int]] = {}
    for i, text in enumerate(words.tolist()):
        hint = did_you_mean(text, known) if i < _MOST_HINTS else ""
        rows.setdefault(f"not one of the words of this column: {remedy}{hint}", []).append(i)
    return [(message, _marked(at[np.isin(word, ours)], len(unknown))) for message, ours in rows.items()]


def _marked(at: npt.NDArray[np.intp], n: int) -> npt.NDArray[np.bool_]:
    mask = np.zeros(n, bool)
    mask[at] = True
    return mask


def _sizes(array: pa.Array) -> pa.Array:
    """Sizes in one spelling, so that a blank does not make two sizes of one."""
    met = _cells.words(array)
    spelled = pa.array([spelled_size(text) for text in met.dictionary.to_pylist()], pa.string())
    return spelled.take(met.indices)


def percents(text: str, grooves: int) -> list[float] | None:
    """Places of grooves across the tread; a blank part is not known. None where the text is no such list."""
    parts = [p.strip() for p in text.split(";")]
    try:
        places = [float(p) if p else np.nan for p in parts]
    except ValueError:
        return None
    fine = len(places) == grooves and all(np.isnan(p) or 0.0 <= p <= 100.0 for p in places)
    return places if fine else None


def none_usable(file: str, rows: int, issues: Issues) -> str:
    """Why a table is refused of which no row is left, with the first reasons."""
    return f"{file}: none of its {rows} rows can be used. {issues.first_of(file)}Correct them, and read it again"


def _key(f: Field) -> str:
    """Name under which a column is kept; a temperature of the tire must not meet the number of the tire."""
    if f.column is not None and f.column.form == "measured" and f.name == "tire":
        return "tire_temperature"
    return f.name if f.column is not None else f"attribute:{f.name}"


def _coder_of(name: str) -> str:
    return name if name in ("unit", "tire") else "text"


def _present(array: pa.Array) -> npt.NDArray[np.bool_]:
    present: npt.NDArray[np.bool_] = _cells.words(array).is_valid().to_numpy(zero_copy_only=False)
    return present


def _blank_rows(arrays: list[pa.Array]) -> npt.NDArray[np.bool_]:
    blank: npt.NDArray[np.bool_] | None = None
    for a in arrays:
        if a.type == pa.null():
            continue
        empty = pc.fill_null(pc.equal(pc.utf8_trim_whitespace(a), ""), True).to_numpy(zero_copy_only=False)
        blank = empty if blank is None else blank & empty
        if not blank.any():
            return blank
    return blank if blank is not None else np.ones(len(arrays[0]) if arrays else 0, bool)


def _beyond(
    column: Column, label: str, values: npt.NDArray[np.float64]
) -> dict[tuple[str, str], npt.NDArray[np.bool_]]:
    """Values outside the range of a column. Its bounds are held in one measure and moved to the column's."""
    if column.least is None or column.most is None:
        return {}
    least, most = column.least, column.most
    if column.range_measure:
        least, most = measures.convert(np.array([least, most]), column.range_measure, label)
    out = {}
    below, above = values < least, values > most
    unit = f" {label}" if label else ""
    remedy = f"which cannot be ({column.words}): correct it"
    if below.any():
        words = "negative" if column.least == 0 else f"less than {least:g}{unit}"
        out[
            "negative" if column.least == 0 else "out_of_range",
            f"{words}, {remedy}",
        ] = below
    if above.any():
        words = column.range_words or f"more than {most:g}{unit}, {remedy}"
        out["out_of_range", words] = above
    return out


def _groove_mask(text: str, grooves: list[str]) -> int | None:
    mask = 0
    for name in text.lower().split(";"):
        name = name.strip().removeprefix("tread_")
        if name and name not in grooves:
            return None
        if name:
            mask |= 1 << grooves.index(name)
    return mask


__all__ = ["Checked", "Counts", "HeaderIssue", "Style", "TableIntake", "Tally"]
