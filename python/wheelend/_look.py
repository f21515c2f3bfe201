"""The colours of sheets, forms and pictures, of our own: they keep apart in grey print and for eyes that tell red from
green badly. A state is never told by colour alone, but by shape, word and fill.
"""

from __future__ import annotations

# CIE lightness L* in brackets: fills of states are 25 apart or more, whatever the hue (tests/python/test_look.py).
BELOW = "#5a1846"  # (21) at or below the limit
DUE = "#c2853a"  # (60) due soon, off target
FINE = "#d9e4e6"  # (90) all well; the wide band of a forecast
MIDDLE = "#7fa3b3"  # (65) the narrow band of a forecast
LINE = "#2f6f8f"  # (44) lines and edges
INK = "#16212b"  # (12) text and readings
PAPER = "#ffffff"
PALE_INK = "#5b6870"  # (43) of a form: what was read last
FRAME = "#7a8790"  # (56) of a form: round a cell that is written into
SHADE = "#e3e6e8"  # (91) of a form: cells that are only shown
FILLS = (BELOW, DUE, FINE)
SCALE = "cividis"  # of matplotlib: lightness rises evenly, the same to colour-blind eyes


def lightness(colour: str) -> float:
    """CIE 1976 L* of an sRGB colour ``#rrggbb`` (IEC 61966-2-1, CIE 15), 0 to 100."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y
