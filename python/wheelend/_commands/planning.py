"""Commands that look at what will be needed and what it costs: demand, costs, orders, whatif."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

import wheelend
from wheelend._commands._common import app, deliver, tell
from wheelend._options import Ask, Limit, Limits, reads_tables, usual_of
from wheelend.limit_sets import DEFAULT

PriceGrowth = Annotated[
    float, typer.Option("--price-growth", metavar="SHARE", help="Of prices, a year: 0.03 is 3 percent.")
]
PriceGrowthSd = Annotated[
    float, typer.Option("--price-growth-sd", metavar="SHARE", help="Standard deviation of that growth.")
]
Discount = Annotated[
    float, typer.Option("--discount", metavar="SHARE", help="Effective, a year: amounts are worth of today.")
]
Draws = Annotated[int, typer.Option("--draws", metavar="NUMBER", min=1, help="Simulated futures.")]
Seed = Annotated[int, typer.Option("--seed", metavar="NUMBER", min=0, help="Of their chances.")]
VisitHours = Annotated[float, typer.Option("--visit-hours", metavar="HOURS", min=0, help="Downtime of a visit, hours.")]


@app.command()
@reads_tables(prices=True)
@usual_of(wheelend.demand)
def demand(
    ask: Ask,
    *,
    limits: Limits = None,
    limit: Limit = None,
    months: Annotated[int, typer.Option("--months", metavar="NUMBER", min=0, max=120, help="Calendar months ahead.")],
    by: Annotated[
        str | None, typer.Option("--by", metavar="COLUMN", help="Also by role, site, unit or another column.")
    ] = None,
    against: Annotated[
        Path | None,
        typer.Option("--against", metavar="FILE", help="Purchases to set beside what was forecast before them."),
    ] = None,
    explained: Annotated[
        bool, typer.Option("--explained", help="With --against and -o: what explains the difference.")
    ] = False,
    per: Annotated[str, typer.Option("--per", metavar="SPAN", help="month, quarter or year.")],
    price_growth: PriceGrowth,
    price_growth_sd: PriceGrowthSd,
    discount: Discount,
    visit_hours: VisitHours,
    draws: Draws,
    seed: Seed,
) -> None:
    """How many tires will be needed in each month to come, and with prices what they cost.

    Example: wheelend demand --readings readings.csv --positions positions.csv --prices prices.csv -o demand.csv
    """
    from wheelend._demand import demand_lines, demand_table, future
    from wheelend._spend import Terms, spread_shares
    from wheelend._spend_table import spend_lines, spend_table

    terms = Terms(price_growth, price_growth_sd, discount, visit_hours)
    if against is not None:
        from wheelend._against import against_lines, against_table, purchases_of

        bought = purchases_of(ask.log, against)
        found = against_table(
            ask.log, bought, ask.log.prices, terms, limit, limits or DEFAULT, ask.as_of, ask.selection, draws, seed
        )
        deliver(found.explained if explained else found.months, ask.output, lambda: against_lines(found))
        return
    tell(ask)
    ahead = future(ask.log, limit, limits or DEFAULT, ask.as_of, months, draws, seed)
    prices = ask.log.prices
    if prices is None:
        table, totals = demand_table(ahead, by, ask.selection, per=per)
        deliver(table, ask.output, lambda: demand_lines(table, totals, by, per))
        return
    table, sums, _ = spend_table(ahead, by, ask.selection, prices, terms, per)

    def lines() -> list[str]:
        shares = spread_shares(ahead, prices, ask.selection.mask(ask.log), terms) if months else {}
        return spend_lines(table, sums, shares, by, terms, per)

    deliver(table, ask.output, lines)


@app.command()
@reads_tables(prices=True)
def costs(
    ask: Ask,
    limits: Limits = None,
    limit: Limit = None,
    by: Annotated[
        str | None, typer.Option("--by", metavar="COLUMN", help="Sums by make, design, size, role or site.")
    ] = None,
    pulls: Annotated[bool, typer.Option("--pulls", help="Cost by the depth at which tires are pulled.")] = False,
) -> None:
    """What each tire in use costs per mile and 32nd, what it is worth, and what low pressure costs.

    Example: wheelend costs --readings readings.csv --positions positions.csv --tires tires.csv --prices prices.csv
    """
    from wheelend._costs import cost_lines, costs_table

    tell(ask)
    found = costs_table(ask.log, ask.log.prices, by, pulls, limit, limits or DEFAULT, ask.as_of, ask.selection)
    deliver(
        found[0], ask.output, lambda: cost_lines(*found, by, pulls, ask.log.depth_measure, ask.log.distance_measure)
    )


@app.command()
@reads_tables()
@usual_of(wheelend.orders)
def orders(
    ask: Ask,
    *,
    limits: Limits = None,
    limit: Limit = None,
    service_level: Annotated[
        float, typer.Option("--service-level", metavar="SHARE", help="Chance that all tires of a line are there.")
    ],
    months: Annotated[int, typer.Option("--months", metavar="NUMBER", min=1, max=120, help="Calendar months ahead.")],
    visits: Annotated[bool, typer.Option("--visits", help="Shop visits that do what is due soon together.")] = False,
    together: Annotated[
        int, typer.Option("--together", metavar="DAYS", min=0, max=365, help="Days that a visit looks ahead.")
    ],
    draws: Draws,
    seed: Seed,
) -> None:
    """Which tires to have on the shelf by when, and which shop visits do what is due.

    Example: wheelend orders --readings readings.csv --positions positions.csv --service-level 0.95 --months 3
    """
    from wheelend._demand import future
    from wheelend._orders import order_lines, orders_table, visit_lines, visits_table

    tell(ask)
    if visits:
        table = visits_table(ask.log, months, together, limit, limits or DEFAULT, ask.as_of, ask.selection)
        deliver(table, ask.output, lambda: visit_lines(table))
        return
    ahead = future(ask.log, limit, limits or DEFAULT, ask.as_of, months, draws, seed)
    table = orders_table(ahead, service_level, ask.selection)
    deliver(table, ask.output, lambda: order_lines(table, service_level))


@app.command()
@reads_tables(prices=True)
@usual_of(wheelend.whatif)
def whatif(
    ask: Ask,
    *,
    limits: Limits = None,
    limit: Limit = None,
    months: Annotated[int, typer.Option("--months", metavar="NUMBER", min=1, max=120, help="Calendar months ahead.")],
    pull_32nds: Annotated[
        float, typer.Option("--pull-32nds", metavar="DEPTH", help="Pulled so much earlier, and later.")
    ],
    use: Annotated[float, typer.Option("--use", metavar="SHARE", help="Share by which the fleet runs more, and less.")],
    tire_wear: Annotated[
        float | None,
        typer.Option("--tire-wear", metavar="SHARE", help="Wear of another tire as a share of the present one's."),
    ] = None,
    tire_wear_se: Annotated[
        float, typer.Option("--tire-wear-se", metavar="SHARE", min=0, help="Standard error of that share.")
    ],
    price_growth: PriceGrowth,
    discount: Discount,
    visit_hours: VisitHours,
    draws: Draws,
    seed: Seed,
) -> None:
    """What other pull depths, pressures, tires, moves or use would change in tires and money.

    Example: wheelend whatif --readings readings.csv --positions positions.csv --prices prices.csv
    """
    from wheelend._demand import future
    from wheelend._spend import Terms
    from wheelend._what_if import cases_of, room_to_law, what_if_lines, what_if_table

    terms = Terms(price_growth, 0.0, discount, visit_hours)
    tell(ask)
    ahead = future(ask.log, limit, limits or DEFAULT, ask.as_of, months, draws, seed)
    room = room_to_law(ahead, limit, limits or DEFAULT)
    cases = cases_of(ahead, ask.selection, ask.as_of, room, pull_32nds, use, tire_wear, tire_wear_se, None)
    table = what_if_table(ahead, ask.log.prices, terms, ask.selection, cases)
    deliver(table, ask.output, lambda: what_if_lines(table, months))
