"""Set the list of trials with what they tell together, and add what all pages share."""

from collections import Counter

from reportgen.model.document import Figure, Site
from reportgen.render import assets, feed, figures, runtime, templates


def render(site: Site) -> dict[str, bytes]:
    """Return the list of trials, the figures and numbers of what they share, stylesheet, script and fonts."""
    blocks = [block for section in site.sections for block in section.blocks]
    drawn = {block.key: figures.svg(block) for block in blocks if isinstance(block, Figure)}
    filled = templates.fill(
        "pages/index.html",
        site=site,
        crops=_crops(site),
        language=site.language,
        stylesheet=assets.stylesheet_name(),
        script=assets.script_name(),
        runtime=runtime.name(),
        figures=figures.for_screens(blocks, drawn),
        specs=figures.specs(blocks),
        paper=False,
        interactive=True,
    )
    read_by_machines = feed.render(site, {report.slug: report.dataset for report in site.reports}, address=site.address)
    return {"index.html": filled.encode()} | read_by_machines | _of_pooled(site, drawn) | assets.files()


def _crops(site: Site) -> tuple[tuple[str, int], ...]:
    """Return each crop with its number of trials, by name; none where all grew the same. Case does not matter."""
    names = {report.crop_name.lower(): report.crop_name for report in reversed(site.reports)}
    trials = Counter(report.crop_name.lower() for report in site.reports)
    return tuple((names[crop], trials[crop]) for crop in sorted(names)) if len(names) > 1 else ()


def _of_pooled(site: Site, drawn: dict[str, str]) -> dict[str, bytes]:
    files = {f"figures/{key}.svg": figures.in_ink(svg).encode() for key, svg in drawn.items()}
    return files | {"pooled.json": site.results.encode()} if site.results else files
