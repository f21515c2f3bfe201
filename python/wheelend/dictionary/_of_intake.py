"""Results of reading files: what could not be used."""

from __future__ import annotations

from wheelend.dictionary._results import Result

OF_INTAKE: dict[str, tuple[Result, ...]] = {
    "issues": (
        Result("file", "file or object that was read"),
        Result("sheet", "sheet of a workbook"),
        Result("row", "row as a spreadsheet shows it; the header is row 1"),
        Result("column", "column as written"),
        Result("text", "what was found"),
        Result("rule", "which check it did not pass"),
        Result("effect", "row: the row is not used; cell: the value is not used; note: used, but look"),
        Result("message", "what is wrong and what to do"),
    ),
}
