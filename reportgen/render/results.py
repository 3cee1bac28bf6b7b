"""Pass on the results file."""

from collections.abc import Mapping

from reportgen.model.document import Report


def render(report: Report, figures: Mapping[str, str]) -> dict[str, bytes]:
    """Return the results file of a report."""
    return {f"{report.slug}/results.json": report.results.encode()}
