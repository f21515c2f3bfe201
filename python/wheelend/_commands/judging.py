"""Commands that judge: judge, pressures, standing, spot."""

from __future__ import annotations

from typing import Annotated

import typer

import wheelend
from wheelend import _completion, _core, _people
from wheelend._commands import _help
from wheelend._commands._common import app, deliver, exit_for, show, tell
from wheelend._options import All, Ask, Limits, Unconfirmed, reads_tables, usual_of
from wheelend.limit_sets import DEFAULT
from wheelend.verdicts import METHODS


@app.command(epilog=_help.NO_CERTIFICATE)
@reads_tables()
def judge(ask: Ask, limits: Limits = None, all: All = False, count_unconfirmed: Unconfirmed = False) -> None:
    """Which wheel positions are outside their limits, and by which clause.

    Example: wheelend judge --readings readings.csv --positions positions.csv -o verdicts.csv
    """
    from wheelend.verdicts import judge_table, legal_failures, readings_to_judge

    tell(ask)
    table = judge_table(ask.log, limits or DEFAULT, all, ask.as_of, ask.selection, count_unconfirmed)
    readings = readings_to_judge(ask.log, ask.as_of, ask.selection)
    deliver(table, ask.output, lambda: _people.verdict_lines(table, readings))
    exit_for(legal_failures(table))


@app.command(epilog=_help.INFLATION)
@reads_tables()
@usual_of(wheelend.pressures)
def pressures(
    ask: Ask,
    *,
    reference: Annotated[
        str, typer.Option("--reference", metavar="TEMPERATURE", help="Temperature to state cold pressures at.")
    ],
    method: Annotated[
        str,
        typer.Option(
            "--method",
            metavar="WORD",
            autocompletion=_completion.of(*METHODS),
            help="auto, gas_law, federal_subtraction or as_read.",
        ),
    ],
    all: All = False,
) -> None:
    """How far each cold pressure is off its target.

    Example: wheelend pressures --readings readings.csv --positions positions.csv --reference "20 degc"
    """
    from wheelend.verdicts import pressures_table

    tell(ask)
    table = pressures_table(ask.log, ask.as_of, ask.selection, reference, method, all)
    deliver(table, ask.output, lambda: _people.pressure_lines(table, ask.log.pressure_measure))


@app.command(epilog=_help.NO_CERTIFICATE)
@reads_tables()
@usual_of(wheelend.standing)
def standing(
    ask: Ask,
    *,
    limits: Limits = None,
    unread_after: Annotated[
        int,
        typer.Option("--unread-after", metavar="DAYS", min=0, help="Days without a reading that make a unit unread."),
    ],
    count_unconfirmed: Unconfirmed = False,
) -> None:
    """Which units may leave: hold, unread, watch or clear, one line each.

    Example: wheelend standing --readings readings.csv --positions positions.csv
    """
    from wheelend.verdicts import standing_table

    tell(ask)
    table = standing_table(ask.log, limits or DEFAULT, unread_after, ask.as_of, ask.selection, count_unconfirmed)
    deliver(table, ask.output, lambda: _people.standing_lines(table))
    exit_for(table["standing"].to_pylist().count("hold"))


Kind = Annotated[
    str,
    typer.Option(
        "--kind",
        metavar="KIND",
        autocompletion=_completion.of(*_core.codes["kind"]),
        help="truck, tractor, bus, trailer or dolly.",
    ),
]
Role = Annotated[
    str,
    typer.Option(
        "--role",
        metavar="ROLE",
        autocompletion=_completion.of(*_core.codes["role"]),
        help="steer, drive, trailer, tag, pusher, lift or dolly.",
    ),
]
Depth = Annotated[
    list[str] | None, typer.Option("--depth", metavar="DEPTH", help="'5/32 in'; repeat it, outer to inner.")
]
Pressure = Annotated[str | None, typer.Option("--pressure", metavar="PRESSURE", help="'92 psi', gauge.")]
Target = Annotated[str | None, typer.Option("--target", metavar="PRESSURE", help="Cold target.")]
SidewallMax = Annotated[str | None, typer.Option("--sidewall-max", metavar="PRESSURE", help="Maximum on the sidewall.")]
Axle = Annotated[int | None, typer.Option("--axle", min=1, metavar="NUMBER", help="From the front of the unit.")]
Warm = Annotated[bool, typer.Option("--warm", help="The vehicle ran within three hours.")]


@app.command(epilog=_help.NO_CERTIFICATE)
def spot(
    kind: Kind,
    role: Role,
    depth: Depth = None,
    pressure: Pressure = None,
    target: Target = None,
    sidewall_max: SidewallMax = None,
    axle: Axle = None,
    warm: Warm = False,
    limits: Limits = None,
    count_unconfirmed: Unconfirmed = False,
) -> None:
    """What one reading means, without any file.

    Example: wheelend spot --kind tractor --role steer --depth "5/32 in" --pressure "92 psi" --target "100 psi"
    """
    from wheelend.verdicts import spot as answer

    found = answer(
        kind=kind, role=role, depth=depth, pressure=pressure, target=target, sidewall_max=sidewall_max, axle=axle,
        warm=warm, limits=limits or DEFAULT, count_unconfirmed=count_unconfirmed,
    )  # fmt: skip
    show(_people.spot_lines(found))
    exit_for(found.fails)
