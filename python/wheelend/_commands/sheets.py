"""Commands for paper: sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

import wheelend
from wheelend._commands import _help
from wheelend._commands._common import app, say, tell
from wheelend._options import Ask, Limits, Unconfirmed, reads_tables, usual_of
from wheelend.limit_sets import DEFAULT


def _check_sheet(path: Path) -> Path:
    """Refuse a name that no sheet is written under before the files are read."""
    from wheelend._sheet import require_suffix

    require_suffix(path)
    return path


@app.command(epilog=_help.NO_CERTIFICATE)
@reads_tables(table_out=False)
@usual_of(wheelend.sheet)
def sheet(
    ask: Ask,
    *,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", callback=_check_sheet, help="A name in .html or .pdf.")
    ],
    limits: Limits = None,
    unread_after: Annotated[
        int,
        typer.Option("--unread-after", metavar="DAYS", min=0, help="Days without a reading that make a unit unread."),
    ],
    count_unconfirmed: Unconfirmed = False,
    paper: Annotated[
        str | None,
        typer.Option("--paper", metavar="SIZE", help="letter or a4.  [default: of HTML the printer's; of PDF letter]"),
    ] = None,
    language: Annotated[str, typer.Option("--language", metavar="CODE", help="Language of the sheet's own texts.")],
) -> None:
    """The page for the clipboard: who may not leave and why, what is due, with plans of the units and room to sign.

    Example: wheelend sheet --readings readings.csv --positions positions.csv -o sheet.html
    """
    from wheelend._sheet import sheet as write_sheet

    tell(ask)
    chosen = ask.selection
    write_sheet(
        ask.log, output, limits=limits or DEFAULT, unread_after=unread_after, count_unconfirmed=count_unconfirmed,
        paper=paper, language=language, as_of=ask.as_of, unit=chosen.unit, site=chosen.site, group=chosen.group,
    )  # fmt: skip
    say(f"Sheet written to {output.name}.")
