"""Lint, format and types, by the project's own settings."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.mark.parametrize(
    "command",
    [["ruff", "check", "src", "tests"], ["ruff", "format", "--check", "src", "tests"], ["mypy"]],
    ids=["lint", "format", "types"],
)
def test_clean(command):
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
