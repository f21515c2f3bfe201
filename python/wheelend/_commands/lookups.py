"""Commands that look something up: limits, explain, words, records, clamp."""

from __future__ import annotations

from typing import Annotated

import typer

import wheelend
from wheelend import _completion, _people
from wheelend._commands import _help
from wheelend._commands._common import app, deliver, show
from wheelend._options import AnyLimits, Limits, Output, OutputFile, OutputFormat, usual_of
from wheelend.limit_sets import DEFAULT


@app.command(epilog=_help.NO_CERTIFICATE)
def limits(
    name: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="SET", autocompletion=_completion.limit_sets, help="Sets; without one they are all listed."
        ),
    ] = None,
    format: OutputFormat = None,
    output: OutputFile = None,
) -> None:
    """The limit sets, or the rows of one with their clauses.

    Example: wheelend limits us-federal
    """
    from wheelend.limit_sets import limits as rows_of

    table = rows_of(name or None)
    deliver(table, Output(output, format), lambda: _people.limit_lines(table) if name else _people.set_lines(table))


@app.command(epilog=_help.NO_CERTIFICATE)
def explain(
    limit_id: Annotated[
        str,
        typer.Argument(
            metavar="ID",
            autocompletion=_completion.limit_ids,
            help="Id of a limit, e.g. US-T-02; the first part of it is enough.",
        ),
    ],
    limits: AnyLimits = None,
) -> None:
    """Clause, condition, applicability and conflicts of a limit.

    Example: wheelend explain US-T-02
    """
    from wheelend.limit_sets import explained as rows_of

    show(_people.explain_lines(rows_of(limit_id, limits)))


@app.command()
def words(
    column: Annotated[
        str,
        typer.Argument(
            metavar="COLUMN",
            autocompletion=_completion.worded_columns,
            help="A column that takes words, e.g. quantity, brake, fastener.",
        ),
    ] = "quantity",
) -> None:
    """The words that a column takes, and what they mean.

    Example: wheelend words quantity
    """
    show(_people.word_lines(column))


@app.command()
def records(
    record: Annotated[
        str | None, typer.Argument(metavar="RECORD", help="Which record; without it all are listed.")
    ] = None,
    dated: Annotated[str | None, typer.Option("--dated", metavar="DATE", help="Date of the record.")] = None,
    limits: Limits = None,
) -> None:
    """How long a record is kept, and when it is due again.

    Example: wheelend records periodic_report --dated 2026-01-15
    """
    from wheelend._records import records as rows_of

    show(_people.record_lines(rows_of(record, dated=dated, limits=limits or DEFAULT)))


@app.command()
@usual_of(wheelend.clamp_load)
def clamp(
    *,
    torque: Annotated[str, typer.Argument(metavar="TORQUE", help="Of one fastener, e.g. '475 lbft' or '640 nm'.")],
    thread: Annotated[
        str | None, typer.Option("--thread", metavar="WORD", help="Threads: oiled, dry or rough.")
    ] = None,
    stud: Annotated[str, typer.Option("--stud", metavar="WORD", help="m22, m20, a fastener system, or a diameter.")],
) -> None:
    """The range of clamp load that a torque may stand for: advice, never one number.

    Example: wheelend clamp "475 lbft" --thread oiled
    """
    from wheelend._clamp import clamp_lines, clamp_load

    show(clamp_lines(clamp_load(torque=torque, thread=thread, stud=stud), torque))
