"""What a joint costs for the choices of its two parts: fasteners, hardware and glue tried together, judged in blocks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from math import isqrt
from typing import Any

import numpy as np

from ..deriving import Facts
from ..deriving.reasons import inputs
from ..frames import places, rows_with_any
from ..judging import Compiled
from .group import AS_IT_IS, NEVER, Option, Ranked
from .joint_costs import JointCosts
from .offers import Offers, facts_changed
from .virtual import judged, verdicts
from .way_out import changed

AT_ONCE, AROUND = 4000, 4
"""A miss is answered for choices of either part around it: so many virtual joints at once, AROUND choices at least."""
JOINT_SHARE = 1e-11
"""Effort at a joint counts less than the least step between two choices of a part."""
CHOSEN = ("material", "finish")
"""Columns of parts that are chosen."""
Key = tuple[int, int, int]


@dataclass
class Pairs:
    """Answers `pairs(joint, choice of part_a, choice of part_b)`; choices are places in the parts' rankings."""

    base: Facts
    rules: Sequence[Compiled]
    part_offers: Offers
    joint_offers: Offers
    joint_rows: Mapping[int, Any]
    ranked: Mapping[int, Ranked]
    money: JointCosts | None = None
    known: dict[Key, tuple[float, Option, list[Option]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        joints = self.base.joints
        self.ends = [(int(a), int(b)) for a, b in zip(joints["a_row"], joints["b_row"], strict=True)]
        self.options = [self._options(row) for row in range(len(joints))]
        self.before = judged(self.base, "joints", self.rules)
        self._drop()

    def _options(self, row: int) -> list[Option]:
        """Fasteners with hardware and glue, what costs least first; without prices nothing changed, then the least effort."""
        mine, joints = self.joint_rows[row], self.base.joints
        wanted = {
            "fastener": True,
            "hardware_coating": joints["hardware_kind"].array[row] != "none",
            "glue": joints["glued"].array[row] == "yes",
        }
        lists: list[list[Option]] = [
            [(), *((int(at),) for at in mine if self.joint_offers.column[at] == column)]
            for column, asked in wanted.items()
            if asked
        ]
        ways = [tuple(at for part in way for at in part) for way in product(*lists)]
        easy = sorted(ways, key=lambda way: (self._effort(way), way))
        money = self.money
        return easy if money is None else sorted(easy, key=lambda way: money.ranked(row, way, self.joint_offers))

    def _drop(self) -> None:
        """Leave out options that a rule rejects whatever its parts are made of: it reads nothing that a choice of theirs
        changes."""
        asked = [(at, 0, 0, way) for at, ways in enumerate(self.options) for way in ways if min(self.ends[at]) >= 0]
        if not asked:
            return
        bad, numbers = self._bad(asked)
        fixed = ~np.isin(numbers, [number for number in numbers if self._hangs_on_parts(number)])
        gone = {(at, way) for (at, _, _, way), lost in zip(asked, rows_with_any(bad & fixed), strict=True) if lost}
        self.options = [
            [way for way in ways if (at, way) not in gone] or ways[:1] for at, ways in enumerate(self.options)
        ]
        good = [key for key, lost in zip(asked, rows_with_any(bad), strict=True) if not lost]
        self._keep({(at, 0, 0): [] for at, *_ in asked}, good)

    def _hangs_on_parts(self, number: int) -> bool:
        """Whether a rule reads something that the material or the finish of a part changes."""
        known = self.base.library
        told = {name for column in CHOSEN for name in facts_changed("parts", column, known)}
        nodes = (node for name in self.rules[number].columns for node in inputs(known, "joints", name))
        return any(over == "parts" and name in told for over, name in nodes)

    def cost(self, at: int, way: Option) -> float:
        """A little for the effort of the change; where prices are given, for the place among what costs less."""
        if self.money is not None:
            return JOINT_SHARE * self.options[at].index(way)
        return JOINT_SHARE * self._effort(way)

    def _effort(self, way: Option) -> float:
        return float(self.joint_offers.effort[list(way)].sum())

    def least(self, at: int) -> float:
        """What the joint costs at the least."""
        return self.cost(at, self.options[at][0])

    def __call__(self, at: int, first: int, second: int) -> float:
        if (at, first, second) not in self.known:
            a, b = self.ends[at]
            around = max(AROUND, isqrt(AT_ONCE // len(self.options[at])))
            near = product(range(first, first + around), range(second, second + around))
            self.fetch(
                [(at, i, k) for i, k in near if i < self._count(a) and k < self._count(b) and (a != b or i == k)]
            )
        return self.known[(at, first, second)][0]

    def _count(self, part: int) -> int:
        return len(self._of(part))

    def _of(self, part: int) -> list[Option]:
        return self.ranked.get(part, AS_IT_IS).options

    def best(self, at: int, first: int, second: int) -> Option:
        """The option of the joint that costs least."""
        self(at, first, second)
        return self.known[(at, first, second)][1]

    def passing(self, at: int, first: int, second: int) -> list[Option]:
        """Every option of the joint that no rule rejects, what costs least first."""
        self(at, first, second)
        return self.known[(at, first, second)][2]

    def fetch(self, keys: Sequence[Key]) -> None:
        """Judge every option of the joints for the choices asked."""
        asked = [(key, way) for key in dict.fromkeys(keys) if key not in self.known for way in self.options[key[0]]]
        good = self._good([(*key, way) for key, way in asked])
        held = [(*key, way) for (key, way), holds in zip(asked, good, strict=True) if holds]
        self._keep({key: [] for key, _ in asked}, held)

    def _keep(self, found: dict[Key, list[Option]], held: Sequence[tuple[int, int, int, Option]]) -> None:
        """Remember what holds for each key, what costs least first."""
        for at, first, second, way in held:
            found[at, first, second].append(way)
        for key, ways in found.items():
            self.known[key] = (self.cost(key[0], ways[0]), ways[0], ways) if ways else (NEVER, (), [])

    def holds_with(self, asked: Sequence[tuple[int, int, int, Option]]) -> list[bool]:
        """Whether no rule rejects the joint with these choices and this option."""
        return self._good(asked).tolist()

    def _good(self, asked: Sequence[tuple[int, int, int, Option]]) -> np.ndarray:
        """Where no rule rejects a joint."""
        return ~rows_with_any(self._bad(asked)[0]) if asked else np.zeros(0)

    def _bad(self, asked: Sequence[tuple[int, int, int, Option]]) -> tuple[np.ndarray, np.ndarray]:
        """Judge virtual joints between virtual parts: each part and choice once, each joint asked for a row.

        Returns joints by rules, and the places of the rules.
        """
        parts: dict[tuple[int, int], int] = {}
        rows = []
        for at, first, second, _ in asked:
            a, b = self.ends[at]
            rows.append([parts.setdefault(key, len(parts)) for key in ((a, first), (b, second))])
        source = places(at for at, *_ in asked)
        project = self._project(list(parts), source, [way for *_, way in asked], np.array(rows))
        after = verdicts(project, "joints", self.rules, self.base).beyond(self.before, source)
        return after.bad, after.numbers

    def _project(self, parts: list[tuple[int, int]], source: np.ndarray, ways: list[Option], rows: np.ndarray) -> Any:
        known, project = self.base.library, self.base.project
        options = [self._of(part)[choice] for part, choice in parts]
        made = changed(project, "parts", places(part for part, _ in parts), options, self.part_offers, known)
        joints = changed(project, "joints", source, ways, self.joint_offers, known).joints
        return replace(made, joints=joints.assign(a_row=rows[:, 0], b_row=rows[:, 1]))
