"""Prices onto rows: which price fits a material, a finish, a fastener; what a part costs at first and over the years."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from functools import cache, partial
from typing import Any

import numpy as np
import pandas as pd

from .. import cost
from ..frames import number, says, words
from ..library import Library
from ..project import Prices
from ..units import MM_PER_IN

ENDS = ("low", "likely", "high")
MUST = {"lumber": ("product", "species", "treatment_kind"), "panel": ("product", "treatment_kind")}
"""Facts that a price and a material must share; a panel may be of any wood where its price names none."""
MAY = ("species", "preservative", "treatment_mark", "wood_part", "grade")
"""Facts that must agree where the price tells them; the price that tells most wins, of equals the highest."""
SIZES = ("thickness_mm", "width_mm")
FASTENER, HARDWARE = (
    ("fastener_kind", "fastener_metal", "coating_kind"),
    ("hardware_kind", "hardware_metal", "hardware_coat"),
)
FACES = {"all": 0, "front": 1, "edges": 2}
SAME_MM, SAME_SHARE = 1.0, 0.1
PER_LITRE = "litre"


def material_prices(parts: pd.DataFrame, prices: Prices) -> np.ndarray:
    """Row of `prices.items` that fits the material of each part; -1 where none does.

    parts  facts of parts; what a part does not tell (the mark of a treatment) hinders no price
    """
    best, score = np.full(len(parts), -1), np.zeros(len(parts))
    said = cache(partial(_is_in, parts))
    for row, item in _cheapest_first(prices):
        if item["kind"] in (*MUST, "other"):
            fits, told = _fits(parts, item, said)
            better = fits & (told >= score)
            best[better], score[better] = row, told[better]
    return best


def _cheapest_first(prices: Prices) -> list[tuple[int, dict[Hashable, Any]]]:
    """The items with their rows; of equal prices the first first."""
    return sorted(enumerate(prices.items.to_dict("records")), key=lambda one: float(one[1]["price"]))


def _fits(
    parts: pd.DataFrame, item: Mapping[Any, Any], said: Callable[[str, str], tuple[np.ndarray, np.ndarray]]
) -> tuple[np.ndarray, np.ndarray]:
    """Where a price fits, and how many facts it shares.

    said  where a column of the parts says a word, and where nothing; asked once for each word
    """
    if item["kind"] == "other":
        return _same_words(parts["material"], item["words"]), np.zeros(len(parts))
    must = MUST[item["kind"]]
    fits, told = np.ones(len(parts), bool), np.zeros(len(parts))
    for name in dict.fromkeys((*must, *MAY)):
        if pd.notna(item[name]):
            same, unknown = said(name, item[name])
            fits &= same | (unknown & (name not in must))
            told += same
    for name in SIZES:
        if pd.notna(item[name]):
            same = np.abs(number(parts, name) - item[name]) <= max(SAME_MM, SAME_SHARE * item[name])
            fits &= same
            told += same
    return fits, told


def _is_in(frame: pd.DataFrame, name: str, word: str) -> tuple[np.ndarray, np.ndarray]:
    return _is(frame[name], word)


def _is(values: pd.Series, word: str) -> tuple[np.ndarray, np.ndarray]:
    """Where a column of words says the word, and where it says nothing."""
    if isinstance(values.dtype, pd.CategoricalDtype):
        codes = values.cat.codes.to_numpy()
        at = values.cat.categories.get_indexer([word])[0]
        return (codes == at) & (at >= 0), codes < 0
    plain = values.astype(object)
    return (plain == word).to_numpy(), plain.isna().to_numpy()


def _same_words(values: pd.Series, said: str) -> np.ndarray:
    codes, texts = pd.factorize(values)
    same = np.array([*("".join(text.lower().split()) == "".join(said.split()) for text in map(str, texts)), False])
    return same[codes]


def finish_prices(parts: pd.DataFrame, prices: Prices) -> np.ndarray:
    """Row of `prices.items` for the finish of each part; -1 where none is on the list."""
    return _by_words(parts, prices, "finish", ("finish_kind",))


def fastener_prices(joints: pd.DataFrame, prices: Prices) -> np.ndarray:
    """Row of `prices.items` for the fastener of each joint, by kind, metal and coat; -1 where none is on the list."""
    return _by_words(joints, prices, "fastener", FASTENER)


def hardware_prices(joints: pd.DataFrame, prices: Prices) -> np.ndarray:
    """The same for the hardware of each joint."""
    return _by_words(joints, prices, "hardware", HARDWARE)


def _by_words(frame: pd.DataFrame, prices: Prices, kind: str, names: tuple[str, ...]) -> np.ndarray:
    best = np.full(len(frame), -1)
    mine = [
        (row, {name: item[name] for name in names if pd.notna(item[name])})
        for row, item in _cheapest_first(prices)
        if item["kind"] == kind
    ]
    for row, told in sorted(mine, key=lambda one: len(one[1])):
        best[np.all([says(frame, name, word) for name, word in told.items()], axis=0)] = row
    return best


def part_costs(parts: pd.DataFrame, prices: Prices, scheme: str, known: Library) -> pd.DataFrame:
    """What each part costs, in the currency of the prices; NaN where a price or a size is missing.

    parts  facts of parts, with the band of their life in service_life_low_years, _likely_, _high_
    Columns: price_row, finish_row (-1 for none), material, labour, finish, first (their sum), care (a year), coat (one
    new coat), coat_every_low, _likely, _high (years; infinite without a finish), and per_year_low, _likely, _high and
    wanted_low, _likely, _high: the cost of a year of service, and of the years wanted with replacements.
    """
    rows, finishes = material_prices(parts, prices), finish_prices(parts, prices)
    made: dict[str, np.ndarray] = {"price_row": rows, "finish_row": finishes}
    made |= _material(parts, rows, prices, scheme, known)
    made |= _finish(parts, finishes, prices, known)
    made["first"] = made["material"] + made["labour"] + made["finish"]
    made["care"] = made.pop("material_care") + made.pop("finish_care")
    return pd.DataFrame(made | over_years(made, parts))


def over_years(made: Mapping[str, np.ndarray], parts: pd.DataFrame) -> dict[str, np.ndarray]:
    """Bands of cost: a long life and rare coats make the low end. Replacement costs what the part cost at first."""
    wanted = number(parts, "life_years")
    out = {}
    for end, other in zip(ENDS, reversed(ENDS), strict=True):
        life, every = number(parts, f"service_life_{other}_years"), made[f"coat_every_{other}"]
        life = np.where(life > 0, life, np.nan)
        spent = (made["first"], made["care"], made["coat"], every, life)
        out[f"per_year_{end}"] = cost.cost_per_year(*spent)
        out[f"wanted_{end}"] = cost.chain_cost(*spent, wanted)
    for name in ("per_year", "wanted"):
        low, likely, high = (out[f"{name}_{end}"] for end in ENDS)
        out[f"{name}_low"] = np.where(low > likely, likely, low)
        out[f"{name}_high"] = np.where(high < likely, likely, high)
    return out


def amounts(parts: pd.DataFrame, scheme: str, known: Library) -> dict[str, np.ndarray]:
    """How much of each measure a part takes, all its pieces together; board feet go by the size before planing."""
    qty, t, w, length = (number(parts, name) for name in ("qty", *SIZES, "length_mm"))
    sawn_t, sawn_w = (nominal(t, "thickness", known), nominal(w, "width", known)) if scheme == "us" else (t, w)
    return {
        "m3": cost.volume_m3(qty, t, w, length),
        "board m3": cost.volume_m3(qty, sawn_t, sawn_w, length),
        "m2": cost.face_m2(qty, w, length),
        "m": qty * length / cost.MM_PER_M,
        "piece": qty,
    }


def nominal(size_mm: np.ndarray, face: str, known: Library) -> np.ndarray:
    """Size before planing of the thickness or the width."""
    table = known.table("sawn_sizes")
    here = np.array(table.words("face")) == face
    steps, allowance = (table.numbers(name)[here] * MM_PER_IN for name in ("size_in", "allowance_in"))
    return cost.nominal_mm(size_mm, float(allowance[0]), steps)


def _material(
    parts: pd.DataFrame, rows: np.ndarray, prices: Prices, scheme: str, known: Library
) -> dict[str, np.ndarray]:
    amount = _amount(rows, prices, amounts(parts, scheme, known))
    price, labour, care = (_money(prices, rows, name) for name in ("price", "labour", "upkeep"))
    shares = np.array([*(waste_share(item, known) for item in prices.items.to_dict("records")), np.nan])
    return {
        "amount": amount,
        "material": cost.first_cost(amount, price, 0, shares[rows]),
        "labour": amount * _or_nothing(labour, rows),
        "material_care": amount * _or_nothing(care, rows),
    }


def waste_share(item: Mapping[Any, Any], known: Library) -> float:
    """Share of what is bought of an item that is cut away; what is no wood is bought to size."""
    sort = "round" if item["product"] == "round" else str(item["kind"]) if item["kind"] in MUST else "other"
    return known.table("cutting_waste").number(sort, "waste_share")


def _amount(rows: np.ndarray, prices: Prices, by_measure: Mapping[str, np.ndarray]) -> np.ndarray:
    out = np.full(len(rows), np.nan)
    for name, values in by_measure.items():
        here = np.isin(rows, np.flatnonzero(says(prices.items, "measure", name)))
        out[here] = values[here]
    return out


def _money(prices: Prices, rows: np.ndarray, name: str) -> np.ndarray:
    return np.append(number(prices.items, name), np.nan)[rows]


def _or_nothing(values: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Work or care that the price list does not ask for is not asked for; without a price it stays unknown."""
    return np.where(rows < 0, np.nan, np.nan_to_num(values))


