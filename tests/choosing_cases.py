"""Invented lists at random, as shops write them, and choices written into them as text: what tests of choosing share."""

from __future__ import annotations

import csv
import random
from dataclasses import dataclass, replace
from pathlib import Path

from gatepost.library import library

KNOWN = library()
WRITTEN = KNOWN.register.written
Rows = list[dict[str, str]]
LUMBER = {
    "us": [
        "western red cedar heartwood", "WRC", "white oak", "white oak heartwood kiln-dried", "Douglas-fir", "Douglas-fir No. 2 reclaimed", "southern pine", "spruce-pine-fir", "redwood heartwood", "red oak quartersawn",
        "PT southern pine MCA ground contact", "PT southern pine CA-C 0.06 pcf", "PT southern pine kiln-dried after treatment", "hem-fir", "black locust heartwood", "ipe", "eastern white pine", "thermally modified white ash",
        "reclaimed white oak, creosote", "cedar", "pine, wet", "teak", "yellow-poplar", "treated lumber", "hem-fir treated ACQ-D 0.40 pcf incised", "mahogany", "fire retardant treated southern pine exterior", "",
    ],
    "eu": [
        "European larch", "European larch heartwood", "European oak heartwood", "oak, wet", "Norway spruce", "Norway spruce C24", "Scots pine", "Scots pine heartwood, free of heart", "robinia heartwood", "sweet chestnut",
        "Scots pine treated NTR A", "Scots pine treated NTR AB", "thermally modified Scots pine", "acetylated radiata pine", "iroko", "beech", "Siberian larch kiln-dried", "Douglas fir", "pine", "larch, reclaimed", "western red cedar", "",
    ],
}  # fmt: skip
NOMINAL = {
    "us": ["2x4", "2x6", "4x4", "6x6", "5/4x6", "1x6", "1x8"],
    "eu": ["45x95", "100x100", "21x120", "70 x 70 mm", "28x145"],
}
SIZES = {
    "us": [
        ("3/4", "5 1/2"),
        ("1 1/2", "3 1/2"),
        ("1 1/2", "5 1/2"),
        ("3 1/2", "3 1/2"),
        ("1", "7 1/4"),
        ("1 3/4", "2 1/2"),
        ("", ""),
    ],
    "eu": [("20", "95"), ("27", "145"), ("45", "95"), ("90", "90"), ("145", "145"), ("38", "70"), ("", "")],
}
PANELS = {
    "us": [
        "1/2 CDX plywood",
        "3/4 A-C plywood",
        "3/4 MDO plywood",
        "1/2 marine plywood",
        "3/4 B-C Exterior plywood",
        "plywood",
        "3/4 MDF",
    ],
    "eu": [
        "18 mm EN 636-3 plywood",
        "12 mm EN 636-2 plywood",
        "18 mm BS 1088 plywood",
        "18 mm OSB/3",
        "plywood",
        "18 mm MDF",
    ],
}
ROUND = ["black locust round, heartwood", "southern pine round treated CCA 0.60 pcf", "robinia round"]
NOT_WOOD = ["galvanized steel", "aluminium", "polycarbonate", "gravel"]
TREATMENTS = [
    "none",
    "MCA 0.15 pcf UC4A",
    "CA-C 0.06 pcf UC3B",
    "UC4B",
    "NTR AB",
    "thermally modified",
    "acetylated",
    "creosote",
    "pressure treated",
    "dip, organic solvent",
    "treated",
]
FINISHES = [
    "none", "", "paint, 3 coats with primer", "paint, 2 coats", "white paint", "spar varnish, 3 coats", "varnish", "oil 2 coats", "semitransparent stain, 2 coats", "solid stain, 2 coats", "water repellent, 1 coat", "wax", "linseed oil",
    "dark stain, 2 coats",
]  # fmt: skip
WORDS = {
    "qty": ["1", "2", "6", "20"], "pitch": ["0", "2", "8", "10", "45"], "moisture": ["wet", "air-dried", "kiln-dried", "9", "14", "28"], "gap": ["0", "1 mm", "3 mm", "6 mm", "1/8 in", "20 mm"],
    "clearance": ["0 mm", "20 mm", "60 mm", "160 mm", "250 mm", "1200 mm"], "across": ["1", "5", "12"], "upkeep": ["1", "3", "5", "10"], "weathered": ["0", "4", "20"], "life": ["5", "15", "30", "60"], "span": ["300 mm", "400 mm", "610 mm"],
    "weight": ["5", "100"], "cut_treatment": ["none", "sealer", "preservative", "copper naphthenate 2 %", "borate"],
    "exposure": ["weather", "weather", "weather", "sheltered", "ground", "ground + weather", "indoor", "fresh water", "salt water"],
    "near": ["none", "none", "salt spray", "pool", "sprinkler", "heat", "shade", "leaf litter", "wiring"], "touches": ["none", "none", "skin", "food", "soil", "soil + crops", "animals", "drinking water"],
    "contact": ["20 mm", "90 mm", "140 mm", "300 mm"], "angle": ["0", "45", "90", "90"], "count": ["1", "2", "4", "10"], "edge": ["5 mm", "15 mm", "30 mm"], "end": ["10 mm", "40 mm", "90 mm"],
    "fastener": ["wood screw", "deck screw", "stainless screws", "structural screw", "bolt", "common nail", "ring-shank nail", "finish nail", "staple", "lag screw", "drywall screw", "brass screw", "none", "stainless 316 bolt M8 x 100"],
    "size": ["#8 x 2", "#10 x 3", "3/8 x 4", "8d", "16d", "5 x 80 mm", "M8 x 120", "6 x 120 mm"],
    "coating": ["zinc plated", "hot-dip galvanized", "stainless 304", "stainless 316", "plain steel", "polymer coated", "electroplated", "bright steel", "brass", "G185"],
    "glue": ["none", "D2 PVA", "Type I PVA", "D4 PVA", "epoxy", "polyurethane", "resorcinol", "hide", "construction adhesive", "yellow glue"],
    "hardware": ["none", "none", "hinge", "strap", "hanger", "post base", "galvanized strap", "stainless hinge", "aluminium flashing", "copper flashing", "brass hinge"],
    "hardware_coating": ["hot-dip galvanized", "electroplated", "G90", "G185", "stainless 304", "plain steel"],
    "product": ["lumber", "lumber", "lumber", "glulam", "plywood", "round", "steel", "membrane"],
    "species": [
        "western redcedar", "white oak", "red oak", "southern pine", "Douglas-fir", "European larch", "European oak", "Norway spruce", "Scots pine", "ipe", "American beech", "black locust", "hem-fir", "redwood",
        "Siberian larch", "iroko", "Sitka spruce", "yellow-poplar", "radiata pine", "white ash",
    ],
    "grade": ["No. 2", "C24", "clear", "A-C Exterior", "FAS"],
}  # fmt: skip
EVERY_DAY = {
    "parts": ["part", "material", "thickness", "width", "length", "exposure", "role"],
    "joints": ["joint", "part_a", "part_b", "method"],
}
SITES = {
    "us": ["Madison, WI", "Medford, OR", "Madison, WI"],
    "eu": ["{lat: 52.5, lon: 13.4, coast_km: 150, termites: no}", "{lat: 57.7, lon: 12, coast_km: 0.2, termites: no}"],
}


