"""Columns of the sample's tables, and what names a wheel position."""

from __future__ import annotations

from typing import NamedTuple

Row = dict[str, str]


POSITION_COLUMNS = ("unit", "axle", "side", "dual")
GROOVES = ("tread_outer_32nds", "tread_middle_32nds", "tread_inner_32nds")
READINGS_COLUMNS = (
    *POSITION_COLUMNS,
    *("read_on", "odometer_mi", "tire", "reader", "place"),
    *GROOVES,
    *("pressure_psi", "inflated_to_psi", "warm", "tire_degf", "ambient_degf", "event"),
)
POSITIONS_COLUMNS = (
    *("unit", "kind", "axle", "side", "dual", "role"),
    *("target_psi", "pull_32nds", "site", "group"),
)
TIRES_COLUMNS = (
    *("tire", "make", "design", "size", "construction", "new_32nds"),
    *("rated_load_lb", "sidewall_max_psi", "date_code", "retread", "regrooved"),
)


class Position(NamedTuple):
    """A wheel position."""

    unit: str
    axle: int
    side: str
    dual: str
