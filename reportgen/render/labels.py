"""Labels for the trays of a trial: an A4 sheet of codes, each also as a QR code, to cut out or to
print on stickers.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from reportgen.render import pdf, templates
from reportgen.render.pdf import web

IN_A_ROW: Final = (
    3  # of 70 mm; with rows of 37 mm there are 24 on a page, as on common sheets of stickers
)
LONG_CODE: Final = 4  # signs; more are set smaller, so that they stay on one line


@dataclass(frozen=True)
class Label:
    """What a label says: the tray's code, its treatment unless that is hidden, and where it stands."""

    code: str
    treatment: str
    place: str


@dataclass(frozen=True)
class _Printed:
    """A label as the template prints it."""

    code: str
    treatment: str
    place: str
    picture: str
    is_long: bool
    ends_row: bool


def render(labels: Sequence[Label], title: str, language: str) -> bytes:
    """Return the labels as a PDF, the same bytes for the same labels.

    title: stands small on each label, so that those of two trials are told apart.
    language: the BCP 47 tag of their words.
    Raises PdfUnavailable.
    """
    assets = templates.folder() / "assets"
    files = {
        path.name: path.read_bytes()
        for path in (assets / "fonts.css", *sorted((assets / "fonts").glob("*.woff2")))
    }
    printed: list[_Printed] = []
    for number, label in enumerate(labels):
        printed.append(_printed(number, label))
        files[printed[-1].picture] = web.code(label.code)
    page = templates.fill("pages/labels.html", labels=printed, title=title, language=language)
    return pdf.plain_page(page, files)


def _printed(number: int, label: Label) -> _Printed:
    return _Printed(
        label.code,
        label.treatment,
        label.place,
        picture=f"codes/{number}.svg",
        is_long=len(label.code) > LONG_CODE,
        ends_row=number % IN_A_ROW == IN_A_ROW - 1,
    )
