"""The figures of a report as charts."""

import json
from collections.abc import Iterable, Iterator

import altair as alt

from reportgen.charts import theme
from reportgen.door.keys import unknown
from reportgen.door.results import Results
from reportgen.door.trial import Trial
from reportgen.model.document import Block, Columns, Figure


def titles(trial: Trial, results: Results) -> dict[str, str]:
    """Return the title of each figure by its key, in the order of the report."""
    return {key: figure.title or figure.caption for key, figure in _drawn(trial, results).items()}


def chart(trial: Trial, results: Results, key: str) -> alt.TopLevelMixin:
    """Return a figure as a chart, its axes and text in the ink of light pages."""
    drawn = _drawn(trial, results)
    if key not in drawn:
        raise unknown("figure", key, drawn)
    ink = json.dumps(theme.INK_ON_LIGHT)
    specification = drawn[key].spec.replace(json.dumps(theme.INK), ink)
    made: alt.TopLevelMixin = alt.Chart.from_json(specification)
    return made


def _drawn(trial: Trial, results: Results) -> dict[str, Figure]:
    if not _is_of(results, trial):
        raise ValueError("The results are those of another trial: pass rg.analyse(trial).")
    found: dict[str, Figure] = {}
    for section in results.report.all_sections:
        for figure in _figures_of(section.blocks):
            found.setdefault(figure.key, figure)
    return found


def _is_of(results: Results, trial: Trial) -> bool:
    """Return whether results are those of a trial, by its workbook."""
    own = results.trial
    same_workbook = own.model.source_sha256 == trial.model.source_sha256
    return same_workbook and own.settings == trial.settings


def _figures_of(blocks: Iterable[Block]) -> Iterator[Figure]:
    for block in blocks:
        if isinstance(block, Figure):
            yield block
        elif isinstance(block, Columns):
            yield from _figures_of(block.blocks)
