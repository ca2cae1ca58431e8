"""Files: a whole one or none."""

from __future__ import annotations

import os
import tempfile
from datetime import date
from pathlib import Path

from ..errors import InputError, Problem
from ..planning import Bench
from . import html, markdown, spec
from .blocks import Document

__all__ = ["rendered", "save", "write"]

SUFFIXES = (".html", ".pdf", ".xlsx", ".md", ".json")


def write(made: Bench, path: Path, units: str, day: date) -> None:
    """Write the spec sheet; the format goes by the suffix. The old file stays whole until the new one is."""
    suffix = checked_suffix(path)
    if suffix == ".json":
        save(spec.as_data(made, units, day).model_dump_json(indent=1) + "\n", path)
    else:
        save(rendered(spec.document(made, units, day), suffix), path)


def checked_suffix(path: Path) -> str:
    """The suffix of a spec sheet, in small letters; InputError for one that is no format."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError(f"{path}: the suffix must be one of {', '.join(SUFFIXES)}")
    return suffix


def rendered(document: Document, suffix: str) -> str | bytes:
    """A document in the format of a suffix: .html, .pdf, .xlsx or .md."""
    # The libraries of the two are slow to load and not needed by the others.
    if suffix == ".pdf":
        from . import pdf

        return pdf.render(document)
    if suffix == ".xlsx":
        from . import xlsx

        return xlsx.render(document)
    return html.render(document) if suffix == ".html" else markdown.render(document)


def save(made: str | bytes, path: Path) -> None:
    """Write a whole file or none: into a file beside it, then in its place."""
    content = made.encode() if isinstance(made, str) else made
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
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
