"""The docs cannot fall behind: generated pages, README commands and the examples of DEVELOPERS.md are checked."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

import make_docs
from gatepost import yamlfile
from gatepost.cli import cli
from gatepost.judging import check_file
from gatepost.library import library
from gatepost.writing.blocks import Document, Heading

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "src", "data", "tests", "docs"}


@pytest.mark.parametrize("name", make_docs.PAGES_OF)
def test_generated_page_is_what_the_code_would_write(name):
    assert (ROOT / "docs" / name).read_text(encoding="utf-8") == make_docs.PAGES_OF[name](), (
        "run python tests/make_docs.py"
    )


def test_top_level_is_the_fixed_list():
    kept = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert kept - {"build", "dist"} == TOP


def test_readme_begins_with_the_job_and_two_commands():
    title, job, *_ = README.split("\n\n")
    assert title == "# gatepost"
    assert "shop" in job
    commands = re.findall(r"^    (python3 -m venv .*)$", README, re.M)
    assert len(commands) == 2
    assert "gatepost review" in commands[0]
    assert commands[1].endswith("python -m pytest")


def test_readme_names_every_verb_and_only_those():
    named = set(re.findall(r"^    gatepost (\w+)", README, re.M))
    assert named == set(cli.commands)


@pytest.mark.parametrize(
    "page", ["README.md", "DEVELOPERS.md", *(f"docs/{p.name}" for p in (ROOT / "docs").glob("*.md"))]
)
def test_links_lead_somewhere(page):
    text = (ROOT / page).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        assert ((ROOT / page).parent / target).exists(), target


def test_files_that_the_guide_names_exist():
    named = re.findall(r"`((?:tests|src|data|docs)/[\w/.]+)`", GUIDE)
    assert len(named) > 8
    assert not [path for path in named if not (ROOT / path).exists()]


def example(kind: str) -> str:
    """A marked example of DEVELOPERS.md, without its indent."""
    text = re.search(rf"<!-- {kind} -->\n(.*?)<!-- end -->", GUIDE, re.S)
    assert text
    return "\n".join(line.removeprefix("    ") for line in text[1].splitlines())


def test_the_rule_of_the_guide_proves_itself():
    rules, problems = check_file(yamlfile.load(example("rule"), "guide"), library())
    assert [str(problem) for problem in problems] == []
    assert len(rules) == 1


def test_the_column_of_the_guide_stands_in_the_register():
    (name, entry), *_ = yaml.safe_load(example("column")).items()
    column = library().register.facts["parts"][name]
    assert column.made_by == entry["made_by"]
    assert list(column.needs) == entry["needs"]
    assert column.bounds == tuple(entry["bounds"])


def test_the_renderer_of_the_guide_renders():
    names: dict = {}
    exec(example("renderer"), names)
    assert names["render"](Document("t", blocks=[Heading("one"), Heading("two")])) == "one\ntwo"


def test_each_table_and_rule_is_documented():
    rules = (ROOT / "docs" / "rules.md").read_text(encoding="utf-8")
    for path in (ROOT / "data" / "rules").glob("*.yaml"):
        for rule in yaml.safe_load(path.read_text(encoding="utf-8")):
            assert f"### {rule['rule']}\n" in rules
