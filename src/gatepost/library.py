"""The knowledge in data/: the register, the tables and the sources, loaded and checked."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from . import proved, yamlfile
from .errors import InputError, Problem

if TYPE_CHECKING:
    import numpy as np

Over = Literal["parts", "joints", "project"]
OVERS: tuple[Over, ...] = ("parts", "joints", "project")
STATUSES = ("seen", "secondary", "memory", "practice")
NUMBERS = ("number", "size", "whole")
UNKNOWN = "unknown"
"""What stands in a cell that was written but tells nothing."""


def data_folder() -> Path:
    """The folder of knowledge: beside the installed module, or at the top of a checkout."""
    here = Path(__file__).resolve().parent
    for folder in (here / "data", here.parents[1] / "data"):
        if (folder / "columns.yaml").is_file():
            return folder
    raise InputError("the data folder is missing from this installation; install gatepost again")


@dataclass(frozen=True)
class Column:
    """One entry of the register: a column that a shop may write, or a fact, or both."""

    name: str
    over: Over
    kind: str
    meaning: str
    written: str | None = None
    unit: str = ""
    values: tuple[str, ...] = ()
    ordered: bool = False
    open: bool = False
    bounds: tuple[float, float] | None = None
    blank: str = "unknown"
    default: Any = None
    quiet: bool = False
    without: str = ""
    side: str | None = None
    group: str | None = None
    required: bool = False
    synonyms: tuple[str, ...] = ()
    reads: tuple[str, ...] = ()
    word_column: str | None = None
    made_by: str | None = None
    origins: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    lookup: tuple[str, str, str] | None = None

    @property
    def is_number(self) -> bool:
        return self.kind in NUMBERS

    @property
    def derived(self) -> bool:
        """True for a fact that derive makes; False for what read delivers."""
        return self.lookup is not None or self.made_by not in (None, "read")


class Table:
    """A CSV table of data/tables: words as tuples, numbers as arrays, keys as a dict."""

    def __init__(self, name: str, header: list[str], rows: list[list[str]]) -> None:
        self.name = name
        self.header = header
        self.rows = rows
        self._numbers: dict[str, np.ndarray] = {}
        self._words: dict[str, tuple[str, ...]] = {}

    def __len__(self) -> int:
        return len(self.rows)

    def words(self, column: str) -> tuple[str, ...]:
        """Column as text, '' where blank."""
        if column not in self._words:
            at = self.header.index(column)
            self._words[column] = tuple(row[at] for row in self.rows)
        return self._words[column]

    def numbers(self, column: str) -> np.ndarray:
        """Column as floats, NaN where blank."""
        import numpy as np

        if column not in self._numbers:
            self._numbers[column] = np.array([float(cell) if cell else np.nan for cell in self.words(column)])
        return self._numbers[column]

    @cached_property
    def index(self) -> dict[str, int]:
        """Row number of each key (first column); the first row of a repeated key."""
        out: dict[str, int] = {}
        for number, key in enumerate(self.words(self.header[0])):
            out.setdefault(key, number)
        return out

    def number(self, key: str, column: str) -> float:
        """One number by key and column; KeyError for an unknown key."""
        return float(self.numbers(column)[self.index[key]])

    def records(self) -> Iterator[dict[str, str]]:
        """The rows as dictionaries of text."""
        for row in self.rows:
            yield dict(zip(self.header, row, strict=True))


@dataclass(frozen=True)
class Source:
    """A work cited: its key, what it is, what of it was read and how."""

    key: str
    work: str
    read: str
    status: str


@dataclass
class Register:
    """All columns, by the list they belong to; `written` by what a shop writes, `facts` by fact name."""

    written: dict[Over, dict[str, Column]] = field(default_factory=dict)
    facts: dict[Over, dict[str, Column]] = field(default_factory=dict)

    def find(self, over: Over, name: str) -> Column | None:
        """The column that `name` means in a table of `over`: its own, its parts' (a_, b_, worse_), or the project's."""
        own = self.facts[over].get(name) or self.facts["project"].get(name)
        if own or over != "joints":
            return own
        prefix, _, rest = name.partition("_")
        column = self.facts["parts"].get(rest)
        if prefix in ("a", "b"):
            return column
        if prefix == "worse" and column is not None and column.ordered:
            return replace(column, kind="word")
        return None

    def names(self, over: Over) -> list[str]:
        """Every plain name that a clause over `over` may use."""
        own = [*self.facts[over], *self.facts["project"]]
        return own + ([f"a_{n}" for n in self.facts["parts"]] if over == "joints" else [])


class Library:
    """data/ as one object; tables are read when first asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._tables: dict[str, Table] = {}

    def table(self, name: str) -> Table:
        """A table of data/tables by name."""
        if name not in self._tables:
            self._tables[name] = read_table(self.folder / "tables" / f"{name}.csv")
        return self._tables[name]

    def rows_of(self, name: str, key: str) -> list[dict[str, str]]:
        """The rows of one key of a long table, without reading the rest of it."""
        if name in self._tables:
            return [row for row in self._tables[name].records() if row[self._tables[name].header[0]] == key]
        with (self.folder / "tables" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            header = file.readline()
            return list(csv.DictReader([header, *(line for line in file if line.startswith(f"{key},"))]))

    def table_names(self) -> list[str]:
        """Names of all tables, sorted."""
        return sorted(path.stem for path in (self.folder / "tables").glob("*.csv"))

    def is_proved(self, name: str) -> bool:
        """Was the YAML file, as it stands now, read and proved beforehand?"""
        return name in proved.proved(self.folder)

    def yaml(self, name: str, strict: bool = True) -> yamlfile.Located:
        """A YAML file of the folder, as it was read beforehand where it still is the same."""
        if self.is_proved(name):
            return proved.located(proved.proved(self.folder)[name], f"data/{name}")
        return yamlfile.load_file(self.folder / name, f"data/{name}", strict)

    @cached_property
    def register(self) -> Register:
        """The register of columns.yaml."""
        return read_register(self.yaml("columns.yaml"), self)

    @cached_property
    def sources(self) -> dict[str, Source]:
        """The works cited, by key."""
        located = self.yaml("sources.yaml")
        return {row["source"]: Source(row["source"], row["work"], row["read"], row["status"]) for row in located.data}


@lru_cache(maxsize=4)
def library(folder: Path | None = None) -> Library:
    """The library in `folder`, by default the one that came with the package."""
    return Library(folder or data_folder())


def read_table(path: Path) -> Table:
    """Read one CSV table; a row of the wrong length is a located problem."""
    try:
        with path.open(encoding="utf-8", newline="") as file:
            header, *rows = list(csv.reader(file))
    except OSError as error:
        raise InputError(
            [Problem(f"data/tables/{path.name}", None, None, f"cannot be read: {error.strerror}")]
        ) from None
    bad = [i for i, row in enumerate(rows, 2) if len(row) != len(header)]
    if bad:
        raise InputError([Problem(f"data/tables/{path.name}", i, None, f"must have {len(header)} cells") for i in bad])
    return Table(path.stem, header, rows)


def read_register(located: yamlfile.Located, library: Library) -> Register:
    """Turn columns.yaml into a Register; its own errors are located problems."""
    register = Register({"parts": {}, "joints": {}, "project": {}}, {"parts": {}, "joints": {}, "project": {}})
    problems: list[Problem] = []
    for section, entries in located.data.items():
        over: Over = section.removesuffix("_list")
        for name, entry in entries.items():
            try:
                column = _column(name, over, section.endswith("_list"), entry, library)
            except (KeyError, TypeError, ValueError) as error:
                problems.append(located.problem((section, name), f"cannot be read: {error!r}", name))
                continue
            register.facts[over][column.name] = column
            if column.written:
                register.written[over][name] = column
    if problems:
        raise InputError(problems)
    return register


ENTRY_KEYS = {
    *("as", "kind", "meaning", "unit", "values", "ordered", "open", "bounds", "blank", "without", "quiet", "side"),
    *("group", "required", "synonyms", "reads", "words", "made_by", "from", "needs", "lookup"),
}


def _column(name: str, over: Over, written: bool, entry: dict[str, Any], library: Library) -> Column:
    stray = sorted(set(entry) - ENTRY_KEYS)
    if stray:
        raise ValueError(f"{stray[0]} is no key of a column; the keys are {', '.join(sorted(ENTRY_KEYS))}")
    blank, default = _blank(entry.get("blank", "unknown"))
    lookup = entry.get("lookup")
    return Column(
        name=entry.get("as", name),
        over=over,
        kind=entry["kind"],
        meaning=entry["meaning"],
        written=name if written else None,
        unit=entry.get("unit", ""),
        values=_values(entry.get("values", ()), library),
        ordered=entry.get("ordered", False),
        open=entry.get("open", False),
        bounds=tuple(entry["bounds"]) if "bounds" in entry else None,
        blank=blank,
        default=default,
        quiet=entry.get("quiet", False),
        without=entry.get("without", ""),
        side=entry.get("side"),
        group=entry.get("group"),
        required=entry.get("required", False),
        synonyms=tuple(map(str, entry.get("synonyms", ()))),
        reads=tuple(entry.get("reads", ())),
        word_column=entry.get("words", {}).get("column"),
        made_by=entry.get("made_by"),
        origins=tuple(entry.get("from", ())),
        needs=(lookup["key"],) if lookup else tuple(entry.get("needs", ())),
        lookup=(lookup["table"], lookup["key"], lookup["column"]) if lookup else None,
    )


def _blank(entry: Any) -> tuple[str, Any]:
    if isinstance(entry, dict):
        return "default", entry["default"]
    return entry, None


def _values(entry: Any, library: Library) -> tuple[str, ...]:
    """Allowed words in order; `table:NAME` stands for the first column of a table."""
    out: dict[str, None] = {}
    for word in [entry] if isinstance(entry, str) else entry:
        if str(word).startswith("table:"):
            table = library.table(str(word).removeprefix("table:"))
            out |= dict.fromkeys(table.words(table.header[0]))
        else:
            out[str(word)] = None
    return tuple(out)
