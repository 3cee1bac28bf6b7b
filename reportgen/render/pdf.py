"""Set a report on paper, as a tagged PDF."""

from collections.abc import Callable, Mapping
from types import ModuleType
from typing import Any, cast
from urllib.parse import unquote

from reportgen.model.document import Report
from reportgen.render import assets, templates

# Addresses need a root to be relative to; RFC 6761 keeps the name from ever being a host.
ROOT = "http://site.invalid/"

ADVICE = """The PDF cannot be set: the text layout library Pango is missing on this computer.
Debian, Ubuntu: apt-get install libpango-1.0-0 libpangoft2-1.0-0
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


def render(report: Report, figures: Mapping[str, str]) -> dict[str, bytes]:
    """Return the report as PDF/UA-1, the same bytes for the same report. Raises PdfUnavailable."""
    weasyprint = require()
    filled = templates.fill("pages/paper.html", report=report, stylesheet=f"../{assets.stylesheet_name()}", paper=True)
    drawn = {f"{report.slug}/figures/{key}.svg": svg.encode() for key, svg in figures.items()}
    document = weasyprint.HTML(
        string=filled, base_url=f"{ROOT}{report.slug}/", url_fetcher=_fetcher(assets.files() | drawn)
    )
    return {f"{report.slug}/report.pdf": document.write_pdf(pdf_variant="pdf/ua-1")}


def _fetcher(files: Mapping[str, bytes]) -> Callable[..., Any]:
    """Return a fetcher that knows these files and refuses every other address."""
    response = require().urls.URLFetcherResponse
    types = {"css": "text/css", "svg": "image/svg+xml", "woff2": "font/woff2"}

    def fetch(address: str) -> Any:
        name = unquote(address.removeprefix(ROOT))
        if name not in files:
            raise ValueError(f"{address} is not a file of the report.")
        return response(address, files[name], {"Content-Type": types[name.rpartition(".")[2]]})

    return fetch