def _finish(parts: pd.DataFrame, rows: np.ndarray, prices: Prices, known: Library) -> dict[str, np.ndarray]:
    """Cost of the first coats and of one more, yearly care, and the years between coats; none costs nothing."""
    bare = _bare(parts)
    area = _coat_area(parts)
    litres = area / _spread(parts, known)
    by_litre = np.flatnonzero(says(prices.items, "measure", PER_LITRE))
    amount = np.where(np.isin(rows, by_litre), litres, area)
    price, labour, care = (_money(prices, rows, name) for name in ("price", "labour", "upkeep"))
    coat = np.where(bare, 0, amount * (price + _or_nothing(labour, rows)))
    coats = np.where(bare, 0, number(parts, "finish_coats"))
    every = {f"coat_every_{end}": years for end, years in coat_every(parts, known).items()}
    yearly = np.where(bare, 0, amount * _or_nothing(care, rows))
    return {"finish": coats * coat, "coat": coat, "finish_care": yearly, **every}


def _bare(parts: pd.DataFrame) -> np.ndarray:
    return says(parts, "finish_kind", "none") | says(parts, "is_wood", "no")


def coat_every(parts: pd.DataFrame, known: Library) -> dict[str, np.ndarray]:
    """Years from one coat to the next; infinite without a finish."""
    bare = _bare(parts)
    return {end: np.where(bare, np.inf, years) for end, years in _between(parts, known).items()}


