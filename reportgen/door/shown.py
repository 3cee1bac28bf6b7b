"""What a notebook shows of a value."""

from typing import TYPE_CHECKING

from markupsafe import escape

if TYPE_CHECKING:
    import pandas as pd


def html(title: str, table: "pd.DataFrame") -> str:
    """Return a table under its title as HTML; nothing in it is taken for markup."""
    return f"<p><strong>{escape(title)}</strong></p>\n{table.to_html(index=False, border=0)}"
