"""A review to be read: as a document, and as rows."""

from __future__ import annotations

from collections.abc import Mapping

from ..judging import SEVERITIES, severity_meaning
from ..review import Found, Review, name_of
from .blocks import Block, Document, Entry, Heading, Paragraph
from .findings import cited, finding, listed, notes
from .values import filled, plain_value

Lines = Mapping[tuple[str, int], str]
"""For the rows of a list what clears their stops and fixes, in a line."""
NO_LINES: Lines = {}
HEADINGS = ["row", "kind", "name", "rule", "topic", "severity"]
PROSE = ["message", "remedy"]


def rows(review: Review, prose: bool, units: str, ways: Lines = NO_LINES) -> list[list[str]]:
    """A heading row, then one row a finding: row, kind, name, rule, topic, severity; message and remedy with `prose`.

    ways  adds a column with the way out
    """
    kinds = {"parts": "part", "joints": "joint", "project": "project"}
    out = [[*HEADINGS, *(PROSE if prose else [])]]
    out[0] += ["way out"] if ways else []
    for one in review.found:
        if one.accepted is None:
            rule = one.rule.rule
            texts = (
                [filled(text, review.facts, one.over, one.row, units) for text in (rule.message, rule.remedy)]
                if prose
                else []
            )
            out.append(
                [
                    str(one.row + 1),
                    kinds[one.over],
                    name_of(review.facts, one.over, one.row),
                    rule.rule,
                    rule.topic,
                    rule.severity,
                    *texts,
                    *([_way(one, ways)] if ways else []),
                ]
            )
    unknown = notes(review)
    name = review.facts.project.name
    out += [
        [
            "1",
            "project",
            name,
            note.rule,
            note.topic,
            note.severity,
            *([note.message, note.remedy] if prose else []),
            *([""] if ways else []),
        ]
        for note in unknown
    ]
    return out


def _way(one: Found, ways: Lines) -> str:
    grave = one.rule.rule.severity != "note"
    return ways.get((one.over, one.row), "") if grave else ""


def document(review: Review, units: str, ways: Lines = NO_LINES) -> Document:
    """The review to be read: worst first, what accounts for others above them, alike findings together.

    ways  lines that clear the rows, to be shown under each stop and fix
    """
    project = review.facts.project
    out = Document(f"{project.name}: review", head_line(review))
    out.add(Paragraph(count_line(review)))
    out.add(*finding_blocks(review, units, ways))
    unknown = notes(review)
    if unknown:
        out.add(Heading("NOT KNOWN: what the lists do not say, and what waits for it"))
        out.add(*(Entry("Not known", note.message, [("To do", note.remedy), ("Waits", note.why)]) for note in unknown))
    return out.add(*accepted_blocks(review, units), *said_blocks(review))


def head_line(review: Review) -> str:
    """Place, scheme and wanted life in one line."""
    project = review.facts.project
    place = project.site.name if project.site else "no site given"
    life = plain_value(review.facts.whole["life_wanted_years"].iat[0])
    return f"{place}; scheme {project.scheme}; wanted life {life} years"


def count_line(review: Review) -> str:
    """Rows and findings in one line."""
    return rows_line(
        review.facts.project.counts.given, len(review.facts.parts), len(review.facts.joints), review.counts
    )


def rows_line(given: int, parts: int, joints: int, counts: Mapping[str, int]) -> str:
    """How many rows became what, and how many findings there are."""
    rows = f"{given} rows given: {parts} parts and {joints} joints read, {given - parts - joints} set aside."
    return f"{rows} Findings: {counts['stop']} stop, {counts['fix']} fix, {counts['note']} note."


def finding_blocks(review: Review, units: str, ways: Lines = NO_LINES) -> list[Block]:
    """Findings by severity as entries."""
    blocks: list[Block] = []
    for severity, groups in grouped(review, units).items():
        blocks.append(Heading(f"{severity.upper()}: {severity_meaning(severity)}"))
        blocks += [_entry(review, group, units, ways) for group in groups]
    return blocks


def grouped(review: Review, units: str) -> dict[str, list[list[Found]]]:
    """Findings that are not accepted by severity, worst first: alike ones together, without those that others account for."""
    shown = _shown(review)
    out = {}
    for severity in SEVERITIES:
        of_severity = [
            one for one in shown if one.rule.rule.severity == severity and not _is_beneath(one, shown, review)
        ]
        if of_severity:
            out[severity] = _alike(of_severity, review, units)
    return out


def _shown(review: Review) -> list[Found]:
    return [one for one in review.found if one.accepted is None]


def _is_beneath(one: Found, shown: list[Found], review: Review) -> bool:
    return one.explained_by is not None and any(
        other.rule.rule.rule == one.explained_by and _same_place(other, one, review) for other in shown
    )


