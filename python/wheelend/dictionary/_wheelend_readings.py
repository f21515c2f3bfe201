"""Readings of wheel ends, brakes and air systems: the columns of their table."""

from __future__ import annotations

from wheelend.dictionary._columns import LENGTH, PRESSURE, Column, choice, code, flag, measured
from wheelend.dictionary._quantities import QUANTITIES

VALUE_MEASURES = (
    "32nds", "mm", "in", "ft", "m", "mi", "km", "psi", "kpa", "bar", "psi_per_min", "kpa_per_min", "lbft", "nm", "degf",
    "degc", "s", "min", "count",
)  # fmt: skip
VALUE = Column("value", "measured", "what was read", measures=VALUE_MEASURES)

# Systems of wheel fasteners that the torque rows speak of (makers' manuals, see data/limits/trade.csv).
_FASTENERS = (
    "m22_flange_nut m22_flange_nut_older m20_flange_nut cap_nut cap_nut_aluminum heavy_ball_seat spoke_rim_nut "
    "spoke_rim_nut_spacer stud_back_nut two_piece_33mm"
)
_QUALIFIERS = (
    choice("brake", "kind of brake", "air_drum air_disc hydraulic_drum hydraulic_disc electric wedge"),
    choice("lining", "lining of a shoe: one strip, or two pads", "strip two_pads"),
    choice("bonding", "how the lining is held", "riveted bonded"),
    choice("chamber", "type of brake chamber", "clamp bolt roto dd3 other"),
    choice("chamber_size", "size of the chamber; of bolt-type chambers a letter",
           "6 9 12 16 20 24 30 36 50 A B C D E F G"),
    choice("stroke_family", "standard or long stroke", "standard long"),
    measured("rated_stroke", "stroke that the chamber is rated for", LENGTH, (0.0, 6.0, "in")),
    measured("marked", "limit that the maker marked or cast on the part", LENGTH, (0.0, 40.0, "in")),
    measured("original", "size when new", LENGTH, (0.0, 40.0, "in")),
    measured("section_width", "section width of the tire", LENGTH, (0.0, 30.0, "in")),
    choice("fastener", "system of the wheel fasteners", _FASTENERS),
    choice("thread", "condition of the threads", "oiled dry"),
    Column("fasteners", "whole", "fasteners of the wheel, when complete", least=1, most=100),
    choice("bearing", "how the bearing is set", "adjusted preset"),
    measured("reservoir", "reservoir pressure at the test", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    measured("before", "pressure before the brakes were applied", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    measured("start", "pressure when timing began", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    measured("end", "pressure when timing ended", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    measured("cut_out", "governor cut-out", PRESSURE, (0.0, 200.0, "psi"), level="unit"),
    measured("duration", "time from start to end", ("s", "min"), (0.1, 86400.0, "s"), level="unit"),
    Column("combination_units", "whole", "units of the combination, the power unit included", least=1, most=5,
           level="unit"),
    choice("air_system", "air brake system", "dual single"),
)  # fmt: skip
WHEELEND_READINGS = (
    Column("unit", "text", "unit number", key=True),
    Column("axle", "whole", "axle; blank for a reading of the whole unit", least=1, most=30),
    code("side", "left or right; blank for a reading of the axle or unit"),
    code("dual", "single, outer or inner; blank for a reading of the wheel end"),
    Column("read_on", "date", "date or RFC 3339 timestamp of the reading", key=True),
    Column("quantity", "code", "what was read", key=True, codes=tuple(q.name for q in QUANTITIES)),
    VALUE,
    flag("present", "of an observation: whether it is there"),
    Column("place", "whole", "stud, shoe or other place at one wheel end, from 1", least=1, most=1000),
    Column("reader", "text", "who read"),
    Column("combination", "text", "units that were presented together carry the same word here", level="unit"),
    *_QUALIFIERS,
)
