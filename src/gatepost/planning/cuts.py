"""Every cut, bore and notch in treated stock, and what to brush on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from ..deriving import Facts

BOLT_HOLES = "bolt holes"


@dataclass(frozen=True)
class Cut:
    """One sort of opening in one treated part.

    joint   row of the joint that makes it; -1 where the parts list tells it
    opened  what is opened: an allowed word of `worked`, or what the joint opens
    each    how many in all such pieces; None where the count is not known
    """

    part: int
    joint: int
    opened: str
    each: int | None


def cuts(facts: Facts) -> list[Cut]:
    """The openings of all parts that hold a preservative: as worked, then joint by joint."""
    treated = [row for row, kind in enumerate(facts.parts["treatment_kind"]) if kind == "preservative"]
    out: list[Cut] = []
    for row, joint in enumerate(facts.joints.to_dict("records")):
        for side in ("a", "b"):
            part = int(joint[f"{side}_row"])
            if part in treated:
                out += [Cut(part, row, *one) for one in _opened(facts, joint, side)]
    told = {cut.part for cut in out if cut.opened == BOLT_HOLES}
    out += [cut for row in treated for cut in _worked(facts, row) if cut.opened != "drilled" or row not in told]
    return sorted(out, key=lambda cut: (cut.part, cut.joint))


def _worked(facts: Facts, row: int) -> list[Cut]:
    words = str(facts.parts["worked"].iat[row] or "none")
    ends = 2 * int(facts.parts["qty"].iat[row])
    found = [word.strip() for word in words.split("+")]
    return [Cut(row, -1, word, ends if word == "crosscut" else None) for word in found if word != "none"]


def _opened(facts: Facts, joint: dict[Any, Any], side: str) -> list[tuple[str, int | None]]:
    """What the method of the joint opens in that part: what is cut, and holes that stay open beside a bolt."""
    table = facts.library.table("joint_work")
    if joint["method"] not in table.index:
        return []
    at = table.index[str(joint["method"])]
    number = int(joint["qty"])
    out: list[tuple[str, int | None]] = []
    if table.words(f"opens_{side}")[at]:
        out.append((table.words(f"opens_{side}")[at], number))
    bolted = table.words("holes")[at] == "yes" or joint["fastener_kind"] == "bolt"
    if bolted:
        out.append((BOLT_HOLES, None if pd.isna(joint["count"]) else number * int(joint["count"])))
    return out


def brush(facts: Facts, row: int) -> tuple[str, str]:
    """What the list says the cuts of a part got, with the preservative where it is named; and what they should get."""
    advised = next(
        one["brush_on"]
        for one in facts.library.table("field_treatment").records()
        if one["scheme"] == facts.project.scheme
    )
    written, named = (facts.parts[name].iat[row] for name in ("cut_treatment", "cut_preservative"))
    got = "none" if pd.isna(written) else str(written)
    return (str(named) if got == "preservative" and named != "not named" else got), advised
