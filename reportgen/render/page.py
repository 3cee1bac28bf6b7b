"""Set a report as a web page."""

from collections.abc import Mapping, Sequence

from reportgen.model.document import Report
from reportgen.render import assets, card, linked, masthead, runtime, templates
from reportgen.render.figures import for_screens, specs
from reportgen.render.screens import Screen


def render(
    report: Report, figures: Mapping[str, str], pdf: bool = True, screens: Sequence[Screen] = ()
) -> dict[str, bytes]:
    """Return the report's page; `pdf` says whether a PDF stands beside it to link to, `screens`
    what else does.
    """
    blocks = [block for section in report.all_sections for block in section.blocks]
    filled = templates.fill(
        "pages/report.html",
        report=report,
        figures=for_screens(blocks, figures),
        specs=specs(blocks),
        stylesheet=f"../{assets.stylesheet_name()}",
        script=f"../{assets.script_name()}",
        runtime=f"../{runtime.name()}",
        pdf=pdf,
        screens=screens,
        linked=linked.script(report, report.dataset, pdf=pdf, address=report.address),
        preview=linked.preview(report, address=report.address, card=card.NAME),
        canonical=linked.address_of(report, report.address),
        masthead=masthead.masthead("../"),
        interactive=True,
    )
    return {f"{report.slug}/index.html": filled.encode()}
