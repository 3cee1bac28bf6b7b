"""Write the photos of a report, for its page and its PDF."""

from collections.abc import Iterator

from reportgen.model.document import Photo, PhotoDay, Report


def render(report: Report) -> dict[str, bytes]:
    """Return each photo as a file of its own; one that is shown twice is one file."""
    return {f"{report.slug}/photos/{photo.key}.jpg": photo.content for photo in shown(report)}


def shown(report: Report) -> Iterator[Photo]:
    """Yield the photos of a report in reading order."""
    for section in report.all_sections:
        for block in section.blocks:
            if isinstance(block, Photo):
                yield block
            elif isinstance(block, PhotoDay):
                yield from block.photos
