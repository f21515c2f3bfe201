"""Docstrings of all that the package offers are whole: parameters, returns, errors, in numpydoc's form."""

from __future__ import annotations

import dataclasses
import inspect
import re
from pathlib import Path
from typing import Any

import pytest
from numpydoc.validate import validate

from made.functions import public

ROOT = Path(__file__).resolve().parents[2]

# What numpydoc would have otherwise, and why it is not so here.
NOT_ASKED = {
    "ES01": "an extended summary stands where there is something to say",
    "EX01": "examples stand in the manual and in examples/, where they are run",
    "SA01": "the manual groups what belongs together",
    "SS05": "a summary says what comes out; 'Verdicts of limit sets' is no verb in the third person",
}
# Fields are many and are said elsewhere: those of Log are inner, its Attributes are what users need; each number of
# Process has its words and its source in wheelend.simulate.parameters, which its docstring names.
FIELDS_ELSEWHERE = {"wheelend.Log", "wheelend.simulate.Process"}

THINGS = {name: thing for name, thing in public().items() if callable(thing)}


def test_there_is_something_to_look_at() -> None:
    assert len(THINGS) > 80


@pytest.mark.parametrize("name", THINGS)
def test_docstring_is_whole(name: str) -> None:
    found = dict(validate(name)["errors"])
    if inspect.isclass(THINGS[name]):
        found.pop("PR01", None)  # its fields are held to below: results are read, not made, by those who call
    assert {code: text for code, text in found.items() if code not in NOT_ASKED} == {}


def _fields(thing: Any) -> list[str]:
    if dataclasses.is_dataclass(thing):
        return [f.name for f in dataclasses.fields(thing)]
    return list(getattr(thing, "_fields", ()))


@pytest.mark.parametrize("name", [n for n, t in THINGS.items() if inspect.isclass(t) and n not in FIELDS_ELSEWHERE])
def test_class_names_its_fields_and_describes_its_methods(name: str) -> None:
    thing = THINGS[name]
    text = inspect.getdoc(thing) or ""
    assert [field for field in _fields(thing) if not re.search(rf"\b{field}\b", text)] == []
    own = {n: m for n, m in vars(thing).items() if n[0] != "_" and (inspect.isfunction(m) or isinstance(m, property))}
    assert [n for n, method in own.items() if not (method.__doc__ or "").strip()] == []


@pytest.mark.parametrize("name", [n for n, t in THINGS.items() if inspect.isfunction(t)])
def test_functions_that_can_refuse_say_so(name: str) -> None:
    """A function that raises by itself has a section Raises."""
    source = inspect.getsource(THINGS[name])
    if re.search(r"^\s+raise \w+\(", source, re.MULTILINE):
        assert re.search(r"^Raises\n-+\n", inspect.getdoc(THINGS[name]) or "", re.MULTILINE)
