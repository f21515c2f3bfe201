"""Limit files: one CSV per set, checked as a whole, row by row, with line and remedy. Nothing is half-loaded."""

from __future__ import annotations

import csv
import datetime as dt
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from wheelend import _conditions, _core, measures
from wheelend._conditions import Bound, Condition
from wheelend._facts import facts
from wheelend._words import EPOCH, did_you_mean
from wheelend.dictionary import GROOVE, QUANTITIES, READINGS, TIRES, VALUE_MEASURES, Column
from wheelend.errors import LimitFileError

COLUMNS = (
    "id", "quantity", "statistic", "where", "needs", "except", "bound", "upper", "measure", "base", "or_bound",
    "or_measure", "or_base", "twin_bound", "twin_upper", "twin_measure", "sense", "fact", "same", "counts", "severity",
    "valid_from", "valid_until", "clause", "status", "conflicts", "overrides", "tightens", "note",
)  # fmt: skip
_REQUIRED = ("id", "quantity", "statistic", "sense", "severity", "clause", "status")
OWN_PULL = "OWN-PULL"  # id of verdicts on the pull depth that positions give
STATUSES = ("confirmed", "partly", "memory", "own")
# Read by `records`; the core knows nothing of them.
RECORD_STATISTICS = ("keep_months", "due_months", "due_days")
RECORDS = ("periodic_inspection", "periodic_report", "driver_report", "roadside_report", "vehicle_file",
           "vehicle_file_after_control")  # fmt: skip
WHEELEND_STATISTICS = ("as_read", "loss_rate", "beyond_limit", "side_to_side", "sides_unlike", "above_the_rest")
# Dimension of the values of a built-in quantity.
_DIMENSIONS = {
    "tread_depth": "length", "pressure": "pressure", "rated_load": "mass", "tire_load": "mass", "speed": "speed",
    "tire_age": "age", "diameter": "length", "circumference": "length", "inspection_age": "age", "brakes": "share",
    "retread": "flag", "size": "flag", "construction": "flag", "record": "record",
}  # fmt: skip
_FACTS_OF = {
    "months_since": ("date",), "axle_sizes": ("text",), "axle_constructions": ("code",),
    "sides_unlike": ("text", "code"), "regrooved_capacity": ("measured",),
}  # fmt: skip
# What they compare is a difference of two readings, which begins at 0 whatever the readings' own range.
_DIFFERENCES = ("pair_depth", "pair_pressure", "pair_diameter", "pair_circumference", "axle_depth", "beyond_limit",
                "side_to_side", "above_the_rest")  # fmt: skip
_MOST_PROBLEMS = 20
_ALWAYS = (-(2**31), 2**31 - 1)


@dataclass(frozen=True)
class Amount:
    bound: Bound
    bases: tuple[int, ...] = ()


@dataclass(frozen=True)
class LimitRow:
    """A row as written (``text``) and as it is used."""

    text: dict[str, str]
    file: str
    line: int
    own: bool  # of a file that the caller gave, not of one that ships with the package
    quantities: tuple[str, ...]
    where: tuple[Condition, ...] = ()
    needs: tuple[Condition, ...] = ()
    amount: Amount | None = None
    alternative: Amount | None = None
    twin: Bound | None = None
    fact: int = -1
    same: tuple[int, ...] = ()
    counts: float = 0.0
    in_force: tuple[int, int] = _ALWAYS

    @property
    def id(self) -> str:
        return self.text["id"]

    def listed(self, column: str) -> list[str]:
        return [w.strip() for w in self.text[column].split(";") if w.strip()]

    @property
    def clause(self) -> str:
        """The clause; a row of the caller's own file says where it stands."""
        return f"{self.text['clause']} [{self.file}, line {self.line}]" if self.own else self.text["clause"]


@dataclass(frozen=True)
class LimitFile:
    name: str
    title: str
    includes: tuple[str, ...]
    rows: tuple[LimitRow, ...]
    not_here: dict[str, str] = field(default_factory=dict)  # ids that have no row, with the reason


@dataclass
class _Problems:
    file: str
    found: list[str] = field(default_factory=list)

    def add(self, line: int, message: object) -> None:
        self.found.append(f"{self.file}, line {line}: {message}")

    def refuse(self) -> None:
        if self.found:
            more = len(self.found) - _MOST_PROBLEMS
            rest = [f"... and {more} more"] if more > 0 else []
            raise LimitFileError("\n".join([*self.found[:_MOST_PROBLEMS], *rest]))


