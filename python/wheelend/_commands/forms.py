"""Commands for paper and for the shop floor: form."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

import wheelend
from wheelend import _completion, _people
from wheelend._commands import _help
from wheelend._commands._common import app, say
from wheelend._options import Ask, reads_tables, usual_of
from wheelend.dictionary import DISTANCE, LENGTH, PRESSURE
from wheelend.log import day_number


def _check_form(path: Path) -> Path:
    """Refuse a name that no form is written under before the files are read."""
    from wheelend._form._make import check_output

    check_output(path)
    return path


@app.command(epilog=_help.WALK)
@reads_tables(table_out=False)
@usual_of(wheelend.form)
def form(
    ask: Ask,
    *,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", callback=_check_form, help="A name in .xlsx or .pdf.")
    ],
    blank: Annotated[bool, typer.Option("--blank", help="Do not show what was read last.")] = False,
    quantity: Annotated[
        list[str] | None,
        typer.Option(
            "--quantity",
            metavar="NAME",
            autocompletion=_completion.quantities,
            help="A quantity of the wheel ends to ask for; may be repeated.",
        ),
    ] = None,
    no_wheel_ends: Annotated[bool, typer.Option("--no-wheel-ends", help="Tread and pressure only.")] = False,
    depth_measure: Annotated[
        str | None,
        typer.Option(
            "--depth-measure",
            metavar="MEASURE",
            autocompletion=_completion.of(*LENGTH),
            help="32nds, mm or in; else as it was read.",
        ),
    ] = None,
    pressure_measure: Annotated[
        str | None,
        typer.Option(
            "--pressure-measure",
            metavar="MEASURE",
            autocompletion=_completion.of(*PRESSURE),
            help="psi, kpa or bar; else as it was read.",
        ),
    ] = None,
    distance_measure: Annotated[
        str | None,
        typer.Option(
            "--distance-measure",
            metavar="MEASURE",
            autocompletion=_completion.of(*DISTANCE),
            help="mi or km; else as it was read.",
        ),
    ] = None,
    paper: Annotated[
        str,
        typer.Option("--paper", metavar="SIZE", autocompletion=_completion.of("letter", "a4"), help="letter or a4."),
    ],
) -> None:
    """A walk-round entry form: a workbook that reads back, or pages to print.

    Example: wheelend form --positions positions.csv --readings readings.csv -o form.xlsx
    """
    from wheelend._form._make import measures_of, write_form

    log = ask.places
    if len(log.issue_list):
        say(" ".join(_people.issue_summary(log.issue_list)) + " See: wheelend issues")
    use = measures_of(log, depth_measure, pressure_measure, distance_measure)
    made = write_form(
        log, output, ask.selection.mask(log), use, quantity=[] if no_wheel_ends else quantity or None, blank=blank,
        as_of=None if ask.as_of is None else day_number(ask.as_of), paper=paper,
    )  # fmt: skip
    units = "1 unit" if made.units == 1 else f"{made.units:,} units"
    say(f"{units}, {made.rows:,} wheel positions, {made.checks:,} wheel-end rows written to {output.name}.")
