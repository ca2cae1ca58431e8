"""A call of gatepost: in this process, or as a process of its own. Status, output and errors."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys

import pytest

from gatepost.cli import main


def call(*arguments):
    """Status, standard output and standard error of one call in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), pytest.raises(SystemExit) as left:
        main([str(one) for one in arguments])
    return left.value.code, out.getvalue(), err.getvalue()


def run(*arguments, stdin="", cwd=None, **environment):
    """One call in this process, with its standard input, folder and environment; never with a traceback."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin.encode())))
        for name, value in environment.items():
            patch.setenv(name, value)
        if cwd is not None:
            patch.chdir(cwd)
        done = subprocess.CompletedProcess(arguments, *call(*arguments))
    return without_traceback(done)


def started(*arguments, stdin="", cwd=None, **environment):
    """The same as a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "gatepost", *map(str, arguments)],
        input=stdin, capture_output=True, text=True, check=False, cwd=cwd, env={**os.environ, **environment}, timeout=60,
    )  # fmt: skip
    return without_traceback(done)


def without_traceback(done):
    assert "Traceback" not in done.stderr + done.stdout
    assert "unforeseen" not in done.stderr
    return done
