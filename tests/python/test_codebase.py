"""Rules of the code base that a reviewer would have to watch: layers, one version, docstrings, tools, paths."""

from __future__ import annotations

import ast
import inspect
import json
import re
import shutil
import subprocess
import sys
import sysconfig
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

import wheelend
from wheelend import (
    _core,
    date_codes,
    economics,
    grouped,
    j1939,
    limit_sets,
    lines,
    lives,
    loads,
    measures,
    passage,
    physics,
    replacements,
)

ROOT = Path(__file__).resolve().parents[2]
CPP = [".cpp", ".hpp"]
TOP_LEVEL = {
    # what the project asks for
    "README.md", "DEVELOPERS.md", "CMakeLists.txt", "cpp", "python", "examples", "tests", "data",
    # what build, licence and tools need
    ".ci", ".clang-format", ".clang-tidy", ".gitignore", ".pre-commit-config.yaml", "CHANGELOG.md", "CITATION.cff",
    "CMakePresets.json", "LICENSE", "pyproject.toml",
}  # fmt: skip


def sources(*folders: str, suffixes: list[str] | None = None) -> list[Path]:
    found = [p for f in folders for p in sorted((ROOT / f).rglob("*")) if p.is_file() and "__pycache__" not in p.parts]
    found = [p for p in found if p.suffix in suffixes] if suffixes else found
    assert found, folders
    return found


def tracked() -> list[Path]:
    """Files that are in the repository, or would be with the next commit."""
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("not a git checkout: there is no list of tracked files")
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    names = subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout.decode().split("\0")
    return [ROOT / name for name in names if name and (ROOT / name).is_file()]


