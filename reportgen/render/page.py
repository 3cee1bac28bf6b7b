"""Set a report as a web page."""

from collections.abc import Mapping

from markupsafe import Markup

from reportgen.model.document import Report
from reportgen.render import assets, templates


def render(report: Report, figures: Mapping[str, str], pdf: bool = True) -> dict[str, bytes]:
    """Return the report's page; `pdf` says whether a PDF stands beside it to link to."""
    filled = templates.fill(
        "pages/report.html",
        report=report,
        figures={key: Markup(drawn) for key, drawn in figures.items()},
        stylesheet=f"../{assets.stylesheet_name()}",
        pdf=pdf,
        paper=False,
    )
    return {f"{report.slug}/index.html": filled.encode()}
