"""Words for people: positions as a mechanic names them, readings with their measure."""

from __future__ import annotations

from typing import Any

from wheelend import measures


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
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_measure(value: float | None, label: str | None, places: int = 2) -> str:
    """'3/32 in', '99.93 psi', '3.17 mm', '2.125 in'."""
    if value is None:
        return "-"
    found = measures.find(label) if label else None
    places += label == "in"  # inches are read in eighths and thousandths
    if found is None:
        return number(value, places)
    joint = "" if not found.words or found.words.startswith(("/", "%")) else " "
    return number(value, places) + joint + found.words


def reading_words(row: dict[str, Any]) -> str:
    """'3/32 in', '99 psi', 'pushrod stroke 2.125 in': the quantity where the measure does not say it."""
    reading = with_measure(row["reading"], row["measure"])
    if row["quantity"] in ("tread_depth", "pressure"):
        return reading
    return f"{row['quantity'].replace('_', ' ')} {reading}"


def verdict_words(row: dict[str, Any]) -> str:
    """'3/32 in, limit >= 4/32 in, 49 CFR 393.75(b)'."""
    if row["sense"] == "absent":
        return f"{row['quantity'].replace('_', ' ')}: not allowed here, {row['clause']}"
    return f"{reading_words(row)}, limit {row['sense']} {with_measure(row['limit'], row['measure'])}, {row['clause']}"
