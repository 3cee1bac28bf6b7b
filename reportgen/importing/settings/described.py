"""The data dictionary of the settings file, as Markdown."""

from collections.abc import Iterator
from typing import Final

from reportgen.importing.settings import keys
from reportgen.importing.settings.forms import CORRECTED_KEYS, LEFT_OUT_KEYS, Key
from reportgen.language import ENGLISH, using

HEAD: Final = f"""\
# The settings file of a log

`reportgen adopt LOG` writes it beside the log. It is TOML and begins with `{keys.EDITION_KEY} = {keys.EDITION}`.
This page is written from the declaration that also reads and writes the file.

A place where labels stand is one of `column:NAME`, `over:1` (a header row, the topmost is 1), `section` (a label alone
above its rows), `sheet`, `file`, `title` (text above the table), `title:LABEL` (a labelled cell above it),
`part:NAME:1` (the first part of each label; `part:sheet:1`, `part:over 1:2`), `colour` (of the cells), `fixed:TEXT`,
`order` (rows are counted), or the name of another dimension. Several are joined as a list. Where another table spells
labels out: `{{ from = "column:Pot", key = "Plan", match = "Code", gives = "Treatment" }}`.
"""


def dictionary() -> str:
    """Return the keys of the settings file, what they hold and what they mean."""
    parts = (
        ("The whole file", (*keys.CONVENTION_KEYS, *keys.HEAD_KEYS, *keys.TAIL_KEYS)),
        (f"`[[{keys.TABLE_KEY}]]`, one for each table", keys.TABLE_KEYS),
        ("`values` of a table, by quantity", keys.VALUES_KEYS),
        ("`left_out` of a table, each", LEFT_OUT_KEYS),
        ("`corrected` of a table, each", CORRECTED_KEYS),
    )
    with using(ENGLISH):
        lines = [HEAD]
        for title, entries in parts:
            lines.extend(_part(title, entries))
    return "\n".join(lines)


def _part(title: str, entries: tuple[Key, ...]) -> Iterator[str]:
    yield f"## {title}\n"
    yield "| key | holds | what it says |"
    yield "| --- | --- | --- |"
    for key in entries:
        holds = key.form.holds.replace("|", "\\|")
        yield f"| `{key.name}` | {holds} | {key.help} |"
    yield ""
