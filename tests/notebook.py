"""Make the notebook of the README's section From Python; run by itself this file writes it."""

import re
from pathlib import Path

import nbformat
from nbformat import NotebookNode, v4

ROOT = Path(__file__).parents[1]
SHIPPED = Path(__file__).parent / "from_python.ipynb"
SECTION = re.compile(r"^## From Python\n(.+?)^## ", re.MULTILINE | re.DOTALL)
CODE = re.compile(r"^```python\n(.+?)^```$", re.MULTILINE | re.DOTALL)


def cells() -> list[tuple[str, str]]:
    """Return the kind and the text of each cell: the section's paragraphs, and its code."""
    section = SECTION.search((ROOT / "README.md").read_text("utf-8"))
    assert section
    found = [("markdown", "# From Python")]
    for number, part in enumerate(CODE.split(section[1])):
        kind = ("markdown", "code")[number % 2]
        if part.strip():
            found.append((kind, part.strip()))
    return found


def notebook() -> NotebookNode:
    """Return the notebook, without outputs; the same text gives the same bytes."""
    made = v4.new_notebook(metadata={"language_info": {"name": "python"}})
    make = {"markdown": v4.new_markdown_cell, "code": v4.new_code_cell}
    for number, (kind, text) in enumerate(cells(), 1):
        made.cells.append(make[kind](text, id=f"cell-{number}"))
    return made


def notebook_text() -> str:
    """Return the notebook as it lies in its file."""
    return nbformat.writes(notebook()) + "\n"


if __name__ == "__main__":
    SHIPPED.write_text(notebook_text(), encoding="utf-8")
