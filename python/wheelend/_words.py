"""Words for people: positions as a mechanic names them, readings with their measure."""

from __future__ import annotations

import datetime as dt
import difflib
import re
from collections.abc import Iterable
from numbers import Integral, Real
from typing import Any

from wheelend import measures

# Of a last reading beyond the limit that the readings before it do not lead to.
READ_AGAIN = (
    "the last reading is beyond the limit (judged alone it fails), those before it are not: due now unless that "
    "reading is off; read it again"
)
TREAD = "tread"  # what `wear` follows where nothing else is named

EPOCH = dt.date(1970, 1, 1)  # day 0 of every day number


def nearest(word: str, known: Iterable[str], most: int = 1, likeness: float = 0.6) -> list[str]:
    """Known words that a word may have meant, without regard to case: the likest first, else the one it begins."""
    spelled = {k.casefold(): k for k in known}
    sought = word.strip().casefold()
    close = difflib.get_close_matches(sought, spelled, n=most, cutoff=likeness)
    begun = [k for k in spelled if sought and k.startswith(sought)]
    return [spelled[k] for k in close or (begun if len(begun) == 1 else [])]


def did_you_mean(word: str, known: Iterable[str], most: int = 1) -> str:
    """'; did you mean radial?', or nothing where no known word is like it."""
    close = nearest(word, known, most)
    return f"; did you mean {', '.join(close)}?" if close else ""


def expected(what: str, known: Iterable[str], got: str) -> str:
    """'dates: expected one of iso, mdy, dmy, got 'ido'; did you mean iso?'"""
    words = list(known)
    return f"{what}: expected one of {', '.join(words)}, got {got!r}{did_you_mean(str(got), words)}"


def is_whole(value: object) -> bool:
    """Whether an argument is a whole number: an int, or one of NumPy's."""
    return isinstance(value, Integral) and not isinstance(value, bool)


def is_number(value: object) -> bool:
    """Whether an argument is a number."""
    return isinstance(value, Real) and not isinstance(value, bool)


def position_words(row: dict[str, Any]) -> str:
    """'axle 2 left outer'; singles without a word for it, 'whole unit' for what is not of an axle."""
    if row["axle"] is None:
        return "whole unit"
    words = [f"axle {row['axle']}", row["side"], None if row["dual"] == "single" else row["dual"]]
    return " ".join(w for w in words if w)


def place_key(row: dict[str, Any]) -> tuple[Any, ...]:
    """Sorts by unit, axle, side and dual; a result of the unit or axle comes before those of its wheels."""
    return (row["unit"], row["axle"] or 0, row["side"] or "", row["dual"] or "")


def number(value: float | None, places: int = 2) -> str:
    """A number without needless zeros."""
    if value is None:
        return ""
    text = f"{round(value, places) + 0.0:.{places}f}"  # + 0.0: no negative zero
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_measure(value: float | None, label: str | None, places: int = 2) -> str:
    """'3/32 in', '99.93 psi', '3.17 mm', '0.0625 in'."""
    if value is None:
        return "-"
    found = measures.find(label) if label else None
    places += 2 * (label == "in")  # inches are read in sixteenths and thousandths
    if found is None:
        return number(value, places)
    joint = "" if not found.words or found.words.startswith(("/", "%")) else " "
    return number(value, places) + joint + found.words


def words_of(measure: str) -> str:
    """A measure as people write it: '1/32 in', 'kPa', 'mi'."""
    found = measures.find(measure)
    if found is None or not found.words:
        return measure
    words = str(found.words)
    return f"1{words}" if words.startswith("/") else words


_AGAINST = re.compile(r"(?P<number>\S+) (?P<label>\S+)(?P<rest> (?:apart: (?P<other>.+?) at (?P<place>.+)|beyond .+))")
_COUNTED = re.compile(r"\d+(\.\d+)? of \d+")
UNLIKE = {
    "size": "unlike sizes on one axle",
    "construction": "radial and bias on one axle",
    "pushrod_stroke": "chambers of unlike size on one axle",
}


def quantity_words(row: dict[str, Any]) -> str:
    return str(row["quantity"].replace("_", " "))


def reading_words(row: dict[str, Any]) -> str:
    """'3/32 in', '99 psi', 'pushrod stroke 2.125 in': the quantity where the measure does not say it.

    A difference says what it is one of: '5/32 in apart (12/32 in at axle 2 left outer)', '1 of 4 brakes defective'.
    """
    if row["sense"] == "absent":
        return UNLIKE.get(row["quantity"], quantity_words(row))
    reading = value_words(row)
    if row["quantity"] in ("tread_depth", "pressure", "brakes"):
        return reading
    return f"{quantity_words(row)} {reading}"


def value_words(row: dict[str, Any]) -> str:
    """The reading of :func:`reading_words` without its quantity."""
    return _compared(row) or with_measure(row["reading"], row["measure"])


def _compared(row: dict[str, Any]) -> str:
    """What a difference is between, or a share of what; empty for a plain reading."""
    as_read = row["as_read"] or ""
    if row["quantity"] == "brakes" and _COUNTED.fullmatch(as_read):
        return f"{as_read} brakes defective ({with_measure(row['reading'], 'percent').replace('%', ' %')})"
    match = _AGAINST.fullmatch(as_read)
    if match is None:
        return ""
    first = _spoken(f"{match['number']} {match['label']}")
    if match["place"]:
        return f"{first} apart ({_spoken(match['other'])} at {match['place']})"
    return f"{first} beyond {_spoken(match['rest'].removeprefix(' beyond '))}"


def _spoken(text: str) -> str:
    """'5 32nds' as '5/32 in'."""
    decimal, _, label = text.partition(" ")
    return with_measure(float(decimal), label, 4)


def limit_words(row: dict[str, Any]) -> str:
    """'>= 4/32 in', 'none allowed'; '-' where it is not known which bound applies."""
    if row["sense"] == "absent":
        return "none allowed"
    return "-" if row["limit"] is None else f"{row['sense']} {with_measure(row['limit'], row['measure'])}"


def verdict_words(row: dict[str, Any]) -> str:
    """'3/32 in, limit >= 4/32 in, 49 CFR 393.75(b)'."""
    limit = "" if row["sense"] == "absent" else f", limit {limit_words(row)}"
    allowed = " (none allowed)" if row["sense"] == "absent" and row["quantity"] not in UNLIKE else ""
    return f"{reading_words(row)}{allowed}{limit}, {row['clause']}"
