"""The commands: arguments in, tables out. Data on stdout, messages on stderr."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from wheelend import __version__, _people, _results
from wheelend._issues import SCHEMA
from wheelend._options import All, Ask, Limit, Limits, Output, Unconfirmed, check_days, check_output, reads_tables
from wheelend.errors import BadValue, DataRefused, WheelendError
from wheelend.limit_sets import DEFAULT

if TYPE_CHECKING:
    import pyarrow as pa

    from wheelend._intake import Counts
    from wheelend.log import Log

FINE, FINDINGS, USAGE, REFUSED = range(4)

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help=(
        "Judges tread, pressure and wheel-end readings of trucks and trailers against their limits, and follows them "
        "to the day they reach them.\n\n"
        "Example: wheelend judge --readings readings.csv --positions positions.csv\n\n"
        "Exit codes: 0 fine; 1 a violation or out-of-service limit fails (judge, standing, spot); 2 wrong usage; "
        "3 the data was refused.\n\n"
        f"Cautions: {_people.CAUTION} Never work beside an unsecured vehicle, or beside an inflated multi-piece "
        "rim. Do not inflate on the vehicle a tire found at 80 percent of its pressure or below."
    ),
)


def _say(text: str) -> None:
    typer.echo(text, err=True)


def _tell(ask: Ask) -> None:
    """What every command says of its input, on stderr."""
    log: Log = ask.log
    _say(f"As of {ask.as_of if ask.as_of is not None else f'{log.last_day} (last reading)'}.")
    for lost in log.lost_columns:
        _say(f"NOT USED: {lost}")
    if len(log.issue_list):
        _say(" ".join(_people.issue_summary(log.issue_list)) + " See: wheelend issues")


def _tell_counts(counts: dict[str, Counts]) -> None:
    for table, c in counts.items():
        _say(f"{table}: rows {c.rows_in:,} in, {c.rows_used:,} used, {c.rows_refused:,} not;")
        _say(f"    values {c.values_in:,} in, {c.values_used:,} used, {c.values_refused:,} not.")


def _deliver(table: pa.Table, output: Path | None, lines: list[str]) -> None:
    if output is None:
        typer.echo("\n".join(lines))
    else:
        _results.write(table, output)
        _say(f"{len(table):,} rows written to {output.name}.")


def _exit_for(failures: int) -> None:
    if failures:
        raise typer.Exit(FINDINGS)


@app.command()
@reads_tables()
def judge(ask: Ask, limits: Limits = None, all: All = False, count_unconfirmed: Unconfirmed = False) -> None:
    """Which wheel positions are outside their limits, and by which clause.

    Example: wheelend judge --readings readings.csv --positions positions.csv -o verdicts.csv
    """
    from wheelend.verdicts import judge_table, legal_failures, readings_to_judge

    _tell(ask)
    table = judge_table(ask.log, limits or DEFAULT, all, ask.as_of, ask.selection, count_unconfirmed)
    readings = readings_to_judge(ask.log, ask.as_of, ask.selection)
    _deliver(table, ask.output, _people.verdict_lines(table, readings) if ask.output is None else [])
    _exit_for(legal_failures(table))


@app.command()
@reads_tables()
def pressures(
    ask: Ask,
    reference: Annotated[str, typer.Option("--reference", help="Temperature to state cold pressures at.")] = "68 degf",
    method: Annotated[str, typer.Option("--method", help="auto, gas_law, federal_subtraction or as_read.")] = "auto",
    all: All = False,
) -> None:
    """How far each cold pressure is off its target.

    Example: wheelend pressures --readings readings.csv --positions positions.csv --reference "20 degc"
    """
    from wheelend.verdicts import pressures_table

    _tell(ask)
    table = pressures_table(ask.log, reference, method, all, ask.as_of, ask.selection)
    lines = [] if ask.output else _people.pressure_lines(table, ask.log.pressure_measure)
    _deliver(table, ask.output, lines)


@app.command()
@reads_tables()
def standing(
    ask: Ask,
    limits: Limits = None,
    unread_after: Annotated[int, typer.Option("--unread-after", min=0, help="Days without a reading.")] = 45,
    count_unconfirmed: Unconfirmed = False,
) -> None:
    """Which units may leave: hold, unread, watch or clear, one line each.

    Example: wheelend standing --readings readings.csv --positions positions.csv
    """
    from wheelend.verdicts import standing_table

    _tell(ask)
    table = standing_table(ask.log, limits or DEFAULT, unread_after, ask.as_of, ask.selection, count_unconfirmed)
    _deliver(table, ask.output, _people.standing_lines(table) if ask.output is None else [])
    _exit_for(table["standing"].to_pylist().count("hold"))


@app.command()
@reads_tables()
def wear(
    ask: Ask,
    limits: Limits = None,
    limit: Limit = None,
    recalibrate: Annotated[
        Path | None, typer.Option("--recalibrate", help="Put intervals right by this file of `wheelend backtest -o`.")
    ] = None,
) -> None:
    """How fast each tire wears, and on which date it is due.

    Example: wheelend wear --readings readings.csv --positions positions.csv -o wear.csv
    """
    from wheelend._backtest._recalibrate import read_backtest, recalibrated_table
    from wheelend.trends import wear_table

    by = read_backtest(recalibrate) if recalibrate is not None else None
    _tell(ask)
    table = wear_table(ask.log, limit, limits or DEFAULT, ask.as_of, ask.selection)
    if by is not None:
        table = recalibrated_table(table, by)
    _deliver(table, ask.output, _people.wear_lines(table, ask.log.depth_measure) if ask.output is None else [])


@app.command()
@reads_tables()
def fitments(ask: Ask) -> None:
    """Which tire was where from when to when, and why one is taken for another.

    Example: wheelend fitments --readings readings.csv --positions positions.csv --unit T106
    """
    from wheelend._fitments import fitments_table

    _tell(ask)
    table = fitments_table(ask.log, ask.as_of, ask.selection)
    _deliver(table, ask.output, _people.fitment_lines(table, ask.log.depth_measure) if ask.output is None else [])


@app.command()
@reads_tables()
def doubts(ask: Ask) -> None:
    """Depth readings that do not fit the others of their tire; they count little in `wear`, and none is deleted.

    Example: wheelend doubts --readings readings.csv --positions positions.csv
    """
    from wheelend._doubts import doubts_table

    _tell(ask)
    table = doubts_table(ask.log, ask.as_of, ask.selection)
    _deliver(table, ask.output, _people.doubt_lines(table, ask.log.depth_measure) if ask.output is None else [])


@app.command()
@reads_tables()
def patterns(ask: Ask) -> None:
    """Wear across the tread and around the tire, as advice with its evidence.

    Example: wheelend patterns --readings readings.csv --positions positions.csv
    """
    from wheelend._patterns import patterns_table

    _tell(ask)
    table = patterns_table(ask.log, ask.as_of, ask.selection)
    _deliver(table, ask.output, _people.pattern_lines(table, ask.log.depth_measure) if ask.output is None else [])


@app.command()
@reads_tables()
def backtest(
    ask: Ask,
    limits: Limits = None,
    limit: Limit = None,
    every: Annotated[int, typer.Option("--every", min=1, help="Days between the days to forecast from.")] = 90,
    cut: Annotated[
        list[str] | None,
        typer.Option("--cut", metavar="DATE", callback=check_days, help="A day to forecast from; may be repeated."),
    ] = None,
) -> None:
    """How far the due dates would have been right in this fleet's own past.

    Example: wheelend backtest --readings readings.csv --positions positions.csv -o backtest.csv
    """
    from wheelend._backtest import backtest_table

    _tell(ask)
    table = backtest_table(ask.log, every, cut, limit, limits or DEFAULT, ask.as_of, ask.selection)
    _deliver(table, ask.output, _people.backtest_lines(table) if ask.output is None else [])


@app.command()
@reads_tables(part=False)
def issues(ask: Ask) -> None:
    """Every problem of the input: which row, which column, what to do.

    Example: wheelend issues --readings readings.csv --positions positions.csv -o issues.csv
    """
    refused: DataRefused | None = None
    try:
        found = ask.log.issue_list
        _tell_counts(ask.log.counts)
    except DataRefused as error:
        if error.issues is None:
            raise
        refused, found = error, error.issues
    if ask.output is None:
        typer.echo("\n".join(_people.issue_lines(found)))
    else:
        _results.write(found.batches(), ask.output, SCHEMA)
        _say(f"{len(found):,} rows written to {ask.output.name}.")
    if refused is not None:
        raise refused


@app.command()
def limits(
    name: Annotated[list[str] | None, typer.Argument(help="Sets; without one they are all listed.")] = None,
    output: Output = None,
) -> None:
    """The limit sets, or the rows of one with their clauses.

    Example: wheelend limits us-federal
    """
    from wheelend.limit_sets import limits as rows_of

    table = rows_of(name or None)
    _deliver(table, output, _people.limit_lines(table) if name else _people.set_lines(table))


@app.command()
def explain(
    limit_id: Annotated[str, typer.Argument(help="Id of a limit, e.g. US-T-02; the first part of it is enough.")],
    limits: Limits = None,
) -> None:
    """Clause, condition, applicability and conflicts of a limit.

    Example: wheelend explain US-T-02
    """
    from wheelend.limit_sets import explained as rows_of

    typer.echo("\n".join(_people.explain_lines(rows_of(limit_id, limits))))


@app.command()
def words(
    column: Annotated[
        str, typer.Argument(help="A column that takes words, e.g. quantity, brake, fastener.")
    ] = "quantity",
) -> None:
    """The words that a column takes, and what they mean.

    Example: wheelend words quantity
    """
    typer.echo("\n".join(_people.word_lines(column)))


@app.command()
def records(
    record: Annotated[str | None, typer.Argument(help="Which record; without it all are listed.")] = None,
    dated: Annotated[str | None, typer.Option("--dated", metavar="DATE", help="Date of the record.")] = None,
    limits: Limits = None,
) -> None:
    """How long a record is kept, and when it is due again.

    Example: wheelend records periodic_report --dated 2026-01-15
    """
    from wheelend._records import records as rows_of

    typer.echo("\n".join(_people.record_lines(rows_of(record, dated=dated, limits=limits or DEFAULT))))


@app.command()
def j1939(
    messages: Annotated[Path, typer.Argument(help="Messages of PGN 65268, raw numbers: csv, parquet or xlsx.")],
    positions: Annotated[Path, typer.Option("--positions", "-p", help="Wheel positions.")],
    output: Annotated[
        Path, typer.Option("-o", "--output", callback=check_output, help="Write the readings to this file.")
    ],
    issues: Annotated[
        Path | None, typer.Option("--issues", callback=check_output, help="Write every problem to this file.")
    ] = None,
) -> None:
    """Readings from tire messages of the vehicle network (SAE J1939, PGN 65268).

    Example: wheelend j1939 messages.csv --positions positions.csv -o readings.csv
    """
    from wheelend._issues import describe
    from wheelend.j1939 import readings as decode

    found = decode(messages, positions)
    _tell_counts(found.counts)
    for issue in found.issues.slice(0, _people.MOST_ISSUES).to_pylist():
        _say(describe(issue))
    if len(found.issues) > _people.MOST_ISSUES:
        _say(f"{len(found.issues):,} problems in all: write them to a file with --issues")
    if issues is not None:
        _results.write(found.issues, issues)
    _deliver(found.readings, output, [])


@app.command()
def spot(
    kind: Annotated[str, typer.Option("--kind", help="truck, tractor, bus, trailer or dolly.")],
    role: Annotated[str, typer.Option("--role", help="steer, drive, trailer, tag, pusher, lift or dolly.")],
    depth: Annotated[list[str] | None, typer.Option("--depth", help="'5/32 in'; repeat it, outer to inner.")] = None,
    pressure: Annotated[str | None, typer.Option("--pressure", help="'92 psi', gauge.")] = None,
    target: Annotated[str | None, typer.Option("--target", help="Cold target.")] = None,
    sidewall_max: Annotated[str | None, typer.Option("--sidewall-max", help="Maximum on the sidewall.")] = None,
    axle: Annotated[int | None, typer.Option("--axle", min=1, help="From the front of the unit.")] = None,
    warm: Annotated[bool, typer.Option("--warm", help="The vehicle ran within three hours.")] = False,
    limits: Limits = None,
    count_unconfirmed: Unconfirmed = False,
) -> None:  # fmt: skip
    """What one reading means, without any file.

    Example: wheelend spot --kind tractor --role steer --depth "5/32 in" --pressure "92 psi" --target "100 psi"
    """
    from wheelend.verdicts import spot as answer

    found = answer(
        kind=kind, role=role, depth=depth, pressure=pressure, target=target, sidewall_max=sidewall_max, axle=axle,
        warm=warm, limits=limits or DEFAULT, count_unconfirmed=count_unconfirmed,
    )  # fmt: skip
    typer.echo("\n".join(_people.spot_lines(found)))
    _exit_for(found.fails)


@app.command()
def sample(
    directory: Annotated[
        Path,
        typer.Argument(help="Folder to write readings.csv, positions.csv, tires.csv and wheelend_readings.csv to."),
    ],
) -> None:
    """Write an invented small fleet to try things on.

    Example: wheelend sample my_fleet
    """
    from wheelend.sample import write_sample

    try:
        paths = write_sample(directory)
    except FileExistsError as error:
        raise typer.BadParameter(str(error), param_hint="DIRECTORY") from None
    for path in paths:
        typer.echo(str(path))


def _version(value: bool) -> None:
    if value:
        typer.echo(__version__)
        raise typer.Exit


@app.callback()
def _common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version and exit.")
    ] = False,
) -> None:
    pass


def main(arguments: list[str] | None = None) -> Any:
    """Entry point: errors of the package become one message and an exit code."""
    try:
        app(arguments, prog_name="wheelend")
    except (DataRefused, BadValue) as error:
        _say(f"wheelend: {error}")
        sys.exit(REFUSED)
    except WheelendError as error:
        _say(f"wheelend: {error}")
        sys.exit(USAGE)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(FINE)
