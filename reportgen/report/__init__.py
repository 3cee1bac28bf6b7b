"""Wording, rounding, and the order of a report."""

from typing import TYPE_CHECKING

from reportgen.model.settings import DEFAULTS, Settings

if TYPE_CHECKING:
    from reportgen.metrics.pooled import PooledComparison
    from reportgen.model.document import Report, Site
    from reportgen.model.results import Results
    from reportgen.model.trial import Trial

__all__ = ["collect", "compose"]


def compose(trial: "Trial", results: "Results", settings: Settings = DEFAULTS) -> "Report":
    """Return the report of a trial in its language, ready to be set as the settings of its site
    have it.
    """
    from reportgen.report import composing  # statistics load slowly, and a check needs none of them

    return composing.compose(trial, results, settings)


def collect(
    title: str,
    reports: "tuple[Report, ...]",
    comparisons: "tuple[PooledComparison, ...]" = (),
    address: str = "",
    tag: str = "en",
) -> "Site":
    """Return a site of reports, latest harvest first, with the comparisons that several of them
    share.

    It is in the language of its reports, and in that of `tag` where they have several.
    """
    from reportgen.report import composing

    return composing.collect(title, reports, comparisons, address, tag)
