"""Prices and purchases: the columns of their tables."""

from __future__ import annotations

from wheelend import _core
from wheelend.dictionary._columns import Column

# What money goes to; of each kind the words that `wheelend words item` shows.
ITEMS = (
    "new_tire", "retread", "casing_credit", "labor", "disposal", "downtime_visit", "downtime_hour", "road_call",
)  # fmt: skip
PRICES = (
    Column("item", "code", "new_tire, retread, casing_credit, labor (per change), disposal (per tire), downtime_visit, "
           "downtime_hour or road_call", key=True, codes=ITEMS),
    Column("amount", "number", "amount of money, 0 or more; a credit too is written without a sign", key=True,
           least=0.0, most=1e9),
    Column("currency", "text", "code of ISO 4217, e.g. USD", key=True),
    Column("size", "text", "only for tires of this size"),
    Column("make", "text", "only for tires of this maker"),
    Column("design", "text", "only for tires of this tread design"),
    Column("role", "code", "only for wheel positions of this role", codes=tuple(_core.codes["role"])),
    Column("site", "text", "only at this site"),
    Column("valid_from", "date", "first day on which the price holds", to_come=True),
    Column("valid_to", "date", "last day on which the price holds", to_come=True),
)  # fmt: skip
PURCHASES = (
    Column("bought_on", "date", "day on which the tires were bought", key=True),
    Column("tires", "whole", "how many", key=True, least=0, most=100_000),
    Column("amount", "number", "what was paid for them, together", least=0.0, most=1e12),
    Column("currency", "text", "code of ISO 4217, e.g. USD"),
)