def _same_place(a: Found, b: Found, review: Review) -> bool:
    if (a.over, a.row) == (b.over, b.row) or a.over == "project":
        return True
    joints = review.facts.joints
    if a.over == "parts" and b.over == "joints":
        return a.row in (joints["a_row"].iat[b.row], joints["b_row"].iat[b.row])
    return (
        a.over == "joints" and b.over == "parts" and b.row in (joints["a_row"].iat[a.row], joints["b_row"].iat[a.row])
    )


def _alike(found: list[Found], review: Review, units: str) -> list[list[Found]]:
    """Findings of one rule with the same words stand together."""
    groups: dict[tuple[str, str, str], list[Found]] = {}
    for one in found:
        rule = one.rule.rule
        texts = [filled(text, review.facts, one.over, one.row, units) for text in (rule.message, rule.remedy)]
        groups.setdefault((rule.rule, texts[0], texts[1]), []).append(one)
    return list(groups.values())


def _entry(review: Review, group: list[Found], units: str, ways: Lines) -> Entry:
    first = group[0]
    rule, facts = first.rule.rule, review.facts
    message, remedy, why = (
        filled(text, facts, first.over, first.row, units) for text in (rule.message, rule.remedy, rule.why)
    )
    lines = [
        ("To do", remedy),
        ("Why", why),
        ("Source", cited(review, rule.source, first.rule.status)),
        ("Rule", rule.rule),
    ]
    rests = list(dict.fromkeys(text for one in group for text in one.rests_on))
    lines += [("Rests on", "; ".join(rests))] if rests else []
    lines += _way_out(review, group, ways)
    return Entry(title(review, group), message, lines, beneath(review, group, units))


def _way_out(review: Review, group: list[Found], ways: Lines) -> list[tuple[str, str]]:
    """What clears the rows of a group, those of one way together."""
    told: dict[str, list[str]] = {}
    for one in group:
        if _way(one, ways):
            told.setdefault(_way(one, ways), []).append(name_of(review.facts, one.over, one.row))
    alone = len(told) == 1
    texts = [line if alone else f"{listed(list(dict.fromkeys(names)))}: {line}" for line, names in told.items()]
    return [("Way out", ". ".join(texts))] if texts else []


def beneath(review: Review, group: list[Found], units: str) -> list[str]:
    """What the findings of a group account for, alike ones together."""
    told: dict[tuple[str, str], list[str]] = {}
    own = {(one.over, one.row) for one in group}
    for other in _shown(review):
        rule = other.rule.rule
        if other.explained_by == group[0].rule.rule.rule and any(_same_place(one, other, review) for one in group):
            message = filled(rule.message, review.facts, other.over, other.row, units)
            names = told.setdefault((message, rule.rule), [])
            if (other.over, other.row) not in own or len(group) > 1:
                names.append(name_of(review.facts, other.over, other.row))
    return [f"{_also(names)}{message} ({rule})" for (message, rule), names in told.items()]


def _also(names: list[str]) -> str:
    return f"also, {listed(names)}: " if names else "also: "


def title(review: Review, group: list[Found]) -> str:
    """The names of a group's parts or joints."""
    if group[0].over == "project":
        return "Project"
    names = [name_of(review.facts, one.over, one.row) for one in group]
    counts: dict[str, int] = {}
    for name in names:
        counts[name] = counts.get(name, 0) + 1
    kind = "" if group[0].over == "parts" else "joint "
    return kind + ", ".join(name if times == 1 else f"{name} ({times} rows)" for name, times in counts.items())


def accepted_blocks(review: Review, units: str) -> list[Block]:
    """Findings that the shop has decided to live with; a stop keeps its caution."""
    entries = accepted_entries(review, units)
    return (
        [Heading("ACCEPTED: the shop has decided to live with these; they are not counted"), *entries]
        if entries
        else []
    )


def accepted_entries(review: Review, units: str) -> list[Entry]:
    """One entry an accepted finding, with the shop's reason and, for a stop, its caution."""
    entries = []
    for one in review.found:
        if one.accepted is None:
            continue
        out = finding(review, one, units)
        caution = [("Caution", out.why)] if out.severity == "stop" else []
        entries.append(
            Entry(
                name_of(review.facts, one.over, one.row),
                out.message,
                [("Reason", str(one.accepted)), ("Rule", f"{out.rule} ({out.severity})"), *caution],
            )
        )
    return entries


def cautions(review: Review, units: str) -> list[str]:
    """A line for each accepted stop, for outputs that have no room for more."""
    told = [(entry.title, dict(entry.lines)) for entry in accepted_entries(review, units)]
    return [
        f"accepted, {name}: {lines['Rule']}. Caution: {lines['Caution']}" for name, lines in told if "Caution" in lines
    ]


def said_blocks(review: Review) -> list[Block]:
    """What was assumed for the project as a whole."""
    said = review.facts.project.said
    return [Heading("Assumed"), *(Paragraph(_sentence(text)) for text in said)] if said else []


def _sentence(text: str) -> str:
    """A remark with its point and capital; the name of a file in front keeps its letters."""
    return f"{text}." if text.split(" ", maxsplit=1)[0].endswith(":") else f"{text[:1].upper()}{text[1:]}."
