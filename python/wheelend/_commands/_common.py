"""What all commands share: the application they belong to, what they say on stderr, how results go out."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import pyarrow as pa
import typer

from wheelend import _people, _results
from wheelend._commands._help import App, Group
from wheelend._options import Ask, Format, Output
from wheelend.errors import BadCall

if TYPE_CHECKING:
    from wheelend._intake import Counts

FINE, FINDINGS, USAGE, REFUSED, INTERRUPTED = 0, 1, 2, 3, 130

app = App(
    cls=Group,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help=(
        "Judges tread, pressure and wheel-end readings of trucks and trailers against their limits, and follows them "
        "to the day they reach them.\n\n"
        "Example: wheelend judge --readings readings.csv --positions positions.csv\n\n"
        "Exit codes: 0 fine; 1 a violation or out-of-service limit fails (judge, standing, spot); 2 wrong usage; "
        "3 the data was refused; 130 interrupted.\n\n"
        f"Cautions: {_people.CAUTION} Never work beside an unsecured vehicle, or beside an inflated multi-piece "
        "rim. Do not inflate on the vehicle a tire found at 80 percent of its pressure or below."
    ),
)


def say(text: str) -> None:
    """A message for people: it never mixes with the data."""
    typer.echo(text, err=True)


def tell(ask: Ask) -> None:
    """What every command says of its input."""
    log = ask.log
    say(f"As of {ask.as_of if ask.as_of is not None else f'{log.last_day} (last reading)'}.")
    for lost in log.lost_columns:
        say(f"NOT USED: {lost}")
    if len(log.issue_list):
        say(" ".join(_people.issue_summary(log.issue_list)) + " See: wheelend issues")


def tell_counts(counts: dict[str, Counts]) -> None:
    for table, c in counts.items():
        say(f"{table}: rows {c.rows_in:,} in, {c.rows_used:,} used, {c.rows_refused:,} not;")
        say(f"    values {c.values_in:,} in, {c.values_used:,} used, {c.values_refused:,} not.")


def deliver(table: pa.Table, output: Output, lines: Callable[[], list[str]]) -> None:
    """A result to its file or to stdout; ``lines``: the short text for people, made only where it is shown."""
    if output.is_text:
        show(lines(), output.path)
    else:
        deliver_batches(table.to_batches(max_chunksize=2**16), table.schema, len(table), output)


def deliver_batches(batches: Iterable[pa.RecordBatch], schema: pa.Schema, rows: int, output: Output) -> None:
    """Rows, batch by batch, to a file or to stdout."""
    if output.path is not None:
        _results.write(batches, output.path, schema, output.suffix)
        say(f"{rows:,} rows written to {output.path.name}.")
        return
    if output.form in (Format.parquet, Format.xlsx) and sys.stdout.isatty():
        raise BadCall(f"--format {output.form.value}: not for a terminal; name a file with -o, or redirect the output")
    with _Pipe():
        sys.stdout.flush()
        _results.write_to(sys.stdout.buffer, batches, schema, output.suffix)
        sys.stdout.buffer.flush()


def show(lines: Iterable[str], path: Path | None = None) -> None:
    """Text for people on stdout, or into a file."""
    text = "\n".join(lines)
    if path is not None:
        path.write_text(text + "\n", encoding="utf-8")
        say(f"written to {path.name}.")
        return
    with _Pipe():
        typer.echo(text)
        sys.stdout.flush()


class _Pipe:
    """A reader that has seen enough (``| head``) is no error, and the exit code still says what was found."""

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: type[BaseException] | None, error: object, trace: object) -> bool:
        if kind is None or not issubclass(kind, BrokenPipeError):
            return False
        # What is still buffered goes nowhere; else the interpreter complains of it when it ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return True


def exit_for(failures: int) -> None:
    if failures:
        raise typer.Exit(FINDINGS)
