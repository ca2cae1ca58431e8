"""How a published value is reached again: route name -> function of what is given. Each goes another way than the table."""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import yaml

from gatepost import decay, moisture
from gatepost.deriving import Facts, derive_only
from gatepost.deriving.site import decay_zone
from gatepost.deriving.wetness import coefficients
from gatepost.encode import decode
from gatepost.judging import Judgement
from gatepost.library import Over, library
from gatepost.reading import find_site
from gatepost.road import derive, judge, read
from gatepost.units import print_size, size_mm
from published_corrosion import ROUTES as CORROSION_ROUTES
from published_costs import ROUTES as COST_ROUTES

Given = dict[str, Any]
PROJECT_KEYS = ("site", "scheme", "units", "life", "work")
JOINED = ("a", "b")
FOUND, SILENT, WAITS = "found", "silent", "waits"
PASCALS_IN_PSI = 4.4482216152605 / 0.0254**2


def emc_f(given: Given) -> float:
    """Equation 4-5 with the Fahrenheit set."""
    set_f = coefficients(library().table("emc_coefficients_f"))
    return float(moisture.emc_pct(given["t_f"], given["rh_pct"], set_f, coldest=29.0, hottest=271.0))


def emc_c(given: Given) -> float:
    """Equation 4-5 with the Celsius set, at the temperature in Celsius that the table prints."""
    return float(moisture.emc_pct(given["t_c"], given["rh_pct"], coefficients(library().table("emc_coefficients"))))


def coefficient(given: Given) -> float:
    """The coefficient that follows from the shrinkage of another table by the footnote's formula."""
    shrinkage = library().table("shrinkage").number(given["species"], f"{given['direction']}_pct")
    return float(moisture.coefficient_from_shrinkage(shrinkage, given["start_pct"]))


def change(given: Given) -> float:
    """Equation 13-2 with the coefficient of the wood."""
    per_pct = library().table("movement_coefficients").number(given["species"], f"{given['direction']}_per_pct")
    return float(moisture.small_change(given["width"], per_pct, given["from_pct"], given["to_pct"]))


def lumber_change(given: Given) -> float:
    """Equation 13-2 for a board between flat and quarter sawn."""
    table = library().table("movement_coefficients")
    both = [table.number(given["species"], f"{way}_per_pct") for way in ("tangential", "radial")]
    per_pct = moisture.across_grain(*both, given["ring_angle_deg"])
    return float(moisture.small_change(given["width"], per_pct, given["from_pct"], given["to_pct"]))


def share_of_shrinkage(given: Given) -> float:
    """What part of the whole shrinkage is done on drying from green to `to_pct`, by equation 13-3."""
    done = moisture.wide_change(100.0, given["shrinkage_pct"], moisture.SATURATED_PCT, given["to_pct"])
    return float(-done / given["shrinkage_pct"])


def ring_angle(given: Given) -> float:
    """Movement across a board by its ring angle."""
    return float(moisture.across_grain(given["tangential"], given["radial"], given["ring_angle_deg"]))


def index_zone(given: Given) -> str:
    """Zone of a climate of twelve equal months that has the index asked for, through the index itself."""
    days = 13.0
    warm_f = 35 + given["index"] * 30 / (12 * (days - 3))
    index = decay.scheffer_index(np.full(12, (warm_f - 32) / 1.8), np.full(12, days))
    at = int(decay_zone(np.atleast_1d(index), library().table("scheffer_zones"))[0])
    return library().register.facts["project"]["decay_zone"].values[at]


def index_of_months(given: Given) -> float:
    """Index of twelve months that are written out in the check."""
    form = decay.scheffer_index_metric if given.get("metric") == "yes" else decay.scheffer_index
    return float(form(np.array(given["t_c"], float), np.array(given["rain_days"], float)))


def _dose_terms(term: str) -> list[float]:
    rows = library().table("dose_terms").records()
    return [float(row["value"]) for row in rows if row["term"] == term]


def _logistic(u: float, t_c: float) -> float:
    weight = library().table("dose_model").number("logistic_heat_weight", "value")
    return float(decay.logistic_dose(u, t_c, _dose_terms("moisture"), _dose_terms("heat"), weight))


