"""Set the list of trials, the page of what they tell together, and what all pages share."""

from collections import Counter

from reportgen.model.document import Figure, Site
from reportgen.render import assets, feed, figures, masthead, runtime, templates
from reportgen.render.feed import POOLED


def render(site: Site) -> dict[str, bytes]:
    """Return the list of trials, what several of them tell together, feed, stylesheet, script and
    fonts.
    """
    read_by_machines = feed.render(
        site, {report.slug: report.dataset for report in site.reports}, address=site.address
    )
    listed = _filled(
        "pages/index.html", site, crops=_crops(site), pooled=POOLED if site.sections else ""
    )
    return (
        {"index.html": listed.encode()}
        | read_by_machines
        | _pooled(site)
        | assets.files()
        | masthead.files()
    )


def _filled(template: str, site: Site, **values: object) -> str:
    shared = {
        "stylesheet": assets.stylesheet_name(),
        "script": assets.script_name(),
        "runtime": runtime.name(),
    }
    return templates.fill(
        template,
        site=site,
        language=site.language,
        masthead=masthead.masthead(),
        **shared,
        **values,
    )


def _crops(site: Site) -> tuple[tuple[str, int], ...]:
    """Return each crop with its number of trials, by name; none where all grew the same.

    Case does not matter.
    """
    names = {report.crop_name.lower(): report.crop_name for report in reversed(site.reports)}
    trials = Counter(report.crop_name.lower() for report in site.reports)
    if len(names) > 1:
        return tuple((names[crop], trials[crop]) for crop in sorted(names))
    return ()


def _pooled(site: Site) -> dict[str, bytes]:
    """Return the page of what trials tell together, its figures and its numbers; none where they
    share nothing.
    """
    if not site.sections:
        return {}
    blocks = [block for section in site.sections for block in section.blocks]
    drawn = {block.key: figures.svg(block) for block in blocks if isinstance(block, Figure)}
    on_page = {
        "figures": figures.for_screens(blocks, drawn),
        "specs": figures.specs(blocks),
        "interactive": True,
    }
    page = _filled("pages/pooled.html", site, **on_page)
    files = {f"figures/{key}.svg": figures.in_ink(svg).encode() for key, svg in drawn.items()}
    return files | {POOLED: page.encode(), "pooled.json": site.results.encode()}
