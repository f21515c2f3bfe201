"""An invented small fleet to try wheelend on: readings, wheel positions, tires, wheel-end readings and prices.

The fleet, its makers and its tread designs do not exist. The readings come out of a small
simulation of wear and air loss, with a few cases planted on purpose: tires below a limit, a slow
leak, a flat, brakes and hubs out of order, and rows a careless clerk might have typed.
``data/samples/small_fleet`` is the output for the default seed.
"""

from __future__ import annotations

import os
from pathlib import Path

from wheelend.sample._columns import POSITIONS_COLUMNS, READINGS_COLUMNS, TIRES_COLUMNS
from wheelend.sample._dice import Dice
from wheelend.sample._files import free_paths, position_row, tire_row, write_table
from wheelend.sample._fleet import every_unit, positions_of
from wheelend.sample._prices import PRICE_COLUMNS, price_rows
from wheelend.sample._slips import SLIPS, WHEELEND_SLIPS, before_the_last, quiet_rows, spoil
from wheelend.sample._tires import Tire
from wheelend.sample._wheelends import WHEELEND_COLUMNS, wheelend_rows
from wheelend.sample._work import Work

__all__ = ["write_sample"]


def write_sample(directory: str | os.PathLike[str], *, seed: int = 20260301) -> list[Path]:
    """Write the tables of an invented small fleet.

    The fleet has 34 units at two sites, read about every four weeks from January 2025 to February
    2026. Tires wear, are replaced and lose air at plausible rates. Whatever the seed, the same
    cases are planted: tires below a federal minimum and tires at one, a slow leak, a soft tire, a
    flat, a rotation, a retread where none is allowed, a regrooved tire, two units not read for
    three months, and fifteen badly typed rows. Brakes, hubs, fasteners and air systems are read at
    every third inspection and after wheel work; planted there are a stroke beyond its limit, a thin
    lining, a loose fastener, an air leak, a bearing without end play that runs hot, and four badly
    typed rows. Prices are the same for every seed; four of their rows are badly typed.

    Parameters
    ----------
    directory : str or os.PathLike
        Where to write. Made if it does not exist, parents included.
    seed : int, default 20260301
        Start of the random sequence. The same seed gives the same bytes on every supported Python.

    Returns
    -------
    list of pathlib.Path
        The files written: ``readings.csv``, ``positions.csv``, ``tires.csv``,
        ``wheelend_readings.csv`` and ``prices.csv``, in UTF-8 with ``\\n`` line ends. Depths and linings are in whole
        32nds of an inch, strokes in inches to 1/16, end play in inches to 0.001, pressures in whole
        psi (gauge), torque in lbf ft, distances in whole miles, temperatures in whole degF. A
        missing value is an empty cell. Amounts of money are in USD.

    Raises
    ------
    FileExistsError
        If one of the five files, or a file named like `directory`, exists already. Nothing is
        overwritten, and nothing is written beside it.

    Notes
    -----
    Each groove wears by ``(1 + 0.3 * (depth / new - 0.5)) / miles_per_32nd`` of 1/32 in per mile,
    so a tire wears faster while its tread is deep. Pressures follow the gas law at constant volume
    from the state at 68 degF. Reading errors are normal with their tails cut off, then rounded to
    the step of the gauge. Strokes grow and linings wear in proportion to time; a stroke within
    1/4 in of its limit is adjusted, and a lining of 11/32 in is renewed, after it was read.

    Examples
    --------
    >>> import tempfile
    >>> from wheelend.sample import write_sample
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     [path.name for path in write_sample(folder)]
    ['readings.csv', 'positions.csv', 'tires.csv', 'wheelend_readings.csv', 'prices.csv']
    """
    target = Path(directory)
    target.mkdir(parents=True, exist_ok=True)
    readings, positions, tires, wheelends, prices = paths = free_paths(target)
    dice = Dice(seed)
    rack: list[Tire] = []
    units = list(every_unit(dice))
    rows = [row for unit in units for row in Work(unit, rack, dice).rows()]
    rows.sort(key=lambda row: (row["read_on"], row["unit"]))
    places = [position_row(unit, *place) for unit in units for place in positions_of(unit)]
    write_table(readings, READINGS_COLUMNS, spoil(rows, SLIPS, quiet_rows(rows)))
    write_table(positions, POSITIONS_COLUMNS, places)
    write_table(tires, TIRES_COLUMNS, map(tire_row, rack))
    # Draws of their own: the readings of tires do not change with what is read at wheel ends.
    found = wheelend_rows(units, rows, Dice(seed + 1))
    write_table(wheelends, WHEELEND_COLUMNS, spoil(found, WHEELEND_SLIPS, before_the_last(found)))
    write_table(prices, PRICE_COLUMNS, price_rows())
    return paths
