"""Site, rules and tables as documents, rows and JSON."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from ..deriving.wetness import coefficients
from ..errors import InputError, did_you_mean
from ..judging import SEVERITIES, TOPICS, Compiled
from ..library import Library
from ..moisture import emc_is_soft, emc_pct
from ..project import Site
from . import models
from .blocks import Document, Entry, Heading, Paragraph, Table

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
METALS = ("steel", "zinc", "copper", "aluminium")
SOFT = "below freezing, or above 90 % humidity: the equation is steep or beyond its table there, so the figure is soft."


def site_page(site: Site, whole: dict[str, Any], library: Library) -> models.SitePage:
    """A place's year as JSON; whole holds the derived facts of the place."""
    climate = site.climate
    emc = emc_pct(climate.t_mean_c, climate.rh_pct, coefficients(library.table("emc_coefficients")))
    soft = emc_is_soft(climate.t_mean_c, climate.rh_pct)
    columns = zip(climate.t_mean_c, climate.rh_pct, climate.rain_days, emc, soft, strict=True)
    months = [
        models.MonthOut(month=i, t_c=_one(t), rh_pct=_one(rh), rain_days=_one(rain), emc_pct=_one(e), soft=bool(s))
        for i, (t, rh, rain, e, s) in enumerate(columns, 1)
    ]
    return models.SitePage(
        site=site.name,
        lat=site.lat,
        lon=site.lon,
        months=months,
        scheffer_index=_one(whole["scheffer_index"] or np.nan),
        decay_zone=whole["decay_zone"],
        corrosivity=whole["corrosivity"],
        corrosivity_from=whole["corrosivity_from"],
        metals=[_metal(metal, whole) for metal in METALS],
        t_year_c=_rounded(whole["t_year_c"], 1),
        rh_year_pct=_rounded(whole["rh_year_pct"], 1),
        so2_mg_m2_d=site.so2_mg_m2_d,
        chloride_mg_m2_d=site.chloride_mg_m2_d,
        height_m=site.height_m,
        coast_km=site.coast_km,
        source=site.source,
        status=site.status,
        said=list(site.said),
    )


def _metal(metal: str, whole: dict[str, Any]) -> models.MetalInAir:
    loss = next(name for name in whole if name.startswith(f"{metal}_rate"))
    unit = "g/m²" if loss.endswith("g_m2_y") else "µm"
    return models.MetalInAir(
        metal=metal, corrosivity=whole[f"corrosivity_{metal}"], first_year=_rounded(whole[loss], 2), unit=unit
    )


def _rounded(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals)


def _one(value: float) -> float | None:
    return None if np.isnan(value) else round(float(value), 1)


def site_document(page: models.SitePage, library: Library) -> Document:
    """A place's year to be read."""
    rows = [
        [
            MONTHS[m.month - 1],
            _text(m.t_c, "°C"),
            _text(m.rh_pct, "%", 0),
            _text(m.rain_days, "", 0),
            _text(m.emc_pct, "%") + (" *" if m.soft else ""),
        ]
        for m in page.months
    ]
    document = Document(f"{page.site}: the year that gatepost uses", site_where(page))
    document.add(
        Table(
            ["month", "temperature", "humidity", "rain days", "moisture content of sheltered wood"],
            rows,
            right=(1, 2, 3, 4),
        )
    )
    if any(m.soft for m in page.months):
        document.add(Paragraph(f"* {SOFT}"))
    return document.add(*(Paragraph(note) for note in site_notes(page, library)))


def site_where(page: models.SitePage) -> str:
    """Latitude, longitude, height and distance to the sea, as far as they are known."""
    texts = (
        _text(page.lat, "°"),
        _text(page.lon, "°"),
        _text(page.height_m, "m high", 0),
        _text(page.coast_km, "km from the sea", 0),
    )
    return ", ".join(text for text in texts if text != "–")


def site_notes(page: models.SitePage, library: Library) -> list[str]:
    """Hazards of the place, what was said of its climate, and where that comes from."""
    work = library.sources.get(page.source)
    return [
        f"Scheffer climate index (Fahrenheit form): {_text(page.scheffer_index, '', 0)}; decay hazard above ground: {page.decay_zone or 'not known'}.",
        _corrosivity(page, library),
        *(text[:1].upper() + text[1:] + "." for text in page.said),
        f"Climate: {work.work if work else page.source} ({page.status}).",
    ]


def _corrosivity(page: models.SitePage, library: Library) -> str:
    if page.so2_mg_m2_d is not None:
        return _by_deposits(page, library)
    if page.corrosivity is None:
        return "Corrosivity class (ISO 9223): not known, since the distance to the sea is not."
    table = library.table("corrosivity_by_coast")
    row = next(row for row in table.records() if row["corrosivity"] == page.corrosivity)
    recalled = " (recalled)" if row["status"] == "memory" else ""
    said = f"{page.corrosivity}, from {page.corrosivity_from}{recalled}"
    return f"Corrosivity class (ISO 9223): {said}. {row['assumption']}."


