"""Files: a whole one or none."""

from __future__ import annotations

import os
import tempfile
from datetime import date
from pathlib import Path

from ..errors import InputError, Problem
from ..review import Review
from . import html, markdown, spec

__all__ = ["save", "write"]

SUFFIXES = (".html", ".md", ".json")


def write(review: Review, path: str | Path, units: str = "in", day: date | None = None) -> None:
    """Write the spec sheet; the format goes by the suffix: .html, .md or .json. The old file stays whole until the new one is."""
    path, day = Path(path), day or date.today()
    suffix = path.suffix.lower()
    if suffix == ".json":
        text = spec.as_data(review, units, day).model_dump_json(indent=1) + "\n"
    elif suffix in (".html", ".md"):
        made = spec.document(review, units, day)
        text = html.render(made) if suffix == ".html" else markdown.render(made)
    else:
        raise InputError(f"{path}: the suffix must be one of {', '.join(SUFFIXES)}")
    save(text, path)


def save(text: str, path: Path) -> None:
    """Write a whole file or none: into a file beside it, then in its place."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
            os.chmod(name, 0o666 & ~_umask())
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise InputError([Problem(str(path), None, None, f"cannot be written: {error.strerror}")]) from None


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
