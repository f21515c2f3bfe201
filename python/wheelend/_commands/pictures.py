"""The command that draws: picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from wheelend import _completion
from wheelend._commands import _help
from wheelend._commands._common import app, say, tell
from wheelend._options import Ask, Limit, Limits, reads_tables


def _named(name: str) -> str:
    from wheelend.pictures._command import check_name

    return check_name(name)


def _file(path: Path | None) -> Path | None:
    from wheelend.pictures._command import check_file

    return check_file(path)


# As pictures._command.PICTURES, which is not loaded for help.
NAMES = ("depth", "due", "pressure", "across", "demand", "spend", "coverage")
_SIDES, _DUALS = ("left", "right"), ("single", "outer", "inner")
_AGAINST = ("distance", "date")


def _option(name: str, what: str, metavar: str, words: tuple[str, ...] = (), **more: Any) -> Any:
    """An option of some pictures: words that a shell completes, where there are such."""
    complete: dict[str, Any] = {"autocompletion": _completion.of(*words)} if words else {}
    return typer.Option(f"--{name}", metavar=metavar, help=what, **complete, **more)


@app.command(epilog=f"{_help.FORECAST}\n\n{_help.INFLATION}")
@reads_tables(table_out=False, prices=True)
def picture(
    ask: Ask,
    name: Annotated[
        str,
        typer.Argument(
            metavar="PICTURE", callback=_named, autocompletion=_completion.of(*NAMES), help=f"{', '.join(NAMES)}."
        ),
    ],
    axle: Annotated[int | None, _option("axle", "Of one tire: its axle.", "NUMBER", min=1)] = None,
    side: Annotated[str | None, _option("side", "Of one tire: left or right.", "SIDE", _SIDES)] = None,
    dual: Annotated[str | None, _option("dual", "Of one tire: single, outer or inner.", "DUAL", _DUALS)] = None,
    against: Annotated[str | None, _option("against", "depth: distance or date along x.", "WORD", _AGAINST)] = None,
    most: Annotated[int | None, _option("most", "due: only so many of the soonest.", "NUMBER", min=1)] = None,
    months: Annotated[
        int | None, _option("months", "demand, spend: calendar months ahead.", "NUMBER", min=1, max=120)
    ] = None,
    every: Annotated[int | None, _option("every", "coverage: days between past days.", "DAYS", min=1)] = None,
    reference: Annotated[
        str | None, _option("reference", "pressure: temperature to state cold pressures at.", "TEMPERATURE")
    ] = None,
    limits: Limits = None,
    limit: Limit = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            callback=_file,
            help="Write to .png, .svg or .pdf; its numbers to .csv and the like.",
        ),
    ] = None,
) -> None:
    """Draw depth, due dates, pressure, wear across the tread, demand, spend or past coverage.

    Example: wheelend picture depth -r readings.csv -p positions.csv --unit T104 -o depth.png

    Of one tire where no position is asked for: the one that most needs a look (due soonest, furthest below its target,
    worn most unevenly).
    """
    from wheelend.pictures._command import draw, require_file

    path = require_file(name, output)
    tell(ask)
    options = {
        "axle": axle, "side": side, "dual": dual, "against": against, "most": most, "months": months, "every": every,
        "reference": reference, "limits": limits, "limit": limit,
    }  # fmt: skip
    say(draw(ask, name, options, path))
