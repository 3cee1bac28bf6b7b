"""Set the list of trials, and add what all pages share."""

from reportgen.model.document import Site
from reportgen.render import assets, templates


def render(site: Site) -> dict[str, bytes]:
    """Return the list of trials, the stylesheet and the fonts."""
    languages = [report.language for report in site.reports]
    filled = templates.fill(
        "pages/index.html",
        site=site,
        language=languages[0] if len(set(languages)) == 1 else "en",
        stylesheet=assets.stylesheet_name(),
    )
    return {"index.html": filled.encode()} | assets.files()
