"""Attach to the PDF every sheet as CSV, every number as JSON, and a copy of the workbook where
settings ask for it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from urllib.parse import quote

from reportgen.language import marked, say
from reportgen.model.document import Report
from reportgen.render import data, results

LARGEST: Final = 20_000_000  # bytes of one file; a PDF with more is hard to send by mail

# Told here and not by the system's own list, which differs between computers. IANA, "Media Types".
TYPES: Final = {
    "csv": "text/csv",
    "json": "application/json",
    "ods": "application/vnd.oasis.opendocument.spreadsheet",
    "xls": "application/vnd.ms-excel",
    "xlsm": "application/vnd.ms-excel.sheet.macroEnabled.12",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True)
class Attached:
    """Files to attach, by their path in the site; the names of those too large; the name of the
    workbook, if known.
    """

    files: dict[str, bytes]
    too_large: tuple[str, ...]
    source: str

    @property
    def sentences(self) -> tuple[str, ...]:
        """Return what the PDF says of its attachments."""
        said = (
            (marked("Attached to this file: {names}."), tuple(map(_plain, self.files))),
            (marked("Too large to attach: {names}."), self.too_large),
        )
        return tuple(say(message, names=", ".join(names)) for message, names in said if names)


def choose(report: Report, source: tuple[str, bytes] | None) -> Attached:
    """Return what to attach to the PDF of a report; `source` the name and content of a copy of its
    workbook.
    """
    if source:
        workbook = {f"{report.slug}/{source[0]}": source[1]}
    else:
        workbook = {}
    files = workbook | results.render(report, {}) | data.render(report, {})
    small = {name: content for name, content in files.items() if len(content) <= LARGEST}
    return Attached(
        small,
        tuple(_plain(name) for name in files if name not in small),
        source[0] if source else "",
    )


def attach(report: Report, attached: Attached, root: str, fetch: Callable[..., Any]) -> list[Any]:
    """Return the files as WeasyPrint's attachments, by name, since the name tree of a PDF is
    sorted.

    They are dated by the harvest, which is in the report: the clock would give other bytes each
    time.
    """
    import weasyprint

    harvest = datetime.fromisoformat(report.harvested_on)
    return [
        weasyprint.Attachment(
            url=root + quote(name),
            url_fetcher=fetch,
            name=_plain(name),
            description=_description(_plain(name), attached.source),
            created=harvest,
            modified=harvest,
            # ISO 32000-2:2020, table 43: what the document was made from, and what stands behind
            # its figures.
            relationship="Source" if _plain(name) == attached.source else "Data",
        )
        for name in sorted(attached.files, key=_plain)
    ]


def _plain(name: str) -> str:
    return name.rpartition("/")[2]


def _description(name: str, source: str) -> str:
    if name == source:
        return say("The cells of the trial's workbook")
    if name.endswith(".json"):
        return say("Every number of the report")
    return say("What was recorded, one sheet of the workbook")
