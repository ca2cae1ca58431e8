"""Verbs, options, exit status: 0 done, 1 a finding at or above --fail-on, 2 the input or the call is wrong."""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path, PurePath
from typing import Any

import click

from . import __interrupted__, __version__
from .calls import (
    apply_choices,
    day_of,
    exit_status,
    named_part,
    output_option,
    print_accepted,
    print_document,
    print_json,
    print_options,
    print_records,
    print_rows,
    project_facts,
    project_options,
    read_project,
    review_json,
    review_large,
    review_project,
    say_counts,
    source_of,
    ways_of,
)
from .errors import InputError, Problem
from .limits import limit
from .output import buffer_output, refuse, swallow_output, unwritable

GARBAGE_AFTER = 200_000
"""Objects before garbage is collected: reading the knowledge makes many that all stay."""


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="gatepost")
def cli() -> None:
    """Durability adviser for woodwork that stands outdoors.

    Reads a parts list, says what will go wrong and why, how much each part moves, and writes the spec sheet.
    PROJECT is a project file (YAML), a bare parts list (CSV, XLSX), or - for CSV on standard input.

    Exit status: 0 done, 1 a finding at or above --fail-on, 2 the input or the call is wrong.
    """


@cli.command(epilog="Example: gatepost new entrance --demo faulty")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--demo",
    type=click.Choice(["faulty", "sound"]),
    help="Write the orchard demo with its honest mistakes, or put right.",
)
def new(folder: Path, demo: str | None) -> None:
    """Write a small commented project to fill in, or a demo."""
    from .library import data_folder
    from .rewriting.place import put

    source = data_folder() / "demo" / (demo or "blank")
    files = {PurePath(path.name): path.read_bytes() for path in sorted(source.iterdir()) if path.is_file()}
    put(files, folder, source / "project.yaml")
    names = ", ".join(map(str, files))
    click.echo(f"Wrote {names} to {folder}. Next: gatepost review {folder / 'project.yaml'}", err=True)


@cli.command(epilog="Example: gatepost review project.yaml --format md --fail-on stop")
@click.argument("project")
@print_options
@project_options
@click.option("--prose", is_flag=True, help="With --format csv: message and remedy too.")
@click.option("--way-out", "way_out", is_flag=True, help="Add the smallest change that clears each stop and fix.")
def review(project: str, form: str, prose: bool, way_out: bool, **call: Any) -> int:
    """Weather problems, worst first, each with part, reason, remedy and source."""
    from .writing import review_sheet

    with source_of(project, form == "csv" and not way_out) as (source, long):
        if long is not None:
            return exit_status(review_large(long, prose, call), call)
        made, units = review_project(source, call)
    ways = ways_of(made) if way_out else None
    lines = ways[1] if ways else {}
    if form == "json":
        print_json(review_json(made, units, ways))
    elif form in ("csv", "md"):
        print_rows(review_sheet.rows(made, prose or form == "md", units, lines), form)
        print_accepted(made, units, form)
        say_counts(made)
    else:
        print_document(review_sheet.document(made, units, lines), form)
    return exit_status(made.counts, call)


@cli.command(epilog="Example: gatepost movement project.yaml --built May --units both")
@click.argument("project")
@print_options
@project_options
@click.option("--built", metavar="MONTH", help="Month of assembly: the gap to leave is for the site's air in it.")
def movement(project: str, form: str, built: str | None, **call: Any) -> int:
    """Seasonal swing of each part, and the gap to leave on the day of assembly."""
    from .deriving import derive
    from .review import review_facts
    from .writing import movement_sheet

    read, units = read_project(project, call, built)
    if read.site is None:
        raise InputError("movement needs the climate of a place: give --site PLACE, or `site` in the project file")
    facts = derive(read)
    if form in ("json", "csv"):
        out = movement_sheet.movement_out(facts)
        print_json(out) if form == "json" else print_records([part.model_dump() for part in out.parts])
    else:
        print_document(movement_sheet.movement_document(facts, units), form)
    return exit_status(review_facts(facts, None, call["rule_files"]).counts, call) if call["fail_on"] else 0


@cli.command(epilog="Example: gatepost fasteners project.yaml --units both")
@click.argument("project")
@print_options
@project_options
def fasteners(project: str, form: str, **call: Any) -> int:
    """For each joint: kind, size, metal and coat, holes, count and places, how long the metal lasts."""
    from .choosing import schedule
    from .review import review_facts
    from .writing import fastener_sheet

    facts, rules, units = project_facts(project, call)
    made = schedule(facts, rules)
    if form == "json":
        print_json(fastener_sheet.fasteners_out(made))
    elif form == "csv":
        print_records(fastener_sheet.records(made))
    else:
        print_document(fastener_sheet.document(made, units), form)
    return exit_status(review_facts(facts, rules).counts, call) if call["fail_on"] else 0


