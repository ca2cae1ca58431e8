"""Standard output and standard error of the command: buffered, refused, gone."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterable

import click

from .errors import harmless


def buffer_output() -> None:
    """Where the environment asks for no buffer, Python drops what a full disk did not take, without an error: so have one."""
    raw = getattr(sys.stdout, "buffer", None)
    if isinstance(raw, io.RawIOBase):
        sys.stdout = io.TextIOWrapper(io.BufferedWriter(raw), sys.stdout.encoding, sys.stdout.errors)


def refuse(lines: Iterable[str], error: click.ClickException | None = None, more: int = 0) -> int:
    """Print what is wrong to standard error, the usage above it where a call was wrong; the exit status."""
    if error is not None and getattr(error, "ctx", None) is not None:
        click.echo(error.ctx.get_usage(), err=True)  # type: ignore[attr-defined]
    for line in lines:
        click.echo(harmless(line), err=True)
    if more > 0:
        click.echo(f"gatepost: and {more} more problems like these", err=True)
    return 2


def unwritable(error: OSError) -> str:
    """What is said when the answer cannot be printed: the disk behind it is full, or what it is piped into has failed."""
    where = f"{error.filename}: " if error.filename else "gatepost: the output cannot be written: "
    return f"{where}{error.strerror or error}"


def swallow_output() -> None:
    """The reader of the output has gone, or its disk is full: what is still to be flushed goes nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
