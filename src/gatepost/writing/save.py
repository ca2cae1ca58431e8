"""Files: a whole one or none."""

from __future__ import annotations

import os
import tempfile
from datetime import date
from pathlib import Path

from ..errors import InputError, Problem
from ..review import Review
from . import html, markdown, spec
from .blocks import Document

__all__ = ["rendered", "save", "write"]

SUFFIXES = (".html", ".pdf", ".xlsx", ".md", ".json")


def write(review: Review, path: str | Path, units: str = "in", day: date | None = None) -> None:
    """Write the spec sheet; the format goes by the suffix: .html, .pdf, .xlsx, .md or .json. The old file stays whole until the new one is."""
    path, day = Path(path), day or date.today()
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError(f"{path}: the suffix must be one of {', '.join(SUFFIXES)}")
    if suffix == ".json":
        save(spec.as_data(review, units, day).model_dump_json(indent=1) + "\n", path)
    else:
        save(rendered(spec.document(review, units, day), suffix), path)


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
