"""Partitions on a local cluster of two workers: row for row what one process gives, also when a worker fails."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import dask
import dask.dataframe as dd
import pandas as pd
import pytest
from dask.distributed import Client, LocalCluster

from benchmarks.catalogue import cells
from gatepost import partitions, read
from gatepost.deriving import derive
from gatepost.errors import InputError
from gatepost.library import library
from gatepost.review import review
from gatepost.writing.review_sheet import rows

ROOT = Path(__file__).resolve().parents[1]
SITE = "Madison, WI"
pytestmark = pytest.mark.filterwarnings("ignore")


@pytest.fixture(scope="module")
def cluster():
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        yield client


@pytest.fixture(scope="module")
def frame() -> pd.DataFrame:
    return pd.DataFrame(cells(90))


@pytest.fixture(scope="module")
def one_process(frame) -> list[list[str]]:
    """Row, name, rule, topic and severity of each finding on a part when the whole list is read at once."""
    found = rows(review(read(frame, site=SITE)), False, "in")[1:]
    return sorted([row[0], *row[2:]] for row in found if row[1] == "part")


def as_rows(found: pd.DataFrame) -> list[list[str]]:
    return sorted(list(map(str, row)) for row in found.itertuples(index=False))


@pytest.mark.parametrize("count", [1, 4])
def test_findings_are_those_of_one_process(cluster, frame, one_process, count):
    made = partitions.findings(dd.from_pandas(frame, npartitions=count), site=SITE)
    assert as_rows(made.compute()) == one_process


def test_findings_on_the_whole_are_those_of_one_process(cluster, frame):
    made = partitions.project_findings(dd.from_pandas(frame, npartitions=4), site=SITE)
    found = rows(review(read(frame, site=SITE)), False, "in")[1:]
    expected = [row[3:] for row in found if row[1] == "project" and row[3] != "fact-not-given-or-known"]
    assert as_rows(made) == sorted(expected)


def test_facts_are_those_of_one_process_and_categories_those_of_the_register(cluster, frame):
    made = partitions.facts(dd.from_pandas(frame, npartitions=3), site=SITE).compute().reset_index(drop=True)
    whole = derive(read(frame, site=SITE)).parts
    pd.testing.assert_frame_equal(made, whole.astype(made.dtypes.to_dict()), check_exact=True)
    register = library().register.facts["parts"]
    worded = [name for name in made if isinstance(made[name].dtype, pd.CategoricalDtype)]
    assert len(worded) > 50
    assert all(tuple(made[name].cat.categories) == register[name].values for name in worded)


def die_once(part: pd.DataFrame, marker: str) -> pd.DataFrame:
    """Takes its worker down the first time that it is called."""
    try:
        os.close(os.open(marker, os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        return part
    os._exit(1)


def test_a_worker_that_served_one_place_serves_another(frame):
    """What hangs on the place alone is made once for a list, never kept for the next."""
    parts = dd.from_pandas(frame, npartitions=2)
    with dask.config.set(scheduler="synchronous"):
        for site in (SITE, "Phoenix, AZ", SITE):
            found = partitions.findings(parts, site=site).compute()
            told = [line for line in rows(review(read(frame, site=site)), False, "in")[1:] if line[1] == "part"]
            assert sorted(zip(found["part"], found["rule"], strict=True)) == sorted((line[2], line[3]) for line in told)
            whole = partitions.project_findings(parts, site=site)
            assert set(whole["rule"]) <= {line[3] for line in rows(review(read(frame, site=site)), False, "in")}


def test_a_failed_worker_is_made_good(cluster, frame, one_process, tmp_path):
    parts = dd.from_pandas(frame, npartitions=4)
    marker = tmp_path / "died"
    falling = parts.map_partitions(die_once, str(marker), meta=parts._meta)
    assert as_rows(partitions.findings(falling, site=SITE).compute()) == one_process
    assert marker.exists()


def test_a_cell_that_cannot_be_read_refuses_the_list(cluster, frame):
    parts = dd.from_pandas(frame.assign(width="wide"), npartitions=2)
    with pytest.raises(InputError, match="cannot read"):
        partitions.findings(parts, site=SITE)


def test_the_example_of_the_docs_reads_and_writes_parquet(frame, one_process, tmp_path):
    text = (ROOT / "docs" / "large.md").read_text(encoding="utf-8")
    code = re.search(r"<!-- dask -->\n(.*?)<!-- end -->", text, re.S)
    assert code is not None
    (tmp_path / "example.py").write_text(re.sub(r"^    ", "", code[1], flags=re.M), encoding="utf-8")
    dd.from_pandas(frame, npartitions=2).to_parquet(tmp_path / "parts.parquet")
    done = subprocess.run([sys.executable, "example.py"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert as_rows(pd.read_parquet(tmp_path / "findings.parquet")) == one_process
    assert "severity" in done.stdout
