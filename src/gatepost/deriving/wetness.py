"""Moisture of each part through the year: likely, low and high, by what rain reaches it, its thickness and its wood."""

from __future__ import annotations

from typing import Any

import numpy as np

from .. import moisture, rain
from ..library import Library, Table
from ..project import Climate
from .values import Array, Words, distinct

WET_PLACES = ("ground", "fresh water", "salt water")
CASES = ("likely", "low", "high")
BAR_RATIO = 2.0
DENSE_ABOVE = 0.6
COLDEST_FOR_AIR_C = -15.0
MOST_HUMID_PCT = 99.9
FILM_SHARE, PENETRATING_SHARE, JOINT_FILM_TIMES = 0.3, 0.8, 2.0
SLAB_STEP_M = 1e-4
CLOSE_POINTS = 2.0
DAYS_A_WEEK = 7


def coefficients(emc_coefficients: Table) -> Array:
    """Rows W, K, K1, K2; columns constant, linear, quadratic."""
    rows = [emc_coefficients.index[name] for name in ("W", "K", "K1", "K2")]
    columns = [name for name in emc_coefficients.header if name.startswith(("constant", "linear", "quadratic"))]
    return np.stack([emc_coefficients.numbers(name)[rows] for name in columns], axis=1)


def wetting_group(wood_part: Words, treatment_kind: Words, hard_to_treat: Words, known: Library) -> Array:
    """How freely the stock takes up rain: heartwood tight, sapwood and easily treated stock permeable, others mixed."""
    groups = known.register.facts["parts"]["wetting_group"].values
    soaked = wood_part.is_in("sap") | (treatment_kind.is_in("preservative") & hard_to_treat.is_in("no"))
    out = np.where(soaked, groups.index("permeable"), groups.index("mixed"))
    return np.where(wood_part.is_in("heart") & ~soaked, groups.index("tight"), np.where(wood_part.known, out, -1))


def rain_situation(worst_exposure: Words, detail: Words, lies: Words, role: Words, known: Library) -> Array:
    """Which row of rain_faces.csv the part is like; in ground or water, like its part above it. -1 unknown."""
    names = known.register.facts["parts"]["rain_situation"].values
    place = {name: i for i, name in enumerate(names)}
    upright = lies.is_in("upright")
    plain = np.where(role.is_in("post", "leg"), place["upright post"], place["upright open"])
    plain = np.where(detail.is_in("ventilated"), place["upright ventilated"], plain)
    out = np.where(upright, plain, place["flat open"])
    for word in ("lapped", "trapped"):
        out = np.where(detail.is_in(word), np.where(upright, place[f"upright {word}"], place[f"flat {word}"]), out)
    out = np.where(detail.is_in("cup"), place["cup"], out)
    out = np.where(worst_exposure.is_in("sheltered"), place["sheltered"], out)
    unknown = worst_exposure.is_in("indoor") | ~worst_exposure.known | ~detail.known | ~lies.known
    return np.where(unknown, -1, out)


def slab_m(thickness_mm: Array, width_mm: Array) -> Array:
    """Thickness of the slab that dries as the member does; a bar with sides closer than two to one dries all round.

    NaN without a thickness; without a width the part counts as a board.
    """
    known = np.where(np.isnan(thickness_mm), np.nan, width_mm)
    thick, other = np.fmin(thickness_mm, known) / 1000, np.fmax(thickness_mm, known) / 1000
    return np.where(other / thick < BAR_RATIO, moisture.effective_thickness(thick, other), thick)


def mc_range(**facts: Any) -> dict[str, Array]:
    """Moisture content in the driest and wettest month and over the year, each likely, low and high [%].

    In ground or water the wet side is that of the buried zone and the dry side that of the part above it.
    Indoors, without a site or without a thickness: unknown.
    """
    kinds, place = kinds_of(facts)
    years = {case: kind_months(case, kinds, facts) for case in CASES}
    wet = facts["worst_exposure"].is_in(*WET_PLACES)
    out = {}
    for name, case in (("", "likely"), ("_low", "low"), ("_high", "high")):
        most = years[case].max(axis=1)[place]
        out[f"mc_low_pct{name}"] = years[case].min(axis=1)[place]
        out[f"mc_high_pct{name}"] = np.where(wet, np.fmax(_buried(case, facts), most), most)
    out["mc_mean_pct"] = np.where(wet, np.nan, years["likely"].mean(axis=1)[place])
    bad = ~facts["is_wood"].is_in("yes") | np.isnan(years["likely"][:, 0])[place]
    return {name: np.where(bad, np.nan, values) for name, values in out.items()}


