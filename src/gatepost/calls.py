"""What the verbs share: their options, how the project is read, and how answers are printed."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .errors import InputError, Problem, did_you_mean, harmless

if TYPE_CHECKING:
    from .choosing import Chosen, Ways
    from .deriving import Facts
    from .judging import Compiled
    from .project import Project
    from .reading import Call, Long
    from .reading.files import Rows
    from .review import Review
    from .writing.blocks import Document

LARGE_BYTES = 4_000_000
"""Above that a bare CSV list is reviewed piece by piece when CSV is asked for: some 50,000 rows."""
FORMATS = ("table", "json", "csv", "md")
Command = Callable[..., Any]


def _options(*options: Command) -> Command:
    def add(function: Command) -> Command:
        for option in reversed(options):
            function = option(function)
        return function

    return add


def output_option(told: str, required: bool = True) -> Command:
    """`-o FILE`, with what is told of it."""
    kind = click.Path(path_type=Path)
    return click.option("-o", "--output", "output", required=required, metavar="FILE", type=kind, help=told)


print_options = _options(
    click.option(
        "--format", "form", type=click.Choice(FORMATS), default="table", show_default=True, help="How to print."
    )
)
project_options = _options(
    click.option(
        "--site",
        metavar="PLACE",
        help="Place whose climate is used: a name of the table, LAT,LON, or a weather file (.epw).",
    ),
    click.option(
        "--units",
        type=click.Choice(["in", "mm", "both"]),
        help="Units that are printed; for a list without a project file, what bare numbers mean too.",
    ),
    click.option(
        "--scheme", type=click.Choice(["us", "eu"]), help="Whose class names are printed and which rules speak."
    ),
    click.option(
        "--rules",
        "rule_files",
        metavar="FILE",
        multiple=True,
        type=click.Path(path_type=Path),
        help="A shop's own rules; may be repeated.",
    ),
    click.option(
        "--prices",
        metavar="FILE",
        help="Price file (CSV, XLSX): item, unit, price, currency; beats `prices` of the project file.",
    ),
    click.option(
        "--fail-on",
        type=click.Choice(["stop", "fix", "note"]),
        help="Exit with status 1 when a finding is at or above this.",
    ),
    click.option(
        "--date", "day", metavar="YYYY-MM-DD", help="Date written on sheets; else SOURCE_DATE_EPOCH, else today."
    ),
)


def read_project(project: str | Rows, call: dict[str, Any], built: str | None = None) -> tuple[Project, str]:
    """The project as read, and the units to print."""
    from .reading import month_number, read

    try:
        month = month_number(built) if built else None
    except ValueError as error:
        raise InputError([Problem("--built", None, None, str(error))]) from None
    asked = _asked(call, month)
    day_of(call["day"])
    found = read(project, asked)
    return found, call["units"] or found.units


def _asked(call: dict[str, Any], month: int | None = None) -> Call:
    from .reading import Call

    return Call(call["site"], call["scheme"], call["units"], month, call["prices"], call.get("stock"))


def review_project(project: str | Rows, call: dict[str, Any]) -> tuple[Review, str]:
    """The review of the project, and the units to print."""
    from .review import review

    read, units = read_project(project, call)
    return review(read, None, rule_files(read, call)), units


@contextmanager
def source_of(project: str, by_pieces: bool) -> Iterator[tuple[str | Rows, Long | None]]:
    """What is reviewed, and its list where that is so long that it is read piece by piece, if it may be.

    Standard input that is long is put into a file for the time.
    """
    if not by_pieces:
        yield project, None
        return
    from .reading import long_input, long_list
    from .reading.files import STANDARD_INPUT, csv_rows, standard_input

    if project != "-":
        yield project, long_list(project, LARGE_BYTES)
        return
    data = standard_input()
    if len(data) <= LARGE_BYTES:
        yield csv_rows(data, STANDARD_INPUT), None
        return
    # Slow to load, and of use to long standard input alone.
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        path = Path(folder) / "parts.csv"
        path.write_bytes(data)
        del data
        yield project, long_input(path)


def review_large(long: Long, prose: bool, call: dict[str, Any]) -> dict[str, int]:
    """Print the findings of a long list as CSV, and on standard error how many rows were read; returns the counts."""
    from .crew import findings_of
    from .judging import load_rules
    from .large import Catalogue, Gathered, LongList
    from .library import library
    from .missing import Unknowns
    from .writing.findings import MOST_NAMES
    from .writing.large_csv import LargeCsv
    from .writing.review_sheet import rows_line

    day_of(call["day"])
    known = library()
    listed = LongList(long, _asked(call), known, _progress())
    head = listed.head()
    files = rule_files(head, call)
    rules = load_rules(known, files)
    catalogue, gathered = Catalogue(known, rules, prose), Gathered(Unknowns(known, head.site is not None), MOST_NAMES)
    with LargeCsv(rules, prose) as out:
        findings_of(listed, catalogue, gathered, out, files)
        out.finish(catalogue, gathered, head.name)
        for block in out.blocks():
            click.echo(block, nl=False)
    _say(listed.said, rows_line(listed.given, listed.read, 0, out.counts))
    return out.counts


def say_counts(made: Review) -> None:
    """On standard error beside rows: what was assumed of the project, and how many rows became what."""
    from .writing.review_sheet import count_line

    _say(made.facts.project.said, count_line(made))


def _say(said: Iterable[str], counts: str) -> None:
    for text in [*said, counts]:
        click.echo(harmless(text), err=True)


def _progress() -> Callable[[int], None]:
    """Says how far the reading is where a person looks on."""
    if sys.stderr.isatty():
        return lambda rows: click.echo(f"{rows} rows read\r", err=True, nl=False)
    return lambda _: None


def project_facts(project: str, call: dict[str, Any]) -> tuple[Facts, list[Compiled], str]:
    """The facts of the project, the rules that speak on it, and the units to print."""
    from .deriving import derive
    from .judging import load_rules

    read, units = read_project(project, call)
    facts = derive(read)
    return facts, list(load_rules(facts.library, rule_files(read, call))), units


def named_part(facts: Facts, name: str | None) -> int | None:
    """The row of the part of that name, the first of several; InputError with the nearest names where none is."""
    names = [str(part) for part in facts.parts["part"]]
    if name is None:
        return None
    if name not in names:
        raise InputError([Problem("--part", None, None, f"no part is called {name}{did_you_mean(name, names)}")])
    return names.index(name)


def rule_files(read: Project, call: dict[str, Any]) -> list[Path]:
    """The shop's own rules: those that the project file names, beside it, and those of the call."""
    return [*(Path(read.place).parent / name for name in read.rule_files), *call["rule_files"]]


