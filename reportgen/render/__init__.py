"""Turn a report into the files of a site: one file a format, `render` in each, bytes by file name
out.
"""

import re
from collections.abc import Iterator, Mapping, Sequence

from reportgen import direction, language
from reportgen.model.document import Links, Report, Section, Site
from reportgen.render import (
    artwork,
    card,
    citation,
    data,
    figures,
    linked,
    package,
    page,
    photos,
    post,
    results,
    screens,
    site,
)
from reportgen.render import pdf as paper
from reportgen.render.pdf import PdfUnavailable
from reportgen.second_process import Request

__all__ = ["PdfUnavailable", "report_files", "site_files"]

NAME = re.compile(r"[\w-]+")
ADDRESS = re.compile(r"https?://|mailto:|(?![\w+.-]*:|[/\\])")


def report_files(
    report: Report, pdf: bool = True, source: tuple[str, bytes] | None = None
) -> dict[str, bytes]:
    """Return the files of one trial: page, photos, figures, post, card, results file, recorded
    data, PDF if asked for.

    The page links to the PDF only where there is one. `source` is the name and content of the
    workbook, to be attached to the PDF. Raises PdfUnavailable, before any chart is drawn, where the
    PDF is asked for and cannot be set on this computer; ValueError for a key that cannot be part of
    a file name, and for an address of another kind than relative, web or mail.
    """
    _require_plain_names(report)
    if pdf:
        paper.require()
    with language.using(language.of(report.language)), direction.using(report.right_to_left):
        return _report_files(report, pdf, source)


def _report_files(report: Report, pdf: bool, source: tuple[str, bytes] | None) -> dict[str, bytes]:
    artwork.ahead(figures.narrow_requests(report))
    drawn = figures.draw(report)
    shown = screens.screens(report, drawn)
    pictures = _pictures(report, drawn, shown)
    if not pdf:
        pictures = pictures[::2]  # without a PDF to set, this process draws the others meanwhile
    artwork.ahead(pictures)
    address = linked.address_of(report, report.address)
    on_paper: dict[str, bytes] = {}
    if pdf:  # before the pictures are fetched, which are drawn meanwhile
        on_paper = paper.render(report, drawn, address=address, source=source)
    files = (
        page.render(report, drawn, pdf=pdf, screens=shown)
        | figures.render(report, drawn)
        | results.render(report, drawn)
    )
    files |= photos.render(report) | card.render(report) | screens.render(report, shown)
    files |= post.render(report, address=report.address)
    files |= {
        f"{report.slug}/figures/{key}.png": picture for key, picture in card.pictures(drawn).items()
    }
    recorded = data.render(report, drawn)
    files |= recorded | package.render(report, report.dataset, recorded, address=report.address)
    files |= citation.render(report, report.dataset, address=report.address)
    return files | on_paper


def _pictures(
    report: Report, drawn: Mapping[str, str], shown: Sequence[screens.Screen]
) -> list[Request]:
    """Return the pictures of pixels that a report has beside its figures' drawings."""
    of_figures = [card.request(svg) for svg in drawn.values()]
    of_screens = screens.drawings(report, shown).values()
    return [*of_figures, *(card.request(svg, 1) for svg in of_screens)]


def site_files(collection: Site) -> dict[str, bytes]:
    """Return the files that the trials share: their list, what they tell together, the stylesheet
    and the fonts.

    Raises ValueError as `report_files` does.
    """
    _require_plain_names(collection)
    names = [name for report in collection.reports for name in report.right_to_left]
    with direction.using(direction.right_to_left((collection.title, *names))):
        return site.render(collection)


def _require_plain_names(document: Report | Site) -> None:
    """Refuse keys that would break out of a folder or an anchor, and addresses that would run or
    escape.
    """
    for name in _names(document):
        if not NAME.fullmatch(name):
            raise ValueError(
                f"{name!r} cannot be part of a file name: use letters, digits, - and _."
            )
    for address in _addresses(document):
        if not ADDRESS.match(address):
            raise ValueError(f"{address!r} is not an address a report may link to.")


def _names(document: Report | Site) -> Iterator[str]:
    if isinstance(document, Report):
        yield document.slug
    for section in _sections(document):
        yield section.key
        yield from (block.key for block in section.blocks if hasattr(block, "key"))
    if isinstance(document, Report):
        yield from (photo.key for photo in photos.shown(document))


def _sections(document: Report | Site) -> tuple[Section, ...]:
    if isinstance(document, Report):
        return document.all_sections
    return document.sections


def _addresses(document: Report | Site) -> Iterator[str]:
    for section in _sections(document):
        for block in section.blocks:
            if isinstance(block, Links):
                yield from (address for _, address, _ in block.items)
