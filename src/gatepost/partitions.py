"""The same facts and findings partition by partition on Dask, for lists that one machine does not hold.

A partition is a frame of text with the headings of a parts list; bare parts alone, no joints. Needs `gatepost[dask]`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from .deriving import derive
from .judging import SEVERITIES, TOPICS, judge, load_rules
from .large import Catalogue, Whole, joined, names_of
from .library import library
from .project import Project
from .reading import Call, read
from .reading.files import Rows, frame_rows

try:
    import dask
    import dask.dataframe as dd
except ImportError as error:
    raise ImportError("partitions need Dask: pip install 'gatepost[dask]'") from error


def facts(parts: Any, **options: Any) -> Any:
    """The facts of every part as a Dask frame: words as categories of the register, text as `string`.

    parts    a Dask frame of text, a column a heading of the parts list
    options  site, scheme, units as for `gatepost.read`
    Raises InputError, when it is computed, for cells that cannot be read.
    """
    call = Call(**options)
    return parts.map_partitions(_facts, call, meta=_facts(_empty(parts), call))


def findings(parts: Any, rule_files: Sequence[str | Path] = (), **options: Any) -> Any:
    """The findings on parts as a Dask frame: row (of the whole list, from 1), part, rule, topic, severity.

    parts, options  as for `facts`
    rule_files      a shop's own rules, which every worker must reach
    Facts of the whole list (is there a handrail?) are worked out first, so each partition is read twice.
    """
    files, call = tuple(map(str, rule_files)), Call(**options)
    starts, whole = _whole(parts, files, call)
    made = [
        dask.delayed(_findings)(part, start, whole, files, call)
        for part, start in zip(parts.to_delayed(), starts, strict=True)
    ]
    return dd.from_delayed(made, meta=_table(pd.DataFrame({"rule": [], "row": []}, dtype=int), np.array([]), 0, files))


def project_findings(parts: Any, rule_files: Sequence[str | Path] = (), **options: Any) -> pd.DataFrame:
    """The findings on the list as a whole, as a frame of rule, topic, severity. Notes on facts not given are not made."""
    files, call = tuple(map(str, rule_files)), Call(**options)
    _, whole = _whole(parts, files, call)
    catalogue, project = _catalogue(files), _read(parts.head(1, npartitions=-1), call)
    tables, _ = catalogue.tables(replace(project, parts=project.parts.iloc[:1]), catalogue.wanted, whole)
    found = judge(*tables, catalogue.rules, project.scheme, catalogue.of_project).found
    return _table(found, np.array([""], object), 0, files)[["rule", "topic", "severity"]]


def _whole(parts: Any, files: tuple[str, ...], call: Call) -> tuple[list[int], Whole]:
    """The row before the first of each partition, and the facts of the whole list."""
    counted = dask.compute(*(dask.delayed(_counted)(part, files, call) for part in parts.to_delayed()))
    counts = [count for count, _ in counted]
    starts = [0, *np.cumsum(counts)[:-1].tolist()]
    return starts, joined([whole for count, whole in counted if count], library())


def _counted(frame: pd.DataFrame, files: tuple[str, ...], call: Call) -> tuple[int, Whole]:
    project, catalogue = _read(frame, call), _catalogue(files)
    if not len(project.parts):
        return 0, {}
    tables, _ = catalogue.tables(project, frozenset(("project", name) for name in catalogue.joined))
    return len(project.parts), catalogue.whole_of(tables)


def _findings(frame: pd.DataFrame, start: int, whole: Whole, files: tuple[str, ...], call: Call) -> pd.DataFrame:
    project, catalogue = _read(frame, call), _catalogue(files)
    numbers = np.arange(len(project.parts)) + start
    tables, _ = catalogue.tables(project, catalogue.wanted, whole)
    found = judge(*tables, catalogue.rules, project.scheme, catalogue.of_parts).found
    return _table(found, names_of(project, numbers), start, files)


def _facts(frame: pd.DataFrame, call: Call) -> pd.DataFrame:
    made = derive(_read(frame, call)).parts
    texts = [
        name
        for name in made
        if not isinstance(made[name].dtype, pd.CategoricalDtype) and made[name].dtype.kind not in "fiu"
    ]
    return made.astype(dict.fromkeys(texts, "string"))


def _table(found: pd.DataFrame, names: np.ndarray, start: int, files: tuple[str, ...]) -> pd.DataFrame:
    """Findings with the words of the rules as categories."""
    rules = _catalogue(files).rules
    number, row = found["rule"].to_numpy(int), found["row"].to_numpy(int)
    topics = np.array([TOPICS.index(one.rule.topic) for one in rules])
    grave = np.array([SEVERITIES.index(one.rule.severity) for one in rules])
    return pd.DataFrame(
        {
            "row": row + start + 1,
            "part": pd.array(names[row] if len(row) else [], dtype="string"),
            "rule": pd.Categorical.from_codes(number, [one.rule.rule for one in rules]),
            "topic": pd.Categorical.from_codes(topics[number], list(TOPICS)),
            "severity": pd.Categorical.from_codes(grave[number], list(SEVERITIES), ordered=True),
        }
    )


def _read(frame: pd.DataFrame, call: Call) -> Project:
    rows = frame_rows(frame, "parts list")
    return read(Rows(rows.place, rows.lines, rows.cells, piece=True), call)


def _empty(parts: Any) -> pd.DataFrame:
    return pd.DataFrame({name: pd.array([], dtype="string") for name in parts.columns})


@lru_cache(maxsize=4)
def _catalogue(files: tuple[str, ...]) -> Catalogue:
    """Rules compiled once a worker."""
    known = library()
    return Catalogue(known, load_rules(known, map(Path, files)))