def logistic_moisture(given: Given) -> float:
    """Moisture part of the logistic dose: the whole dose of a day less its part of heat."""
    weight, t_c = library().table("dose_model").number("logistic_heat_weight", "value"), 20.0
    return _logistic(given["u_pct"], t_c) * (weight + 1) - weight * float(np.polyval(_dose_terms("heat"), t_c))


def logistic_heat(given: Given) -> float:
    """Part of heat of the logistic dose: the whole dose of a day less its part of moisture."""
    weight, u = library().table("dose_model").number("logistic_heat_weight", "value"), 50.0
    return (_logistic(u, given["t_c"]) * (weight + 1) - float(np.polyval(_dose_terms("moisture"), u))) / weight


def logistic_days(given: Given) -> float:
    """Total dose at a mean rating by the logistic curve, found by trying doses and not by its inverse."""
    model = library().table("dose_model")
    doses = np.linspace(0, 2000, 200_001)
    ratings = decay.logistic_rating(doses, (model.number("logistic_t0", "value"), model.number("logistic_t1", "value")))
    return float(doses[np.searchsorted(ratings, given["rating"])])


def logistic_rating(given: Given) -> float:
    """Mean rating after a total dose."""
    model = library().table("dose_model")
    curve = (model.number("logistic_t0", "value"), model.number("logistic_t1", "value"))
    return float(decay.logistic_rating(given["days"], curve))


def life_against(given: Given) -> str:
    """Does a life that was observed lie in a model's band, above or below it? By the full road."""
    facts = _facts(_key({k: v for k, v in given.items() if k not in ("model", "years")})).parts
    low, high = (float(facts[f"life_{given['model']}_{end}_years"].iat[0]) for end in ("low", "high"))
    return "below" if given["years"] < low else "above" if given["years"] > high else "inside"


def zinc_um(given: Given) -> float:
    """Thickness of zinc from its mass on one side."""
    return float(given["mass_g_m2"] / library().table("constants").number("zinc_g_m2_per_um", "value"))


def mm(given: Given) -> float:
    """A size as a shop writes it, in millimetres."""
    return size_mm(given["text"], given.get("units", "in"))


def printed(given: Given) -> str:
    """A size as it is printed."""
    return print_size(given["mm"], given["units"], given.get("step_in", 16))


def printed_board(given: Given) -> str:
    """Thickness and width of a board named in the material, as they are printed."""
    parts = _facts(_key(given)).parts
    return " x ".join(print_size(float(parts[name].iat[0]), "in") for name in ("thickness_mm", "width_mm"))


def year_emc(given: Given) -> float:
    """Equation 4-5 over the months of a place, mean of the year."""
    climate = find_site(given["site"], library()).climate
    emc = moisture.emc_pct(climate.t_mean_c, climate.rh_pct, coefficients(library().table("emc_coefficients")))
    return float(emc.mean())


def part_fact(given: Given) -> Any:
    """A fact of one part: a CSV is written and read, and the fact derived with all that it rests on."""
    return _fact(given, "parts")


def joint_fact(given: Given) -> Any:
    """The same of one joint of parts a and b."""
    return _fact(given, "joints")


def panel_stiffness(given: Given) -> float:
    """Middle of the band of bending stiffness by the full road, in GPa."""
    return sum(part_fact({**given, "fact": f"panel_modulus_gpa_{end}"}) for end in ("low", "high")) / 2


def tension_psi(given: Given) -> float:
    """Strength across the grain in pounds per square inch, from the table in megapascals."""
    return library().table("tension_across").number(given["wood"], "tension_mpa") * 1e6 / PASCALS_IN_PSI


def bending_mpsi(given: Given) -> float:
    """Bending modulus in million pounds per square inch, from the table in gigapascals."""
    return library().table("tension_across").number(given["wood"], "bending_modulus_gpa") * 1e3 / PASCALS_IN_PSI


def project_fact(given: Given) -> Any:
    """A fact of the place by the full road."""
    return _plain(_facts(_key(given)).whole[given["fact"]].iat[0])


def in_place_band(given: Given) -> str:
    """Does a place factor lie in the computed band, above or below it? By the full road."""
    whole = _facts(_key({"site": given["site"], "material": "oak"})).whole
    low, high = (float(whole[f"index_place_{end}"].iat[0]) for end in ("low", "high"))
    return "below" if given["value"] < low else "above" if given["value"] > high else "inside"