def read(path: Path, *, own: bool) -> LimitFile:
    """A limit file; raises LimitFileError with every problem that it has."""
    about, header, lines, header_line = _cells(path)
    problems = _Problems(path.name)
    _check_header(header, header_line, problems)
    problems.refuse()
    rows: list[LimitRow] = []
    for line, cells in lines:
        if len(cells) != len(header):
            problems.add(line, f"{len(cells)} cells where the header has {len(header)}: add or remove commas, or quote")
            continue
        text = dict.fromkeys(COLUMNS, "") | {n: c.strip() for n, c in zip(header, cells, strict=True)}
        try:
            rows.append(_row(text, path.name, line, own))
        except ValueError as error:
            problems.add(line, f"{text['id'] or 'a row without id'}: {error}")
    if not lines:
        problems.add(header_line, "no rows below the header: write one a limit; see data/README.md for the columns")
    _check_ids(rows, problems)
    check_overlaps(rows, problems)
    problems.refuse()
    includes = tuple(w.strip() for w in about.get("includes", "").split(",") if w.strip())
    not_here = {key.removeprefix("Not here: "): why for key, why in about.items() if key.startswith("Not here: ")}
    return LimitFile(path.stem, about.get("title", path.stem), includes, tuple(rows), not_here)


def _cells(path: Path) -> tuple[dict[str, str], list[str], list[tuple[int, list[str]]], int]:
    """What the lines before the header say, the header, the rows with their line numbers, the line of the header."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise LimitFileError(f"{path.name}, line 1: not UTF-8 text; save it as CSV in UTF-8") from None
    about: dict[str, str] = {}
    skipped = 0
    lines = text.splitlines(keepends=True)
    for line in lines:
        if line.strip() and not line.startswith("#"):
            break
        match = re.match(r"#\s*(title|includes|Not here: [^:]+):(.*)", line)
        if match:
            about[match[1]] = match[2].strip()
        skipped += 1
    reader = csv.reader(lines[skipped:], strict=True)
    found: list[tuple[int, list[str]]] = []
    begins = skipped + 1
    try:
        for cells in reader:
            found.append((begins, cells))
            begins = skipped + reader.line_num + 1
    except csv.Error:
        raise LimitFileError(
            f"{path.name}, line {begins}: a quotation mark that is not closed, or text after one that is: close it, or "
            "write two for one that belongs to the text"
        ) from None
    header = [name.strip() for name in found[0][1]] if found else []
    rows = [(at, cells) for at, cells in found[1:] if any(c.strip() for c in cells) and not cells[0].startswith("#")]
    return about, header, rows, skipped + 1


def _check_header(header: list[str], line: int, problems: _Problems) -> None:
    if len(header) == 1 and re.search("[;\t|]", header[0]):
        problems.add(line, "the header is one cell: separate cells with commas, and write numbers with a point")
        return
    for name in header:
        if name not in COLUMNS:
            problems.add(line, f"{name!r} is not a column of a limit file{_hint(name, COLUMNS)}; see data/README.md")
    for name in sorted({n for n in header if header.count(n) > 1}):
        problems.add(line, f"the column {name!r} stands twice: keep one")
    missing = [c for c in _REQUIRED if c not in header]
    if missing:
        problems.add(line, f"lacks the columns {', '.join(missing)}; see data/README.md")


def _check_ids(rows: list[LimitRow], problems: _Problems) -> None:
    seen: dict[str, LimitRow] = {}
    for row in rows:
        if row.id in seen:
            problems.add(row.line, f"the id {row.id} stands on line {seen[row.id].line} too: give each row its own")
        seen.setdefault(row.id, row)
    for row in rows:
        for other in row.listed("except"):
            named = with_stem(other, seen)
            if not named:
                remedy = "correct it, or leave it out"
                problems.add(row.line, f"{row.id}: except names {other!r}, which is not a row of this file: {remedy}")
            elif any(_reaches(seen[name], row.id, seen) for name in named):
                problems.add(row.line, f"{row.id}: except leads back to itself through {other}: remove one of them")


def with_stem(name: str, ids: Iterable[str]) -> list[str]:
    """The id itself, else those that begin with it and a dash: 'US-B-11' names all rows of that table."""
    known = list(ids)
    return [name] if name in known else [i for i in known if i.startswith(f"{name}-")]


def _reaches(row: LimitRow, target: str, seen: dict[str, LimitRow]) -> bool:
    todo, done = [row.id], set()
    while todo:
        name = todo.pop()
        if name == target:
            return True
        if name not in done and name in seen:
            done.add(name)
            todo += [row_id for other in seen[name].listed("except") for row_id in with_stem(other, seen)]
    return False


def clause_key(row: LimitRow, quantity: str) -> tuple[str, ...]:
    """Rows that share it must not speak of the same thing."""
    t = row.text
    return (t["clause"], quantity, t["statistic"], t["severity"], t["fact"])


def check_overlaps(rows: list[LimitRow], problems: _Problems) -> None:
    """Two rows of one clause must never speak of one thing: which of them would count?"""
    by_id = {row.id: row for row in rows}
    groups: dict[tuple[str, ...], list[LimitRow]] = {}
    for row in rows:
        for quantity in row.quantities:
            groups.setdefault(clause_key(row, quantity), []).append(row)
    for group in groups.values():
        for i, b in enumerate(group):
            for a in group[:i]:
                if not _parted(a, b, by_id):
                    problems.add(
                        b.line,
                        f"{b.id} and {a.id} (line {a.line}) are rows of one clause and may speak of the same thing: "
                        "add a condition that parts them, name one in the other's 'except', or give them clauses of "
                        "their own",
                    )


def _parted(a: LimitRow, b: LimitRow, by_id: dict[str, LimitRow]) -> bool:
    return (
        _conditions.disjoint(a.where, b.where)
        or _leaves_out(a, b, by_id)
        or _leaves_out(b, a, by_id)
        or a.in_force[1] < b.in_force[0]
        or b.in_force[1] < a.in_force[0]
    )


def _leaves_out(a: LimitRow, b: LimitRow, by_id: dict[str, LimitRow]) -> bool:
    """Whether ``a`` excepts all that ``b`` speaks of: ``b`` itself, or a row whose conditions ``b`` has all."""
    excepted = [by_id[name] for other in a.listed("except") for name in with_stem(other, by_id)]
    return any(x.id == b.id or (set(x.where) <= set(b.where) and not x.listed("except")) for x in excepted)


# ---- one row


def _hint(word: str, words: Iterable[str]) -> str:
    return did_you_mean(word, [w for w in words if w.isidentifier()])


def _one_of(text: dict[str, str], column: str, words: tuple[str, ...] | list[str]) -> None:
    if text[column] not in words:
        raise ValueError(f"{column} {text[column]!r} is not one of {', '.join(words)}{_hint(text[column], words)}")


def _together(*checks: Callable[[], Any]) -> list[Any]:
    """What the checks give; raises one ValueError with every mistake that they find."""
    found, mistakes = [], []
    for check in checks:
        try:
            found.append(check())
        except ValueError as error:
            mistakes.append(str(error))
    if mistakes:
        raise ValueError("; ".join(mistakes))
    return found


def _row(text: dict[str, str], file: str, line: int, own: bool) -> LimitRow:
    _together(
        lambda: _check_id(text),
        lambda: _one_of(text, "statistic", [*_core.codes["statistic"], *RECORD_STATISTICS]),
        lambda: _one_of(text, "sense", _core.codes["sense"]),
        lambda: _one_of(text, "severity", _core.codes["severity"]),
        lambda: _one_of(text, "status", STATUSES),
        lambda: _check_clause(text),
        lambda: _check_owner(text, own),
    )
    quantities = _quantities(text)
    dimension = _dimension(text, quantities)
    readers: dict[str, Callable[[], Any]] = {
        "where": lambda: _conditions.parse(text["where"]),
        "needs": lambda: _conditions.parse(text["needs"]),
        "amount": lambda: _amount(text, dimension),
        "alternative": lambda: _alternative(text, dimension),
        "twin": lambda: _twin(text, dimension),
        "fact": lambda: _fact(text),
        "same": lambda: tuple(_conditions.find(w.strip()).index for w in text["same"].split(";") if w.strip()),
        "counts": lambda: _counts(text),
        "in_force": lambda: _in_force(text),
    }
    fields = dict(zip(readers, _together(*readers.values()), strict=True))
    row = LimitRow(text, file, line, own, quantities, **fields)
    _check_range(row, dimension)
    return row


def _check_id(text: dict[str, str]) -> None:
    if not text["id"]:
        raise ValueError("no id: give each row its own")
    if text["id"].upper() == OWN_PULL:
        raise ValueError("goes by the pull depth that positions give: choose another id")


def _check_clause(text: dict[str, str]) -> None:
    if not text["clause"]:
        raise ValueError("no clause: write where the limit is written; a verdict is worth its clause")


def _check_owner(text: dict[str, str], own: bool) -> None:
    if not own and (text["overrides"] or text["tightens"]):
        raise ValueError("overrides and tightens belong into a fleet's own file: leave them out")
    if text["status"] == "own" and not own:
        raise ValueError("status own belongs into a fleet's own file: say how sure we are of the row")


def _quantities(text: dict[str, str]) -> tuple[str, ...]:
    names = tuple(q.strip() for q in text["quantity"].split("|"))
    statistic = text["statistic"]
    known = {q.name for q in QUANTITIES}
    for name in names:
        if statistic in WHEELEND_STATISTICS:
            if name not in known:
                hint = _hint(name, known) or "; 'wheelend words quantity' lists them"
                raise ValueError(f"quantity {name!r} is not one of the wheel-end readings{hint}")
        else:
            wanted = "record" if statistic in RECORD_STATISTICS else _core.quantity_of[statistic]
            if name != wanted:
                raise ValueError(f"quantity {name!r} does not go with statistic {statistic}: write {wanted}")
    return names


def _dimension(text: dict[str, str], quantities: tuple[str, ...]) -> str:
    """Dimension of the value that is compared."""
    statistic = text["statistic"]
    if statistic in WHEELEND_STATISTICS:
        found = {q.dimension for q in QUANTITIES if q.name in quantities}
        if len(found) > 1:
            raise ValueError("its quantities are of different dimensions: give each a row")
        dimension = found.pop()
        if statistic == "above_the_rest" and dimension != "temperature":
            raise ValueError("above_the_rest is for temperatures: use another statistic")
        if statistic == "side_to_side" and dimension == "temperature":
            raise ValueError("side_to_side does not compare temperatures: use above_the_rest")
        if statistic == "above_the_rest":
            dimension = "temperature_difference"
        if statistic == "sides_unlike":
            dimension = "flag"
    else:
        dimension = _DIMENSIONS[quantities[0]]
    is_flag = dimension in ("flag", "observation")
    if is_flag and text["sense"] != "absent":
        raise ValueError("a thing that is there or not takes the sense absent")
    if text["sense"] == "absent" and not (is_flag or dimension == "count"):
        raise ValueError("the sense absent is for things that are there or not: give a bound and another sense")
    return dimension


def _decimal(number: str, column: str) -> str:
    try:
        _core.compare(number, "count", "0", "count")
    except ValueError:
        raise ValueError(
            f"{column} {number!r} is not a decimal number: write digits with a point, no fraction and no measure"
        ) from None
    return number


def _bound(text: dict[str, str], number: str, measure: str) -> Bound:
    found = measures.find(text[measure]) if text[measure] else None
    if not text[measure]:
        raise ValueError(f"no {measure}: write the one of the {number}")
    if found is None:
        raise ValueError(f"{measure} {text[measure]!r} is not known; use one of {', '.join(measures.labels())}")
    return _decimal(text[number], number), found.label


def _require_dimension(bound: Bound, dimension: str, quantity: str, *, share: bool) -> None:
    found = measures.table()[bound[1]].dimension
    if found == "share" and share:
        return
    if found == "share" != dimension:
        raise ValueError("percent of what? Name the fact that it is a share of as the base of the bound")
    if found != dimension:
        fit = [label for label in _column_measures(quantity) if measures.table()[label].dimension == dimension]
        fit = fit or [m.label for m in measures.table().values() if m.dimension == dimension]
        raise ValueError(f"{bound[1]} does not measure {quantity}: use {', '.join(fit)}")


def _column_measures(quantity: str) -> tuple[str, ...]:
    """Measures of the column that a quantity is read in."""
    column = _column_of(quantity)
    return column.measures if column is not None else VALUE_MEASURES


def _column_of(quantity: str) -> Column | None:
    """The column that a built-in quantity is read in; a load is held to the measures of the rated load."""
    name = {"tire_load": "rated_load", "speed": "marked_speed"}.get(quantity, quantity)
    if name == "tread_depth":
        return GROOVE
    columns = [c for table in (READINGS, TIRES) for c in table]
    return next((c for c in columns if c.name == name and c.measures), None)


def _check_range(row: LimitRow, dimension: str) -> None:
    """A bound that no reading can come near is a slip of the pen: judged by it, all would pass or all fail.

    A difference, a share and a bound above a base have no least value of their own but 0.
    """
    column = _column_of(row.text["quantity"])
    if column is not None:
        least, most, measure = column.least, column.most, column.range_measure
    else:
        ranges = [(q.least, q.most, q.range_measure) for q in QUANTITIES if q.name in row.quantities]
        least, most, measure = ranges[0] if ranges else (None, None, "")
    if least is None or most is None or not measure:
        return
    apart = row.text["statistic"] in _DIFFERENCES or dimension == "mass"
    for bound, upper, bases in _printed(row):
        if measures.table()[bound[1]].dimension != measures.table()[measure].dimension:
            continue
        low, high = measures.convert(np.array([0.0 if apart or bases else least, most]), measure, bound[1])
        for number in (bound[0], upper):
            if number and not low <= float(number) <= high:
                raise ValueError(
                    f"{number} {bound[1]} is outside {low:g} to {high:g} {bound[1]}, where readings of "
                    f"{row.text['quantity']} lie: correct it"
                )


def _printed(row: LimitRow) -> list[tuple[Bound, str, bool]]:
    """Each bound of a row with its upper bound and whether it has a base."""
    amounts = [a for a in (row.amount, row.alternative) if a is not None]
    found = [(a.bound, row.text["upper"] if a is row.amount else "", bool(a.bases)) for a in amounts]
    return found + ([(row.twin, row.text["twin_upper"], False)] if row.twin else [])


def _amount(text: dict[str, str], dimension: str) -> Amount | None:
    if text["sense"] == "absent":
        for column in ("bound", "upper", "measure", "base", "or_bound", "twin_bound"):
            if text[column]:
                raise ValueError(f"{column} has no meaning with the sense absent: leave it blank")
        return None
    if dimension == "record":
        _check_record(text)
        return None
    if not text["bound"]:
        raise ValueError("no bound: write it in the clause's measure")
    bound = _bound(text, "bound", "measure")
    bases = _bases(text, "base", dimension)
    _require_dimension(bound, dimension, text["quantity"], share=bool(bases))
    if (text["sense"] == "within") != bool(text["upper"]):
        raise ValueError(
            "within takes a bound and an upper bound, and only within does: fill in both, or leave one out"
        )
    _check_upper(text, "upper", bound)
    if text["upper"] and bases:
        raise ValueError("within takes no base: leave it blank")
    return Amount(bound, bases)


def _check_record(text: dict[str, str]) -> None:
    """Spans of records are whole months or days."""
    if not re.fullmatch("[1-9][0-9]{0,3}", text["bound"]):
        raise ValueError(f"bound {text['bound']!r} is not a whole number of months or days: write it in digits")
    _one_of(text, "measure", ["days"] if text["statistic"] == "due_days" else ["months"])
    _one_of(text, "fact", RECORDS)


def _check_upper(text: dict[str, str], column: str, bound: Bound) -> None:
    if text[column] and _core.compare(_decimal(text[column], column), bound[1], bound[0], bound[1]) <= 0:
        raise ValueError(f"{column} is not above {column.replace('upper', 'bound')}: exchange them")


def _bases(text: dict[str, str], column: str, dimension: str) -> tuple[int, ...]:
    out = []
    for name in (w.strip() for w in text[column].split("|") if w.strip()):
        fact = _conditions.find(name)
        if fact.dimension != dimension or not fact.column.measures:
            fit = [f.name for f in facts().values() if f.column.measures and f.dimension == dimension]
            of = dimension.replace("_", " ")
            raise ValueError(f"{column} {name!r} is not a {of}: use {', '.join(fit) or 'none'}")
        out.append(fact.index)
    return tuple(out)


def _alternative(text: dict[str, str], dimension: str) -> Amount | None:
    if not text["or_bound"]:
        if text["or_measure"] or text["or_base"]:
            raise ValueError("or_measure and or_base need an or_bound: fill it in, or leave them blank")
        return None
    bound = _bound(text, "or_bound", "or_measure")
    bases = _bases(text, "or_base", dimension)
    _require_dimension(bound, dimension, text["quantity"], share=bool(bases))
    return Amount(bound, bases)


def _twin(text: dict[str, str], dimension: str) -> Bound | None:
    if not text["twin_bound"]:
        if text["twin_measure"] or text["twin_upper"]:
            raise ValueError("twin_measure and twin_upper need a twin_bound: fill it in, or leave them blank")
        return None
    if text["base"]:
        raise ValueError("a bound with a base takes no twin: leave it blank")
    bound = _bound(text, "twin_bound", "twin_measure")
    _require_dimension(bound, dimension, text["quantity"], share=False)
    printed = measures.find(text["measure"])
    if printed is not None and measures.table()[bound[1]].metric == printed.metric:
        raise ValueError("twin_measure is of the same system as measure: a pair has one number of each")
    if bool(text["twin_upper"]) != bool(text["upper"]):
        raise ValueError("a clause that prints a band twice has a twin_upper, and only such a clause: fill in both")
    _check_upper(text, "twin_upper", bound)
    return bound


def _fact(text: dict[str, str]) -> int:
    if text["statistic"] in RECORD_STATISTICS:
        return -1
    forms = _FACTS_OF.get(text["statistic"])
    if forms is None:
        if text["fact"]:
            raise ValueError(f"statistic {text['statistic']} takes no fact: leave it blank")
        return -1
    fact = facts().get(text["fact"])
    if fact is None or fact.column.form not in forms:
        fit = [f.name for f in facts().values() if f.column.form in forms]
        raise ValueError(f"fact {text['fact']!r} does not go with statistic {text['statistic']}: use {', '.join(fit)}")
    return fact.index


def _counts(text: dict[str, str]) -> float:
    if not text["counts"]:
        return 0.0
    counts = float(_decimal(text["counts"], "counts"))
    if not 0.0 < counts <= 1.0:
        raise ValueError(f"counts {text['counts']!r} is not a share of a brake: write 1, or 0.5 for half a defect")
    return counts


def _in_force(text: dict[str, str]) -> tuple[int, int]:
    days = []
    for column, otherwise in (("valid_from", _ALWAYS[0]), ("valid_until", _ALWAYS[1])):
        try:
            days.append((dt.date.fromisoformat(text[column]) - EPOCH).days if text[column] else otherwise)
        except ValueError:
            raise ValueError(f"{column} {text[column]!r} is not a date; write YYYY-MM-DD") from None
    if days[0] > days[1]:
        raise ValueError("valid_from is after valid_until: exchange them")
    return days[0], days[1]


def core_row(row: LimitRow, quantity: str, indexes: dict[str, Any]) -> dict[str, Any]:
    """What the core takes, but for conditions, which depend on the log. ``indexes``: ids and clauses to numbers."""
    wheelend = row.text["statistic"] in WHEELEND_STATISTICS
    amount, other = row.amount, row.alternative
    return {
        "id": row.id,
        "statistic": row.text["statistic"],
        "quantity": indexes["quantity"][quantity] if wheelend else -1,
        "except": [
            i for other in row.listed("except") for name in with_stem(other, indexes["id"]) for i in indexes["id"][name]
        ],
        "clause": indexes["clause"][clause_key(row, quantity)],
        "sense": row.text["sense"],
        "severity": row.text["severity"],
        "bound": amount.bound if amount else None,
        "bases": list(amount.bases) if amount else [],
        "upper": row.text["upper"],
        "twin": row.twin,
        "twin_upper": row.text["twin_upper"],
        "alternative": {"bound": other.bound, "bases": list(other.bases)} if other else None,
        "fact": row.fact,
        "same": list(row.same),
        "counts": row.counts,
        "since": row.in_force[0],
        "until": row.in_force[1],
        "unconfirmed": row.text["status"] == "memory",
    }