def tool(name: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run a development tool of this environment."""
    path = shutil.which(name, path=sysconfig.get_path("scripts")) or shutil.which(name)
    if path is None:
        pytest.fail(f"{name} is not installed: pip install '.[dev]'")
    return subprocess.run([path, *arguments], cwd=ROOT, capture_output=True, text=True, check=False)


# ---- layers


def test_the_core_knows_nothing_of_python() -> None:
    words = re.compile(r"Python\.h|pybind11|numpy", re.IGNORECASE)
    assert [str(p.relative_to(ROOT)) for p in sources("cpp") if words.search(p.read_text(encoding="utf-8"))] == []


def test_pybind11_is_included_in_one_file() -> None:
    include = re.compile(r"^\s*#\s*include\s*[<\"](pybind11|Python\.h)", re.MULTILINE)
    files = sources("cpp", "python", "tests", suffixes=CPP)
    found = [str(p.relative_to(ROOT)) for p in files if include.search(p.read_text(encoding="utf-8"))]
    assert found == ["python/bindings/pybind.hpp"]


def test_top_level_names() -> None:
    assert {p.relative_to(ROOT).parts[0] for p in tracked()} <= TOP_LEVEL


# ---- stub and version


def names_of_stub() -> set[str]:
    names: set[str] = set()
    for node in ast.parse((ROOT / "python" / "wheelend" / "_core.pyi").read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            names.add(node.target.id)
    return names - {"__all__"}


def test_the_stub_lists_the_names_of_the_compiled_module() -> None:
    compiled = {name for name in dir(_core) if not name.startswith("__")} | {"__version__"}
    assert names_of_stub() == compiled


def test_the_stub_gives_the_parameters_of_the_compiled_functions() -> None:
    tree = ast.parse((ROOT / "python" / "wheelend" / "_core.pyi").read_text(encoding="utf-8"))
    functions = {n.name: [a.arg for a in n.args.args] for n in tree.body if isinstance(n, ast.FunctionDef)}
    assert len(functions) > 10
    for name, arguments in functions.items():
        signature = (getattr(_core, name).__doc__ or "").partition("\n")[0]
        assert re.findall(r"(\w+): ", signature) == arguments, name


def test_one_version() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    citation = yaml.safe_load((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    assert re.fullmatch(r"\d+\.\d+\.\d+", project["version"])
    assert project["version"] == _core.__version__ == wheelend.__version__ == str(citation["version"])


def test_citation_has_what_the_format_requires() -> None:
    # Required keys of the Citation File Format 1.2.0 (its schema guide)
    citation = yaml.safe_load((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    assert {"cff-version", "message", "title", "authors"} <= set(citation)
    assert str(citation["cff-version"]) == "1.2.0"
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert citation["license"] == project["license"]


# ---- docstrings


def public_functions() -> list[Callable[..., Any]]:
    of_package = [getattr(wheelend, name) for name in wheelend.__all__ if inspect.isfunction(getattr(wheelend, name))]
    modules = {
        lines: 6, grouped: 3, passage: 4, lives: 5, limit_sets: 2, measures: 3, date_codes: 2, loads: 8, j1939: 2,
        replacements: 3, economics: 13, physics: 11,
    }  # fmt: skip
    found = []
    for module, at_least in modules.items():
        own = [
            f for n, f in inspect.getmembers(module, callable)
            if not n.startswith("_") and not inspect.isclass(f) and f.__module__ == module.__name__
        ]  # fmt: skip
        assert len(own) >= at_least, module
        found += own
    assert len(of_package) >= 6
    return of_package + found


@pytest.mark.parametrize("function", public_functions(), ids=lambda f: f"{f.__module__}.{f.__name__}")
def test_public_functions_say_what_they_take_and_give(function: Callable[..., Any]) -> None:
    text = inspect.getdoc(function) or ""
    assert text.strip()
    if function.__module__ in ("wheelend.limit_sets", "wheelend.measures"):
        return  # not of the package's front: a sentence is enough
    signature = inspect.signature(function)
    if signature.parameters:
        section = re.search(r"^Parameters\n-+\n(.*?)(?=\n\n\w+\n-+\n|\Z)", text, re.DOTALL | re.MULTILINE)
        assert section is not None
        named = {n for n in signature.parameters if re.search(rf"^[\w, ]*\b{n}\b", section[1], re.MULTILINE)}
        assert named == set(signature.parameters)
    if signature.return_annotation not in ("None", None):
        assert re.search(r"^Returns\n-+\n.+", text, re.MULTILINE)


def test_public_classes_have_docstrings() -> None:
    classes = [getattr(wheelend, name) for name in wheelend.__all__ if inspect.isclass(getattr(wheelend, name))]
    assert len(classes) > 5
    assert [c.__name__ for c in classes if not (c.__doc__ or "").strip()] == []


# ---- data


def test_every_sample_says_where_it_comes_from() -> None:
    samples = ROOT / "data" / "samples"
    folders = [p for p in samples.iterdir() if p.is_dir()]
    assert folders
    assert [p.name for p in samples.iterdir() if p.is_file() and p.name != "README.md"] == []
    for folder in folders:
        text = (folder / "ABOUT.md").read_text(encoding="utf-8")
        parts = re.split(r"^## (.+)$", text, flags=re.MULTILINE)
        filled = {h for h, body in zip(parts[1::2], parts[2::2], strict=True) if len(body.split()) > 3}
        assert {"Origin", "Licence", "Columns with units", "What is planted", "How made"} <= filled
        for file in folder.iterdir():
            assert file.name == "ABOUT.md" or f"`{file.name}`" in text, file.name


def test_every_reference_file_says_where_it_comes_from() -> None:
    folder = ROOT / "tests" / "reference"
    text = (folder / "ORIGIN.md").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line.startswith("| `")]
    named = {name for row in rows for name in re.findall(r"`([\w.]+\.(?:csv|json))`", row.split("|")[1])}
    assert named == {p.name for p in folder.iterdir()} - {"ORIGIN.md"}


# ---- paths


def test_no_file_holds_a_path_of_a_machine() -> None:
    folders = "|".join(["home", "work", "root", "tmp", "Users"])
    path = re.compile(rf"(?<![\w.$}})>-])/({folders})(?![\w-])".encode())
    found = []
    for file in tracked():
        for number, line in enumerate(file.read_bytes().splitlines(), 1):
            if path.search(line):
                found.append(f"{file.relative_to(ROOT)}:{number}: {line[:120]!r}")
    assert found == []


# ---- tools


@pytest.mark.parametrize("arguments", [("check",), ("format", "--check")], ids=" ".join)
def test_ruff(arguments: tuple[str, ...]) -> None:
    done = tool("ruff", *arguments, "--no-cache", "python", "tests", "examples")
    assert done.returncode == 0, done.stdout + done.stderr


def test_mypy_strict() -> None:
    done = tool("mypy", "--strict")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "no issues found in" in done.stdout


def test_clang_format() -> None:
    files = sources("cpp", "python/bindings", "tests/cpp", "tests/compile_fail", suffixes=CPP)
    done = tool("clang-format", "--dry-run", "-Werror", *[str(p.relative_to(ROOT)) for p in files])
    found = sorted(set(re.findall(r"^(\S+?):\d+", done.stderr, re.MULTILINE)))
    assert (done.returncode, found) == (0, [])


# ---- import

IMPORT = """
import json, os, sys
import wheelend
t = os.times()
print(json.dumps({"cpu": t.user + t.system, "modules": sorted(sys.modules)}))
"""
HEAVY = (
    "pandas",
    "matplotlib",
    "typer",
    "polars",
    "duckdb",
    "scipy",
    "python_calamine",
    "xlsxwriter",
    "jinja2",
    "weasyprint",
)


def test_import_brings_no_heavy_module(record_property: Any) -> None:
    runs = []
    for _ in range(3):
        done = subprocess.run([sys.executable, "-c", IMPORT], capture_output=True, text=True, check=True)
        runs.append(json.loads(done.stdout))
    assert [name for name in HEAVY if name in runs[0]["modules"]] == []
    assert "wheelend._core" in runs[0]["modules"]
    # Reported, not asserted: a figure of the machine. With -rP it is shown, and it stands in the junit file.
    cpu = min(run["cpu"] for run in runs)
    record_property("import_cpu_seconds", cpu)
    print(f"import wheelend: {cpu:.2f} s of CPU, the interpreter's start included, best of three")


def test_readme_lists_the_limit_sets_and_what_is_not_confirmed() -> None:
    sys.path.insert(0, str(ROOT / "tests"))
    import make_limit_list

    assert make_limit_list.block() in (ROOT / "README.md").read_text(encoding="utf-8"), "run tests/make_limit_list.py"
