"""Wheel positions: the columns that name one, and those of their table."""

from __future__ import annotations

from wheelend.dictionary._columns import (
    DEPTH,
    DEPTH_WORDS,
    GAUGE,
    LENGTH,
    LOAD,
    PRESSURE,
    PRESSURE_WORDS,
    Column,
    code,
    flag,
    measured,
)
from wheelend.dictionary._tires import OF_TIRE

WHEEL = (
    Column("unit", "text", "unit number, unique per vehicle or trailer", key=True),
    Column("axle", "whole", "counted from the front of this unit, from 1", key=True, least=1, most=30, level="axle"),
    code("side", "left or right, seen facing forward", key=True),
    code("dual", "single, outer or inner", key=True),
)
_OF_POSITION = (
    code("kind", "truck, tractor, bus, trailer or dolly", level="unit"),
    code("role", "steer, drive, trailer, tag, pusher, lift or dolly", level="axle"),
    measured("target", "cold target, gauge", PRESSURE, GAUGE, PRESSURE_WORDS),
    measured("needed", "cold pressure that the load carried needs, gauge", PRESSURE, GAUGE, PRESSURE_WORDS),
    measured("pull", "the fleet's own pull depth", LENGTH, DEPTH, DEPTH_WORDS),
    measured("axle_load", "load on the axle", LOAD, (0.0, 60000.0, "lb"), level="axle"),
    measured("end_load", "load on this end of the axle", LOAD, (0.0, 40000.0, "lb")),
    measured("gvwr", "gross vehicle weight rating", LOAD, (0.0, 400000.0, "lb"), level="unit"),
    Column("built_on", "date", "date of manufacture of the unit", level="unit"),
    Column("inspected_on", "date", "date of the last periodic inspection", level="unit"),
    flag("manufactured_home", "the trailer moves a manufactured home", "unit", "no"),
    flag("minibus", "bus of 9 to 16 seats", "unit", "no"),
    flag("new_vehicle", "not yet delivered to its first user", "unit", "no"),
    Column("combination", "text", "units that were presented together carry the same word here", level="unit"),
)
POSITIONS = WHEEL + _OF_POSITION + OF_TIRE
