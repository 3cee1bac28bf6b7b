"""Set the list of trials and the page of what they tell together, and add what all pages share."""

from collections import Counter
from typing import Final

from reportgen.model.document import Figure, Site
from reportgen.render import assets, feed, figures, runtime, templates

POOLED: Final = "pooled.html"


def render(site: Site) -> dict[str, bytes]:
    """Return the list of trials, the page, figures and numbers of what they share, stylesheet, script and fonts."""
    listed = _page("pages/index.html", site, crops=_crops(site), pooled=POOLED)
    read_by_machines = feed.render(site, {report.slug: report.dataset for report in site.reports}, address=site.address)
    return {"index.html": listed} | read_by_machines | _of_pooled(site) | assets.files()


def _page(template: str, site: Site, **values: object) -> bytes:
    """Return a page of the whole site."""
    filled = templates.fill(
        template,
        site=site,
        language=site.language,
        stylesheet=assets.stylesheet_name(),
        script=assets.script_name(),
        **values,
    )
    return filled.encode()


def _crops(site: Site) -> tuple[tuple[str, int], ...]:
    """Return each crop with its number of trials, by name; none where all grew the same. Case does not matter."""
    names = {report.crop_name.lower(): report.crop_name for report in reversed(site.reports)}
    trials = Counter(report.crop_name.lower() for report in site.reports)
    return tuple((names[crop], trials[crop]) for crop in sorted(names)) if len(names) > 1 else ()


def _of_pooled(site: Site) -> dict[str, bytes]:
    """Return the page of pooled trials with its figures and numbers; nothing where no trials are pooled."""
    if not site.sections:
        return {}
    blocks = [block for section in site.sections for block in section.blocks]
    drawn = {block.key: figures.svg(block) for block in blocks if isinstance(block, Figure)}
    page = _page(
        "pages/pooled.html",
        site,
        runtime=runtime.name(),
        figures=figures.for_screens(blocks, drawn),
        specs=figures.specs(blocks),
        paper=False,
        interactive=True,
    )
    files = {f"figures/{key}.svg": figures.in_ink(svg).encode() for key, svg in drawn.items()}
    return files | {POOLED: page, "pooled.json": site.results.encode()}