def place_of_country(given: Given) -> float:
    """Highest or lowest computed place factor of a country's places, each by its latitude and longitude."""
    rows = [row for row in library().table("sites").records() if row["country"] == given["country"]]
    keys = [_key({"site": f"{row['lat']},{row['lon']}", "material": "oak"}) for row in rows]
    factors = [float(_facts(key).whole["index_place"].iat[0]) for key in keys]
    return max(factors) if given["end"] == "highest" else min(factors)


def class_of_mark(given: Given) -> str:
    """Use class (EN 335) that a mark on treated stock stands for: mark -> use category -> class."""
    names = library().table("use_class_names")
    return names.words("use_class_en335")[names.index[part_fact({**given, "fact": "treatment_category"})]]


def rule(given: Given) -> str:
    """Is a rule found, silent or waiting for one part or joint, by the full road to the judge?"""
    judged = _judged(_key(given))
    number = [one.rule.rule for one in judged.rules].index(given["rule"])
    if (judged.found["rule"] == number).any():
        return FOUND
    return WAITS if (judged.waiting["rule"] == number).any() else SILENT


def _fact(given: Given, over: Over) -> Any:
    """One fact with all that it rests on, worked out without the rest of the project."""
    known = library()
    column = known.register.facts[over][given["fact"]]
    if column.kind in ("text", "phrase"):
        facts = _facts(_key(given))
        return _plain((facts.parts if over == "parts" else facts.joints)[column.name].iat[0])
    with TemporaryDirectory() as name:
        parts, joints, _ = derive_only(
            read(_written(Path(name), _bare(given))), frozenset([(over, column.name)]), known
        )
    value = decode(column, (parts if over == "parts" else joints).get(column.name)[0])
    return np.nan if value is None else value


def _plain(value: Any) -> Any:
    return value if isinstance(value, str) else float(value)


def _key(given: Given) -> str:
    """What the road is given, as text, so that equal projects are read once."""
    return yaml.safe_dump(_bare(given), sort_keys=True)


def _bare(given: Given) -> Given:
    return {k: v for k, v in given.items() if k not in ("fact", "rule")}


@lru_cache(maxsize=512)
def _facts(key: str) -> Facts:
    given: Given = yaml.safe_load(key)
    with TemporaryDirectory() as name:
        return derive(read(_written(Path(name), given)))


@lru_cache(maxsize=512)
def _judged(key: str) -> Judgement:
    return judge(_facts(key)).judgement


def _written(folder: Path, given: Given) -> Path:
    """A project file and its lists; `site` as in a project file, `joint` with parts `a` and `b`, else one part."""
    project = {key: given[key] for key in PROJECT_KEYS if key in given}
    if "joint" in given:
        rows = [{"part": side, **given.get(side, {})} for side in JOINED]
        _csv(folder / "joints.csv", [{"joint": "joint", "part_a": "a", "part_b": "b", **given["joint"]}])
        project["joints"] = "joints.csv"
    else:
        rows = [{"part": "piece", **{k: v for k, v in given.items() if k not in PROJECT_KEYS}}]
    _csv(folder / "parts.csv", rows)
    path = folder / "project.yaml"
    path.write_text(yaml.safe_dump({**project, "parts": "parts.csv"}), encoding="utf-8")
    return path


def _csv(path: Path, rows: list[dict[str, Any]]) -> None:
    names = list(dict.fromkeys(name for row in rows for name in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, restval="")
        writer.writeheader()
        writer.writerows(rows)


ROUTES: dict[str, Callable[[Given], Any]] = (
    {
        made.__name__: made
        for made in (
            emc_f,
            emc_c,
            coefficient,
            change,
            lumber_change,
            share_of_shrinkage,
            ring_angle,
            index_zone,
            index_of_months,
            logistic_moisture,
            logistic_heat,
            logistic_days,
            logistic_rating,
            life_against,
            zinc_um,
            mm,
            printed,
            printed_board,
            part_fact,
            joint_fact,
            panel_stiffness,
            tension_psi,
            bending_mpsi,
            year_emc,
            project_fact,
            in_place_band,
            place_of_country,
            class_of_mark,
            rule,
        )
    }
    | CORROSION_ROUTES
    | COST_ROUTES
)