@cli.command(epilog='Example: gatepost choose project.yaml --part "gate board"')
@click.argument("project")
@print_options
@project_options
@click.option("--part", metavar="NAME", help="Only this part and its joints.")
@click.option(
    "--by",
    type=click.Choice(["cost-per-year", "cost", "life", "upkeep"]),
    help="What ranks; without prices life and upkeep alone can.",
)
@click.option(
    "--stock",
    metavar="FILE",
    help="What the shop can take (CSV, XLSX), in columns of the parts list; nothing else is offered.",
)
@click.option(
    "--apply",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Write the project with ways out and first choices into DIR, never over the original.",
)
@click.option("--why", metavar="MATERIAL", help="With --part: why this material is not offered, or its rank.")
def choose(
    project: str, form: str, part: str | None, by: str | None, why: str | None, folder: Path | None, **call: Any
) -> int:
    """For each part and joint: what to buy, ranked, so that all of it passes the review together."""
    from .choosing import choose as choose_for
    from .choosing import ranking
    from .choosing import why as why_not
    from .review import review_facts
    from .writing import choose_sheet

    facts, rules, units = project_facts(project, call)
    row = named_part(facts, part)
    if why is not None and row is None:
        raise InputError([Problem("--why", None, None, "needs --part NAME: the part that the material is for")])
    made = choose_for(facts, rules, ranking(by, facts.project.prices))
    found = review_facts(facts, rules)
    if folder is not None:
        apply_choices(project, made, facts, folder, call)
    elif why is not None and row is not None:
        told = why_not(made, rules, row, why)
        click.echo(choose_sheet.why_line(told, made, row, why, choose_sheet.choose_out(made, found, units)))
    elif form == "json":
        print_json(choose_sheet.choose_out(made, found, units))
    elif form == "csv":
        print_records(choose_sheet.records(choose_sheet.choose_out(made, found, units)))
    else:
        print_document(choose_sheet.document(made, found, units, part, by), form)
    return exit_status(found.counts, call) if call["fail_on"] else 0


@cli.command(epilog="Example: gatepost spec project.yaml -o sheet.html")
@click.argument("project")
@output_option("File to write; the suffix tells the format: .html .pdf .xlsx .md .json.")
@project_options
def spec(project: str, output: Path, **call: Any) -> int:
    """The spec sheet: classes, treatment, movement, joints, safety, findings and sources."""
    from .planning import bench
    from .writing.save import checked_suffix, write

    checked_suffix(output)
    made, units = review_project(project, call)
    write(bench(made), output, units, day_of(call["day"]))
    return exit_status(made.counts, call)


@cli.command(
    epilog='Example: gatepost teach project.yaml --part "gate board" --against "black locust heartwood" -o board.html'
)
@click.argument("project")
@click.option("--part", required=True, metavar="NAME", help="A part of the list.")
@click.option(
    "--against",
    required=True,
    multiple=True,
    metavar="CHOICE",
    help="A material as a parts list writes it; may be given twice.",
)
@click.option(
    "--interest",
    type=click.FloatRange(0, 30),
    default=0.0,
    metavar="PERCENT",
    help="Discount later costs at so much a year; without it nothing is discounted.",
)
@output_option("File to write; the suffix tells the format: .html .pdf .md .json.")
@project_options
def teach(project: str, part: str, against: tuple[str, ...], interest: float, output: Path, **call: Any) -> int:
    """One page for the client: a part in two or three materials, their life, money and upkeep drawn, and why."""
    from .choosing.teach import compare
    from .review import review_facts
    from .writing import teach_sheet

    teach_sheet.checked_suffix(output)
    facts, rules, units = project_facts(project, call)
    made = compare(facts.project, part, against, rules, facts.library, interest)
    teach_sheet.write(made, output, units, day_of(call["day"]))
    return exit_status(review_facts(facts, rules).counts, call) if call["fail_on"] else 0


@cli.command(
    epilog='Example: gatepost site "Madison, WI" -o year.svg', context_settings={"ignore_unknown_options": True}
)
@click.argument("place")
@output_option("File to draw the year into instead of printing it; its suffix is .svg.", required=False)
@click.option(
    "--so2", type=float, metavar="MG", help="SO2 that settles there, mg on a square metre a day; with --chloride."
)
@click.option("--chloride", type=float, metavar="MG", help="Chloride that settles there, in the same unit; with --so2.")
@print_options
def site(place: str, output: Path | None, so2: float | None, chloride: float | None, form: str) -> None:
    """The climate that is used for PLACE: a name, LAT,LON, or an hourly weather file (.epw)."""
    from .deriving.site import facts_of_place
    from .library import library
    from .reading import ARGUMENT, find_site
    from .writing import sheets

    known = library()
    found = find_site({"place": place, **_deposits(so2, chloride)}, known, ARGUMENT)
    page = sheets.site_page(found, facts_of_place(found, known), known)
    if output:
        from .writing.site_picture import write

        write(page, output, known)
    elif form == "json":
        print_json(page)
    elif form == "csv":
        print_records([month.model_dump() for month in page.months])
    else:
        print_document(sheets.site_document(page, known), form)


