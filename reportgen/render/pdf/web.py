"""Draw a text, such as the address of a report, as a code that a phone reads off the paper."""

from io import BytesIO
from typing import Final

import segno

QUIET_ZONE: Final = 4  # modules of white around the code: ISO/IEC 18004:2015, 6.3.8


def code(text: str) -> bytes:
    """Return the QR code of a text as SVG. Raises segno.DataOverflowError beyond about 2,300
    characters.
    """
    drawn = BytesIO()
    made = segno.make_qr(text, error="m")  # a seventh of it may be stained
    made.save(
        drawn, kind="svg", border=QUIET_ZONE, omitsize=True, title=text, light="#ffffff", nl=False
    )
    return drawn.getvalue()
