"""What a command prints for scripts: one document of plain values, in English."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from reportgen import problem_document
from reportgen.problem_document import CheckDocument, CheckedEntry

if TYPE_CHECKING:
    from reportgen.metrics.light_matching import TreatmentLight
    from reportgen.metrics.planning import TrialPlan
    from reportgen.model.problem import Problem
    from reportgen.pipeline import BuildResult, Checked, LightPlanned, NewWorkbook, TrialPlanned
    from reportgen.workbook.next_steps import Step

Document = dict[str, Any]

UNITS_OF_LIGHT: Final = {
    "height": "cm",
    "hours": "h/d",
    "ppfd": "µmol/m2/s",
    "dli": "mol/m2/d",
}


def printed(document: Mapping[str, Any]) -> str:
    """Return a document as JSON."""
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False)


def refused(problems: "Iterable[Problem]") -> Document:
    """Return the document of a command that could do nothing, and why."""
    return {"problems": _problems(problems)}


def checked(found: "Iterable[Checked]") -> CheckDocument:
    """Return what was found in workbooks, and what to record next."""
    problems: dict[str, Iterable[Problem]] = {}
    steps: dict[str, Iterable[Step]] = {}
    for checked in found:
        workbook = _name(checked.source)
        problems[workbook] = checked.problems
        steps[workbook] = checked.steps
    return problem_document.document(problems, steps)


def built(results: "Iterable[BuildResult]", unlisted: Iterable[Path]) -> Document:
    """Return what came of each workbook; `unlisted` are reports of an earlier build."""
    reports: list[Document] = []
    problems: list[CheckedEntry] = []
    for one in results:
        reports.append(_report(one))
        problems += _problems(one.problems, one.source)
    return {"reports": reports, "problems": problems, "unlisted": list(map(_name, unlisted))}


def _report(one: "BuildResult") -> Document:
    page = None
    if one.page:
        page = _name(one.page)
    return {
        "workbook": _name(one.source),
        "state": _state(one),
        "page": page,
        "interim": one.is_interim,
        "remark": one.remark,
    }


def _state(one: "BuildResult") -> str:
    if one.unchanged:
        return "unchanged"
    if one.page:
        return "built"
    if one.waits:
        return "waiting"
    return "failed"


def new(wanted: "NewWorkbook") -> Document:
    """Return what a blank workbook was laid out as, with the place of every tray."""
    from reportgen.workbook.plan import places

    plan = wanted.plan
    labels = None
    if wanted.labels:
        labels = _name(wanted.labels.path)
    return {
        "workbook": _name(wanted.path),
        "labels": labels,
        "language": wanted.language,
        "sheets": [sheet.name for sheet in wanted.sheets],
        "treatments": [{"code": one.code, "name": one.name} for one in plan.treatments],
        "plants": plan.plants,
        "seed": plan.seed,
        "method": plan.layout(),
        "trays": [asdict(place) for place in places(plan)],
    }


def planned(plan: "TrialPlanned") -> Document:
    """Return how many trays a trial needs; variation as coefficients, differences as fractions."""
    from reportgen.report.planning import command_for
    from reportgen.stats.power import cv_of

    target, variation = plan.target, plan.variation
    return {
        "target": {
            "difference": target.difference,
            "power": target.power,
            "level": target.level,
            "plants": target.plants,
            "treatments": list(target.treatments),
            "blocks": target.blocked,
        },
        "variation": {
            "source": variation.source,
            "trials": variation.trials,
            "between": cv_of(variation.spread.between),
            "within": cv_of(variation.spread.within),
        },
        **_needs(plan.plan),
        "effects": _effects(plan),
        "command": command_for(target, plan.plan, plan.seed),
    }


def _needs(plan: "TrialPlan") -> Document:
    return {
        "trays": plan.needed,
        "chance": plan.chance,
        "trays_with_twice_the_plants": plan.needed_with_twice,
        "trays_with_endless_plants": plan.needed_with_endless,
        "share_between": plan.share_between,
        "smallest_differences": [asdict(row) for row in plan.rows],
    }


def _effects(plan: "TrialPlanned") -> list[Document]:
    """Return how many trays show the effect of each factor, none where there are no factors."""
    effects: list[Document] = []
    if not plan.target.factors:
        return effects
    for target, one in ((plan.target, plan.plan), *plan.others):
        factor = target.factors[target.effect]
        effects.append({"factor": factor.name, "trays": one.needed, "chance": one.chance})
    return effects


def light(planned: "LightPlanned", source: Path) -> Document:
    """Return how to match the light of treatments, with the units of its numbers."""
    match = planned.match
    return {
        "quantity": match.quantity,
        "level": match.level,
        "reached": _ends(match.reached),
        "may_differ": match.may_differ,
        "treatments": [_light_of(one) for one in match.treatments],
        "units": UNITS_OF_LIGHT,
        "problems": _problems(planned.problems, source),
    }


def _light_of(one: "TreatmentLight") -> Document:
    return {
        "code": one.code,
        "ppfd": one.wanted,
        "height": _ends(one.matched),
        "why_none": one.why_none,
        "read_at": _ends(one.advised),
        "hours": [asdict(hours) for hours in one.hours],
    }


def _ends(value: Any) -> Document | None:
    if value is None:
        return None
    return asdict(value)


def _problems(problems: "Iterable[Problem]", source: Path | None = None) -> list[CheckedEntry]:
    """Return problems, every one by itself, with the workbook that they are of."""
    workbook = ""
    if source:
        workbook = _name(source)
    return [problem_document.checked_entry(problem, workbook) for problem in problems]


def _name(path: Path) -> str:
    """Return the name of a file as text, also where the system's is none."""
    return click.format_filename(path)
