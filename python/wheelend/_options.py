"""Options that several commands share: which tables to read and how, which part of the fleet, where results go."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any

import typer

from wheelend import _completion, _results
from wheelend._completion import values_of
from wheelend.limit_sets import DEFAULT
from wheelend.log import Log, day_number, read_log, read_places
from wheelend.verdicts import Selection

Readings = Annotated[
    Path | None, typer.Option("--readings", "-r", metavar="FILE", help="Readings: csv, parquet or xlsx.")
]
Positions = Annotated[
    Path | None,
    typer.Option(
        "--positions", "-p", metavar="FILE", help="Wheel positions; not needed where readings has kind and role."
    ),
]
Tires = Annotated[Path | None, typer.Option("--tires", "-t", metavar="FILE", help="Tires, one row each.")]
Wheelends = Annotated[
    Path | None,
    typer.Option(
        "--wheelend-readings", "-w", metavar="FILE", help="Brakes, fasteners, hubs, air tests: one quantity a row."
    ),
]
Prices = Annotated[
    Path | None,
    typer.Option("--prices", "-c", metavar="FILE", help="What tires, casings, labor and downtime cost, and when."),
]
LoadTables = Annotated[
    Path | None,
    typer.Option(
        "--load-tables", metavar="FILE", help="Load and inflation tables of your own instead of those shipped."
    ),
]


def check_day(text: str | None) -> str | None:
    """Refuse a bad date before the files are read."""
    if text is not None:
        day_number(text)
    return text


def check_days(texts: list[str] | None) -> list[str] | None:
    """Refuse bad dates before the files are read."""
    for text in texts or []:
        check_day(text)
    return texts or None


def check_output(path: Path | None) -> Path | None:
    """Refuse a name that cannot be written before the files are read."""
    if path is not None:
        _results.require_suffix(path)
    return path


AsOf = Annotated[
    str | None,
    typer.Option("--as-of", metavar="DATE", callback=check_day, help="Day to judge; the last reading by default."),
]
OutputFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="FILE", help="Write all rows to .csv, .parquet, .json or .xlsx."),
]


class Format(StrEnum):
    """Forms of a result: a short table for people, or all rows in one of the forms of files."""

    table = "table"
    csv = "csv"
    json = "json"
    parquet = "parquet"
    xlsx = "xlsx"


OutputFormat = Annotated[
    Format | None,
    typer.Option(
        "--format", help="Form of the result, on stdout or in the file of -o.  [default: table; of -o, by its name]"
    ),
]


@dataclass(frozen=True)
class Output:
    """Where a result goes and in which form: stdout where ``path`` is None, as the file's name says where ``form`` is.

    A name that says no form is refused at once, before the files are read.
    """

    path: Path | None = None
    form: Format | None = None

    def __post_init__(self) -> None:
        if self.path is not None and self.form is None:
            _results.require_suffix(self.path)

    @property
    def is_text(self) -> bool:
        """Whether the short table for people is wanted."""
        return self.form is Format.table or (self.form is None and self.path is None)

    @property
    def suffix(self) -> str:
        """Of the form in which all rows are written."""
        if self.form is not None:
            return f".{self.form.value}"
        assert self.path is not None
        return _results.require_suffix(self.path)


Unit = Annotated[
    list[str] | None,
    typer.Option("--unit", metavar="UNIT", autocompletion=values_of("unit"), help="Only this unit; may be repeated."),
]
Site = Annotated[
    list[str] | None,
    typer.Option("--site", metavar="SITE", autocompletion=values_of("site"), help="Only this site; may be repeated."),
]
Group = Annotated[
    list[str] | None,
    typer.Option(
        "--group", metavar="GROUP", autocompletion=values_of("group"), help="Only this group; may be repeated."
    ),
]
Limits = Annotated[
    list[str] | None,
    typer.Option(
        "--limits",
        metavar="SET",
        autocompletion=_completion.limit_sets,
        help=f"Limit set, or a .csv file of the same form; may be repeated.  [default: {DEFAULT}]",
    ),
]
AnyLimits = Annotated[
    list[str] | None,
    typer.Option(
        "--limits",
        metavar="SET",
        autocompletion=_completion.limit_sets,
        help="Look in this set only; may be repeated.  [default: all that ship]",
    ),
]
Limit = Annotated[str | None, typer.Option("--limit", metavar="DEPTH", help="One depth for all, e.g. '4/32 in'.")]
Unconfirmed = Annotated[bool, typer.Option("--count-unconfirmed", help="Let rows that rest on memory fail a reading.")]
Measures = Annotated[
    list[str] | None,
    typer.Option(
        "--measure",
        metavar="COLUMN=MEASURE",
        autocompletion=_completion.measured_columns,
        help="Measure of a column without a suffix.",
    ),
]
Decimal = Annotated[str, typer.Option("--decimal", metavar="MARK", help="Decimal mark of the files.")]
Thousands = Annotated[str, typer.Option("--thousands", metavar="MARK", help="Thousands mark of the files.")]
Dates = Annotated[
    str,
    typer.Option(
        "--dates",
        metavar="ORDER",
        autocompletion=_completion.of("iso", "mdy", "dmy"),
        help="Order of dates: iso, mdy or dmy.",
    ),
]
Delimiter = Annotated[
    str | None, typer.Option("--delimiter", metavar="MARK", help="Delimiter of csv files; found by default.")
]
Sheet = Annotated[
    str | None, typer.Option("--sheet", metavar="NAME", help="Sheet of a workbook; the first by default.")
]
OnBad = Annotated[
    str,
    typer.Option(
        "--on-bad",
        metavar="WORD",
        autocompletion=_completion.of("report", "raise"),
        help="report: list bad rows and values; raise: stop at the first.",
    ),
]
All = Annotated[bool, typer.Option("--all", help="Every inspection, not only the last.")]


@dataclass
class Ask:
    """What the shared options ask for. The tables are read when ``log`` is first looked at."""

    tables: dict[str, Any]
    style: dict[str, Any]
    measures: list[str] | None
    selection: Selection
    as_of: str | None
    output: Output

    @cached_property
    def log(self) -> Log:
        return read_log(**self.tables, measures=self._measures, **self.style)

    @cached_property
    def places(self) -> Log:
        """The log where something was read, else one of the wheel positions alone."""
        given = dict(self.tables)
        if given["positions"] is None or given["readings"] is not None or given["wheelend_readings"] is not None:
            return self.log
        style = {name: value for name, value in self.style.items() if name != "sheet"}
        return read_places(given["positions"], given["tires"], measures=self._measures, **style)

    @property
    def _measures(self) -> dict[str, str]:
        pairs = [m.partition("=") for m in self.measures or []]
        for name, mark, label in pairs:
            if not (name and mark and label):
                raise typer.BadParameter("write COLUMN=MEASURE, e.g. pressure=psi", param_hint="--measure")
        return {name: label for name, _, label in pairs}


_TABLES: dict[str, Any] = {
    "readings": Readings, "positions": Positions, "tires": Tires, "wheelend_readings": Wheelends,
    "load_tables": LoadTables,
}  # fmt: skip
_PRICES: dict[str, Any] = {"prices": Prices}
_PART: dict[str, Any] = {"as_of": AsOf, "unit": Unit, "site": Site, "group": Group}
_STYLE: dict[str, tuple[Any, Any]] = {
    name: (kind, inspect.signature(read_log).parameters[name].default)
    for name, kind in (
        ("decimal", Decimal), ("thousands", Thousands), ("dates", Dates), ("delimiter", Delimiter), ("sheet", Sheet),
        ("on_bad", OnBad),
    )
}  # fmt: skip


def reads_tables(
    *, part: bool = True, table_out: bool = True, prices: bool = False
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command the shared options; it gets them as its first argument, an :class:`Ask`.

    ``part=False`` leaves out those that choose a part of the fleet, a day, and what to do at the first bad row;
    ``table_out=False`` those of a result that is a table; ``prices=True`` adds the price table.
    """

    def decorate(command: Callable[..., None]) -> Callable[..., None]:
        signature = inspect.signature(command, eval_str=True)
        own = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in list(signature.parameters.values())[1:]]
        shared = [(name, kind, None) for name, kind in (_TABLES | (_PRICES if prices else {})).items()]
        later = [(name, kind, None) for name, kind in _PART.items()] if part else []
        later += [("format", OutputFormat, None), ("output", OutputFile, None)] if table_out else []
        later += [("measure", Measures, None)]
        later += [(name, kind, usual) for name, (kind, usual) in _STYLE.items() if part or name != "on_bad"]
        options = [_option(*o) for o in shared] + own + [_option(*o) for o in later]

        @functools.wraps(command)
        def call(**given: Any) -> None:
            mine = {p.name: given[p.name] for p in own}
            command(_ask(given), **mine)

        call.__signature__ = inspect.Signature(options)  # type: ignore[attr-defined]  # typer reads it
        call.__annotations__ = {p.name: p.annotation for p in options}
        return call

    return decorate


def usual_of(function: Callable[..., Any]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Options without a value of their own take that of the function's parameter of the same name: it stands once."""
    usual = inspect.signature(function).parameters

    def decorate(command: Callable[..., None]) -> Callable[..., None]:
        signature = inspect.signature(command, eval_str=True)
        options = [
            p.replace(default=usual[p.name].default) if p.default is p.empty and p.name in usual else p
            for p in signature.parameters.values()
        ]
        command.__signature__ = signature.replace(parameters=options)  # type: ignore[attr-defined]  # typer reads it
        return command

    return decorate


def _option(name: str, kind: Any, usual: Any) -> inspect.Parameter:
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=usual, annotation=kind)


def _ask(given: dict[str, Any]) -> Ask:
    return Ask(
        tables={name: given[name] for name in _TABLES | _PRICES if name in given},
        style={name: given[name] for name in _STYLE if name in given},
        measures=given["measure"],
        selection=Selection(given.get("unit"), given.get("site"), given.get("group")),
        as_of=given.get("as_of"),
        output=Output(given["output"], given["format"]) if "format" in given else Output(),
    )
