"""How a state looks: fill, shape and word together, so that no one of them is needed alone. Colours: ``_look.py``."""

from __future__ import annotations

from wheelend import _look

FAILS, DUE, WATCH, FINE, UNREAD = "fails", "due", "watch", "fine", "unread"
STATES = (FAILS, DUE, WATCH, FINE, UNREAD)  # the worst first
FILLS = {FAILS: _look.BELOW, DUE: _look.DUE, WATCH: _look.DUE, FINE: _look.FINE, UNREAD: _look.PAPER}
TEXT_ON = {FAILS: _look.PAPER, DUE: _look.INK, WATCH: _look.INK, FINE: _look.INK, UNREAD: _look.INK}
# Outlines in a square of 10 by 10, y down: what is below its limit hangs down; due stands on a point, watch on a side.
SHAPES = {
    FAILS: "h10l-5 10z",
    DUE: "m5 0l5 5-5 5-5-5z",
    WATCH: "m1 1h8v8h-8z",
    FINE: "m5 1a4 4 0 1 0 .01 0z",
    UNREAD: "m5 1a4 4 0 1 0 .01 0z",
}
OF_STANDING = {"hold": FAILS, "watch": WATCH, "unread": UNREAD, "clear": FINE}