def _deposits(so2: float | None, chloride: float | None) -> dict[str, float | None]:
    """The two deposits as keys of a site; both or neither, in the bounds of the project file."""
    from .reading.settings import DEPOSITS, MOST_MG_M2_D

    given = {"--so2": so2, "--chloride": chloride}
    problems = [
        Problem(option, None, None, f"must lie between 0 and {MOST_MG_M2_D:g}, not {value:g}")
        for option, value in given.items()
        if value is not None and not 0 <= value <= MOST_MG_M2_D
    ]
    if (so2 is None) != (chloride is None):
        problems.append(Problem("--so2", None, None, "goes with --chloride; give both or neither"))
    if problems:
        raise InputError(problems)
    return dict(zip(DEPOSITS, given.values(), strict=True))


@cli.command(epilog="Example: gatepost rules --check our_rules.yaml")
@click.argument("rule", required=False)
@click.option(
    "--check",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Check a shop's own rules; every problem with its line.",
)
@print_options
def rules(rule: str | None, check: Path | None, form: str) -> None:
    """List the rules, explain one, or check a shop's own."""
    from .judging import load_rules
    from .library import library
    from .writing import sheets

    known = library()
    loaded = load_rules(known, [check] if check else [])
    if check:
        own = [one for one in loaded if one.place == str(check)]
        click.echo(f"{check}: {len(own)} rules, each proved by its own examples.", err=True)
        loaded = own
    if rule:
        loaded = [sheets.find_rule(loaded, rule)]
    if form in ("json", "csv"):
        out = sheets.rules_out(loaded)
        print_json(out) if form == "json" else print_records([one.model_dump() for one in out.rules])
    elif rule:
        print_document(sheets.rule_document(loaded[0], known), form)
    elif not check:
        print_document(sheets.rules_document(loaded), form)


@cli.command(epilog="Example: gatepost lookup species larch")
@click.argument("table", required=False)
@click.argument("word", required=False)
@print_options
def lookup(table: str | None, word: str | None, form: str) -> None:
    """Rows of a TABLE of the library that hold a word beginning with WORD; without a table, the tables."""
    from .library import library
    from .writing import sheets

    known = library()
    out = sheets.lookup_out(known, table, word) if table else sheets.tables_out(known)
    if form in ("json", "csv"):
        print_json(out) if form == "json" else print_records(out.rows)
    else:
        print_document(sheets.lookup_document(out), form)


def main(arguments: list[str] | None = None) -> None:
    """The entry point: every way out has its promised status, and no traceback reaches a user."""
    gc.set_threshold(GARBAGE_AFTER)
    try:
        status = _called(arguments)
    except BrokenPipeError:
        swallow_output()
        status = 0
    except InputError as error:
        status = refuse(map(str, error.problems[: limit("PROBLEMS")]), more=len(error.problems) - limit("PROBLEMS"))
    except click.ClickException as error:
        status = refuse([error.format_message()], error)
    except (click.Abort, KeyboardInterrupt):
        status = refuse([__interrupted__])
    except OSError as error:
        status = refuse([unwritable(error)])
        swallow_output()
    except MemoryError:
        status = refuse(["gatepost: the memory of this machine is too small for this list; split it"])
    except Exception as error:
        status = refuse(
            [
                f"gatepost: something unforeseen went wrong ({type(error).__name__}: {error}). Nothing was written; please report it with the file that caused it."
            ]
        )
    sys.exit(status if isinstance(status, int) else 0)


def _called(arguments: list[str] | None) -> object:
    """What the verb returns, all of its output flushed. Where the reader of the output is gone, click puts another
    output in place and ends with status 1, which is promised for findings alone."""
    before = sys.stdout
    try:
        status = cli.main(arguments, standalone_mode=False)
    except SystemExit:
        if sys.stdout is before:
            raise
        sys.stdout = before
        raise BrokenPipeError from None
    if sys.stdout is not None:
        sys.stdout.flush()
    return status


def entry() -> None:
    """The console script: all is written and flushed, so the interpreter need not be taken down piece by piece."""
    buffer_output()
    try:
        main()
    except SystemExit as left:
        sys.stderr.flush()
        os._exit(left.code if isinstance(left.code, int) else 0)
