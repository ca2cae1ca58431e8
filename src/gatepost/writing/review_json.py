"""A review as JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from .. import __version__
from ..project import Site
from ..review import Review, name_of
from . import models
from .findings import finding, notes
from .values import plain_value

_QUIET_FACTS = ("a_row", "b_row")


def site_out(site: Site | None) -> models.SiteOut | None:
    """A site as JSON."""
    if site is None:
        return None
    fields = ("name", "lat", "lon", "country", "height_m", "coast_km", "source", "status")
    return models.SiteOut(**{name: getattr(site, name) for name in fields}, said=list(site.said))


def as_json(review: Review, units: str) -> models.ReviewOut:
    """The whole review as JSON."""
    found: dict[tuple[str, int], list[models.Finding]] = {}
    accepted = []
    for one in review.found:
        out = models.Finding(**asdict(finding(review, one, units)))
        if one.accepted is None:
            found.setdefault((one.over, one.row), []).append(out)
        else:
            accepted.append(
                models.AcceptedOut(name=name_of(review.facts, one.over, one.row), reason=one.accepted, finding=out)
            )
    whole = found.get(("project", 0), []) + [models.Finding(**asdict(note)) for note in notes(review)]
    project = review.facts.project
    return models.ReviewOut(
        gatepost=__version__,
        project=project.name,
        site=site_out(project.site),
        scheme=project.scheme,
        counts=models.Counts(**review.counts),
        rows=models.Rows(**project.counts.__dict__),
        parts=_parts(review, found),
        joints=_joints(review, found),
        project_findings=whole,
        accepted=accepted,
        said=project.said,
    )


def _facts(row: dict[str, Any]) -> dict[str, Any]:
    return {name: plain_value(value) for name, value in row.items() if name not in _QUIET_FACTS}


def _parts(review: Review, found: dict[tuple[str, int], list[models.Finding]]) -> list[models.PartOut]:
    out = []
    for row, values in enumerate(review.facts.parts.to_dict("records")):
        facts = _facts({str(name): value for name, value in values.items()})
        raised = (facts["raised_by"] or "").split("; ") if facts["raised_by"] else []
        head = {name: facts[name] for name in ("part", "exposure", "use_category", "use_class")}
        out.append(models.PartOut(**head, raised_by=raised, facts=facts, findings=found.get(("parts", row), [])))
    return out


def _joints(review: Review, found: dict[tuple[str, int], list[models.Finding]]) -> list[models.JointOut]:
    out = []
    for row, values in enumerate(review.facts.joints.to_dict("records")):
        facts = _facts({str(name): value for name, value in values.items()})
        out.append(
            models.JointOut(
                joint=facts["joint"],
                part_a=facts["part_a"],
                part_b=facts["part_b"],
                facts=facts,
                findings=found.get(("joints", row), []),
            )
        )
    return out
