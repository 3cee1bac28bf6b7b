"""Write the photos of a report, for its page and its PDF."""

from reportgen.model.document import Photo, Report


def render(report: Report) -> dict[str, bytes]:
    """Return each photo as a file of its own; one that is shown twice is one file."""
    blocks = (block for section in report.sections for block in section.blocks)
    return {f"{report.slug}/photos/{block.key}.jpg": block.content for block in blocks if isinstance(block, Photo)}
