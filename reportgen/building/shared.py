"""What the reports of a site share: the list of trials, what they tell together, assets."""

from pathlib import Path

from reportgen import files
from reportgen.building import made_of, manifest, site_folder, verify
from reportgen.building.manifest import Entry
from reportgen.building.outcomes import How
from reportgen.model.settings import Settings
from reportgen.sources import slug_of


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


def write(reports: list[Entry], target: Path, settings: Settings, how: How) -> None:
    """Write what the reports share, unless they are those of an earlier build."""
    digest = made_of.shared(reports, settings)
    old = manifest.read(target / manifest.NAME)
    if not how.rebuild and old and old.made_of == digest and manifest.whole(target, old):
        return
    content = shared_files(reports, target, settings)
    entry = Entry(digest, manifest.digests(content), trials=slugs_of(reports))
    site_folder.write_shared(target, content, entry, how.force)


def shared_files(reports: list[Entry], target: Path, settings: Settings) -> dict[str, bytes]:
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
        return render.site_files(together) | _runtime(target)


def asset_files(target: Path, settings: Settings) -> dict[str, bytes]:
    """Return stylesheet, scripts and fonts by file name."""
    from reportgen import render

    with render.templates.using(settings):
        return render.assets.files() | _runtime(target)


def _runtime(target: Path) -> dict[str, bytes]:
    """Return the script that figures are explored by; an earlier build's where that is as it was
    written.
    """
    from reportgen.render import runtime

    name = runtime.name()
    known = verify.noted_in(target).get(name)
    path = target / name
    if known and files.digest(path) == known:
        return runtime.files(path.read_bytes())
    return runtime.files(None)
