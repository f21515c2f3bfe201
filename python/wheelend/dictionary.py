"""The data dictionary: every column that is read or written, once.

Readers, checks and messages take names, measures and ranges from here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from wheelend import _core

Form = Literal["text", "whole", "date", "measured", "code", "yes_no", "grooves"]
LENGTH = ("32nds", "mm", "in")
PRESSURE = ("psi", "kpa", "bar")
DISTANCE = ("mi", "km")
LOAD = ("lb", "kg")


@dataclass(frozen=True)
class Column:
    """A column of an input table.

    ``least`` and ``most`` (in ``range_measure``) bound what is taken for a reading; beyond them a value is listed in
    ``issues`` and not used. ``unusual`` is noted and used.
    """

    name: str
    form: Form
    words: str
    key: bool = False
    measures: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    unusual: float | None = None
    range_measure: str = ""
    range_words: str = ""


def _measured(
    name: str,
    words: str,
    measures: tuple[str, ...],
    bounds: tuple[float, float, str],
    range_words: str = "",
    unusual: float | None = None,
) -> Column:
    least, most, measure = bounds
    return Column(
        name,
        "measured",
        words,
        measures=measures,
        least=least,
        most=most,
        unusual=unusual,
        range_measure=measure,
        range_words=range_words,
    )


def _code(name: str, words: str, key: bool = False) -> Column:
    return Column(name, "code", words, key=key, codes=tuple(_core.codes[name]))


# Bounds of depth: no truck tire is made deeper than about 32/32 in; 40/32 leaves room (common practice, no source).
_DEPTH = (0.0, 40.0, "32nds")
_DEPTH_WORDS = "deeper than any new tire (40/32 in): was it read in another measure? Correct it"
_USUAL_DEPTH = 32.0
# Truck tires are marked up to about 145 psi; gauges end at 200 (common practice, no source).
_PRESSURE = (0.0, 200.0, "psi")
_PRESSURE_WORDS = "beyond what a tire gauge shows (200 psi): was it read in another measure? Correct it"

_WHEEL = (
    Column("unit", "text", "unit number, unique per vehicle or trailer", key=True),
    Column("axle", "whole", "counted from the front of this unit, from 1", key=True, least=1, most=30),
    _code("side", "left or right, seen facing forward", key=True),
    _code("dual", "single, outer or inner", key=True),
)
_OF_POSITION = (
    _code("kind", "truck, tractor, bus, trailer or dolly"),
    _code("role", "steer, drive, trailer, tag, pusher, lift or dolly"),
    _measured("target", "cold target, gauge", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    _measured("needed", "cold pressure that the load carried needs, gauge", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    _measured("pull", "the fleet's own pull depth", LENGTH, _DEPTH, _DEPTH_WORDS),
    _measured("axle_load", "load on the axle", LOAD, (0.0, 60000.0, "lb")),
    _measured("gvwr", "gross vehicle weight rating", LOAD, (0.0, 400000.0, "lb")),
    Column("built_on", "date", "date of manufacture of the unit"),
)
_OF_TIRE = (
    _measured("rated_load", "maximum load rating of the tire", LOAD, (100.0, 20000.0, "lb")),
    _measured("sidewall_max", "maximum pressure marked on the sidewall, gauge", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    Column("retread", "yes_no", "the tire is a retread"),
    Column("regrooved", "yes_no", "the tire is regrooved"),
)
POSITIONS = _WHEEL + _OF_POSITION + _OF_TIRE
READINGS = (
    *_WHEEL,
    Column("read_on", "date", "date or RFC 3339 timestamp of the reading", key=True),
    _measured("odometer", "odometer; hub odometer for trailers", DISTANCE, (0.0, 5_000_000.0, "mi")),
    Column("tire", "text", "serial or brand number"),
    Column("reader", "text", "who read"),
    Column("place", "whole", "place round the tire, from 1", least=1, most=1000),
    Column("tread_barred", "grooves", "grooves that contain a wear indicator; default all"),
    Column("not_admissible", "grooves", "grooves read on a tie bar, hump or fillet"),
    _measured("pressure", "gauge pressure as found", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    _measured("inflated_to", "gauge pressure it was set to afterwards", PRESSURE, _PRESSURE, _PRESSURE_WORDS),
    Column("warm", "yes_no", "run within three hours"),
    _measured("speed_last_hour", "average speed over the last hour", ("mph", "kmh"), (0.0, 100.0, "mph")),
    # Rubber fails above about 150 degC; the coldest and hottest air on record lie inside -90..60 degC (WMO archive).
    _measured("tire", "temperature of the gas in the tire", ("degf", "degc"), (-90.0, 150.0, "degc")),
    _measured("ambient", "temperature of the air", ("degf", "degc"), (-90.0, 60.0, "degc")),
    # Shore of the Dead Sea and the highest motor roads: common practice, no source.
    _measured("altitude", "altitude of the place", ("ft", "m"), (-500.0, 6000.0, "m")),
    _code("event", "fitted, removed, rotated, retreaded or regrooved"),
)
GROOVE = _measured("tread", "depth of one groove", LENGTH, _DEPTH, _DEPTH_WORDS, _USUAL_DEPTH)
TIRES = (
    Column("tire", "text", "serial or brand number", key=True),
    Column("make", "text", "maker"),
    Column("design", "text", "tread design"),
    Column("size", "text", "size"),
    Column("construction", "text", "radial or bias"),
    _measured("new", "depth when new", LENGTH, (2.0, 40.0, "32nds"), _DEPTH_WORDS),
    *_OF_TIRE,
    Column("date_code", "text", "date part of the identification number"),
    Column("retread_date_code", "text", "date part of the retreader's number"),
    _measured("diameter", "overall diameter", ("in", "mm"), (10.0, 80.0, "in")),
)
TABLES: dict[str, tuple[Column, ...]] = {
    "readings": READINGS,
    "positions": POSITIONS,
    "tires": TIRES,
}


@cache
def columns(table: str) -> dict[tuple[str, bool], Column]:
    """Columns of a table by (name, measured): ``tire`` is a number of a tire, ``tire_degf`` a temperature."""
    return {(c.name, c.form == "measured"): c for c in TABLES[table]}


@dataclass(frozen=True)
class Result:
    """A column of a result table: its name (``<m>`` stands for a measure) and what it says."""

    name: str
    words: str


_PLACE = (
    Result("unit", "unit number"),
    Result("axle", "axle, from the front of the unit"),
    Result("side", "left or right, facing forward"),
    Result("dual", "single, outer or inner"),
)
_QUANTILE_WORDS = "quantile; 0 if it is there already, missing beyond ten years"
QUANTILES = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
RESULTS: dict[str, tuple[Result, ...]] = {
    "judge": (
        *_PLACE,
        Result("read_on", "when the reading was taken"),
        Result("quantity", "tread_depth, pressure, retread or rated_load"),
        Result("reading", "the value that was compared, in `measure`"),
        Result("measure", "the measure of the clause"),
        Result("limit", "the bound of the clause"),
        Result("sense", "the condition that passes"),
        Result("margin", "reading minus limit, positive on the passing side"),
        Result("verdict", "pass, fail or no_verdict"),
        Result("severity", "violation, out_of_service, own or advice"),
        Result("limit_id", "row of the limit set; OWN-PULL is the position's own pull depth"),
        Result("clause", "where it is written"),
        Result("reason", "why, where there is something to say"),
        Result("as_read", "number, measure and groove as they were written"),
    ),
    "pressures": (
        *_PLACE,
        Result("read_on", "when the reading was taken"),
        Result("pressure_<m>", "gauge pressure as found"),
        Result("cold_<m>", "cold pressure at the reference temperature"),
        Result("target_<m>", "cold target"),
        Result("deviation_<m>", "cold minus target"),
        Result("deviation_percent", "the same as a share of the target"),
        Result("method", "as_read, gas_law, federal_subtraction or none"),
        Result("state", "on_target, under, over, demount, flat or unknown"),
        Result("reason", "why, where there is something to say"),
    ),
    "standing": (
        Result("unit", "unit number"),
        Result("kind", "kind of unit"),
        Result("standing", "hold, watch, clear or unread"),
        Result("worst_position", "position that decides, in words"),
        Result("reason", "reading, limit and clause that decide"),
        Result("verdicts_failed", "verdicts that fail; a pressure below the fleet's own target is left to its state"),
        Result("due_within_30_days", "tires whose median due date lies within 30 days"),
        Result("days_since_read", "days from the last reading of the unit to as_of"),
    ),
    "wear": (
        *_PLACE,
        Result("fitted_on", "when this tire was fitted; missing if before the record"),
        Result("readings_used", "inspections of this fitment with tread"),
        Result("depth_<m>", "shallowest groove at as_of, estimated"),
        Result("rate_<m>", "wear per distance; missing without an odometer"),
        Result("rate_se_<m>", "its standard error"),
        Result("rate_<m>_per_month", "wear per month of 30.4375 days"),
        Result("rate_se_<m>_per_month", "its standard error, the doubt about future use included"),
        Result("limit_<m>", "depth at which it is due"),
        *(Result(f"remaining_mi_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        *(Result(f"remaining_days_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        *(Result(f"due_{q}", _QUANTILE_WORDS) for q in QUANTILES),
        Result("status", "from_readings, from_group, at_limit, not_within_ten_years or no_limit"),
        Result("reason", "why, in words"),
    ),
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
