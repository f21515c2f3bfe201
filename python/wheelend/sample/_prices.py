"""Prices of the invented small fleet: all amounts are invented."""

from __future__ import annotations

PRICE_COLUMNS = ("item", "size", "role", "amount", "currency", "valid_from", "valid_to")
_YEARS = (("2025-01-01", "2025-12-31"), ("2026-01-01", ""))

# By item, size and role: the price of 2025 and that of 2026, USD; "" stands for any.
_INVENTED = (
    ("new_tire", "295/75R22.5", "steer", "468.00", "489.50"),
    ("new_tire", "295/75R22.5", "", "421.75", "438.60"),
    ("new_tire", "11R22.5", "steer", "447.30", "462.00"),
    ("new_tire", "11R22.5", "", "398.90", "412.85"),
    ("retread", "295/75R22.5", "", "214.50", "221.00"),
    ("retread", "11R22.5", "", "206.25", "212.40"),
    ("new_tire", "12R22.5", "", "505.00", "519.00"),
    ("new_tire", "445/50R22.5", "", "905.00", "928.00"),
    ("retread", "12R22.5", "", "228.00", "234.50"),
    ("retread", "445/50R22.5", "", "398.00", "405.00"),
    ("casing_credit", "295/75R22.5", "", "62.00", "58.00"),
    ("casing_credit", "11R22.5", "", "48.00", "45.00"),
    ("casing_credit", "12R22.5", "", "40.00", "40.00"),
    ("casing_credit", "445/50R22.5", "", "70.00", "66.00"),
)
_ANY_TIRE = (
    ("labor", "38.50"),
    ("disposal", "9.75"),
    ("downtime_visit", "85.00"),
    ("downtime_hour", "62.00"),
    ("road_call", "640.00"),
)
_TYPED = (  # as a careless clerk might have typed them
    ("new_tire", "315/80R22.5", "", "about 520", "USD"),
    ("labor", "11R22.5", "", "41.00", "$"),
    ("retread", "315/80R22.5", "", "236.00", "USD"),
    ("retread", "315/80R22.5", "", "263.00", "USD"),
)


def price_rows() -> list[dict[str, str]]:
    """The rows of prices.csv, the careless ones last."""
    rows = [
        dict(zip(PRICE_COLUMNS, (item, size, role, amount, "USD", *days), strict=True))
        for item, size, role, *amounts in _INVENTED
        for amount, days in zip(amounts, _YEARS, strict=True)
    ]
    rows += [{"item": item, "amount": amount, "currency": "USD"} for item, amount in _ANY_TIRE]
    rows += [dict(zip(PRICE_COLUMNS, row, strict=False)) for row in _TYPED]
    return rows
