"""The settings file of a log, `adopt = 2`: read, written and described.

It is written so that its owner's edits stay.
"""

from reportgen.importing.adopted import settings_file
from reportgen.importing.settings.described import dictionary
from reportgen.importing.settings.reading import parsed, read_settings
from reportgen.importing.settings.sources import source_in, source_text
from reportgen.importing.settings.writing import settings_text

__all__ = [
    "dictionary",
    "parsed",
    "read_settings",
    "settings_file",
    "settings_text",
    "source_in",
    "source_text",
]
