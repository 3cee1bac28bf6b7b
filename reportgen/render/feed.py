"""Tell feed readers and search engines of a site's reports: Atom (RFC 4287) and sitemap (protocol
0.9).
"""

from collections.abc import Mapping
from typing import Final
from uuid import NAMESPACE_URL, uuid5
from xml.etree import ElementTree as Xml

from reportgen import direction
from reportgen.model.data import Dataset
from reportgen.model.document import Report, Site
from reportgen.render import answer_board, templates
from reportgen.render.figures import NOT_IN_XML
from reportgen.render.linked import absolute, address_of
from reportgen.version import __version__

ATOM: Final = "http://www.w3.org/2005/Atom"
SITEMAP: Final = "http://www.sitemaps.org/schemas/sitemap/0.9"
POOLED: Final = "pooled.html"  # the page of what trials tell together
LANGUAGE: Final = "{http://www.w3.org/XML/1998/namespace}lang"


def render(site: Site, datasets: Mapping[str, Dataset], *, address: str = "") -> dict[str, bytes]:
    """Return the feed and, where the site has an address, the sitemap; nothing for a site without
    reports.

    `datasets` say who wrote each report, by slug. A report's date is when its result changed, and
    its day of harvest while it is the first.
    """
    if not site.reports:
        return {}
    files = {"feed.xml": _written(_feed(site, datasets, address))}
    if address:
        return files | {"sitemap.xml": _written(_sitemap(site, address))}
    return files


def _feed(site: Site, datasets: Mapping[str, Dataset], address: str) -> Xml.Element:
    feed = Xml.Element("feed", xmlns=ATOM)
    _text(feed, "title", site.title)
    _text(feed, "id", absolute(address, "") if address else _name(site.title))
    _text(feed, "updated", max(map(_moment, site.reports)))
    _text(_text(feed, "author"), "name", site.title)
    _text(feed, "link", rel="alternate", type="text/html", href=_href("index.html", address))
    if address:
        _text(
            feed,
            "link",
            rel="self",
            type="application/atom+xml",
            href=absolute(address, "feed.xml"),
        )
    _text(feed, "generator", "reportgen", version=__version__)
    for report in site.reports:
        feed.append(_entry(site, report, datasets.get(report.slug, Dataset()), address))
    return feed


def _entry(site: Site, report: Report, dataset: Dataset, address: str) -> Xml.Element:
    entry = Xml.Element("entry", {LANGUAGE: report.language})
    _text(entry, "title", report.headline or report.title)
    _text(entry, "id", address_of(report, address) or _own_name(site, report, dataset))
    _text(entry, "updated", _moment(report))
    _text(entry, "published", _day_of_harvest(report))
    if dataset.author or dataset.organisation:
        _text(_text(entry, "author"), "name", dataset.author or dataset.organisation)
    _text(
        entry,
        "link",
        rel="alternate",
        type="text/html",
        href=_href(f"{report.slug}/index.html", address),
    )
    _text(entry, "category", term=report.crop)
    _text(entry, "summary", _summary(report))
    content = Xml.SubElement(entry, "content", {"type": "html"})
    content.text = _content(report, address).translate(NOT_IN_XML)
    if dataset.licence:
        _text(entry, "rights", dataset.licence)
    return entry


def _summary(report: Report) -> str:
    """Return the answer in words behind marks such as Interim; what the report is about where it
    has no answer.
    """
    marks = (f"{mark}." for mark in report.trust.marks)
    return " ".join((*marks, *(report.lead or (report.description,))))


def _content(report: Report, address: str) -> str:
    """Return the answer of a report as plain HTML, which readers of feeds set in their own look."""
    return templates.fill(
        "pages/feed_entry.html",
        report=report,
        lines=answer_board.answer_lines(report.box),
        compared=answer_board.compared(report.box) if report.box.rows else "",
        page=_href(f"{report.slug}/index.html", address),
    )


def _own_name(site: Site, report: Report, dataset: Dataset) -> str:
    """Return the name of a report whose site has no address; that of an interim one stays while it
    grows.
    """
    days = ("interim", dataset.started_on) if report.interim else (report.harvested_on,)
    return _name(site.title, report.slug, *days)


def _sitemap(site: Site, address: str) -> Xml.Element:
    urls = Xml.Element("urlset", xmlns=SITEMAP)
    shared = ("index.html", POOLED) if site.sections else ("index.html",)
    for name in (*shared, *(f"{report.slug}/index.html" for report in site.reports)):
        _text(_text(urls, "url"), "loc", absolute(address, name))
    return urls


def _text(parent: Xml.Element, name: str, text: str = "", **attributes: str) -> Xml.Element:
    """Add an element with a text, less the characters that XML cannot hold, and return it."""
    plain = {key: value.translate(NOT_IN_XML) for key, value in attributes.items()}
    element = Xml.SubElement(parent, name, plain)
    element.text = direction.isolated(text.translate(NOT_IN_XML)) or None
    return element


def _href(name: str, address: str) -> str:
    """Return the address of a page, relative to the feed where the site has none."""
    if address:
        return absolute(address, name)
    return absolute("", name).removeprefix("/")


def _moment(report: Report) -> str:
    """Return when a report's result changed."""
    return report.changed_at or _day_of_harvest(report)


def _day_of_harvest(report: Report) -> str:
    """Return the day of harvest as a date of RFC 3339; the day is known, its hour is not."""
    return f"{report.harvested_on or '1970-01-01'}T00:00:00Z"


def _name(*parts: str) -> str:
    """Return a name that stays the same from build to build: a UUID of version 5 (RFC 9562)."""
    return uuid5(NAMESPACE_URL, "/".join(("reportgen:", *parts))).urn


def _written(root: Xml.Element) -> bytes:
    Xml.indent(root)
    document: bytes = Xml.tostring(root, encoding="utf-8", xml_declaration=True)
    return document + b"\n"
