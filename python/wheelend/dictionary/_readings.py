"""Readings of tires: the columns of their table."""

from __future__ import annotations

from wheelend.dictionary._columns import (
    DEPTH,
    DEPTH_WORDS,
    DISTANCE,
    GAUGE,
    LENGTH,
    PRESSURE,
    PRESSURE_WORDS,
    SPEED,
    USUAL_DEPTH,
    Column,
    code,
    measured,
)
from wheelend.dictionary._positions import WHEEL

READINGS = (
    *WHEEL,
    Column("read_on", "date", "date or RFC 3339 timestamp of the reading", key=True),
    measured("odometer", "odometer; hub odometer for trailers", DISTANCE, (0.0, 5_000_000.0, "mi")),
    Column("tire", "text", "serial or brand number"),
    Column("reader", "text", "who read"),
    Column("place", "whole", "place round the tire, from 1", least=1, most=1000),
    Column("tread_barred", "grooves", "grooves that contain a wear indicator; default all"),
    Column("not_admissible", "grooves", "grooves read on a tie bar, hump or fillet"),
    Column("tread_at", "percents", "percent of the breadth from the outer edge, one per groove, ; between"),
    measured("pressure", "gauge pressure as found", PRESSURE, GAUGE, PRESSURE_WORDS),
    measured("inflated_to", "gauge pressure it was set to afterwards", PRESSURE, GAUGE, PRESSURE_WORDS),
    Column("warm", "yes_no", "run within three hours"),
    measured("speed_last_hour", "average speed over the last hour", SPEED, (0.0, 100.0, "mph")),
    # Rubber fails above about 150 degC; the coldest and hottest air on record lie inside -90..60 degC (WMO archive).
    measured("tire", "temperature of the gas in the tire", ("degf", "degc"), (-90.0, 150.0, "degc")),
    measured("ambient", "temperature of the air", ("degf", "degc"), (-90.0, 60.0, "degc")),
    # Shore of the Dead Sea and the highest motor roads: common practice, no source.
    measured("altitude", "altitude of the place", ("ft", "m"), (-500.0, 6000.0, "m")),
    code("event", "fitted, removed, rotated, retreaded or regrooved"),
)
GROOVE = measured("tread", "depth of one groove", LENGTH, DEPTH, DEPTH_WORDS, USUAL_DEPTH)
