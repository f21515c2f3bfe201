"""What is on a page of a PDF: Poppler's tools (Debian's ``poppler-utils``, which ``tests/env.sh`` brings)."""

from __future__ import annotations

import shutil
import subprocess
from typing import Any

import pytest


def poppler(tool: str, *arguments: Any) -> str:
    """What a tool prints; without it the test fails, for nobody has looked at the page."""
    if shutil.which(tool) is None:
        pytest.fail(f"{tool} is not installed, and the page was not looked at: apt-get install poppler-utils")
    done = subprocess.run([tool, *map(str, arguments)], capture_output=True, text=True, check=True)
    return done.stdout
