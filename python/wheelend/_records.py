"""Records: how long each is kept, and when what it is of is due again."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from wheelend import _core, limit_sets
from wheelend._limit_files import RECORDS, LimitRow
from wheelend._words import EPOCH, expected
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import day_number


@dataclass(frozen=True)
class RecordRule:
    """What a rule says of a record. ``date`` is the day itself where the record's own date is given, else None.

    ``rule`` is ``keep_months`` (kept through that day), ``due_months`` or ``due_days`` (due by that day).
    """

    record: str
    rule: str
    number: int
    date: dt.date | None
    limit_id: str
    clause: str
    status: str
    note: str

    @property
    def words(self) -> str:
        """One plain sentence."""
        span = f"{self.number} {'day' if self.rule == 'due_days' else 'month'}{'' if self.number == 1 else 's'}"
        if self.rule == "keep_months":
            return f"keep for {span}" + (f", through {self.date}" if self.date else "")
        return f"due within {span}" + (f", by {self.date}" if self.date else "")


def records(
    record: str | None = None, *, dated: dt.date | str | None = None, limits: Limits = DEFAULT
) -> list[RecordRule]:
    """How long a record is kept and when it is due again, by the rows on records of a limit set.

    Months are calendar months: a report of 15 January kept for 14 months is kept through 15 March of the next year; a
    day that the month has not becomes its last day.

    Parameters
    ----------
    record : str, optional
        One of ``periodic_inspection``, ``periodic_report``, ``driver_report``, ``roadside_report``, ``vehicle_file``,
        ``vehicle_file_after_control`` (dated when the vehicle left the carrier's control); by
        default all.
    dated : date or ISO text, optional
        Date of the record. Without it only the spans are given.
    limits : str or list of str
        As for :func:`wheelend.judge`.

    Returns
    -------
    list of RecordRule
        In the order of the set.

    Raises
    ------
    BadCall
        There is no such record, or the set says nothing of it.
    """
    if record is not None and record not in RECORDS:
        raise BadCall(expected("records", RECORDS, record))
    day = None if dated is None else day_number(dated)
    rules = [_rule(row, day) for row in limit_sets.load(limits).records]
    found = [r for r in rules if record in (None, r.record)]
    if not found:
        raise BadCall(f"records: these sets say nothing of {record or 'records'}: choose others with limits=")
    return found


def _rule(row: LimitRow, day: int | None) -> RecordRule:
    rule, number = row.text["statistic"], int(row.text["bound"])
    date = None
    if day is not None:
        until = day + number if rule == "due_days" else int(_core.add_months(day, number))
        date = EPOCH + dt.timedelta(days=until)
    return RecordRule(row.text["fact"], rule, number, date, row.id, row.clause, row.text["status"], row.text["note"])
