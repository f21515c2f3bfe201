"""Writes ``tests/labels.txt``: every word that users see, taken from the code. Run it after a change of one.

Read each new line: is the word the trade's, an open standard's or plain English?
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "python" / "wheelend"
LIST = Path(__file__).with_name("labels.txt")
sys.path.insert(0, str(ROOT / "python" / "docs"))

from made import commands  # noqa: E402 - a script: after its path
from made.functions import public  # noqa: E402 - a script: after its path
from wheelend import _core, dictionary, limits, measures  # noqa: E402 - a script: after its path

# Modules whose texts are written for people: results and messages, the sheet, the form, the pictures.
FOR_PEOPLE = ("_[a-z]*.py", "verdicts.py", "trends.py", "_slow/*.py", "pictures/*.py", "_sheet/*.py", "_form/*.py")
# Not these: what is said of bad files and bad calls (test_messages.py holds its form), invented data, shell scripts.
NOT_FOR_PEOPLE = (
    "_cells.py", "_completion.py", "_conditions.py", "_facts.py", "_header.py", "_intake.py", "_issues.py",
    "_limit_files.py", "_load_tables.py", "_loads_of_log.py", "_options.py", "_positions.py", "_prices.py",
    "_results.py", "_sources.py", "_tires.py", "_typed.py", "_wheelends.py",
)  # fmt: skip
COLOR = re.compile(r"#[0-9a-fA-F]{6}\b|#[0-9a-fA-F]{3}\b")


def _commands() -> Iterator[str]:
    """Each command with its help; each option or argument once, with the commands that have it."""
    having: dict[str, list[str]] = {}
    for name, command in sorted(commands.all_commands().items()):  # whatever module was imported first
        yield f"{name}: {' '.join((command.help or '').split())}"
        for kind in ("argument", "option"):
            for written, words in commands.records(name, command, kind):
                having.setdefault(f"{written}: {' '.join(words.split())}", []).append(name)
    for line, names in having.items():
        yield f"{line} {{{' '.join(names)}}}"


def _columns() -> Iterator[str]:
    tables = [*dictionary.TABLES.items(), ("readings", (dictionary.GROOVE,))]
    for table, columns in tables:
        for c in columns:
            name = f"{c.name}_<{' '.join(c.measures)}>" if c.measures else c.name
            codes = f" [{' '.join(c.codes)}]" if c.codes and c.name != "quantity" else ""
            yield f"{table}.{name}: {c.words}{codes}"
    for table, results in dictionary.RESULTS.items():
        for r in results:
            yield f"{table} -> {r.name}: {r.words}"


def _words() -> Iterator[str]:
    for name, codes in _core.codes.items():
        yield f"{name}: {' '.join(codes)}"
    for q in dictionary.QUANTITIES:
        yield f"{q.name} ({q.dimension}): {q.words}"
    for m in measures.table().values():
        yield f"{m.label}: {m.words} ({m.dimension})"
    for s in limits().to_pylist():
        yield f"{s['name']}: {s['title']}"


# Constants that nobody reads: names of columns and texts, endings of files, patterns, markup and styles, colours (they
# have a list of their own), formulas and formats of cells, places to fill in, words that matplotlib is called with.
NO_TEXT = re.compile(
    r"#[0-9a-f]{6}|; (\}|border-|text-align:).*|[a-z]+\">|.*,sans-serif|\*\.[a-z]+|=[A-Z]+\(.*|General|yyyy-mm-dd|"
    r"PAGE|PAPER|axes fraction|offset points|upper center|CreationDate|Software|"
    r"[a-z0-9_]+(<m>)?|attribute:[a-z]*|text/[a-z]+|text-align:.*|[a-z_]+(\.[a-z_0-9]+)+|\.[a-z.]+|utf-8|"
    r".*(\\|</?[a-z!]|\d(pt|mm|px)[ ;]|stroke-|opacity|font-|counter\(|\w=\"?$|=\").*|[<>].*"
)


def _refuses(node: ast.AST) -> bool:
    return isinstance(node, ast.Raise) or (
        isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "BadCall"
    )


def _constants(path: Path) -> Iterator[str]:
    """Texts of a module: its string constants that somebody reads: no docstrings, no refusals."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    skipped |= {id(part) for node in ast.walk(tree) if _refuses(node) for part in ast.walk(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skipped:
            text = " ".join(node.value.split())
            if re.search(r"[A-Za-z]{2}", text) and not NO_TEXT.fullmatch(text):
                yield text


def _leaves(name: str, value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(f"{name}.{key}" if name else key, inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _leaves(name, inner)
    else:
        yield f"{name}: {' '.join(str(value).split())}"


def _texts() -> Iterator[tuple[str, Iterable[str]]]:
    files = sorted({path for pattern in FOR_PEOPLE for path in PACKAGE.glob(pattern)})
    files = [path for path in files if not any(path.match(pattern) for pattern in NOT_FOR_PEOPLE)]
    for path in files:
        found = sorted(set(_constants(path)))
        if found:
            yield f"Texts of {path.relative_to(PACKAGE).as_posix()}", found
    for path in sorted(PACKAGE.rglob("*.toml")):
        yield f"Texts of {path.relative_to(PACKAGE).as_posix()}", _leaves("", tomllib.loads(path.read_text("utf-8")))


def _colors() -> Iterator[str]:
    found: dict[str, set[str]] = {}
    for path in sorted(PACKAGE.rglob("*")):
        if path.suffix in (".py", ".css", ".jinja", ".toml", ".svg"):
            for color in COLOR.findall(path.read_text(encoding="utf-8")):
                found.setdefault(color.lower(), set()).add(path.relative_to(PACKAGE).as_posix())
    for color, files in sorted(found.items()):
        yield f"{color}: {', '.join(sorted(files))}"


def label_list() -> str:
    """The whole list."""
    parts: list[tuple[str, Iterable[str]]] = [
        ("Commands, arguments and options", _commands()),
        ("Names of functions and classes", sorted(public())),
        ("Columns of tables, and words that they take", _columns()),
        ("Codes, quantities, measures, limit sets", _words()),
        *_texts(),
        ("Colors", _colors()),
    ]
    head = "Every word that users see. Written by tests/make_label_list.py."
    return "\n".join([head, *(f"\n== {title}\n" + "\n".join(lines) for title, lines in parts)]) + "\n"


if __name__ == "__main__":
    LIST.write_text(label_list(), encoding="utf-8")
