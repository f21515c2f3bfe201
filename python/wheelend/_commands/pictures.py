"""The command that draws: picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wheelend._commands._common import app, say, tell
from wheelend._options import Ask, Limit, Limits, reads_tables


def _named(name: str) -> str:
    from wheelend.pictures._command import check_name

    return check_name(name)


def _file(path: Path | None) -> Path | None:
    from wheelend.pictures._command import check_file

    return check_file(path)


@app.command()
@reads_tables(table_out=False)
def picture(
    ask: Ask,
    name: Annotated[str, typer.Argument(callback=_named, help="depth, due, pressure, across or coverage.")],
    axle: Annotated[int | None, typer.Option("--axle", min=1, help="Of one tire: its axle.")] = None,
    side: Annotated[str | None, typer.Option("--side", help="Of one tire: left or right.")] = None,
    dual: Annotated[str | None, typer.Option("--dual", help="Of one tire: single, outer or inner.")] = None,
    against: Annotated[str | None, typer.Option("--against", help="depth: distance or date along x.")] = None,
    most: Annotated[int | None, typer.Option("--most", min=1, help="due: only so many of the soonest.")] = None,
    every: Annotated[int | None, typer.Option("--every", min=1, help="coverage: days between past days.")] = None,
    reference: Annotated[
        str | None, typer.Option("--reference", help="pressure: temperature to state cold pressures at.")
    ] = None,
    limits: Limits = None,
    limit: Limit = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", callback=_file, help="Write to .png, .svg or .pdf; its numbers to .csv and the like."
        ),
    ] = None,
) -> None:
    """Draw depth, due dates, pressure, wear across the tread or past coverage.

    Example: wheelend picture depth -r readings.csv -p positions.csv --unit T104 -o depth.png

    Of one tire where no position is asked for: the one that most needs a look (due soonest, furthest below its target,
    worn most unevenly).
    """
    from wheelend.pictures._command import draw, require_file

    path = require_file(name, output)
    tell(ask)
    options = {
        "axle": axle, "side": side, "dual": dual, "against": against, "most": most, "every": every,
        "reference": reference, "limits": limits, "limit": limit,
    }  # fmt: skip
    say(draw(ask, name, options, path))
