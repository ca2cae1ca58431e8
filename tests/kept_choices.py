"""Small invented projects with all that is chosen, scheduled and compared for them, kept.

`python tests/kept_choices.py` writes it anew after a change that is meant; look at the difference before committing.
"""

from __future__ import annotations

import functools
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from gatepost.choosing import Chosen, choose, first_changes, ranking, schedule, why
from gatepost.choosing.teach import compare
from gatepost.deriving import Facts, derive
from gatepost.judging import load_rules
from gatepost.library import library
from gatepost.reading import read
from gatepost.review import Review, review_facts
from gatepost.writing.choose_sheet import choose_out, why_line
from gatepost.writing.fastener_sheet import fasteners_out
from gatepost.writing.teach_sheet import comparison_out

FOLDER = Path(__file__).resolve().parent / "choices"


@dataclass(frozen=True)
class Asked:
    """What is asked of a project: what ranks, `why` for a part and a material, and comparisons of parts."""

    by: str | None
    why: tuple[tuple[str, str], ...]
    teach: tuple[tuple[str, tuple[str, ...], float], ...]


ASKED = {
    "goat_yard_us": Asked(
        None,
        (("corner post", "red oak"), ("rail", "western red cedar heartwood"), ("slat", "ipe heartwood")),
        (
            ("bench leg", ("western red cedar", "PT southern pine MCA 0.15 pcf UC4A"), 0.0),
            ("rail", ("ipe heartwood",), 0.0),
        ),
    ),
    "bus_shelter_eu": Asked(
        "cost",
        (("post", "Norway spruce"), ("seat", "robinia heartwood"), ("back panel", "12 mm EN 636-3 plywood")),
        (("back board", ("European larch heartwood",), 2.0), ("seat", ("robinia heartwood",), 0.0)),
    ),
    "boat_landing_eu": Asked(
        "upkeep",
        (("pile", "European oak heartwood"), ("deck board", "European larch heartwood")),
        (("deck board", ("European oak heartwood",), 0.5), ("notice board", ("9 mm marine plywood",), 0.0)),
    ),
    "sand_pit_us": Asked(
        None,
        (("side", "redwood heartwood"), ("corner seat", "white oak")),
        (("corner seat", ("western red cedar heartwood",), 0.0),),
    ),
}
KNOWN = library()
RULES = list(load_rules(KNOWN))


@functools.cache
def made(name: str) -> tuple[Facts, Review, Chosen]:
    """The facts of a project, its review, and what is chosen."""
    facts = derive(read(FOLDER / name / "project.yaml"))
    return facts, review_facts(facts, RULES), choose(facts, RULES, ranking(ASKED[name].by, facts.project.prices))


def choices(name: str) -> dict[str, Any]:
    """Choices and ways out of each row."""
    facts, found, chosen = made(name)
    out = choose_out(chosen, found, facts.project.units).model_dump(mode="json")
    rows = [(row.get("part") or row["joint"], row) for row in [*out["parts"], *out["joints"]]]
    return {one: {key: row[key] for key in ("choices", "way_out", "blocked_by")} for one, row in rows}


def changes(name: str) -> list[dict[str, Any]]:
    """Cells that the first choices write."""
    facts, _, chosen = made(name)
    return [asdict(one) for one in first_changes(chosen, facts)]


def reasons(name: str) -> list[str]:
    """Why some materials are not offered, or where they stand."""
    facts, found, chosen = made(name)
    out = choose_out(chosen, found, facts.project.units)
    rows = [(facts.parts["part"].tolist().index(part), text) for part, text in ASKED[name].why]
    return [why_line(why(chosen, RULES, row, text), chosen, row, text, out) for row, text in rows]


def fasteners(name: str) -> Any:
    """The schedule of fasteners."""
    return fasteners_out(schedule(made(name)[0], RULES)).model_dump(mode="json")["joints"]


def compared(name: str) -> Any:
    """Some parts in other materials."""
    facts = made(name)[0]
    asked = [compare(facts.project, part, against, RULES, KNOWN, rate) for part, against, rate in ASKED[name].teach]
    return [comparison_out(one, facts.project.units).model_dump(mode="json") for one in asked]


def now(name: str, kind: str) -> Any:
    """One kind as plain data; paths begin at the folder of the projects."""
    return json.loads(json.dumps(KINDS[kind](name), ensure_ascii=False).replace(f"{FOLDER.as_posix()}/", ""))


KINDS = {one.__name__: one for one in (choices, changes, reasons, fasteners, compared)}


def kept(name: str, kind: str) -> Path:
    """Where it is kept."""
    return FOLDER / name / f"{kind}.json"


if __name__ == "__main__":
    for project in ASKED:
        for kind in KINDS:
            text = json.dumps(now(project, kind), indent=1, ensure_ascii=False)
            kept(project, kind).write_text(text + "\n", encoding="utf-8")
