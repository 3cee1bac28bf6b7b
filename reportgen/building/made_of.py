"""What a report is made of, as digests: a report of the same as before need not be made again."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from reportgen import files, paths
from reportgen.building import manifest
from reportgen.building.manifest import Entry
from reportgen.building.outcomes import BuildOptions
from reportgen.model.settings import Settings
from reportgen.sources import beside, slug_of


def kept(source: Path, target: Path, settings: Settings, options: BuildOptions) -> Entry | None:
    """Return the entry of a workbook whose report was built of the same before, and whose files are
    all as built.
    """
    slug = slug_of(source)
    entry = manifest.read(target / slug / manifest.NAME)
    if entry is None or entry.report is None or entry.report.slug != slug:
        return None
    photos = {name: _photo_digest(source, name) for name in entry.photos}
    made_of = report(source, content_of(source), photos, settings, options.pdf)
    if entry.made_of == made_of and manifest.whole(target, entry):
        return entry
    return None


def content_of(source: Path) -> str:
    """Return a digest of a workbook, and of the files that are read with it where it was taken in."""
    own = files.digest(source)
    others = [f"{path.name} {files.digest(path)}" for path in beside(source)]
    if others:
        return manifest.digest(own, *others)
    return own


def _photo_digest(source: Path, name: str) -> str:
    from reportgen.workbook import photos

    return files.digest(photos.beside(source.parent, name))


def report(
    source: Path, content: str, photos: Mapping[str, str], settings: Settings, pdf: bool
) -> str:
    """Return a digest of all that goes into a report: workbook, photos beside it by name, settings,
    program.
    """
    pictures = [*photos, *photos.values()]
    return manifest.digest(
        source.name, content, *pictures, _digest_of(settings), str(pdf), program()
    )


def shared(reports: list[Entry], settings: Settings) -> str:
    """Return a digest of all that goes into what reports share."""
    made_of = [entry.made_of for entry in reports]
    return manifest.digest(_digest_of(settings), program(), *made_of)


def _digest_of(settings: Settings) -> str:
    return manifest.digest(repr(replace(settings, templates=None)))


def program() -> str:
    """Return a digest of the program, to tell whether another computer runs the same."""
    return manifest.program(paths.templates())
