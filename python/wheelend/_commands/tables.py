"""Commands around the input: issues, j1939, sample."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wheelend import _people, _results
from wheelend._commands._common import app, deliver, deliver_batches, say, show, tell_counts
from wheelend._issues import SCHEMA
from wheelend._options import Ask, Output, check_output, reads_tables
from wheelend.errors import DataRefused


@app.command()
@reads_tables(part=False, prices=True)
def issues(ask: Ask) -> None:
    """Every problem of the input: which row, which column, what to do.

    Example: wheelend issues --readings readings.csv --positions positions.csv -o issues.csv
    """
    refused: DataRefused | None = None
    try:
        found = ask.log.issue_list
        tell_counts(ask.log.counts)
    except DataRefused as error:
        if error.issues is None:
            raise
        refused, found = error, error.issues
    if ask.output.is_text:
        show(_people.issue_lines(found), ask.output.path)
    else:
        deliver_batches(found.batches(), SCHEMA, len(found), ask.output)
    if refused is not None:
        raise refused


@app.command()
def j1939(
    messages: Annotated[
        Path, typer.Argument(metavar="MESSAGES", help="Messages of PGN 65268, raw numbers: csv, parquet or xlsx.")
    ],
    positions: Annotated[Path, typer.Option("--positions", "-p", metavar="FILE", help="Wheel positions.")],
    output: Annotated[
        Path,
        typer.Option("-o", "--output", metavar="FILE", callback=check_output, help="Write the readings to this file."),
    ],
    issues: Annotated[
        Path | None,
        typer.Option("--issues", metavar="FILE", callback=check_output, help="Write every problem to this file."),
    ] = None,
) -> None:
    """Readings from tire messages of the vehicle network (SAE J1939, PGN 65268).

    Example: wheelend j1939 messages.csv --positions positions.csv -o readings.csv
    """
    from wheelend._issues import describe
    from wheelend.j1939 import readings as decode

    found = decode(messages, positions)
    tell_counts(found.counts)
    for issue in found.issues.slice(0, _people.MOST_ISSUES).to_pylist():
        say(describe(issue))
    if len(found.issues) > _people.MOST_ISSUES:
        say(f"{len(found.issues):,} problems in all: write them to a file with --issues")
    if issues is not None:
        _results.write(found.issues, issues)
    deliver(found.readings, Output(output), list)


@app.command()
def sample(
    directory: Annotated[
        Path,
        typer.Argument(metavar="DIR", help="Folder to write the tables to."),
    ],
) -> None:
    """Write an invented small fleet to try things on.

    Example: wheelend sample my_fleet
    """
    from wheelend.sample import write_sample

    try:
        paths = write_sample(directory)
    except FileExistsError as error:
        raise typer.BadParameter(str(error), param_hint="DIR") from None
    show(str(path) for path in paths)
