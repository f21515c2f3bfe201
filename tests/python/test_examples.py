"""Every example runs, and what README shows is what the commands print."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import jupytext
import pytest
from nbclient import NotebookClient

from made.notebooks import keep

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted((ROOT / "examples").glob("*.py"))
SAMPLE = ROOT / "data" / "samples" / "small_fleet"


def run(arguments: list[str]) -> str:
    done = subprocess.run([sys.executable, *arguments], capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


@pytest.mark.parametrize("source", NOTEBOOKS, ids=[n.stem for n in NOTEBOOKS])
def test_notebook_runs(source: Path, tmp_path: Path) -> None:
    """Runs it as a notebook, in a folder of its own, in under a minute; an error in a cell is raised."""
    book = jupytext.read(source)
    client = NotebookClient(book, timeout=60, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}})
    client.execute(env={k: v for k, v in os.environ.items() if k != "MPLBACKEND"})  # pictures inline, as a reader sees
    outputs = [o for cell in book.cells if cell.cell_type == "code" for o in cell.outputs]
    assert any("text/html" in o.get("data", {}) or o.output_type == "stream" for o in outputs)
    assert [o.text for o in outputs if o.output_type == "stream" and o.name == "stderr"] == []
    if "plot_" in source.read_text(encoding="utf-8"):
        assert any("image/png" in o.get("data", {}) for o in outputs)
    assert list(tmp_path.iterdir()) == []  # leaves nothing behind
    keep(book, source)  # for the manual, which shows it with its outputs


def test_the_notebooks_are_those_that_were_promised() -> None:
    assert {n.stem for n in NOTEBOOKS} >= {"shop_morning", "budget", "leaks", "wear_study", "own_limits"}


def test_wear_study_prints_what_was_published() -> None:
    # NBS Handbook 91 (1963), page 5-33 on, its line of groove on weight: 13.506 and 0.790212 (from memory).
    # Tamhane and Dunlop 2000: R2 0.953; crossings of 62.5 mil worked in the project's formula reference, T10.
    out = run([str(ROOT / "examples" / "wear_study.py")])
    assert "groove = 13.506 + 0.790212 weight, residual sd 26.21" in out
    assert "straight: 40.95 thousand miles, exponential: 60.15" in out


def shown(command: str) -> str:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    match = re.search(rf"\$ wheelend {command}[^\n]*\n(.*?)\n```", text, re.DOTALL)
    assert match is not None
    return match[1]


def test_readme_shows_what_standing_prints() -> None:
    files = [f"--{name}={SAMPLE / name}.csv" for name in ("readings", "positions", "tires")]
    out = run(["-m", "wheelend", "standing", *files, "--site", "North", "--group", "linehaul"])
    assert out.strip() == shown("standing").strip()


def test_readme_shows_what_spot_prints() -> None:
    arguments = ["--kind", "tractor", "--role", "steer", "--depth", "5/32 in", "--pressure", "92 psi"]
    out = run(["-m", "wheelend", "spot", *arguments, "--target", "100 psi"])
    assert out.strip() == shown("spot").strip()
