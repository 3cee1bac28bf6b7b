"""What the reports of a site share: the list of trials, what they tell together, assets."""

import logging
from pathlib import Path

from reportgen.building import made_of, manifest, site_folder
from reportgen.building.manifest import Entry
from reportgen.building.outcomes import BuildOptions
from reportgen.model.settings import Settings
from reportgen.sources import slug_of

log = logging.getLogger(__name__)


def listed(target: Path) -> tuple[str, ...]:
    """Return the folders of the reports that the list of trials of a site names, none where there
    is no list.
    """
    note = manifest.noted(target / manifest.NAME)
    if note:
        return note.trials
    return ()


def unlisted(sources: tuple[Path, ...], target: Path) -> tuple[str, ...]:
    """Return the folders of reports that an earlier build wrote of workbooks which are not among
    `sources`.
    """
    slugs = {slug_of(source) for source in sources}
    notes = sorted(target.glob(f"*/{manifest.NAME}"))
    return tuple(note.parent.name for note in notes if note.parent.name not in slugs)


def slugs_of(reports: list[Entry]) -> tuple[str, ...]:
    """Return the folders of reports."""
    return tuple(entry.report.slug for entry in reports if entry.report)


def write(reports: list[Entry], target: Path, settings: Settings, options: BuildOptions) -> None:
    """Write what the reports share, unless they are those of an earlier build."""
    digest = made_of.shared(reports, settings)
    old = manifest.read(target / manifest.NAME)
    if not options.rebuild and old and old.made_of == digest and manifest.whole(target, old):
        log.info("%s: what reports share is kept", target)
        return
    content = shared_files(reports, settings)
    entry = Entry(digest, manifest.digests(content), trials=slugs_of(reports))
    site_folder.write_shared(target, content, entry, options.force)
    log.info("%s: %d files that reports share are written", target, len(content))


def shared_files(reports: list[Entry], settings: Settings) -> dict[str, bytes]:
    """Return the list of the reports, what they tell together, stylesheet, scripts and fonts by
    file name.
    """
    from reportgen import render, report
    from reportgen.metrics.pooled import pooled_comparisons

    trials = tuple(entry.report for entry in reports if entry.report)
    compared = pooled_comparisons(entry.to_pool for entry in reports if entry.to_pool)
    with render.templates.using(settings):
        together = report.collect(
            settings.title, trials, compared, settings.address, settings.language
        )
        return render.site_files(together) | render.runtime.files()


def asset_files(settings: Settings) -> dict[str, bytes]:
    """Return stylesheet, scripts and fonts by file name."""
    from reportgen import render

    with render.templates.using(settings):
        return render.assets.files() | render.runtime.files()
