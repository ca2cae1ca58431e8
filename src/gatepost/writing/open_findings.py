"""Findings on the spec sheet: what is still open with the way out, what must be taken care of and when, what is not known."""

from __future__ import annotations

import re

from ..judging import severity_meaning
from ..planning import Bench, Care
from ..review import Found, Review, name_of
from ..units import least_printed, print_size
from . import review_sheet
from .blocks import Block, Entry, Heading, Paragraph, Table
from .choose_sheet import way_lines
from .findings import Finding, listed, notes
from .values import filled, one_unit

Numbers = dict[str, int]
"""The number on this sheet of each work, by its key."""
NOTE, SAFETY = "note", "safety"
WAY_SAID = "Way out: the smallest change that clears all that stops or asks for a fix there, as columns of the list and what to write in them."
_ASKED = re.compile(r": (\d+(?:\.\d+)?) mm\b")
_METRIC = re.compile(r"(?<![\w.#-])(?<!x )((?:\d+(?:\.\d+)? x )*\d+(?:\.\d+)?) mm\b")


def in_inches(way: str) -> str:
    """A way out with its millimetres in inches, a size that is asked for never less than it is.

    >>> in_inches("edge: 24.5 mm; gap: 9 mm (now 3.175 mm)"), in_inches("size: M10 x 120 mm")
    ('edge: 1"; gap: 3/8" (now 1/8")', 'size: M10 x 120 mm')
    """
    up = _ASKED.sub(lambda match: f": {print_size(least_printed(float(match[1]), 'in'), 'in')}", way)
    return _METRIC.sub(lambda match: " x ".join(print_size(float(one), "in") for one in match[1].split(" x ")), up)


def number_of(numbers: Numbers, key: str) -> str:
    """A work as the sheet cites it."""
    return f"[{numbers[key]}]" if key in numbers else "common practice"


def safety_blocks(made: Bench, units: str, numbers: Numbers) -> list[Block]:
    """What to take care of, stage by stage; what stops the work in a line, for it stands among the findings."""
    rows = [row for care in made.cares for row in _care_rows(made.review, care, units, numbers)]
    if not rows:
        return []
    caption = "The strictest limit is given. Labels, local codes and licensed practice go before it."
    return [Heading("Safety"), Table(["no.", "when", "for", "take care", "source"], rows, caption=caption)]


def _care_rows(review: Review, care: Care, units: str, numbers: Numbers) -> list[list[str]]:
    told: dict[str, list[str]] = {}
    for one in care.found:
        rule = one.rule.rule
        message, remedy = (
            one_unit(filled(text, review.facts, one.over, one.row, units), units)
            for text in (rule.message, rule.remedy)
        )
        told.setdefault(f"{message} {remedy}", []).append(_whose(review, one))
    source = number_of(numbers, care.found[0].rule.rule.source)
    return [
        [str(care.number), care.stage, ", ".join(dict.fromkeys(names)), text, source] for text, names in told.items()
    ]


def _whose(review: Review, one: Found) -> str:
    return "the whole" if one.over == "project" else name_of(review.facts, one.over, one.row)


def finding_blocks(made: Bench, units: str, numbers: Numbers) -> list[Block]:
    """Findings by severity as entries; notes of safety stand in their own table and are not said twice."""
    review, lines = made.review, way_lines(made.ways, made.review.facts)
    ways = {(str(over), row): in_inches(way) if units == "in" else way for (over, row), way in lines.items()}
    said: dict[tuple[str, int], str] = {}
    blocks: list[Block] = [Heading("Findings still open")]
    for severity, groups in review_sheet.grouped(review, units).items():
        entries = [_entry(made, group, units, numbers, ways, said) for group in groups if not _told_elsewhere(group[0])]
        if entries:
            blocks += [Heading(f"{severity.upper()}: {severity_meaning(severity)}", 3), *entries]
    alone = len(blocks) == 1
    if said:
        blocks.insert(1, Paragraph(WAY_SAID))
    if any(_told_elsewhere(one) for one in review.found):
        blocks.append(Paragraph(f"{'None but the notes that' if alone else 'Further notes'} stand under Safety."))
    elif alone:
        blocks.append(Paragraph("None."))
    return [*blocks, *_unknown(review, units)]


def _told_elsewhere(one: Found) -> bool:
    return one.rule.rule.topic == SAFETY and one.rule.rule.severity == NOTE


def _entry(
    made: Bench,
    group: list[Found],
    units: str,
    numbers: Numbers,
    ways: dict[tuple[str, int], str],
    said: dict[tuple[str, int], str],
) -> Entry:
    review, first = made.review, group[0]
    rule = first.rule.rule
    message, remedy, why = (
        one_unit(filled(text, review.facts, first.over, first.row, units), units)
        for text in (rule.message, rule.remedy, rule.why)
    )
    if rule.topic == SAFETY:
        remedy = f"See Safety, no. {next(care.number for care in made.cares if first in care.found)}."
    lines = [("To do", remedy), *_way_out(review, group, ways, said)]
    lines.append(("Why", f"{why} ({rule.rule}, {number_of(numbers, rule.source)})"))
    beneath = [one_unit(text, units) for text in review_sheet.beneath(review, group, units)]
    return Entry(review_sheet.title(review, group), message, lines, beneath)


def _way_out(
    review: Review, group: list[Found], ways: dict[tuple[str, int], str], said: dict[tuple[str, int], str]
) -> list[tuple[str, str]]:
    """What clears the rows of a group; a change that was already told is only referred to."""
    told: dict[str, list[str]] = {}
    for one in group:
        place = (one.over, one.row)
        if place in ways and one.rule.rule.severity != NOTE:
            before = said.setdefault(place, one.rule.rule.rule)
            again = f"the change under {before} clears this too" if before != one.rule.rule.rule else ways[place]
            told.setdefault(again, []).append(name_of(review.facts, *place))
    texts = [
        line if len(told) == 1 else f"{listed(list(dict.fromkeys(names)))}: {line}" for line, names in told.items()
    ]
    return [("Way out", ". ".join(texts) + ".")] if texts else []


def _unknown(review: Review, units: str) -> list[Block]:
    """What the lists do not say, what to do about it, and what waits."""
    found = notes(review)
    if not found:
        return []
    rows = [[one_unit(one.message, units), one.remedy, _waits(one)] for one in found]
    return [Heading("Not known", 3), Table(["not known", "to do", "rules that wait for it"], rows)]


def _waits(one: Finding) -> str:
    return one.why.removeprefix("Until then these rules cannot decide: ").removesuffix(".")
