"""Tires: the columns of their table, and what a table of positions may say of a tire too."""

from __future__ import annotations

from wheelend.dictionary._columns import (
    DEPTH_WORDS,
    GAUGE,
    LENGTH,
    LOAD,
    PRESSURE,
    PRESSURE_WORDS,
    SPEED,
    Column,
    choice,
    flag,
    measured,
)

OF_TIRE = (
    measured("rated_load", "maximum load rating of the tire, single", LOAD, (100.0, 20000.0, "lb")),
    measured("rated_load_dual", "maximum load rating of the tire in a dual pair", LOAD, (100.0, 20000.0, "lb")),
    measured("sidewall_max", "maximum pressure marked on the sidewall, gauge", PRESSURE, GAUGE, PRESSURE_WORDS),
    flag("retread", "the tire is a retread"),
    flag("regrooved", "the tire is regrooved", usual="no"),
    flag("winter_tire", "the tire counts as a winter tire", usual="no"),
    Column("size", "text", "size of the tire"),
    choice("construction", "radial or bias", "radial bias"),
)
TIRES = (
    Column("tire", "text", "serial or brand number", key=True),
    Column("make", "text", "maker"),
    Column("design", "text", "tread design"),
    measured("new", "depth when new", LENGTH, (2.0, 40.0, "32nds"), DEPTH_WORDS),
    *OF_TIRE,
    Column("date_code", "text", "date part of the identification number, or the whole number"),
    Column("retread_date_code", "text", "date part of the retreader's number, or the whole number"),
    measured("diameter", "overall diameter", ("in", "mm"), (10.0, 80.0, "in")),
    measured("circumference", "circumference", ("in", "mm"), (30.0, 250.0, "in")),
    measured("marked_speed", "maximum speed marked on the sidewall, 55 mph or less", SPEED, (0.0, 100.0, "mph")),
)
