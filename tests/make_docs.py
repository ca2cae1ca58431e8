"""Pages of docs/ that are generated from the register, the rules, the verbs and the shapes of the JSON.

`python tests/make_docs.py` writes them, and data/proved.json; test_docs.py compares them with what this would write.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

import click

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "src"))

from gatepost import proved, yamlfile  # noqa: E402
from gatepost.cli import cli  # noqa: E402
from gatepost.errors import InputError  # noqa: E402
from gatepost.judging import TOPICS, check_file, load_rules, severity_meaning  # noqa: E402
from gatepost.library import Column, library  # noqa: E402
from gatepost.writing.markdown import escaped  # noqa: E402
from gatepost.writing.models import PAGES  # noqa: E402
from gatepost.writing.plan_models import SpecOut  # noqa: E402
from gatepost.writing.sheets import worst_first  # noqa: E402
from gatepost.writing.teach_models import TeachOut  # noqa: E402

sys.path.insert(0, str(ROOT / "tests"))
import test_published  # noqa: E402

_FILLED = re.compile(r"{(\w+?)(?:_(?:mm|um|years|weeks|pct|deg|v|c|kg))?}")
NOTE = "<!-- Written by tests/make_docs.py; change what it is made from, not this page. -->"


def rules_page() -> str:
    """All rules by topic: fault, why, remedy, source."""
    rules, known = load_rules(library()), library()
    lines = [NOTE, "", "# Rules", "", f"{len(rules)} rules. Severity says how grave a finding is:", ""]
    lines += [f"- {name}: {severity_meaning(name)}" for name in ("stop", "fix", "note")]
    lines += [
        "",
        "Words in braces are filled from the part, the joint or the project. `gatepost rules RULE` explains one.",
        "",
    ]
    for topic in TOPICS:
        lines += [f"## {topic.capitalize()}", ""]
        for one in worst_first(rules):
            if one.rule.topic == topic:
                lines += _rule(one, known)
    return "\n".join(lines).rstrip() + "\n"


def _rule(one: Any, known: Any) -> list[str]:
    rule = one.rule
    scheme = "" if rule.scheme == "both" else f", only under scheme {rule.scheme}"
    source = "common practice, no source"
    if rule.source != "practice":
        source = f"{known.sources[rule.source].work} ({one.status}: {known.sources[rule.source].read})"
    return [
        f"### {rule.rule}",
        "",
        f"{rule.severity}{scheme}. {escaped(_told(rule.message))}",
        "",
        f"- Why: {escaped(_told(rule.why))}",
        f"- To do: {escaped(_told(rule.remedy))}",
        f"- Source: {escaped(source)}",
        f"- Speaks over {rule.over} when: " + "; ".join(f"`{text}`" for text in rule.when),
        "",
    ]


def _told(text: str) -> str:
    """Prose with its columns in plain words: {gap_left_mm} as {gap left}."""
    return _FILLED.sub(lambda match: "{" + match[1].replace("_", " ") + "}", text)


def columns_page() -> str:
    """What a shop may write, and the facts that gatepost makes."""
    register = library().register
    lines = [
        NOTE,
        "",
        "# Columns and facts",
        "",
        "Headings are matched without regard to case, spaces and underscores.",
        "",
    ]
    for over, title in (("parts", "The parts list"), ("joints", "The joints list")):
        lines += [
            f"## {title}",
            "",
            "| heading | also | meaning | values | blank means | fact | |",
            "|---|---|---|---|---|---|---|",
        ]
        lines += [_written(column) for column in register.written[over].values()]
        lines.append("")
    for over, title in (
        ("parts", "Facts of a part"),
        ("joints", "Facts of a joint"),
        ("project", "Facts of the project"),
    ):
        lines += [f"## {title}", "", "| fact | unit | meaning | values | made from |", "|---|---|---|---|---|"]
        lines += [_fact(column) for column in register.facts[over].values() if column.written is None]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _written(column: Column) -> str:
    blank = column.blank if column.blank != "default" else f"taken as {column.default}"
    blank += f"; {column.without}" if column.without else ""
    cells = [
        f"`{column.written}`",
        ", ".join(column.synonyms),
        column.meaning,
        _values(column),
        blank,
        f"`{column.name}`",
        column.side or "",
    ]
    return "| " + " | ".join(escaped(cell) if not cell.startswith("`") else cell for cell in cells) + " |"


def _fact(column: Column) -> str:
    made = ", ".join(need.removesuffix("?") for need in column.needs) or "read: " + (
        ", ".join(column.origins) or "the project file"
    )
    if column.lookup:
        made = f"table {column.lookup[0]} by {column.lookup[1]}"
    cells = [f"`{column.name}`", column.unit, column.meaning, _values(column), made]
    return "| " + " | ".join(escaped(cell) if not cell.startswith("`") else cell for cell in cells) + " |"


def _values(column: Column) -> str:
    if column.bounds and not column.values:
        return f"{column.bounds[0]:g} to {column.bounds[1]:g} {column.unit}".strip()
    if len(column.values) > 45:
        return f"{len(column.values)} words, see `gatepost lookup`"
    return (" < " if column.ordered else ", ").join(column.values)


def commands_page() -> str:
    """The help of each verb."""
    lines = [NOTE, "", "# Commands", ""]
    settings = {"terminal_width": 100, "max_content_width": 100}
    context = click.Context(cli, info_name="gatepost", **settings, **cli.context_settings)
    lines += ["```text", cli.get_help(context), "```", ""]
    for name in sorted(cli.commands):
        inner = click.Context(cli.commands[name], info_name=name, parent=context, **settings)
        lines += [f"## gatepost {name}", "", "```text", cli.commands[name].get_help(inner), "```", ""]
    return "\n".join(line.rstrip() for line in "\n".join(lines).splitlines()).rstrip() + "\n"


def json_page() -> str:
    """The shapes of the JSON, from the models."""
    lines = [
        NOTE,
        "",
        "# JSON",
        "",
        "Unknown numbers are null. Fields may be added; none is renamed or dropped within contract 1.",
        "",
    ]
    done: set[str] = set()
    for page in (*PAGES, SpecOut, TeachOut):
        _model(page.__name__, page.model_json_schema(), lines, done)
        for name, schema in page.model_json_schema().get("$defs", {}).items():
            _model(name, schema, lines, done)
    return "\n".join(lines).rstrip() + "\n"


def _model(name: str, schema: dict[str, Any], lines: list[str], done: set[str]) -> None:
    if name in done:
        return
    done.add(name)
    lines += [f"## {name}", "", schema.get("description", ""), "", "| field | type | |", "|---|---|---|"]
    for field, inner in schema.get("properties", {}).items():
        lines.append(f"| `{field}` | {_type(inner)} | {escaped(inner.get('description', ''))} |")
    lines.append("")


def _type(inner: dict[str, Any]) -> str:
    if "anyOf" in inner:
        return " or ".join(_type(one) for one in inner["anyOf"])
    if "$ref" in inner:
        return inner["$ref"].rsplit("/", 1)[-1]
    if "enum" in inner:
        return ", ".join(map(str, inner["enum"]))
    if inner.get("type") == "array":
        return f"list of {_type(inner.get('items', {}))}"
    return str(inner.get("type", "any")).replace("null", "null")


def evidence_page() -> str:
    """What was checked against published works, what agrees, what does not and why; and the mutation result."""
    rows, known = test_published.summary(), library()
    total = {name: sum(row[name] for row in rows) for name in ("agree", "disagree", "read", "recalled")}
    lines = [NOTE, "", "# Evidence", ""]
    lines += [
        f"{total['agree'] + total['disagree']} published values are reached again by another path than the table they stand in: {total['agree']} agree to the work's own rounding, {total['disagree']} do not and are listed below. Of those that agree {total['read']} were read (in the work or where another repeats it) and {total['recalled']} recalled; recalled ones prove the arithmetic, not the figure.",
        "",
    ]
    lines += ["| file | work | agree | do not | read | recalled |", "|---|---|---:|---:|---:|---:|"]
    for row in rows:
        work = escaped(known.sources[row["work"]].work)
        lines.append(
            f"| {row['file']} | {work} | {row['agree']} | {row['disagree']} | {row['read']} | {row['recalled']} |"
        )
    lines += ["", "## What is checked, and by what other path", ""]
    lines += [f"- {row['file']}: {escaped(' '.join(row['about'].split()))}" for row in rows]
    lines += ["", "## What does not agree, and why", ""]
    for name, reasons in _disagreements().items():
        lines += [
            f"- {name}: {escaped(reason)} ({', '.join(places[:6])}{f' and {len(places) - 6} more' if len(places) > 6 else ''})"
            for reason, places in reasons.items()
        ]
    lines += ["", *(ROOT / "tests" / "mutation.md").read_text(encoding="utf-8").splitlines()]
    return "\n".join(lines).rstrip() + "\n"


def _disagreements() -> dict[str, dict[str, list[str]]]:
    """File to reason to places."""
    out: dict[str, dict[str, list[str]]] = {}
    for check in test_published.checks():
        if check.disagrees:
            out.setdefault(check.file, {}).setdefault(" ".join(check.disagrees.split()), []).append(check.place)
    return out


PAGES_OF = {
    "evidence.md": evidence_page,
    "rules.md": rules_page,
    "columns.md": columns_page,
    "commands.md": commands_page,
    "json.md": json_page,
}


def proved_rules() -> str:
    """data/proved.json: register, sources and rules as they are read from YAML, every rule proved anew."""
    known, folder = library(), library().folder
    names = [
        "columns.yaml",
        "sources.yaml",
        *(f"rules/{path.name}" for path in sorted((folder / "rules").glob("*.yaml"))),
    ]
    files = {name: yamlfile.load_file(folder / name, f"data/{name}") for name in names}
    problems = [problem for name in names[2:] for problem in check_file(files[name], known)[1]]
    if problems:
        raise InputError(problems)
    entries = [entry.get("values", ()) for section in files["columns.yaml"].data.values() for entry in section.values()]
    words = {word for values in entries for word in ([values] if isinstance(values, str) else values)}
    tables = {str(word).removeprefix("table:") for word in words if str(word).startswith("table:")}
    return proved.written(folder, tables, files)


def main() -> None:
    """Write every generated page, and the rules as they were proved."""
    (library().folder / proved.NAME).write_text(proved_rules(), encoding="utf-8")
    for name, page in PAGES_OF.items():
        (ROOT / "docs" / name).write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