@dataclass(frozen=True)
class Lists:
    """A project as a shop writes it: lines of the project file, and the two lists."""

    settings: str
    parts: Rows
    joints: Rows
    shelf: tuple[str, ...] = ()

    def write(self, folder: Path) -> Path:
        """The three files in a folder; the path of the project file."""
        folder.mkdir(parents=True, exist_ok=True)
        for name in ("parts", "joints"):
            rows = getattr(self, name)
            with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
                write = csv.DictWriter(file, list(dict.fromkeys(key for row in rows for key in row)), restval="")
                write.writeheader()
                write.writerows(rows)
        stock = ["material", *(f'"{text}"' for text in self.shelf)]
        (folder / "stock.csv").write_text("\n".join(stock) + "\n", encoding="utf-8")
        files = ["parts: parts.csv", "joints: joints.csv", *(["stock: stock.csv"] if self.shelf else [])]
        path = folder / "project.yaml"
        path.write_text(self.settings + "\n".join(files) + "\n", encoding="utf-8")
        return path

    def changed(self, changes: dict[tuple[str, int], dict[str, str]]) -> Lists:
        """The lists with cells written over by the name of their column; a column that is missing is added."""
        lists = {
            name: [row | changes.get((name, at), {}) for at, row in enumerate(getattr(self, name))]
            for name in ("parts", "joints")
        }
        return replace(self, **lists)


