"""A project written again in a folder of its own: the shop's own files, with changed cells and nothing else changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePath

from .. import yamlfile
from ..errors import InputError, Problem
from ..library import Library, Over, library
from ..project import Project
from ..reading import Call, read
from ..reading.files import Rows, csv_rows
from ..reading.settings import Settings, read_settings
from ..reading.sizes import Context
from ..reading.weather import is_weather_file
from ..reading.workbook import xlsx_rows
from .compare import differences
from .csv_list import changed_csv
from .place import put
from .plan import Change, Edit, Sheet, edits_of
from .xlsx_list import changed_xlsx
from .yaml_rows import changed_yaml

__all__ = ["Change", "rewrite"]


def rewrite(
    project_path: str | Path, changes: Sequence[Change], folder: str | Path, call: Call | None = None
) -> list[Path]:
    """Write a project, or a bare parts list, again into `folder` with the cells of `changes` in place.

    changes  the row of each counts in the frame that `read` delivers; its value is text as the shop writes it
    folder   made if missing; a file that is there already is never written over
    call     what the call says beside the project, as for `read`: it decides what a bare number means
    Returns the files written, the project file first. Untouched cells, comments, formats, order of columns stay. The
    result is read again and compared with the project before it is put in place. Raises InputError, and writes nothing.
    """
    path = Path(project_path)
    if str(project_path) == "-":
        what = "cannot be written again; save the list as a file first"
        raise InputError([Problem("standard input", None, None, what)])
    old = read(path, call)
    copy = _Copy(path, old, library())
    copy.add_lists(changes)
    copy.add_others()
    if copy.problems:
        raise InputError(copy.problems)

    def check(made: Path) -> None:
        told = differences(old, read(made, call), changes, copy.library)
        if told:
            raise InputError([Problem(str(made), None, None, f"reads otherwise than was meant: {one}") for one in told])

    return put(copy.files, Path(folder), path, check)


@dataclass
class _Copy:
    """The files of a project as they are to be written, by their place beside the project file."""

    path: Path
    project: Project
    library: Library
    files: dict[PurePath, bytes] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.settings = self._settings()
        self.files[PurePath(self.path.name)] = self.path.read_bytes()
        self.context = Context(self.project.units, self.project.scheme)

    def _settings(self) -> Settings:
        if self.path.suffix.lower() in (".yaml", ".yml"):
            return read_settings(self.path)
        return Settings(parts=self.path.name, from_file=False)

    def add_lists(self, changes: Sequence[Change]) -> None:
        """The lists with their changes, those in the project file among them."""
        inner: dict[Over, list[Edit]] = {}
        overs: tuple[Over, Over] = ("parts", "joints")
        for over in overs:
            wanted, mine = getattr(self.settings, over), [change for change in changes if change.over == over]
            try:
                if isinstance(wanted, Rows):
                    if mine:
                        inner[over] = self._edits(wanted, over, mine)
                elif wanted is not None:
                    self._add_list(wanted, over, mine)
                elif mine:
                    raise InputError([Problem(str(self.path), None, over, "there is no such list to change")])
            except InputError as error:
                self.problems += error.problems
        if inner and not self.problems:
            self._add_rows(inner)

    def _edits(self, rows: Rows, over: Over, changes: list[Change]) -> list[Edit]:
        return edits_of(Sheet.of(rows, over, self.library, self.context), changes)

    def _add_list(self, name: str, over: Over, changes: list[Change]) -> None:
        beside = self._copied(name, over)
        if not changes:
            return
        if beside is None:
            what = f"{name} is named by its full path, and is not changed there; name it beside the project file"
            raise InputError([self._problem(over, what)])
        data, place = self.files[beside], str(self.path.parent / name)
        sheet = PurePath(name).suffix.lower() == ".xlsx"
        before = xlsx_rows(data, place) if sheet else csv_rows(data, place)
        edits = self._edits(before, over, changes)
        made = changed_xlsx(data, place, edits) if sheet else changed_csv(data, place, edits)
        after = xlsx_rows(made, place) if sheet else csv_rows(made, place)
        _compare_cells(before, after, edits)
        self.files[beside] = made

    def _add_rows(self, edits: dict[Over, list[Edit]]) -> None:
        name = PurePath(self.path.name)
        try:
            self.files[name] = changed_yaml(self.files[name], str(self.path), edits)
        except InputError as error:
            self.problems += error.problems

    def add_others(self) -> None:
        """The other files that the project names: prices, stock, rules, weather."""
        site = self.settings.site
        place = site.get("place") if isinstance(site, dict) else site
        named = [("prices", self.settings.prices), ("stock", self.settings.stock)]
        named += [("rules", name) for name in self.settings.rules]
        named += [("site", place)] if place and is_weather_file(place) else []
        for key, name in named:
            if name is not None:
                try:
                    self._copied(name, key)
                except InputError as error:
                    self.problems += error.problems

    def _copied(self, name: str, key: str) -> PurePath | None:
        """Take a file along, at the same place beside the project file; None for one that is named by its full path."""
        beside = PurePath(name)
        if beside.is_absolute():
            return None
        if ".." in beside.parts:
            what = f"{name} lies outside the project's folder and cannot be copied to the same place; move it in"
            raise InputError([self._problem(key, what)])
        if beside not in self.files:
            try:
                self.files[beside] = (self.path.parent / beside).read_bytes()
            except OSError as error:
                raise InputError([self._problem(key, f"{name} cannot be read: {error.strerror}")]) from None
        return beside

    def _problem(self, key: str, what: str) -> Problem:
        line = yamlfile.load_file(self.path).line((key,)) if self.settings.from_file else None
        return Problem(str(self.path), line, key, what)


def _compare_cells(before: Rows, after: Rows, edits: Sequence[Edit]) -> None:
    """Every cell of the changed list is what it was, or what an edit says."""
    wanted = _cells(before) | {(edit.at, edit.column): edit.text for edit in edits}
    found = _cells(after)
    wrong = [at for at in sorted(wanted.keys() | found.keys()) if wanted.get(at, "") != found.get(at, "")]
    if wrong or len(before.cells) != len(after.cells):
        row, column = wrong[0] if wrong else (0, 0)
        what = f'cannot be changed safely: cell {column + 1} would read "{found.get((row, column), "")}"; change it by hand'
        raise InputError([Problem(before.place, before.lines[row], None, what)])


def _cells(rows: Rows) -> dict[tuple[int, int], str]:
    return {(at, column): cell for at, cells in enumerate(rows.cells) for column, cell in enumerate(cells)}
