"""Set a report on paper: one file, PDF/UA-1 (readable by ear) and PDF/A-3a (made to last), with its
data attached.
"""

import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from types import ModuleType
from typing import Any, Final, cast
from urllib.parse import unquote, urljoin, urlsplit

from reportgen.model.document import Block, Links, Report, Section
from reportgen.render import assets, photos, templates
from reportgen.render.pdf import attachments, conformance, drawings, halves, web

# Addresses need a root to be relative to; RFC 6761 keeps the name from ever being a host.
ROOT: Final = "http://site.invalid/"
EPOCH: Final = "SOURCE_DATE_EPOCH"
OPTIONS: Final = {"pdf_variant": "pdf/a-3a"}
TYPES: Final = {
    "css": "text/css",
    "jpg": "image/jpeg",
    "png": "image/png",
    "svg": "image/svg+xml",
    "woff2": "font/woff2",
} | attachments.TYPES

ADVICE = """The PDF cannot be set: the text layout library Pango is missing on this computer.
Debian, Ubuntu: apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0
macOS:          brew install pango
Windows:        see the installation page of the WeasyPrint documentation
The web page does not need it: use --no-pdf."""


class PdfUnavailable(Exception):
    """The system library that sets PDFs is missing; the message says what to install."""


def require() -> ModuleType:
    """Return WeasyPrint. Raises PdfUnavailable where it cannot load its system libraries."""
    try:
        import weasyprint  # here, since it takes half a second and needs system libraries
    except OSError as error:
        raise PdfUnavailable(ADVICE) from error
    return cast(ModuleType, weasyprint)


def render(
    report: Report,
    figures: Mapping[str, str],
    *,
    address: str = "",
    source: tuple[str, bytes] | None = None,
) -> dict[str, bytes]:
    """Return the report as PDF, the same bytes for the same report.

    `address` is where the report stands on the web, if it does; `source` the name and content of
    its workbook, to be attached. Raises PdfUnavailable.
    """
    attached = attachments.choose(report, source)
    paper, drawn = halves.in_columns(report, figures)
    fetch = _fetcher(_files(report, drawn, address) | attached.files)
    document = _pages(report, fetch, markup(paper, address, attached))
    with _undated_fonts():
        content = document.write_pdf(
            finisher=conformance.finish,
            attachments=attachments.attach(report, attached, ROOT, fetch),
            **OPTIONS,
        )
    return {f"{report.slug}/report.pdf": content}


def plain_page(filled: str, files: Mapping[str, bytes]) -> bytes:
    """Return a page of HTML as PDF, the same bytes for the same page.

    files: what the page asks for, by the address that it gives. Raises PdfUnavailable.
    """
    page = require().HTML(string=filled, base_url=ROOT, url_fetcher=_fetcher(files))
    with _undated_fonts():
        return cast(bytes, page.write_pdf())


@contextmanager
def _undated_fonts() -> Iterator[None]:
    """Keep the time of day out of embedded fonts: fontTools writes it, which cuts them where
    HarfBuzz-Subset lacks.

    The variable is that of reproducible-builds.org/specs/source-date-epoch; one that is set stays.
    """
    is_set = EPOCH in os.environ
    os.environ.setdefault(EPOCH, "0")
    try:
        yield
    finally:
        if not is_set:
            del os.environ[EPOCH]


def markup(report: Report, address: str = "", attached: attachments.Attached | None = None) -> str:
    """Return the HTML that the PDF is set from."""
    return templates.fill(
        "pages/paper.html",
        report=_on_paper(report, address),
        stylesheet=f"../{assets.stylesheet_name()}",
        address=address,
        attached=attached.sentences if attached else (),
        has_annex=any(section.blocks for section in report.annex),
        foot=_foot(report),
    )


def _foot(report: Report) -> str:
    """Return what stands at the foot of each page: the trial, its day and its licence."""
    parts = (report.title, report.harvest_day, report.dataset.licence)
    return " · ".join(part for part in parts if part)


def _on_paper(report: Report, address: str) -> Report:
    """Return a report whose links lead to the web in full, or nowhere where it is not on the web."""
    return replace(
        report,
        sections=tuple(_reached_within(section, address) for section in report.sections),
        annex=tuple(_reached_within(section, address) for section in report.annex),
    )


def _reached_within(section: Section, address: str) -> Section:
    return replace(section, blocks=tuple(_reached(block, address) for block in section.blocks))


def _reached(block: Block, address: str) -> Block:
    if not isinstance(block, Links):
        return block
    return Links(tuple((text, _whole(link, address), about) for text, link, about in block.items))


def _whole(link: str, address: str) -> str:
    """Return a link as seen from the page at `address`; empty where it is relative to a page that
    is not known.
    """
    whole = urljoin(address, link)
    if urlsplit(whole).scheme:
        return whole
    return ""


def _files(report: Report, figures: Mapping[str, str], address: str) -> dict[str, bytes]:
    """Return the files that the layout asks for, by their address under the root."""
    drawn: dict[str, bytes] = {}
    for key, svg in figures.items():
        drawn |= drawings.files(f"{report.slug}/figures/{key}", svg)
    return (
        assets.files()
        | drawn
        | photos.render(report)
        | ({f"{report.slug}/address.svg": web.code(address)} if address else {})
    )


def _pages(report: Report, fetch: Callable[..., Any], filled: str) -> Any:
    page = require().HTML(string=filled, base_url=f"{ROOT}{report.slug}/", url_fetcher=fetch)
    return page.render(**OPTIONS)


def _fetcher(files: Mapping[str, bytes]) -> Callable[..., Any]:
    """Return a fetcher that knows these files and refuses every other address."""
    response = require().urls.URLFetcherResponse

    def fetch(address: str) -> Any:
        name = unquote(address.removeprefix(ROOT))
        if name not in files:
            raise ValueError(f"{address} is not a file of the report.")
        media_type = TYPES.get(name.rpartition(".")[2].casefold(), "application/octet-stream")
        return response(address, files[name], {"Content-Type": media_type})

    return fetch
