"""Names of folders and addresses, made of the names of files."""

import re
from hashlib import sha256
from typing import Final

from anyascii import anyascii

LONGEST: Final = 120  # characters: Windows takes 260 for a whole path
NAMELESS: Final = "trial"
# "Naming Files, Paths, and Namespaces" in the documentation of Windows: devices, whatever stands
# behind a dot.
DEVICES: Final = re.compile(r"con|prn|aux|nul|conin|conout|com[0-9]|lpt[0-9]")
OF_THE_SITE: Final = ("assets", "figures")  # folders that the reports of a site share


def slug(name: str) -> str:
    """Return a name in small letters, digits and hyphens, as addresses and files take it.

    Other scripts are transliterated. No name of a device, and of no folder that a site has of its
    own; a long one is cut, with a digest of the whole behind it.
    """
    plain = re.sub(r"[^a-z0-9]+", "-", anyascii(name).casefold()).strip("-") or NAMELESS
    if DEVICES.fullmatch(plain) or plain in OF_THE_SITE:
        return f"{plain}-{NAMELESS}"
    if len(plain) <= LONGEST:
        return plain
    digest = sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    return f"{plain[: LONGEST - 9].rstrip('-')}-{digest}"