def _buried(case: str, facts: dict[str, Any]) -> Array:
    model = facts["rain_model"]
    tight, permeable = (model.number(f"ground_{name}_pct", case) for name in ("tight", "permeable"))
    return np.where(facts["wetting_group"].is_in("tight"), tight, permeable)


def months(case: str, facts: dict[str, Any]) -> Array:
    """Monthly moisture content of every part in one case, shape (parts, 12) [%]; equal parts are worked out once."""
    kinds, place = kinds_of(facts)
    return kind_months(case, kinds, facts)[place]


def kinds_of(facts: dict[str, Any]) -> tuple[Array, Array]:
    """Kinds of part that are equally wet all year (slab, situation, group, dense, coat), and the kind of each part."""
    slab = np.round(slab_m(facts["thickness_mm"], facts["width_mm"]) / SLAB_STEP_M)
    dense = facts["specific_gravity"] > DENSE_ABOVE
    situation, group = facts["rain_situation"].codes, facts["wetting_group"].codes
    return distinct([np.nan_to_num(slab, nan=-1), situation, group, dense, _coat(facts)])


def year_days(daily: Array) -> Array:
    """Sum over the year of what each day of a month brings, shape (parts, 12) to (parts,)."""
    return (daily * rain.MONTH_DAYS).sum(axis=1)


def _coat(facts: dict[str, Any]) -> Array:
    """0 bare, 1 a film, 2 a penetrating finish."""
    finishes, kind = facts["finishes"], facts["finish_kind"]
    films = [word for word, row in finishes.index.items() if finishes.words("film")[row] == "yes"]
    soaking = [word for word in finishes.index if word not in films and word not in ("none", "wax")]
    return np.where(kind.is_in(*films), 1, np.where(kind.is_in(*soaking), 2, 0))


def kind_months(case: str, kinds: Array, facts: dict[str, Any]) -> Array:
    """Monthly moisture of the different kinds of part: columns slab, situation, group, dense, coat."""
    slab, situation, group, dense, coat = kinds.T
    model: Table = facts["rain_model"]
    number = {name: model.number(name, case) for name in model.index}
    sheltered = situation == facts["rain_situation"].values.index("sheltered")
    air = rain.Air(facts["climate"].t_mean_c, facts["climate"].rh_pct / 100, facts["climate"].rain_days)
    usual = np.where(sheltered, *(model.number(f"{name}offset_pct", "likely") for name in ("sheltered_", "")))
    offset = np.where(sheltered, number["sheltered_offset_pct"], number["offset_pct"])
    emc = _air_pct(facts, usual[:, None]) + (offset - usual)[:, None]
    wet = np.array([number[f"wet_{name}_pct"] for name in ("tight", "mixed", "permeable")])[group]
    density = np.where(dense, number["density_factor_dense"], number["density_factor_softwood"])
    run = rain.Case(number["rain_times"], number["uptake"], 0.0)
    faces = _faces(situation, coat, facts)
    thickness = np.where(slab < 0, np.nan, slab * SLAB_STEP_M)
    year = rain.member_months(
        faces, air, emc, wet[:, None], thickness[:, None], density[:, None], run, number["hours_of_rain"]
    )
    year = _with_swing(year, case, slab * SLAB_STEP_M * 1000, situation, group, number, facts)
    year = np.where(sheltered[:, None], np.minimum(year, number["sheltered_most_pct"]), np.minimum(year, wet[:, None]))
    unknown = (slab < 0) | (situation < 0) | (group < 0)
    return np.where(unknown[:, None], np.nan, np.maximum(year, rain.DRIEST_PCT))


