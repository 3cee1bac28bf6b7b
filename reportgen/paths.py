"""Where paths lead once links are followed, and where the templates lie."""

from functools import cache
from pathlib import Path


def lies_within(path: Path, folder: Path) -> bool:
    """Return whether a path is the folder or lies below it, after following links; False where it
    leads nowhere.
    """
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (
        OSError,
        RuntimeError,
        ValueError,
    ):  # a name too long, links in a ring (RuntimeError up to 3.12), a NUL
        return False


@cache
def templates() -> Path:
    """Return the folder of the templates, in an installed package as in a checkout."""
    package = Path(__file__).parent
    inside = package / "templates"
    if inside.is_dir():
        return inside
    return package.parent / "templates"
