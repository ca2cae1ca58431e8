"""Files put into a folder: all of them or none, and never over one that is there."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path, PurePath

from ..errors import InputError, Problem


def put(
    files: Mapping[PurePath, bytes], folder: Path, source: Path, check: Callable[[Path], None] | None = None
) -> list[Path]:
    """Write the files into `folder`, once `check` has passed the first of them where they are made ready.

    Raises InputError where the folder is that of `source`, holds one of the files, or cannot be written to.
    """
    _refuse(files, folder, source)
    try:
        base = next(one for one in (folder, *folder.absolute().parents) if one.is_dir())
        with tempfile.TemporaryDirectory(dir=base, prefix=".gatepost-") as name:
            ready = Path(name) / "ready"
            for beside, data in files.items():
                (ready / beside).parent.mkdir(parents=True, exist_ok=True)
                (ready / beside).write_bytes(data)
            if check is not None:
                _checked(check, ready, folder, next(iter(files)))
            _moved(ready, list(files), folder)
    except OSError as error:
        raise InputError([Problem(str(folder), None, None, f"cannot be written: {error.strerror}")]) from None
    return [folder / beside for beside in files]


def _refuse(files: Mapping[PurePath, bytes], folder: Path, source: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise InputError([Problem(str(folder), None, None, "is a file; name a folder")])
    if folder.resolve() == source.parent.resolve():
        what = "is the project's own folder, and nothing is written over it; name another"
        raise InputError([Problem(str(folder), None, None, what)])
    there = [folder / beside for beside in files if os.path.lexists(folder / beside)]
    if there:
        what = "is there already and is not written over; name another folder"
        raise InputError([Problem(str(one), None, None, what) for one in there])


def _checked(check: Callable[[Path], None], ready: Path, folder: Path, first: PurePath) -> None:
    """Problems name the files where they were to be, not where they were made ready."""
    try:
        check(ready / first)
    except InputError as error:
        raise InputError(
            [
                Problem(one.place.replace(str(ready), str(folder)), one.line, one.column, one.what)
                for one in error.problems
            ]
        ) from None


def _moved(ready: Path, files: list[PurePath], folder: Path) -> None:
    """Move the files in; what was moved and made is taken away again when one cannot be."""
    made: list[Path] = []
    try:
        for beside in files:
            there = folder / beside
            missing = [one for one in (there.parent, *there.parent.parents) if not one.exists()]
            for one in reversed(missing):
                one.mkdir()
                made.append(one)
            os.rename(ready / beside, there)
            made.append(there)
    except BaseException:
        for one in reversed(made):
            if one.is_dir():
                one.rmdir()
            else:
                one.unlink()
        raise
