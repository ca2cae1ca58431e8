"""A call of gatepost in this process: status, output and errors."""

from __future__ import annotations

import contextlib
import io

import pytest

from gatepost.cli import main


def call(*arguments):
    """Status, standard output and standard error of one call."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), pytest.raises(SystemExit) as left:
        main([str(one) for one in arguments])
    return left.value.code, out.getvalue(), err.getvalue()
