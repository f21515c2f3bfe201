"""The commands: arguments in, tables out. Data on stdout, messages on stderr."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from wheelend import __version__, _people, _results
from wheelend._issues import SCHEMA
from wheelend.errors import BadValue, DataRefused, WheelendError
from wheelend.log import Log, day_number, read_log

if TYPE_CHECKING:
    import pyarrow as pa

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
        f"Cautions: {_people.CAUTION} Never work beside an unsecured vehicle, an inflated multi-piece rim, or a tire "
        "that was run below 80 percent of its pressure."
    ),
)

Readings = Annotated[Path, typer.Option("--readings", "-r", help="Readings: csv, parquet or xlsx.")]
Positions = Annotated[
    Path | None,
    typer.Option("--positions", "-p", help="Wheel positions; not needed where readings has kind and role."),
]
Tires = Annotated[Path | None, typer.Option("--tires", "-t", help="Tires, one row each.")]


def _check_day(text: str | None) -> str | None:
    """Refuse a bad date before the files are read."""
    if text is not None:
        day_number(text)
    return text


def _check_output(path: Path | None) -> Path | None:
    """Refuse a name that cannot be written before the files are read."""
    if path is not None:
        _results.require_suffix(path)
    return path


AsOf = Annotated[
    str | None,
    typer.Option("--as-of", metavar="DATE", callback=_check_day, help="Day to judge; the last reading by default."),
]
Output = Annotated[
    Path | None,
    typer.Option("-o", "--output", callback=_check_output, help="Write all rows to .csv, .parquet, .json or .xlsx."),
]
Unit = Annotated[list[str] | None, typer.Option("--unit", help="Only this unit; may be repeated.")]
Site = Annotated[list[str] | None, typer.Option("--site", help="Only this site; may be repeated.")]
Group = Annotated[list[str] | None, typer.Option("--group", help="Only this group; may be repeated.")]
Limits = Annotated[str, typer.Option("--limits", help="Limit set, or a .csv file of the same form.")]
Measures = Annotated[
    list[str] | None,
    typer.Option("--measure", metavar="COLUMN=MEASURE", help="Measure of a column without a suffix."),
]
Decimal = Annotated[str, typer.Option("--decimal", help="Decimal mark of the files.")]
Thousands = Annotated[str, typer.Option("--thousands", help="Thousands mark of the files.")]
Dates = Annotated[str, typer.Option("--dates", help="Order of dates: iso, mdy or dmy.")]
Delimiter = Annotated[str | None, typer.Option("--delimiter", help="Delimiter of csv files; found by default.")]
Sheet = Annotated[str | None, typer.Option("--sheet", help="Sheet of a workbook; the first by default.")]
OnBad = Annotated[str, typer.Option("--on-bad", help="report: list bad rows and values; raise: stop at the first.")]
All = Annotated[bool, typer.Option("--all", help="Every inspection, not only the last.")]


def _say(text: str) -> None:
    typer.echo(text, err=True)


def _read(
    readings: Path,
    positions: Path | None,
    tires: Path | None,
    measures: list[str] | None,
    decimal: str,
    thousands: str,
    dates: str,
    delimiter: str | None,
    sheet: str | None,
    on_bad: str,
) -> Log:
    pairs = [m.partition("=") for m in measures or []]
    for name, mark, label in pairs:
        if not (name and mark and label):
            raise typer.BadParameter("write COLUMN=MEASURE, e.g. pressure=psi", param_hint="--measure")
    return read_log(
        readings, positions, tires,
        measures={name: label for name, _, label in pairs},
        decimal=decimal, thousands=thousands, dates=dates, delimiter=delimiter, sheet=sheet, on_bad=on_bad,
    )  # fmt: skip


def _tell(log: Log, as_of: str | None) -> None:
    """What every command says of its input, on stderr."""
    _say(f"As of {as_of if as_of is not None else f'{log.last_day} (last reading)'}.")
    for lost in log.lost_columns:
        _say(f"NOT USED: {lost}")
    if len(log.issue_list):
        _say(" ".join(_people.issue_summary(log.issue_list)) + " See: wheelend issues")


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
def judge(
    readings: Readings, positions: Positions = None, tires: Tires = None, limits: Limits = "us-federal",
    all: All = False, as_of: AsOf = None, output: Output = None,
    unit: Unit = None, site: Site = None, group: Group = None,
    measure: Measures = None, decimal: Decimal = ".", thousands: Thousands = "", dates: Dates = "iso",
    delimiter: Delimiter = None, sheet: Sheet = None, on_bad: OnBad = "report",
) -> None:  # fmt: skip
    """Which wheel positions are outside their limits, and by which clause.

    Example: wheelend judge --readings readings.csv --positions positions.csv -o verdicts.csv
    """
    from wheelend.verdicts import Selection, judge_table, legal_failures

    log = _read(readings, positions, tires, measure, decimal, thousands, dates, delimiter, sheet, on_bad)
    _tell(log, as_of)
    table = judge_table(log, limits, all, as_of, Selection(unit, site, group))
    _deliver(table, output, _people.verdict_lines(table) if output is None else [])
    _exit_for(legal_failures(table))


@app.command()
def pressures(
    readings: Readings, positions: Positions = None, tires: Tires = None,
    reference: Annotated[str, typer.Option("--reference", help="Temperature to state cold pressures at.")] = "68 degf",
    method: Annotated[str, typer.Option("--method", help="auto, gas_law, federal_subtraction or as_read.")] = "auto",
    all: All = False, as_of: AsOf = None, output: Output = None,
    unit: Unit = None, site: Site = None, group: Group = None,
    measure: Measures = None, decimal: Decimal = ".", thousands: Thousands = "", dates: Dates = "iso",
    delimiter: Delimiter = None, sheet: Sheet = None, on_bad: OnBad = "report",
) -> None:  # fmt: skip
    """How far each cold pressure is off its target.

    Example: wheelend pressures --readings readings.csv --positions positions.csv --reference "20 degc"
    """
    from wheelend.verdicts import Selection, pressures_table

    log = _read(readings, positions, tires, measure, decimal, thousands, dates, delimiter, sheet, on_bad)
    _tell(log, as_of)
    table = pressures_table(log, reference, method, all, as_of, Selection(unit, site, group))
    _deliver(table, output, _people.pressure_lines(table, log.pressure_measure) if output is None else [])


@app.command()
def standing(
    readings: Readings, positions: Positions = None, tires: Tires = None, limits: Limits = "us-federal",
    unread_after: Annotated[int, typer.Option("--unread-after", min=0, help="Days without a reading.")] = 45,
    as_of: AsOf = None, output: Output = None,
    unit: Unit = None, site: Site = None, group: Group = None,
    measure: Measures = None, decimal: Decimal = ".", thousands: Thousands = "", dates: Dates = "iso",
    delimiter: Delimiter = None, sheet: Sheet = None, on_bad: OnBad = "report",
) -> None:  # fmt: skip
    """Which units may leave: hold, unread, watch or clear, one line each.

    Example: wheelend standing --readings readings.csv --positions positions.csv
    """
    from wheelend.verdicts import Selection, standing_table

    log = _read(readings, positions, tires, measure, decimal, thousands, dates, delimiter, sheet, on_bad)
    _tell(log, as_of)
    table = standing_table(log, limits, unread_after, as_of, Selection(unit, site, group))
    _deliver(table, output, _people.standing_lines(table) if output is None else [])
    _exit_for(table["standing"].to_pylist().count("hold"))


@app.command()
def wear(
    readings: Readings, positions: Positions = None, tires: Tires = None, limits: Limits = "us-federal",
    limit: Annotated[str | None, typer.Option("--limit", help="One depth for all, e.g. '4/32 in'.")] = None,
    as_of: AsOf = None, output: Output = None,
    unit: Unit = None, site: Site = None, group: Group = None,
    measure: Measures = None, decimal: Decimal = ".", thousands: Thousands = "", dates: Dates = "iso",
    delimiter: Delimiter = None, sheet: Sheet = None, on_bad: OnBad = "report",
) -> None:  # fmt: skip
    """How fast each tire wears, and on which date it is due.

    Example: wheelend wear --readings readings.csv --positions positions.csv -o wear.csv
    """
    from wheelend.trends import wear_table
    from wheelend.verdicts import Selection

    log = _read(readings, positions, tires, measure, decimal, thousands, dates, delimiter, sheet, on_bad)
    _tell(log, as_of)
    table = wear_table(log, limit, limits, as_of, Selection(unit, site, group))
    _deliver(table, output, _people.wear_lines(table, log.depth_measure) if output is None else [])


@app.command()
def issues(
    readings: Readings, positions: Positions = None, tires: Tires = None, output: Output = None,
    measure: Measures = None, decimal: Decimal = ".", thousands: Thousands = "", dates: Dates = "iso",
    delimiter: Delimiter = None, sheet: Sheet = None,
) -> None:  # fmt: skip
    """Every problem of the input: which row, which column, what to do.

    Example: wheelend issues --readings readings.csv --positions positions.csv -o issues.csv
    """
    refused: DataRefused | None = None
    try:
        log = _read(readings, positions, tires, measure, decimal, thousands, dates, delimiter, sheet, "report")
        found = log.issue_list
        for table, c in log.counts.items():
            _say(f"{table}: rows {c.rows_in:,} in, {c.rows_used:,} used, {c.rows_refused:,} not;")
            _say(f"    values {c.values_in:,} in, {c.values_used:,} used, {c.values_refused:,} not.")
    except DataRefused as error:
        if error.issues is None:
            raise
        refused, found = error, error.issues
    if output is None:
        typer.echo("\n".join(_people.issue_lines(found)))
    else:
        _results.write(found.batches(), output, SCHEMA)
        _say(f"{len(found):,} rows written to {output.name}.")
    if refused is not None:
        raise refused


@app.command()
def limits(
    name: Annotated[str | None, typer.Argument(help="A set; without it the sets are listed.")] = None,
    output: Output = None,
) -> None:
    """The limit sets, or the rows of one with their clauses.

    Example: wheelend limits us-federal
    """
    from wheelend.limit_sets import limits as rows_of

    table = rows_of(name)
    _deliver(table, output, _people.limit_lines(table) if name else _people.set_lines(table))


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
    limits: Limits = "us-federal",
) -> None:  # fmt: skip
    """What one reading means, without any file.

    Example: wheelend spot --kind tractor --role steer --depth "5/32 in" --pressure "92 psi" --target "100 psi"
    """
    from wheelend.verdicts import spot as answer

    found = answer(
        kind=kind, role=role, depth=depth, pressure=pressure, target=target, sidewall_max=sidewall_max, axle=axle,
        warm=warm, limits=limits,
    )  # fmt: skip
    typer.echo("\n".join(_people.spot_lines(found)))
    _exit_for(found.fails)


@app.command()
def sample(
    directory: Annotated[Path, typer.Argument(help="Folder to write readings.csv, positions.csv and tires.csv to.")],
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
