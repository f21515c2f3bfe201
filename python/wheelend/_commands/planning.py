"""Commands that look at what will be needed: demand."""

from __future__ import annotations

from typing import Annotated

import typer

from wheelend._commands._common import app, deliver, tell
from wheelend._options import Ask, Limit, Limits, reads_tables
from wheelend.limit_sets import DEFAULT


@app.command()
@reads_tables()
def demand(
    ask: Ask,
    limits: Limits = None,
    limit: Limit = None,
    months: Annotated[int, typer.Option("--months", min=0, max=120, help="Calendar months ahead.")] = 12,
    by: Annotated[
        str | None, typer.Option("--by", metavar="COLUMN", help="Also by role, site, unit or another column.")
    ] = None,
    draws: Annotated[int, typer.Option("--draws", min=1, help="Simulated futures.")] = 2000,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of their chances.")] = 1,
) -> None:
    """How many tires will be needed in each month to come.

    Example: wheelend demand --readings readings.csv --positions positions.csv --by role -o demand.csv
    """
    from wheelend._demand import demand_lines, demand_table, future

    tell(ask)
    ahead = future(ask.log, limit, limits or DEFAULT, ask.as_of, months, draws, seed)
    table, totals = demand_table(ahead, by, ask.selection)
    deliver(table, ask.output, lambda: demand_lines(table, totals, by))
