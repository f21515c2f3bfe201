"""Commands that follow tires and wheel ends in time: wear, leaks, mates, hubs, fitments, doubts, patterns, backtest."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

import wheelend
from wheelend import _people
from wheelend._commands import _help
from wheelend._commands._common import app, deliver, tell
from wheelend._options import Ask, Limit, Limits, check_days, reads_tables, usual_of
from wheelend._words import TREAD
from wheelend.limit_sets import DEFAULT


@app.command(epilog=_help.FORECAST)
@reads_tables()
@usual_of(wheelend.wear)
def wear(
    ask: Ask,
    *,
    of: Annotated[
        str, typer.Option("--of", metavar="QUANTITY", help="tread, or a quantity of the wheel-end readings.")
    ],
    limits: Limits = None,
    limit: Annotated[
        str | None,
        typer.Option("--limit", metavar="VALUE", help="One limit for all, e.g. '4/32 in'; with --of of that quantity."),
    ] = None,
    recalibrate: Annotated[
        Path | None,
        typer.Option(
            "--recalibrate", metavar="FILE", help="Put intervals right by this file of `wheelend backtest -o`."
        ),
    ] = None,
) -> None:
    """How fast each tire wears, and on which date it is due; with --of the same of linings, strokes and other things.

    Example: wheelend wear --readings readings.csv --positions positions.csv -o wear.csv
    """
    from wheelend import _people_wheelends, _slow
    from wheelend._backtest._recalibrate import read_backtest, recalibrated_table
    from wheelend.trends import wear_table

    if of != TREAD:
        found = _slow.find(of)
        if recalibrate is not None:
            raise typer.BadParameter("a back-test is of tread", param_hint="--recalibrate")
        tell(ask)
        slow = _slow.slow_table(ask.log, of, limit, limits, ask.as_of, ask.selection)
        deliver(slow, ask.output, lambda: _people_wheelends.slow_lines(slow, found))
        return
    by = read_backtest(recalibrate) if recalibrate is not None else None
    tell(ask)
    table = wear_table(ask.log, limit, limits or DEFAULT, ask.as_of, ask.selection)
    if by is not None:
        table = recalibrated_table(table, by)
    deliver(table, ask.output, lambda: _people.wear_lines(table, ask.log.depth_measure))


@app.command()
@reads_tables()
@usual_of(wheelend.mates)
def mates(
    ask: Ask,
    *,
    soon_days: Annotated[
        int, typer.Option("--soon-days", metavar="DAYS", min=1, max=3650, help="Drifting: apart within so many days.")
    ],
) -> None:
    """Dual pairs and axles whose pressures or depths drift apart.

    Example: wheelend mates --readings readings.csv --positions positions.csv
    """
    from wheelend import _people_wheelends
    from wheelend._mates import mates_table

    tell(ask)
    table = mates_table(ask.log, ask.as_of, ask.selection, soon_days)
    deliver(table, ask.output, lambda: _people_wheelends.mates_lines(table))


@app.command()
@reads_tables()
@usual_of(wheelend.hubs)
def hubs(
    ask: Ask,
    *,
    apart: Annotated[
        str, typer.Option("--apart", metavar="TEMPERATURE", help="Difference to the other side that stands out.")
    ],
) -> None:
    """Hubs hotter than the others of their unit on the same run.

    Example: wheelend hubs --positions positions.csv --wheelend-readings wheelend_readings.csv
    """
    from wheelend import _people_wheelends
    from wheelend._hubs import hubs_table

    tell(ask)
    table = hubs_table(ask.log, ask.as_of, ask.selection, apart)
    deliver(table, ask.output, lambda: _people_wheelends.hub_lines(table))


@app.command()
@reads_tables()
def fitments(ask: Ask) -> None:
    """Which tire was where from when to when, and why one is taken for another.

    Example: wheelend fitments --readings readings.csv --positions positions.csv --unit T106
    """
    from wheelend._fitments import fitments_table

    tell(ask)
    table = fitments_table(ask.log, ask.as_of, ask.selection)
    deliver(table, ask.output, lambda: _people.fitment_lines(table, ask.log.depth_measure))


@app.command()
@reads_tables()
def doubts(ask: Ask) -> None:
    """Depth readings that do not fit the others of their tire; they count little in `wear`, and none is deleted.

    Example: wheelend doubts --readings readings.csv --positions positions.csv
    """
    from wheelend._doubts import doubts_table

    tell(ask)
    table = doubts_table(ask.log, ask.as_of, ask.selection)
    deliver(table, ask.output, lambda: _people.doubt_lines(table, ask.log.depth_measure))


@app.command(epilog=_help.ADVICE)
@reads_tables()
def patterns(ask: Ask) -> None:
    """Wear across the tread and around the tire, as advice with its evidence.

    Example: wheelend patterns --readings readings.csv --positions positions.csv
    """
    from wheelend._patterns import patterns_table

    tell(ask)
    table = patterns_table(ask.log, ask.as_of, ask.selection)
    deliver(table, ask.output, lambda: _people.pattern_lines(table, ask.log.depth_measure))


@app.command(epilog=_help.ADVICE)
@reads_tables()
@usual_of(wheelend.leaks)
def leaks(
    ask: Ask,
    *,
    alarms: Annotated[
        bool, typer.Option("--alarms", help="The alarms as they would have been raised at the time.")
    ] = False,
    false_alarms: Annotated[
        float,
        typer.Option("--false-alarms", metavar="NUMBER", help="Of sound tires, per 1000 tire-months, to put up with."),
    ],
) -> None:
    """Which tires lose air beyond what a sound tire does, how fast, and when they fall below their limits.

    Example: wheelend leaks --readings readings.csv --positions positions.csv --alarms
    """
    from wheelend._leaks import alarms_table, leaks_table

    tell(ask)
    if alarms:
        table = alarms_table(ask.log, false_alarms, ask.as_of, ask.selection)
        deliver(table, ask.output, lambda: _people.alarm_lines(table))
    else:
        table = leaks_table(ask.log, false_alarms, ask.as_of, ask.selection)
        deliver(table, ask.output, lambda: _people.leak_lines(table, ask.log.pressure_measure))


@app.command()
@reads_tables()
@usual_of(wheelend.backtest)
def backtest(
    ask: Ask,
    *,
    limits: Limits = None,
    limit: Limit = None,
    every: Annotated[
        int, typer.Option("--every", metavar="DAYS", min=1, help="Days between the days to forecast from.")
    ],
    cut: Annotated[
        list[str] | None,
        typer.Option("--cut", metavar="DATE", callback=check_days, help="A day to forecast from; may be repeated."),
    ] = None,
    demand: Annotated[bool, typer.Option("--demand", help="Test the months of `wheelend demand` instead.")] = False,
) -> None:
    """How far the due dates would have been right in this fleet's own past.

    Example: wheelend backtest --readings readings.csv --positions positions.csv -o backtest.csv
    """
    from wheelend._backtest import backtest_table, demand_table
    from wheelend._backtest._demand import demand_error_lines

    tell(ask)
    if demand:
        months = demand_table(ask.log, every, cut, limit, limits or DEFAULT, ask.as_of, ask.selection)
        deliver(months, ask.output, lambda: demand_error_lines(months))
        return
    table = backtest_table(ask.log, every, cut, limit, limits or DEFAULT, ask.as_of, ask.selection)
    deliver(table, ask.output, lambda: _people.backtest_lines(table))