def _air_pct(facts: dict[str, Any], usual_pct: Array) -> Array:
    """Equilibrium of the air by month: of the month's mean, and what its hours add to that (known, or as usual)."""
    climate, set_c = facts["climate"], coefficients(facts["emc_coefficients"])
    mean = moisture.emc_pct(np.maximum(climate.t_mean_c, COLDEST_FOR_AIR_C), climate.rh_pct, set_c)
    if climate.hours is None:
        return mean + usual_pct
    share = facts["rain_model"].number("hours_share", "likely")
    return mean + share * (hourly_emc_pct(climate.hours, set_c) - mean)


def hourly_emc_pct(hours: Array, set_c: Array) -> Array:
    """Mean over the hours of each month of the equilibrium moisture content; hours without figures left out [%]."""
    month, t_c, rh_pct = hours
    emc = moisture.emc_pct(np.maximum(t_c, COLDEST_FOR_AIR_C), np.minimum(rh_pct, MOST_HUMID_PCT), set_c)
    return np.array([np.nanmean(emc[month == one]) for one in range(1, 13)])


def _faces(situation: Array, coat: Array, facts: dict[str, Any]) -> tuple[rain.Face, rain.Face]:
    """Both faces of each kind; a coat keeps rain off plain faces and keeps water longer in joints."""
    table: Table = facts["rain_faces"]
    names, made = facts["rain_situation"].values, []
    for side in ("first", "second"):
        rows = [next(r for r in table.records() if r["situation"] == name and r["face"] == side) for name in names]
        share, film = (np.array([float(row[name]) for row in rows])[situation] for name in ("rain_share", "film_kpa_h"))
        snow = np.array([row["snow"] == "yes" for row in rows], float)[situation]
        joint = film > 1
        kept = np.array([1.0, FILM_SHARE, PENETRATING_SHARE])[coat]
        share = np.where(joint, share, share * kept)
        film = np.where(joint & (coat == 1), film * JOINT_FILM_TIMES, film)
        made.append(rain.Face(share[:, None], film[:, None], snow[:, None]))
    return made[0], made[1]


def _with_swing(
    year: Array,
    case: str,
    slab_mm: Array,
    situation: Array,
    group: Array,
    number: dict[str, float],
    facts: dict[str, Any],
) -> Array:
    """Low and high take off or add the swing inside a month, larger for thin and for permeable stock."""
    if case == "likely":
        return year
    table, names = facts["rain_faces"], facts["rain_situation"].values
    kind = [table.words("within_month")[table.index[name]] for name in names]
    base = np.array([number[f"swing_{name}_pct_mm"] for name in kind])[situation]
    times = np.array([1.0, number["swing_times_mixed"], number["swing_times_permeable"]])[group]
    sheltered = np.array([name == "sheltered" for name in kind])[situation]
    swing = (base * np.where(sheltered, 1.0, times) / np.maximum(slab_mm, 1.0))[:, None]
    return year - swing if case == "low" else year + swing


def drying(
    thickness_mm: Array,
    width_mm: Array,
    mc_build_pct: Array,
    mc_mean_pct: Array,
    specific_gravity: Array,
    climate: Climate,
    constants: Table,
    rain_model: Table,
) -> dict[str, Array]:
    """Weeks for the stock to come within two points of its service moisture.

    From one board in free air at the year's mean temperature to a slow stack; 0 where it is there already.
    """
    soft, dense = (rain_model.number(f"density_factor_{name}", "likely") for name in ("softwood", "dense"))
    density = np.where(specific_gravity > DENSE_ABOVE, dense, soft)
    over = mc_build_pct - mc_mean_pct
    diffusion = rain.diffusion_m2_s((mc_build_pct + mc_mean_pct) / 2, climate.t_mean_c.mean(), density)
    lag = rain.lag_days(slab_m(thickness_mm, width_mm), diffusion)
    free = lag * np.log(np.maximum(over, CLOSE_POINTS) / CLOSE_POINTS) / DAYS_A_WEEK
    return {f"dry_weeks_{end}": free * constants.number(f"stack_times_{end}", "value") for end in ("low", "high")}
