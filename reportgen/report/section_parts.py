"""Parts that sections share: titles, notes at the side, averages."""

from collections.abc import Sequence
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.model.document import Aside, Figure, Paragraph
from reportgen.model.results import Estimate, MeasureResult, Results
from reportgen.model.trial import Trial
from reportgen.report import (
    figure_texts,
    figures,
    headline,
    numbers,
    pairs_apart,
    terms,
    treatment_names,
    units,
    wording,
)

MOST_IN_SENTENCE: Final = 3  # treatments


PLACED: Final = marked("{place}: {finding}")


AND_APART: Final = marked("{heading}; {apart}")
PLACED_BEFORE_NAME: Final = marked("{place}. {Finding}")  # a finding that has a colon of its own


NOTES: Final = marked("Notes")


ON_AVERAGE: Final = marked("{measure}: {each}.")


OF_NAMED: Final = marked("{figure} ({name})")


def with_pairs_apart(
    trial: Trial, results: Results, said: tuple[Paragraph, ...], keys: Sequence[str]
) -> tuple[Paragraph, ...]:
    """Return a section's paragraph with two treatments that only differ from each other."""
    apart = pairs_apart.sentence(trial, results, keys)
    if not apart:
        return said
    return (Paragraph(" ".join((*(one.text for one in said), apart))),)


def title(trial: Trial, results: Results, keys: Sequence[str], place: str) -> str:
    """Return a section's place and the finding on the first of some measures that is compared, if
    any.
    """
    if trial.interim:
        return place
    for key in keys:
        said = headline.of_measure(trial, results, key, behind=True)
        if said:
            return placed(place, said)
    return place


def placed(place: str, finding: str) -> str:
    """Return a finding behind the name of what it is about, unless it begins with that."""
    if finding.casefold().startswith(place.casefold()):
        return wording.capital(finding)
    if ": " in finding:
        return say(PLACED_BEFORE_NAME, place=place, Finding=wording.capital(finding))
    return say(PLACED, place=place, finding=wording.inside(finding))


def aside(notes: Sequence[str]) -> tuple[Aside, ...]:
    """Return notes that stand at the side; none where there are no notes."""
    if notes:
        return (Aside(say(NOTES), tuple(notes)),)
    return ()


def tray_dots(trial: Trial, results: Results, key: str) -> tuple[Figure, ...]:
    """Return the figure of a measure's trays with the average of each treatment."""
    result = wording.result_of(results, key)
    if result is not None and result.scores:
        return figures.tray_dots(trial, results, key)
    return ()


def first_known(results: Results, keys: Sequence[str]) -> str:
    """Return the first of some measures that the trial has; empty where it has none."""
    for key in keys:
        if wording.result_of(results, key) is not None:
            return key
    return ""


def _figure(versions: Sequence[MeasureResult], code: str) -> str:
    """Return a treatment's figure in each system of display."""
    return units.with_other(
        *(_alone(version, dict(version.estimates)[code]) for version in versions)
    )


def _alone(shown: MeasureResult, estimate: Estimate) -> str:
    """Return a figure that stands without its interval: three digits and the unit."""
    if shown.measure.unit == "%":
        return figure_texts.value_text(shown, estimate)
    return f"{numbers.plain(estimate.value)} {language.unit(shown.measure.unit)}".strip()


def averages(trial: Trial, results: Results, key: str) -> tuple[Paragraph, ...]:
    """Return each treatment's figure of a measure in one sentence; many have a column of a table."""
    result = wording.result_of(results, key)
    if result is None or len(trial.treatments) > MOST_IN_SENTENCE:
        return ()
    versions = units.versions(result, units.current())
    texts: list[str] = []
    for code, estimate in versions[0].estimates:
        name = treatment_names.label_within(trial, code)
        if estimate.value is not None:
            texts.append(say(OF_NAMED, figure=_figure(versions, code), name=name))
    if not texts:
        return ()
    label = terms.label(versions[0].measure)
    return (Paragraph(say(ON_AVERAGE, measure=label, each=numbers.listed(tuple(texts)))),)
