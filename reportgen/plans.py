"""Plan a trial before it starts: its workbook, how many trays it needs, how its light is matched."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen import lock
from reportgen.language import say
from reportgen.model.problem import Problem, WorkbookError
from reportgen.model.results import TrialIdentity
from reportgen.sources import checked, light_survey, versions_among, workbooks

if TYPE_CHECKING:
    from reportgen.metrics.light_matching import LightMatch, LightTarget
    from reportgen.metrics.planning import PowerTarget, TrialPlan, Variation
    from reportgen.model.document import Figure
    from reportgen.workbook.declaration import Sheet
    from reportgen.workbook.plan import Plan
    from reportgen.workbook.vocabulary import Vocabulary


@dataclass(frozen=True)
class LabelSheet:
    """Where the labels of a new trial are written, and whether they hide the treatments."""

    path: Path
    blind: bool = False


@dataclass(frozen=True)
class NewWorkbook:
    """A blank workbook to write: where, of which plan, with which sheets, in which language, with
    labels or none.
    """

    path: Path
    plan: "Plan"
    sheets: "tuple[Sheet, ...]"
    language: str = "en"
    labels: LabelSheet | None = None


def new(wanted: NewWorkbook) -> None:
    """Write a blank workbook and its labels; nothing is written where one of them cannot be made.

    Raises PlanError for too many labels, PdfUnavailable, OSError where writing fails.
    """
    from reportgen.workbook.blank import blank_workbook
    from reportgen.workbook.vocabulary import vocabulary

    words = vocabulary(wanted.language)
    made = {wanted.path: blank_workbook(wanted.plan, wanted.sheets, words)}
    if wanted.labels:
        made[wanted.labels.path] = _labels(wanted, wanted.labels, words)
    for path, content in made.items():
        lock.write(path, content)


def _labels(wanted: NewWorkbook, sheet: LabelSheet, words: "Vocabulary") -> bytes:
    from reportgen.render import labels
    from reportgen.workbook.plan import tray_labels

    printed = [
        labels.Label(one.tray, "" if sheet.blind else one.treatment, one.place)
        for one in tray_labels(wanted.plan, words)
    ]
    return labels.render(printed, wanted.path.stem, words.tag)


@dataclass(frozen=True)
class TrialPlanned:
    """How many trays a trial needs: the target, how trays vary, the plan, the seed of its layout.

    With factors `target` and `plan` are of the effect that needs the most trays, `others` have the
    rest.
    """

    target: "PowerTarget"
    variation: "Variation"
    plan: "TrialPlan"
    seed: int
    others: "tuple[tuple[PowerTarget, TrialPlan], ...]" = ()

    @property
    def text(self) -> str:
        """Return the plan in plain text, the command that lays the trial out last."""
        from reportgen.report import planning as words

        return words.text(self.variation, self.target, self.plan, self.seed, self.others)


def plan(
    sources: tuple[Path, ...],
    target: "PowerTarget",
    *,
    typed: tuple[float, float] | None = None,
    seed: int,
    figure: Path | None = None,
) -> TrialPlanned:
    """Return the plan of a trial, and write its figure where one is wanted.

    Variation is learnt from the workbooks `sources`, or `typed` as coefficients of variation
    between and within trays, as fractions; without either it is that of typical trials. Raises
    WorkbookError where a workbook has errors or two hold one trial, ValueError where nothing can be
    planned, OSError where writing fails.
    """
    from reportgen.metrics import planning
    from reportgen.report import planning as words

    variation = _variation(sources, target, typed)
    if target.factors:
        (target, made), *others = planning.plans_of_factors(variation, target)
    else:
        made, others = planning.plan(variation, target), []
    if figure:
        _write_figure(figure, words.figure(target, made))
    return TrialPlanned(target, variation, made, seed, tuple(others))


def _variation(
    sources: tuple[Path, ...], target: "PowerTarget", typed: tuple[float, float] | None
) -> "Variation":
    from reportgen.metrics import planning

    if typed:
        return planning.typed_variation(*typed)
    if not sources:
        return planning.typical_variation(target.plants)
    learnt = _learnt(sources, target)
    if learnt is None:
        raise ValueError(
            say(
                "The workbooks do not tell how trays vary: that takes two trays of a treatment"
                " with weights."
            )
        )
    return learnt


def _learnt(sources: tuple[Path, ...], target: "PowerTarget") -> "Variation | None":
    """Return how trays varied in earlier trials, each trial counted once."""
    from reportgen.metrics import planning
    from reportgen.metrics.versions import identity_of

    identities: dict[Path, TrialIdentity] = {}
    known: list[Variation] = []
    for source in workbooks(sources):
        trial = checked(source)
        identities[source] = identity_of(trial)
        if trial.interim:  # the plants that are weighed first may not be like the rest
            continue
        variation = planning.variation_of(trial, target.blocked)
        if variation:
            known.append(variation)
    versions = versions_among(identities)
    if versions:
        raise WorkbookError(tuple(versions.values()))
    return planning.pooled(known)


def _write_figure(path: Path, drawn: "Figure | None") -> None:
    from reportgen import render

    if drawn is None:
        return
    svg = render.figures.svg(drawn)
    lock.write(path, render.figures.in_ink(svg).encode())


@dataclass(frozen=True)
class LightPlanned:
    """How to match the light of treatments, in plain text, and what was found in the workbook that
    does not stop it.
    """

    match: "LightMatch"
    text: str
    problems: tuple[Problem, ...]


def plan_light(
    source: Path, target: "LightTarget", level: float, figure: Path | None = None
) -> LightPlanned:
    """Return how to match the light of treatments before the start, and write its figure where one
    is wanted.

    level: of confidence, a fraction. The workbook need not be finished. Raises WorkbookError where
    what it tells of light has errors, OSError where writing fails.
    """
    from reportgen.metrics.light_matching import match_light
    from reportgen.report import light_plan_figure, light_planning

    survey = light_survey(source)
    match = match_light(survey, target, level)
    if figure:
        _write_figure(figure, light_plan_figure.figure(survey, match))
    return LightPlanned(match, light_planning.text(survey, match, level), survey.findings)
