"""Making a form: from positions, with or without what was read last."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend._form._last import Last
from wheelend._form._layout import Measures, checks_page, readings_page, walk
from wheelend._results import whole
from wheelend._words import expected
from wheelend.dictionary import DISTANCE, LENGTH, PRESSURE
from wheelend.errors import BadCall, DataRefused
from wheelend.log import Log, day_number, read_log, read_places

if TYPE_CHECKING:
    import numpy.typing as npt

SUFFIXES = (".xlsx", ".pdf")
PAPERS = ("letter", "a4")


@dataclass(frozen=True)
class Made:
    """What a form holds, for the word that is said of it."""

    units: int
    rows: int
    checks: int


def form(
    positions: Any,
    output: str | os.PathLike[str],
    *,
    readings: Any = None,
    wheelend_readings: Any = None,
    blank: bool = False,
    quantity: Iterable[str] | str | None = None,
    depth_measure: str | None = None,
    pressure_measure: str | None = None,
    distance_measure: str | None = None,
    paper: str = "letter",
    measures: Mapping[str, str] | None = None,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> None:
    """Write an entry form: a row for each wheel position, in the order in which a person walks round the unit.

    As ``.xlsx`` it has cells to write in, pick lists and checks of numbers, and reads back as ``readings`` and as
    ``wheelend_readings``: rows of which nothing was written are passed over, and date, odometer and reader, which are
    written once for each unit, count for its rows. As ``.pdf`` it is the same to print, with boxes to write in.

    Parameters
    ----------
    positions : Log or table
        A log, whose last readings are shown; or wheel positions as :func:`read_log` takes them, of which nothing need
        have been read.
    output : path
        ``.xlsx`` or ``.pdf``. The latter needs WeasyPrint: ``pip install weasyprint``.
    readings, wheelend_readings : table, optional
        Earlier readings; the last of each place is shown beside its cell, and the form has their columns and measures.
    blank : bool
        Do not show what was read last.
    quantity : str or list of str, optional
        Quantities of the wheel ends to ask for; an empty list: none. By default those that were ever read of the unit,
        else what is seen without a tool.
    depth_measure : {"32nds", "mm", "in"}, optional
        Measure of the tread depths; by default that of the readings, else 32nds.
    pressure_measure : {"psi", "kpa", "bar"}, optional
        Measure of the pressures; by default that of the readings, else of the targets, else psi.
    distance_measure : {"mi", "km"}, optional
        Measure of the odometer; by default that of the readings, else mi.
    paper : {"letter", "a4"}
        Size of the pages.
    measures : mapping of str to str, optional
        Measures of columns without a suffix, as of :func:`read_log`.
    as_of : date or ISO text, optional
        Readings of later days are not shown.
    unit, site, group : str or list of str, optional
        Only these.

    Raises
    ------
    BadCall
        An argument is none of those above, or WeasyPrint is not there.
    DataRefused
        Of a table nothing can be used.
    """
    if isinstance(positions, Log):
        if readings is not None or wheelend_readings is not None:
            raise BadCall("form: a log has its readings with it: give the log alone, or tables")
        log = positions
    elif readings is None and wheelend_readings is None:
        log = read_places(positions, measures=measures)
    else:
        log = read_log(readings, positions, wheelend_readings=wheelend_readings, measures=measures)
    from wheelend.verdicts import Selection

    mask = Selection(unit, site, group).mask(log)
    use = measures_of(log, depth_measure, pressure_measure, distance_measure)
    day = None if as_of is None else day_number(as_of)
    write_form(log, Path(output), mask, use, quantity=quantity, blank=blank, as_of=day, paper=paper)


def measures_of(log: Log, depth: str | None, pressure: str | None, distance: str | None) -> Measures:
    """The measures of a form: as asked for, else as read, else as the targets are given."""
    of_target = log.positions.measure.get("target")
    read = "pressure" in log.core_readings
    return Measures(
        _known(depth, LENGTH, "depth_measure") or log.depth_measure,
        _known(pressure, PRESSURE, "pressure_measure") or (log.pressure_measure if read else of_target or "psi"),
        _known(distance, DISTANCE, "distance_measure") or log.distance_measure,
    )


def _known(label: str | None, known: tuple[str, ...], what: str) -> str | None:
    if label is not None and label not in known:
        raise BadCall(expected(what, known, label))
    return label


def check_output(path: Path) -> str:
    """The ending of the name of a form; any other is refused."""
    if path.suffix.lower() not in SUFFIXES:
        raise BadCall(f"-o {path.name}: a form is written as {' or '.join(SUFFIXES)}")
    return path.suffix.lower()


def write_form(
    log: Log,
    output: Path,
    chosen: npt.NDArray[np.bool_],
    use: Measures,
    *,
    quantity: Iterable[str] | str | None,
    blank: bool,
    as_of: int | None,
    paper: str,
) -> Made:
    """Write the form of the chosen positions."""
    suffix = check_output(output)
    if paper not in PAPERS:
        raise BadCall(expected("paper", PAPERS, paper))
    order = walk(log.positions, chosen)
    if not order:
        raise DataRefused("form: the filters leave no wheel position: nothing to walk round")
    was_read = bool(len(log.rows)) or "quantity" in log.core_wheelends
    last = Last(log, as_of) if was_read else None
    pages = [readings_page(log, order, last, use, blank=blank)]
    checks = checks_page(log, order, last, quantity, blank=blank)
    pages += [checks] if checks is not None else []
    with whole(output) as part:
        if suffix == ".xlsx":
            from wheelend._form._workbook import write as write_workbook

            with part.open("wb") as stream:
                write_workbook(stream, pages, _readers(log), paper)
        else:
            from wheelend._form._paper import write as write_paper

            write_paper(part, pages, paper, dt.date.today())
    return Made(len(order), len(pages[0].rows), len(checks.rows) if checks is not None else 0)


def _readers(log: Log) -> list[str]:
    """Names that were ever written as the reader, for the cell to offer."""
    codes = set()
    for of in (log.core_readings.get("reader"), log.wheelend_facts.get("reader")):
        if of is not None:
            codes |= set(np.unique(of[of >= 0]).tolist())
    return sorted(log.text_names[c] for c in codes)
