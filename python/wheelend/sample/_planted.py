"""What is planted, whatever the seed: all invented."""

from __future__ import annotations

from datetime import date

from wheelend.sample._columns import Position

# Depth of the worst groove at the last reading. These tires stay on whatever they read, so that the
# cases are there for every seed. Reading error stays under 0.4: 2.8 always reads 3, 2.0 always 2.
KEPT = {
    Position("T103", 1, "left", "single"): 2.8,  # below 4/32
    Position("T103", 1, "right", "single"): 4.9,
    Position("T107", 1, "left", "single"): 5.2,
    Position("T107", 1, "right", "single"): 2.9,  # below 4/32
    Position("K204", 1, "left", "single"): 2.8,  # below 4/32
    Position("K204", 1, "right", "single"): 4.0,  # at 4/32, which passes
    Position("K206", 2, "left", "single"): 2.9,  # below 4/32 on the second steer axle
    Position("K206", 2, "right", "single"): 4.9,
    Position("T105", 2, "left", "outer"): 0.9,  # below 2/32
    Position("T105", 2, "left", "inner"): 2.6,
    Position("V404", 2, "right", "outer"): 0.9,  # below 2/32
    Position("V404", 2, "right", "inner"): 1.0,  # below 2/32
    Position("V407", 1, "left", "outer"): 2.0,  # at 2/32, which passes
    Position("V407", 1, "left", "inner"): 0.9,  # below 2/32
    Position("D501", 1, "right", "outer"): 3.4,
    Position("D501", 1, "right", "inner"): 2.6,
    Position("T108", 2, "left", "outer"): 11.0,  # rotated
    Position("T108", 2, "left", "inner"): 11.4,
    Position("T108", 3, "left", "outer"): 12.0,  # rotated
    Position("T108", 3, "left", "inner"): 12.3,
    Position("V405", 1, "right", "outer"): 7.0,  # leaks
    Position("V405", 1, "right", "inner"): 7.3,
    Position("T106", 3, "right", "outer"): 12.4,
    Position("T106", 3, "right", "inner"): 12.0,  # soft
    Position("V403", 1, "left", "outer"): 6.4,
    Position("V403", 1, "left", "inner"): 6.0,  # flat
    Position("B301", 1, "left", "single"): 9.3,
    Position("B301", 1, "right", "single"): 9.0,  # retread where none may be
    Position("B302", 2, "left", "outer"): 9.0,  # regrooved
    Position("B302", 2, "left", "inner"): 9.5,
}
RETREAD_ON_BUS = Position("B301", 1, "right", "single")  # 49 CFR 393.75(d) allows none there
REGROOVED = Position("B302", 2, "left", "outer")
ROTATED = (Position("T108", 2, "left", "outer"), Position("T108", 3, "left", "outer"))
ROTATED_AFTER = date(2025, 7, 1)
LEAK = Position("V405", 1, "right", "outer")
LEAK_FROM = date(2025, 7, 1)
LEAK_PSI_PER_MONTH = 5.5
LEAK_TOPPED_UP = date(2025, 10, 25)
LEAK_TOPPED_UP_PSI = 107.0
LAST_PSI = {  # at 68 degF, at the last reading
    Position("T106", 3, "right", "inner"): 77.0,  # at most 80 % of 100
    Position("V403", 1, "left", "inner"): 46.0,  # at most half of the 110 on the sidewall
}


UNREAD = ("T112", "V413")  # invented