def _coat_area(parts: pd.DataFrame) -> np.ndarray:
    faces = parts["finish_faces"].astype(object).map(FACES).fillna(-1).to_numpy(float)
    qty, t, w, length = (number(parts, name) for name in ("qty", *SIZES, "length_mm"))
    return cost.coat_m2(qty, t, w, length, faces)


def _spread(parts: pd.DataFrame, known: Library) -> np.ndarray:
    """Square metres that a litre covers: the middle of the range, on rough or on smooth wood."""
    rows = known.table("finish_cover").records()
    middle = {
        (row["finish_kind"], row["texture"]): (float(row["cover_low_m2_l"]) + float(row["cover_high_m2_l"])) / 2
        for row in rows
    }
    textures = np.where(says(parts, "surface", "rough"), "rough", "smooth")
    here = zip(words(parts, "finish_kind"), textures, strict=True)
    return np.array([middle.get(key, np.nan) for key in here])


def _between(parts: pd.DataFrame, known: Library) -> dict[str, np.ndarray]:
    """Years between coats: those that the client will keep, else the published life of the finish."""
    table = known.table("finishes")
    kept, kind = number(parts, "upkeep_years"), parts["finish_kind"].astype(object)
    low, high = (
        kind.map(dict(zip(table.words("finish_kind"), table.numbers(f"life_{end}_years"), strict=True))).to_numpy(float)
        for end in ("low", "high")
    )
    kept = np.where(kept > 0, kept, np.nan)
    bands = {"low": low, "likely": (low + high) / 2, "high": high}
    return {end: np.where(np.isnan(kept), years, kept) for end, years in bands.items()}
