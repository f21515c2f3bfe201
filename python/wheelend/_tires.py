"""The tires table as facts, one entry per tire number that was met anywhere."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core
from wheelend._cells import Coder

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from wheelend._intake import Checked
    from wheelend._issues import Issues

_DATE_STATUSES = tuple(_core.codes["date_code"])
_DATE_REMEDIES = {
    "decade_unknown": "three digits do not give the decade: its age is not judged",
    "no_such_week": "there is no such week in that year: read the code again (week, then year)",
    "not_a_date_code": "not a date code: write its four digits, week then year, or the whole number",
    "in_the_future": "a week that is still to come: read the code again",
}


def facts(tires: Checked | None, coder: Coder) -> dict[str, Any]:
    """Columns by the name of their fact, spread over all tire numbers; numbers with their measure."""
    if tires is None:
        return {}
    n, code = len(coder.names), tires.columns["tire"]
    found: dict[str, Any] = {}
    for name, values in tires.columns.items():
        if name == "tire":
            continue
        spread = np.full(n, np.nan if values.dtype.kind == "f" else -1, values.dtype)
        spread[code] = values
        name = name.removeprefix("attribute:")
        if (measure := tires.measure.get(name)) is not None:
            texts = [(int(code[i]), text) for i, text in tires.long_texts.get(name, [])]
            found[name] = (spread, measure, sorted(texts))
        else:
            found[name] = spread
    return found


def core(
    tires: Checked | None, coders: Mapping[str, Coder], found: dict[str, Any], issues: Issues, today: int
) -> dict[str, Any]:
    """What the core takes of the tires; a date code that cannot be read becomes a note."""
    if tires is None:
        return {}
    columns: dict[str, Any] = {"count": len(coders["tire"].names)}
    for name in (
        "sidewall_max",
        "rated_load",
        "rated_load_dual",
        "new",
        "diameter",
        "circumference",
        "retread",
        "regrooved",
    ):
        if name in found:
            columns[name] = found[name]
    unusable = np.zeros(columns["count"], np.int8)
    for name, ours in (("date_code", "made"), ("retread_date_code", "retreaded")):
        if name not in found:
            continue
        texts = coders["text"].names
        written = pa.array([texts[c] if c >= 0 else None for c in found[name]], pa.large_string())
        status, first, last = _weeks(written, today)
        known = status == _DATE_STATUSES.index("week")
        columns[f"{ours}_from"] = np.where(known, first, np.nan)
        columns[f"{ours}_to"] = np.where(known, last, np.nan)
        unusable |= (~known & (status != _DATE_STATUSES.index("missing"))).astype(np.int8)
        _note(tires, name, status, texts, issues)
    columns["date_unusable"] = unusable
    return columns


def _weeks(written: pa.Array, today: int) -> tuple[npt.NDArray[Any], npt.NDArray[Any], npt.NDArray[Any]]:
    from wheelend._cells import buffers

    status, first, last = _core.parse_date_codes(*buffers(written), today)
    return status, first, last


def _note(tires: Checked, name: str, status: npt.NDArray[Any], texts: list[str], issues: Issues) -> None:
    of_row = status[tires.columns["tire"]]
    for word, remedy in _DATE_REMEDIES.items():
        at = np.flatnonzero(of_row == _DATE_STATUSES.index(word))
        if len(at):
            shown = (texts[tires.columns[name][i]] for i in at)
            issues.add(tires.place, tires.rows[at], tires.headers[name], shown, "date_code", "note", remedy)
