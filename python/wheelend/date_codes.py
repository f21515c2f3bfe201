"""Date codes of tires: the week in which a tire was made or retreaded, as moulded into its sidewall, and its age.

Four digits are the week and the last two digits of the year (49 CFR 574.5(b)(3); 64 FR 36807, 8 Jul 1999). Week 01
begins on the first Sunday of the year, weeks run from Sunday to Saturday, and the year is the one in which the week
begins (SOR/2013-198 s. 6(4)(c)): these are not the weeks of ISO 8601. The three digits used before do not record the
decade.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from wheelend import _core
from wheelend._words import EPOCH
from wheelend.errors import BadCall
from wheelend.log import day_number

_TO_SATURDAY = dt.timedelta(days=6)  # from the Sunday of a week


@dataclass(frozen=True)
class DateCode:
    """A date code as it was read.

    Attributes
    ----------
    text : str
        What was given.
    status : str
        ``week``; ``decade_unknown`` (three digits); ``no_such_week`` (``5322``: 2022 has 52 Sundays);
        ``in_the_future``; ``not_a_date_code``; ``missing``.
    week_begins, week_ends : date or None
        Sunday and Saturday of the week; None unless ``status`` is ``week``.
    candidates : tuple of date
        Sundays on which the weeks begin that the code may mean, oldest first; empty unless ``status`` is
        ``decade_unknown``.
    words : str
        The same as one sentence for people.
    """

    text: str
    status: str
    week_begins: dt.date | None
    week_ends: dt.date | None
    candidates: tuple[dt.date, ...]
    words: str


def date_code(text: str | None, *, today: dt.date | str | None = None) -> DateCode:
    """Read a date code as moulded.

    Parameters
    ----------
    text : str or None
        The code alone (``"0511"``, ``"317"``), or a tire identification number that ends in it, with or without
        ``DOT``: 13 symbols (new tires) or 7 (retreads) by 49 CFR 574.5(a), 8 to 12 on older tires (80 FR 19553, from
        memory); blanks and hyphens may stand between its groups. Blank, ``n/a`` and None are missing. What may as well
        be a date is not read: a number without a letter (``20230511``), or one without ``DOT`` that ends in 20 and two
        digits (``May 2023``).
    today : date or str, optional
        A week that begins after it is ``in_the_future``, and ends the candidates of three digits. Default: the
        machine's date.

    Returns
    -------
    DateCode
        Two digits of a year mean 20YY. Three digits never give one week: all that have begun since 1971, when the
        numbers began (79 FR 42999), are candidates.

    Raises
    ------
    BadCall
        ``text`` is not text: a number has lost its leading zero. ``today`` is not a date.

    Examples
    --------
    >>> date_code("5323").words
    'week 53 of 2023, Sunday 2023-12-31 to Saturday 2024-01-06'
    """
    if not isinstance(text, str | None):
        raise BadCall(f"text: expected text such as '0511', got {text!r}; a number loses its leading zero")
    written = text or ""
    on = _day(today if today is not None else dt.date.today(), "today")
    cell = _ascii(written)
    status, first, last = _core.parse_date_code(cell, on)
    weeks = tuple(_date(day) for day in ([first] if status == "week" else _core.candidate_weeks(cell, on)))
    return DateCode(
        text=written,
        status=status,
        week_begins=_date(first) if status == "week" else None,
        week_ends=_date(last) if status == "week" else None,
        candidates=weeks if status == "decade_unknown" else (),
        words=_words(status, written, _core.find_date_code(cell) or "", weeks, _date(on)),
    )


def age_years(code: DateCode | str, on: dt.date | str) -> tuple[float, float]:
    """Age of a tire on a day, in calendar years. Only its week is known, so there are two ages.

    Parameters
    ----------
    code : DateCode or str
        As `date_code` gives or takes it.
    on : date or str
        The day; a date or ISO text.

    Returns
    -------
    tuple of float
        Youngest and oldest. Completed calendar years, and the days since the last anniversary as a share of the days to
        the next: exactly 10.0 on the tenth anniversary, more a day later. Youngest: made on the last day of the (last
        possible) week, or on ``on`` where that is earlier; oldest: on the first day of the (first possible) week. With
        three digits whole decades lie between them. The anniversary of 29 February is 28 February in common years
        (Regulation (EEC, Euratom) No 1182/71, Art. 3(2)(c)).

    Raises
    ------
    BadCall
        There is no week to count from (missing, not a date code, no such week), or it begins after ``on``.

    Examples
    --------
    >>> youngest, oldest = age_years("0511", "2021-02-05")
    >>> youngest
    10.0
    """
    day = _day(on, "on")
    read = date_code(code.text if isinstance(code, DateCode) else code, today=on)
    weeks = read.candidates if read.week_begins is None else (read.week_begins,)
    if not weeks:
        raise BadCall(f"code: no age without a week: {read.words}")
    # A tire that is there on a day was not made after it.
    last_made = min(day_number(weeks[-1] + _TO_SATURDAY), day)
    return _core.calendar_years(last_made, day), _core.calendar_years(day_number(weeks[0]), day)


def _day(day: dt.date | str, what: str) -> int:
    if not isinstance(day, dt.date | str):
        raise BadCall(f"{what}: expected a date or text as YYYY-MM-DD, got {day!r}")
    return day_number(day)


def _date(day: int) -> dt.date:
    return EPOCH + dt.timedelta(days=day)


def _ascii(text: str) -> str:
    """With plain blanks for all kinds, and ? for what no sidewall carries: the core knows ASCII only."""
    return " ".join(text.split()).encode("ascii", "replace").decode("ascii")


def _words(status: str, text: str, code: str, weeks: tuple[dt.date, ...], on: dt.date) -> str:
    if status == "missing":
        return "no date code given"
    if status == "not_a_date_code":
        return (
            f"{text!r} is no date code: expected four digits, week and year as 0511, or an identification number that "
            "ends in them"
        )
    return (_words_of_three if len(code) == 3 else _words_of_four)(status, code, weeks, on)


def _words_of_three(status: str, code: str, weeks: tuple[dt.date, ...], on: dt.date) -> str:
    week, digit = code[:2], code[2]
    if status == "no_such_week":
        return f"no year ending in {digit} has had a week {week} by {on}"
    years = ", ".join(str(begins.year) for begins in weeks)
    return (
        f"week {week} of a year ending in {digit}, decade not recorded ({years}); if a leading zero was lost, give all "
        "four digits as text"
    )


def _words_of_four(status: str, code: str, weeks: tuple[dt.date, ...], on: dt.date) -> str:
    week, year = code[:2], 2000 + int(code[2:])
    if status == "no_such_week":
        return f"there is no week {week} of {year}: its weeks are 01 to {_core.weeks_of_year(year)}"
    if status == "in_the_future":
        return f"week {week} of {year} has not begun by {on}: read the code again (before 2000 it had three digits)"
    return f"week {week} of {year}, Sunday {weeks[0]} to Saturday {weeks[0] + _TO_SATURDAY}"