def _by_deposits(page: models.SitePage, library: Library) -> str:
    given = (
        f"{page.so2_mg_m2_d:g} mg of SO2 and {page.chloride_mg_m2_d:g} mg of chloride on a square metre a day, "
        f"{_text(page.t_year_c, '°C')} and {_text(page.rh_year_pct, '%', 0)} humidity in the year's mean"
    )
    if page.corrosivity is None:
        return f"Corrosivity class (ISO 9223): not known; the formula does not hold for {given}."
    metals = "; ".join(f"{m.metal} {m.corrosivity}, {m.first_year:.2g} {m.unit}" for m in page.metals)
    constants = library.table("constants")
    times, alu = (constants.number(f"response_band_{name}", "value") for name in ("times", "aluminium_times"))
    return (
        f"Corrosivity class (ISO 9223): {page.corrosivity} ({page.corrosivity_from}): {given}. "
        f"Loss of bare metal in the first year: {metals}. "
        f"The formula may be out by {times:g} times either way, for aluminium by {alu:g} times (recalled)."
    )


def _text(value: float | None, unit: str, decimals: int = 1) -> str:
    return (
        "–"
        if value is None
        else f"{value:.{decimals}f} {unit}".strip().replace(" °", "°")
        if unit == "°"
        else f"{value:.{decimals}f} {unit}".strip()
    )


def rules_out(rules: Sequence[Compiled]) -> models.RulesOut:
    """Rules as JSON."""
    fields = ("rule", "topic", "severity", "scheme", "message", "remedy", "why", "source")
    return models.RulesOut(
        rules=[models.RuleOut(**{name: getattr(one.rule, name) for name in fields}, status=one.status) for one in rules]
    )


def worst_first(rules: Sequence[Compiled]) -> list[Compiled]:
    """Rules by severity, else in the order of their files."""
    return sorted(rules, key=lambda one: SEVERITIES.index(one.rule.severity))


def rules_document(rules: Sequence[Compiled]) -> Document:
    """The list of rules by topic."""
    document = Document(f"{len(rules)} rules", "gatepost rules RULE explains one")
    for topic in TOPICS:
        rows = [
            [one.rule.rule, one.rule.severity, one.rule.scheme, one.status]
            for one in worst_first(rules)
            if one.rule.topic == topic
        ]
        if rows:
            document.add(Heading(topic), Table(["rule", "severity", "scheme", "source known by"], rows))
    return document


def find_rule(rules: Sequence[Compiled], name: str) -> Compiled:
    """A rule by name; InputError with the nearest names."""
    for one in rules:
        if one.rule.rule == name:
            return one
    raise InputError(
        f"{name} is no rule{did_you_mean(name, [one.rule.rule for one in rules])} (gatepost rules lists them)"
    )


def rule_document(one: Compiled, library: Library) -> Document:
    """One rule explained."""
    rule = one.rule
    work = (
        "common practice, no source"
        if rule.source == "practice"
        else f"{library.sources[rule.source].work} ({one.status}: {library.sources[rule.source].read})"
    )
    document = Document(rule.rule, f"{rule.topic}, {rule.severity}, scheme {rule.scheme}, over {rule.over}")
    document.add(Paragraph(rule.message), Entry("To do", rule.remedy), Entry("Why", rule.why), Entry("Source", work))
    register = library.register
    meanings = [[name, register.find(rule.over, name).meaning] for name in one.columns]  # type: ignore[union-attr]
    document.add(Heading("It speaks when all of these hold"), Table(["clause"], [[text] for text in rule.when]))
    document.add(Heading("Facts that it asks"), Table(["fact", "meaning"], meanings))
    return document.add(
        Heading("Example"), Paragraph(", ".join(f"{name} {value}" for name, value in rule.example.items()))
    )


def lookup_out(library: Library, name: str, word: str | None) -> models.LookupOut:
    """Rows of a table whose cells hold the word, from the beginning of one of theirs."""
    if name == "sources":
        rows: list[dict[str, str]] = [source.__dict__ for source in library.sources.values()]
    elif name in library.table_names():
        rows = list(library.table(name).records())
    else:
        raise InputError(
            f"{name} is no table{did_you_mean(name, [*library.table_names(), 'sources'])}; the tables are {', '.join([*library.table_names(), 'sources'])}"
        )
    wanted = re.sub(r"\s+", " ", (word or "").lower()).strip()
    begins = re.compile(rf"(?<![^\W_]){re.escape(wanted)}")
    kept = [row for row in rows if any(begins.search(str(cell).lower()) for cell in row.values())]
    return models.LookupOut(table=name, rows=[{key: cell or None for key, cell in row.items()} for row in kept])


def tables_out(library: Library) -> models.LookupOut:
    """The tables of the library, each with its rows and columns."""
    tables = ((name, library.table(name)) for name in library.table_names())
    rows = [{"table": name, "rows": str(len(table)), "columns": ", ".join(table.header)} for name, table in tables]
    sources = {"table": "sources", "rows": str(len(library.sources)), "columns": "source, work, read, status"}
    return models.LookupOut(table="tables", rows=[*rows, sources])


def lookup_document(out: models.LookupOut) -> Document:
    """A table to be read; columns that are blank throughout are left out."""
    header = [name for name in (out.rows[0] if out.rows else {}) if any(row[name] for row in out.rows)]
    rows = [[row[name] or "" for name in header] for row in out.rows]
    return Document(f"{out.table}: {len(rows)} rows").add(
        Table(header, rows) if rows else Paragraph("No row holds that word.")
    )
