"""The data dictionary: every column that is read or written, once.

Readers, checks and messages take names, measures and ranges from here. A column of an input table stands in the
module of its table (``_readings``, ``_positions``, ``_tires``, ``_wheelend_readings``, ``_money``), a column of a
result in that of its subject (``_of_judging``, ``_of_wear``, ``_of_leaks``, ``_of_backtest``, ``_of_planning``,
``_of_intake``, ``_of_pictures``). ``TABLES`` and ``RESULTS`` have them all.
"""

from __future__ import annotations

from functools import cache

from wheelend.dictionary._columns import DISTANCE, LENGTH, LOAD, PRESSURE, SPEED, Column, Form, Level
from wheelend.dictionary._money import ITEMS, PRICES, PURCHASES
from wheelend.dictionary._of_backtest import OF_BACKTEST
from wheelend.dictionary._of_intake import OF_INTAKE
from wheelend.dictionary._of_judging import OF_JUDGING
from wheelend.dictionary._of_leaks import OF_LEAKS
from wheelend.dictionary._of_pictures import OF_PICTURES
from wheelend.dictionary._of_planning import OF_PLANNING
from wheelend.dictionary._of_wear import OF_WEAR
from wheelend.dictionary._other_names import OTHER_NAMES
from wheelend.dictionary._positions import POSITIONS
from wheelend.dictionary._quantities import QUANTITIES, Quantity
from wheelend.dictionary._readings import GROOVE, READINGS
from wheelend.dictionary._results import DEMAND_LEVELS, QUANTILES, Result
from wheelend.dictionary._tires import TIRES
from wheelend.dictionary._wheelend_readings import VALUE, VALUE_MEASURES, WHEELEND_READINGS

__all__ = [
    "DEMAND_LEVELS",
    "DISTANCE",
    "GROOVE",
    "ITEMS",
    "LENGTH",
    "LOAD",
    "OTHER_NAMES",
    "POSITIONS",
    "PRESSURE",
    "PRICES",
    "PURCHASES",
    "QUANTILES",
    "QUANTITIES",
    "READINGS",
    "RESULTS",
    "SPEED",
    "TABLES",
    "TIRES",
    "VALUE",
    "VALUE_MEASURES",
    "WHEELEND_READINGS",
    "Column",
    "Form",
    "Level",
    "Quantity",
    "Result",
    "columns",
]

TABLES: dict[str, tuple[Column, ...]] = {
    "readings": READINGS,
    "positions": POSITIONS,
    "tires": TIRES,
    "wheelend_readings": WHEELEND_READINGS,
    "prices": PRICES,
    "purchases": PURCHASES,
}


@cache
def columns(table: str) -> dict[tuple[str, bool], Column]:
    """Columns of a table by (name, measured): ``tire`` is a number of a tire, ``tire_degf`` a temperature."""
    return {(c.name, c.form == "measured"): c for c in TABLES[table]}


RESULTS: dict[str, tuple[Result, ...]] = {
    **OF_JUDGING,
    **OF_WEAR,
    **OF_LEAKS,
    **OF_BACKTEST,
    **OF_PLANNING,
    **OF_INTAKE,
    **OF_PICTURES,
}
