"""Rows that a careless clerk got wrong: all invented."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from wheelend.sample._columns import GROOVES, Row
from wheelend.sample._planted import KEPT, UNREAD


@dataclass(frozen=True)
class _Slip:
    """A typing mistake: how far down the file, which rows it suits, what stands there then."""

    share: float
    suits: Callable[[Row], bool]
    typed: Callable[[Row], list[Row]]


def _any(row: Row) -> bool:
    """Suit every row."""
    return True


def _american(form: str) -> Callable[[Row], list[Row]]:
    """Write the date month first."""
    return lambda row: [row | {"read_on": f"{date.fromisoformat(row['read_on']):{form}}"}]


def _retype(column: str, text: str) -> Callable[[Row], list[Row]]:
    """Put `text` in one cell."""
    return lambda row: [row | {column: text}]


_OUTER, _MIDDLE, _INNER = GROOVES
SLIPS = (  # all invented
    _Slip(0.04, lambda r: "0" in r["unit"], lambda r: [r | {"unit": r["unit"].replace("0", "O")}]),
    _Slip(0.08, lambda r: r["read_on"][5:7] == "02", _retype("read_on", "2025-02-30")),
    # Day and month can be taken for each other in the first of these dates, not in the second.
    _Slip(0.15, lambda r: r["read_on"][8:] < "13", _american("%m/%d/%Y")),
    _Slip(0.22, _any, _retype("side", "")),
    _Slip(0.28, lambda r: int(r[_MIDDLE]) <= 5, _retype(_OUTER, "bald")),
    _Slip(0.34, lambda r: r[_INNER] in ("4", "5"), _retype(_INNER, "4,5")),
    _Slip(0.40, lambda r: r["read_on"][8:] > "12", _american("%m/%d/%y")),
    _Slip(0.46, lambda r: r[_OUTER] == "5", _retype(_OUTER, "-5")),
    _Slip(0.52, lambda r: r[_MIDDLE] == "14", _retype(_MIDDLE, "140")),
    _Slip(0.58, _any, lambda r: [r | {"pressure_psi": r["pressure_psi"] + " psi"}]),
    _Slip(0.64, _any, lambda r: [r, dict(r)]),
    _Slip(0.70, _any, lambda r: [r, r | {_MIDDLE: str(int(r[_MIDDLE]) + 3)}]),
    _Slip(
        0.76,
        lambda r: len(r["odometer_mi"]) == 6,
        lambda r: [r | {"odometer_mi": r["odometer_mi"][1:]}],
    ),
    _Slip(0.82, lambda r: r["dual"] == "single", _retype("dual", "inner")),
    _Slip(0.88, _any, lambda r: [r | dict.fromkeys(GROOVES, "")]),
)
WHEELEND_SLIPS = (  # all invented
    _Slip(
        0.15,
        lambda r: r["quantity"] == "lining_thickness",
        lambda r: [r | {"value_32nds": "", "value_psi": r["value_32nds"]}],
    ),
    _Slip(
        0.35,
        lambda r: r["quantity"] == "pushrod_stroke" and "." in r["value_in"],
        lambda r: [r | {"value_in": r["value_in"].replace(".", ",")}],
    ),
    _Slip(0.5, lambda r: r["quantity"] == "bearing_end_play", _retype("quantity", "bearing_endplay")),
    _Slip(0.65, lambda r: r["quantity"] == "lining_thickness", _retype("axle", "")),
)


def quiet_rows(rows: Sequence[Row]) -> list[bool]:
    """Tell which rows a slip may hit without hiding anything else that is planted."""
    planted = {position.unit for position in KEPT} | set(UNREAD)
    return [
        earlier and not (row.get("place") or row["event"] or row["unit"] in planted)
        for row, earlier in zip(rows, before_the_last(rows), strict=True)
    ]


def before_the_last(rows: Sequence[Row]) -> list[bool]:
    """Tell which rows are not of the last inspection of their unit; `rows` are in the order of time."""
    last = {row["unit"]: row["read_on"] for row in rows}
    return [row["read_on"] != last[row["unit"]] for row in rows]


def spoil(rows: list[Row], slips: Sequence[_Slip], quiet: list[bool]) -> list[Row]:
    """Put each slip into a row of its own, one of those that are `quiet`."""
    spoiled = [[row] for row in rows]
    for slip in slips:
        n = _first(rows, quiet, slip)
        spoiled[n], quiet[n] = slip.typed(rows[n]), False
    return [row for group in spoiled for row in group]


def _first(rows: Sequence[Row], quiet: Sequence[bool], slip: _Slip) -> int:
    """Find the first row that a slip suits, from its place in the file on, else from the top."""
    start = int(slip.share * len(rows))
    order: list[int] = [*range(start, len(rows)), *range(start)]
    return next(n for n in order if quiet[n] and slip.suits(rows[n]))
