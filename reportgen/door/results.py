"""What a trial shows, as scripts and notebooks see it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from reportgen import metrics
from reportgen.door.keys import unknown
from reportgen.door.trial import Trial
from reportgen.model import results as values
from reportgen.model.results import Comparison, Conclusion, Estimate, MeasureResult

if TYPE_CHECKING:
    import pandas as pd

    from reportgen.model.document import Report

SCORES_ARE: Final = "See frame('scores.treatments') and frame('scores.comparisons')."


@dataclass(frozen=True, repr=False)
class Measure(Mapping[str, Estimate]):
    """One measure, such as fresh weight: an estimate for each treatment, by its code.

    An estimate has a `value`, `low` and `high`, its interval at the level of the trial, all in
    `unit`; `n` is the number of trays. None stands where there is no number.
    """

    model: MeasureResult
    verdicts: Mapping[str, Conclusion]
    """What the trial says of each treatment beside the reference, by its code."""

    @property
    def label(self) -> str:
        """Return the name of the measure in English."""
        return self.model.measure.label

    @property
    def unit(self) -> str:
        """Return the unit of estimates and differences, such as `g/plant`."""
        return self.model.measure.unit

    @property
    def comparisons(self) -> dict[str, Comparison]:
        """Return each treatment beside the reference, by its code: ratio, difference, limits."""
        return dict(self.model.comparisons)

    def __getitem__(self, treatment: str) -> Estimate:
        """Return a treatment's estimate; raise KeyError, which names the treatments."""
        estimates = dict(self.model.estimates)
        if treatment not in estimates:
            raise unknown("treatment", treatment, estimates)
        return estimates[treatment]

    def __iter__(self) -> Iterator[str]:
        """Yield the codes of the treatments, in the order of the workbook."""
        return iter(dict(self.model.estimates))

    def __len__(self) -> int:
        """Return how many treatments there are."""
        return len(self.model.estimates)

    def __repr__(self) -> str:
        """Return name, unit and values in one line."""
        values = ", ".join(f"{code}: {_short(one.value)}" for code, one in self.items())
        return f"<{self.label} ({self.unit}), {values}>"


def _short(value: float | None) -> str:
    if value is None:
        return "unknown"
    return f"{value:.4g}"


@dataclass(frozen=True, repr=False)
class Results(Mapping[str, Measure]):
    """Every measure of a trial by its key, such as `fresh_weight`, as in `results.json`.

    `model` holds all results as frozen values. Numbers are unrounded.
    """

    trial: Trial
    model: values.Results

    def __getitem__(self, key: str) -> Measure:
        """Return a measure; raise KeyError, which names the measures."""
        for result in self.model.measures:
            if result.measure.key == key:
                return Measure(result, self._verdicts(key))
        if key in self.scores:
            raise KeyError(f"{key!r} is a score: it has classes and no estimates. {SCORES_ARE}")
        raise unknown("measure", key, self)

    def __iter__(self) -> Iterator[str]:
        """Yield the keys of the measures, in the order of the report."""
        return (result.measure.key for result in self.model.measures)

    def __len__(self) -> int:
        """Return how many measures there are."""
        return len(self.model.measures)

    def _verdicts(self, key: str) -> dict[str, Conclusion]:
        found = self.model.conclusions
        return {one.treatment: one for one in found if one.measure == key}

    @property
    def scores(self) -> tuple[str, ...]:
        """Return the keys of the scores in ordered classes, which have tables of their own."""
        return tuple(score.measure.key for score in self.model.scores)

    @property
    def main_measure(self) -> str:
        """Return the key of the measure that the answer leads with, empty where there is none."""
        return self.model.main_measure

    @property
    def frames(self) -> tuple[str, ...]:
        """Return the names that `frame` takes."""
        from reportgen.door import computed

        return tuple(computed.parts())

    def frame(self, name: str) -> "pd.DataFrame":
        """Return a list of `results.json` as a table, a row an entry, a column a field.

        name: one of `frames`, such as `estimates`, `comparisons` or `verdicts`. A list within the
        entries of another has a dot in its name, such as `growth.days`; its rows repeat the texts
        that name the entry they belong to. Units and meanings of the fields are those of the JSON
        Schema of results files. Notes, methods and reasons are tuples of codes; a number that is
        not known is NaN. Raises KeyError, which names the tables, where there is no such table.
        """
        from reportgen.door import computed
        from reportgen.report import results_file

        if name not in self.frames:
            raise unknown("table", name, self.frames)
        file = results_file.in_english(self.trial.model, self.model)
        return computed.frame(file, name)

    def summary(self) -> "pd.DataFrame":
        """Return the answer of the report: a few measures, with both figures, change and verdict.

        Texts are as printed, in the language of the report. A trial in which nothing is compared
        has the estimates of its main measure instead.
        """
        from reportgen.door import answer

        if not self.report.box.rows:
            estimates = self.frame("estimates")
            return estimates[estimates["metric"] == self.main_measure]
        return answer.frame(self.report.box)

    @cached_property
    def report(self) -> "Report":
        """Return the report as texts, tables and figures; it is composed once."""
        from reportgen.report import compose

        return compose(self.trial.model, self.model, self.trial.settings)

    def __repr__(self) -> str:
        """Return what they are of in one line."""
        main = self.main_measure or "none"
        return f"<Results of {self.trial.title!r}: {len(self)} measures, main measure {main}>"

    def _repr_html_(self) -> str:
        """Return the answer as a notebook shows it."""
        from reportgen.door import shown

        return shown.html(self.report.headline, self.summary())


def analyse(trial: Trial) -> Results:
    """Return what a trial shows."""
    return Results(trial, metrics.compute(trial.model))
