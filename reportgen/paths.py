"""Where paths lead once links are followed."""

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
