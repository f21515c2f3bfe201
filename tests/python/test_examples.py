"""Every example runs, and what README shows is what the commands print."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = sorted((ROOT / "examples").glob("*.py"))
SAMPLE = ROOT / "data" / "samples" / "small_fleet"


def run(arguments: list[str]) -> str:
    done = subprocess.run([sys.executable, *arguments], capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


@pytest.mark.parametrize("script", SCRIPTS, ids=[s.stem for s in SCRIPTS])
def test_example_runs(script: Path) -> None:
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()


def test_wear_study_agrees_with_the_published_worked_example() -> None:
    # The five readings are the worked example ME16-ME19 of the project's formula reference, computed there by hand:
    # 138.0 thousand miles, 95 % limits by inversion 118.6589 and 167.5222, rate 3.125 mil per 1000 mi = 0.1/32 in.
    out = run([str(ROOT / "examples" / "03_wear_study.py")])
    assert "wear 0.1000 " in out
    assert "138.0 thousand miles, 95 % between 118.7 and 167.5" in out


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
