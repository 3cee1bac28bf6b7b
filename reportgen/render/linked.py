"""Describe a report in its page's head: schema.org's Dataset as JSON-LD, and what link previews
show.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

from jinja2.utils import htmlsafe_json_dumps
from markupsafe import Markup

from reportgen.language import marked, say
from reportgen.model.data import Dataset
from reportgen.model.document import Report

LONGEST: Final = 5000  # characters of a description; the shortest that search engines take has 50
CARD_SIZE: Final = (1200, 630)  # pixels
ONE_IDENTIFIER: Final = re.compile(r"(?!LicenseRef-)[\w.-]+")


@dataclass(frozen=True)
class Licence:
    """A licence of the SPDX list: its identifier and the address of its text."""

    identifier: str
    address: str


def licence(text: str) -> Licence | None:
    """Return the licence of the SPDX list that a text names; None where it is words of the grower's
    own.

    Case does not matter, and spaces may stand for hyphens: CC BY 4.0 is CC-BY-4.0.
    """
    from packaging.licenses import InvalidLicenseExpression, canonicalize_license_expression

    typed = "-".join(text.split())
    if not ONE_IDENTIFIER.fullmatch(typed):
        return None
    try:
        identifier = str(canonicalize_license_expression(typed))
    except InvalidLicenseExpression:
        return None
    named = ONE_IDENTIFIER.fullmatch(identifier)
    if named:
        return Licence(identifier, f"https://spdx.org/licenses/{identifier}.html")
    return None


def address_of(report: Report, address: str, file: str = "index.html") -> str:
    """Return the whole address of a file of the report; empty where the site has none."""
    if address:
        return absolute(address, f"{report.slug}/{file}")
    return ""


def absolute(address: str, name: str) -> str:
    """Return the address of a file of the site at `address`, which has no slash at its end."""
    return f"{address}/{quote(name)}"


def script(report: Report, dataset: Dataset, *, pdf: bool, address: str = "") -> Markup:
    """Return the JSON-LD as text that can stand within `<script type="application/ld+json">`.

    Whatever could end the element, or break a line of script, is escaped. Such a block of data is
    never run, so no rule of a content security policy keeps it off the page (HTML, "prepare the
    script element").
    """
    return htmlsafe_json_dumps(
        described(report, dataset, pdf=pdf, address=address), dumps=json.dumps
    )


def described(
    report: Report, dataset: Dataset, *, pdf: bool, address: str = ""
) -> dict[str, object]:
    """Return the report as a schema.org Dataset; what is not known is left out.

    `pdf` says whether a PDF stands beside the page. Only a site with an address has addresses of
    files to tell.
    """
    known = licence(dataset.licence)
    found = {
        "@context": "https://schema.org/",
        "@type": "Dataset",
        "@id": address_of(report, address),
        "url": address_of(report, address),
        "name": report.title,
        "description": description(report, dataset),
        "inLanguage": report.language,
        "creativeWorkStatus": "Incomplete" if report.interim else "",
        "license": known.address if known else dataset.licence,
        "creator": list(_creators(dataset)),
        "keywords": list(dataset.keywords),
        "temporalCoverage": _span(report, dataset),
        "spatialCoverage": (
            {"@type": "Place", "name": dataset.location} if dataset.location else None
        ),
        "variableMeasured": [_variable(name, unit) for name, unit in dataset.measured],
        "measurementTechnique": list(dataset.instruments),
        "isAccessibleForFree": True,
        "distribution": [
            _download(report, address, name, kind) for name, kind in _downloads(report, pdf=pdf)
        ],
    }
    return {key: value for key, value in found.items() if value}


def description(report: Report, dataset: Dataset) -> str:
    """Return what the data are, in 50 to 5000 characters."""
    span = _span(report, dataset)
    if span:
        message = marked(
            "Recorded data and results of a side-by-side growing trial with {crop}, {start} to"
            " {harvest}."
        )
        start, _, harvest = span.partition("/")
        kind = say(message, crop=report.crop, start=start, harvest=harvest)
    else:
        kind = say(
            "Recorded data and results of a side-by-side growing trial with {crop}.",
            crop=report.crop,
        )
    return _cut(f"{kind} {report.description}".strip())


def preview(report: Report, *, address: str = "", card: str = "") -> tuple[tuple[str, str], ...]:
    """Return pairs of property and content for the page's head, by the Open Graph protocol.

    `card` is the name of a picture for link previews in the report's folder. Only a site with an
    address has a picture to show: previews take whole addresses only.
    """
    shown = bool(card and address)
    if shown:
        picture = address_of(report, address, card)
    else:
        picture = ""
    pairs = (
        ("og:type", "article"),
        ("og:title", report.title),
        ("og:description", report.description),
        ("og:url", address_of(report, address)),
        ("og:image", picture),
        ("og:image:width", str(CARD_SIZE[0]) if shown else ""),
        ("og:image:height", str(CARD_SIZE[1]) if shown else ""),
        ("og:image:alt", report.title if shown else ""),
        ("twitter:card", "summary_large_image" if shown else "summary"),
    )
    return tuple((name, content) for name, content in pairs if content)


def _cut(text: str) -> str:
    if len(text) <= LONGEST:
        return text
    return text[: LONGEST - 1].rsplit(maxsplit=1)[0] + "…"


def _span(report: Report, dataset: Dataset) -> str:
    """Return start and harvest as an interval of ISO 8601, empty where one is not known."""
    if dataset.started_on and report.harvested_on:
        return f"{dataset.started_on}/{report.harvested_on}"
    return ""


def _creators(dataset: Dataset) -> Iterator[dict[str, str]]:
    if dataset.author:
        yield {"@type": "Person", "name": dataset.author}
    if dataset.organisation:
        yield {"@type": "Organization", "name": dataset.organisation}


def _variable(name: str, unit: str) -> dict[str, str]:
    return {"@type": "PropertyValue", "name": name} | ({"unitText": unit} if unit else {})


def _downloads(report: Report, *, pdf: bool) -> Iterator[tuple[str, str]]:
    """Yield the name of each file that holds the report's numbers, and its media type."""
    yield from ((f"data/{table.file_name}", "text/csv") for table in report.data)
    yield "results.json", "application/json"
    if pdf:
        yield "report.pdf", "application/pdf"


def _download(report: Report, address: str, name: str, kind: str) -> dict[str, str]:
    download = {"@type": "DataDownload", "name": name.rpartition("/")[2], "encodingFormat": kind}
    return download | ({"contentUrl": address_of(report, address, name)} if address else {})
