"""What may be offered to each joint: the fasteners of the schedule, and single changes."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..deriving import Facts
from .fasteners import sized_offers
from .offers import Offers, joint_singles

EFFORT_FIRST, EFFORT_STEP = 1.5, 0.2


def joint_offers(facts: Facts) -> tuple[Offers, dict[int, np.ndarray]]:
    """Fasteners with the sizes that fit, cheapest first, and single changes; and which of them suit each joint."""
    known, project = facts.library, facts.project
    single = joint_singles(project.scheme, project.units, known)
    rows, _, sized = sized_offers(facts)
    count = len(single.frame)
    frame = pd.concat([single.frame, sized.joints[single.frame.columns]], ignore_index=True)
    writes = [_written(sized.joints.iloc[at], facts) for at in range(len(rows))]
    place = np.concatenate([[0.0], np.arange(1, len(rows))]) if len(rows) else np.array([])
    first = {row: int(np.argmax(rows == row)) for row in set(rows.tolist())}
    effort = EFFORT_FIRST + EFFORT_STEP * np.array([at - first[row] for at, row in zip(place, rows, strict=True)])
    offers = Offers(
        frame,
        np.concatenate([single.column, np.full(len(rows), "fastener", object)]),
        single.writes + writes,
        np.concatenate([single.effort, effort]),
        np.full(count + len(rows), "", object),
        np.zeros(count + len(rows)),
    )
    every = np.arange(count)
    fits = sized.joints["size"].notna().to_numpy()
    return offers, {
        row: np.concatenate([every, count + np.flatnonzero((rows == row) & fits)]) for row in range(len(facts.joints))
    }


def _written(joint: pd.Series, facts: Facts) -> dict[str, str]:
    """The fastener as a shop writes it."""
    table = facts.library.table("fastener_stock")
    size = joint["size"]
    coat = joint["fastener_metal"] if joint["coating_kind"] in ("none", "stainless") else joint["coating_kind"]
    told = {"fastener": str(joint["fastener_kind"]), "coating": str(coat), "pilot": str(joint["pilot"])}
    if isinstance(size, str) and size in table.index:
        told["size"] = table.words("name")[table.index[size]]
    if not pd.isna(joint["count"]):
        told["count"] = f"{joint['count']:.0f}"
    for column, name in (("edge", "edge_found_mm"), ("end", "end_found_mm")):
        if not pd.isna(joint[name]):
            told[column] = f"{np.ceil(joint[name] * 2) / 2:g} mm"
    return told