def exit_status(counts: dict[str, int], call: dict[str, Any]) -> int:
    """1 where --fail-on is given and reached by the findings, counted by severity."""
    from .review import reaches

    return int(bool(call["fail_on"]) and reaches(counts, call["fail_on"]))


def day_of(text: str | None) -> date:
    """The date written on sheets: as given, else SOURCE_DATE_EPOCH, else today."""
    try:
        if text:
            return date.fromisoformat(text)
        epoch = os.environ.get("SOURCE_DATE_EPOCH")
        return datetime.fromtimestamp(int(epoch), UTC).date() if epoch else date.today()
    except (ValueError, OverflowError, OSError):
        raise InputError([Problem("--date", None, None, "must be a day such as 2026-05-01")]) from None


def print_document(document: Document, form: str) -> None:
    """A document as a table or as Markdown."""
    from .writing import markdown, terminal

    click.echo(markdown.render(document) if form == "md" else terminal.render(document), nl=False)


def print_json(model: Any) -> None:
    """A model as JSON."""
    from .writing.plain import escaped

    click.echo(escaped(model.model_dump_json(indent=1)))


def print_rows(rows: list[list[str]], form: str) -> None:
    """Rows, the first of them the header, as CSV or Markdown."""
    import csv
    import io

    from .writing import markdown
    from .writing.blocks import Document, Table
    from .writing.plain import typed_in

    if form == "md":
        click.echo(markdown.render(Document("Findings").add(Table(rows[0], rows[1:]))), nl=False)
    else:
        text = io.StringIO()
        csv.writer(text, lineterminator="\n").writerows([typed_in(cell) for cell in row] for row in rows)
        click.echo(text.getvalue(), nl=False)


def print_records(records: Iterable[dict[str, Any]]) -> None:
    """Records as CSV, a column a field."""
    records = list(records)
    header = list(records[0]) if records else []
    print_rows(
        [header, *([("" if row[name] is None else str(row[name])) for name in header] for row in records)], "csv"
    )


def apply_choices(project: str, made: Chosen, facts: Facts, folder: Path, call: dict[str, Any]) -> None:
    """Write the project with ways out and first choices in place into `folder`, and say what its review finds."""
    from .choosing import first_changes
    from .review import review
    from .rewriting import Change, rewrite

    cells = [Change(one.over, one.row, one.column, one.new) for one in first_changes(made, facts)]
    files = rewrite(project, cells, folder, _asked(call))
    read, _ = read_project(str(files[0]), call)
    counts = review(read, None, rule_files(read, call)).counts
    left = f"{counts['stop']} stop, {counts['fix']} fix, {counts['note']} note"
    click.echo(f"Wrote {len(cells)} cells into {files[0]}. Its review finds {left}.", err=True)


def ways_of(made: Review) -> tuple[Ways, dict[tuple[str, int], str]]:
    """Ways out of what was found, and each as a line."""
    from .choosing import find_ways
    from .writing.choose_sheet import way_lines

    found = find_ways(made.facts, made.judgement.rules)
    return found, {(over, row): line for (over, row), line in way_lines(found, made.facts).items()}


def review_json(made: Review, units: str, ways: tuple[Ways, dict[tuple[str, int], str]] | None) -> Any:
    """The review as JSON, with its ways out where they were asked for."""
    from .writing.review_json import as_json

    out = as_json(made, units)
    if ways:
        from .writing.choose_sheet import add_ways

        add_ways(out, ways[0], made.facts)
    return out


def print_accepted(made: Review, units: str, form: str) -> None:
    """Accepted findings beside the rows: whole beneath a Markdown table; cautions on standard error beside a CSV."""
    from .writing import review_sheet
    from .writing.blocks import Document

    entries = review_sheet.accepted_entries(made, units)
    if form == "md" and entries:
        click.echo()
        print_document(Document("Accepted", "The shop lives with these; they are not counted.").add(*entries), "md")
    for line in review_sheet.cautions(made, units) if form == "csv" else []:
        click.echo(line, err=True)
