"""The results file: every number of a report, unrounded, for scripts."""

import json
from dataclasses import asdict

from reportgen import language
from reportgen.language import say
from reportgen.model.results import Comparison, Estimate, FactorOfRatio, ReportedItem, Results, Verdict
from reportgen.model.trial import Trial
from reportgen.report import message_data, messages, terms


def results_json(trial: Trial, results: Results) -> str:
    """Return the results file as JSON text, in English; null stands where there is no number."""
    with language.using(language.ENGLISH):
        found = _found(trial, results)
    return json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _found(trial: Trial, results: Results) -> dict[str, object]:
    return {
        "format": "trial-results/1",
        "trial": _trial(trial),
        "treatments": _treatments(trial, results),
        "estimates": _estimates(trial, results),
        "comparisons": _comparisons(trial, results),
        "letters": [
            {
                "metric": result.measure.key,
                "method": messages.clauses(trial, letters.methods),
                "groups": dict(letters.groups),
            }
            for result in results.measures
            if (letters := result.letters)
        ],
        "factors": [_factor(one) for one in results.factors],
        "fairness": [_verdict(trial, one) for one in results.fairness],
        "reporting": [_item(trial, one) for one in results.reporting],
        "problems": [asdict(problem) for problem in trial.findings],
    }


def _factor(one: FactorOfRatio) -> dict[str, object]:
    fields = {key: value for key, value in asdict(one).items() if key != "notes"}
    return fields | {"factor": say(terms.FACTORS[one.factor]), "code": one.factor}


def _verdict(trial: Trial, one: Verdict) -> dict[str, object]:
    findings = [message_data.entry(found, messages.text(trial, found)) for found in one.findings]
    finding = messages.texts(trial, one.findings)
    return {"check": one.check, "verdict": one.verdict, "finding": finding, "findings": findings}


def _item(trial: Trial, one: ReportedItem) -> dict[str, object]:
    return {
        "item": one.item,
        "reported": one.reported,
        "value": messages.known_values(trial, one.values) if one.reported else None,
        "values": [message_data.plain(value) for value in one.values],
        "missing": [message_data.plain(value) for value in one.missing],
    }


def _trial(trial: Trial) -> dict[str, object]:
    return {
        "slug": trial.slug,
        "title": trial.about.title,
        "crop": trial.about.crop,
        "started_on": trial.started_on.isoformat(),
        "harvested_on": trial.harvested_on.isoformat(),
        "days": (trial.harvested_on - trial.started_on).days,
        "reference": trial.reference,
        "experimental_unit": trial.experimental_unit,
        "confidence_level": trial.confidence_level,
        "currency": trial.currency,
        "source_sha256": trial.source_sha256,
    }


def _treatments(trial: Trial, results: Results) -> list[dict[str, object]]:
    names = {treatment.code: treatment.name for treatment in trial.treatments}
    return [{"treatment": count.treatment, "name": names[count.treatment], **asdict(count)} for count in results.counts]


def _estimates(trial: Trial, results: Results) -> list[dict[str, object]]:
    found: list[dict[str, object]] = []
    for result in results.measures:
        for code, estimate in result.estimates:
            about = {"metric": result.measure.key, "treatment": code, "unit": result.measure.unit}
            found.append(about | _figures(trial, estimate))
    return found


def _comparisons(trial: Trial, results: Results) -> list[dict[str, object]]:
    found: list[dict[str, object]] = []
    for result in results.measures:
        for code, comparison in result.comparisons:
            about = {"metric": result.measure.key, "treatment": code, "reference": trial.reference}
            found.append(about | _figures(trial, comparison))
    return found


def _figures(trial: Trial, figure: Estimate | Comparison) -> dict[str, object]:
    """Return the numbers of an estimate or a comparison, its methods and notes in words and as codes."""
    figures = {key: value for key, value in asdict(figure).items() if key not in ("methods", "notes")}
    notes = [message_data.entry(note, messages.text(trial, note)) for note in figure.notes]
    methods = messages.clauses(trial, figure.methods)
    return figures | {"method": methods, "note": messages.clauses(trial, figure.notes), "notes": notes}