def with_shelf(lists: Lists, rng: random.Random) -> Lists:
    """The same project for a shop that has some materials only, each named in one cell as a merchant's bill names it."""
    scheme = "us" if "scheme: us" in lists.settings else "eu"
    names = [row["choice"] for row in KNOWN.table("material_choices").records() if row["scheme"] in (scheme, "both")]
    return replace(lists, shelf=tuple(rng.sample(names, rng.randint(3, 12))))


def some_project(rng: random.Random, count: int | None = None) -> Lists:
    """A project of 5 to 12 parts and as many joints or fewer, with some of the columns and some of the cells."""
    scheme = rng.choice(["us", "eu"])
    settings = f"name: Invented {scheme}\nsite: {rng.choice(SITES[scheme])}\nscheme: {scheme}\nlife: {rng.choice([5, 15, 25])}\n"
    count = count or rng.randint(5, 12)
    parts = _filled([_part(rng, scheme, at) for at in range(count)], "parts", rng)
    names = [row["part"] for row in parts]
    joints = _filled([_joint(rng, names, at) for at in range(rng.randint(2, count))], "joints", rng)
    return Lists(settings, parts, joints)


def _part(rng: random.Random, scheme: str, at: int) -> dict[str, str]:
    thick, wide = rng.choice(SIZES[scheme])
    kind = rng.random()
    material = rng.choice(LUMBER[scheme])
    if kind < 0.3:
        material, thick, wide = f"{material} {rng.choice(NOMINAL[scheme])}".strip(), "", ""
    elif kind < 0.45:
        material, thick, wide = rng.choice(PANELS[scheme]), "", rng.choice(["300 mm", "1200 mm"])
    elif kind < 0.5:
        material, thick, wide = rng.choice(ROUND), "100 mm", "100 mm"
    elif kind < 0.54:
        material = rng.choice(NOT_WOOD)
    long = rng.choice(["300 mm", "900 mm", "1800 mm", "3000 mm", ""])
    return {"part": f"part {at}", "material": material, "thickness": thick, "width": wide, "length": long}


def _joint(rng: random.Random, names: list[str], at: int) -> dict[str, str]:
    first, second = rng.choices(names, k=2)
    return {"joint": f"joint {at}", "part_a": first, "part_b": second}


def _filled(rows: Rows, over: str, rng: random.Random) -> Rows:
    """Some of the other columns of the register, in each of them some of the cells."""
    columns = [
        name for name in WRITTEN[over] if name not in rows[0] and (name in EVERY_DAY[over] or rng.random() < 0.5)
    ]
    for name in columns:
        most = 0.9 if name in EVERY_DAY[over] else rng.choice([0.15, 0.5, 0.85])
        for row in rows:
            row[name] = rng.choice(_values(over, name)) if rng.random() < most else ""
    return rows


def _values(over: str, name: str) -> list[str]:
    if name == "treatment":
        return TREATMENTS
    if name == "finish":
        return FINISHES
    return WORDS.get(name) or list(WRITTEN[over][name].values)
