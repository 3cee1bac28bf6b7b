"""What the last build gave, published to open pages."""

import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass

from reportgen import language


@dataclass(frozen=True)
class Failure:
    """A workbook that could not be built: its file name, its report's folder, its problems.

    Both names are empty where the site as a whole could not be built. An unfinished trial with too
    little for a report waits: that is no error.
    """

    name: str
    slug: str
    problems: tuple[str, ...]
    waits: bool = False


@dataclass(frozen=True)
class LastBuild:
    """The outcome of a build.

    `name` is unique to the build, `language` the tag of the site's language; `running` is True
    until the first build is done.
    """

    name: str
    failures: tuple[Failure, ...] = ()
    running: bool = False
    language: str = language.ENGLISH.tag


class BuildStatus:
    """Publishes the outcome of each build to open pages.

    `site_language` returns the tag of the site's language as it is now.
    """

    def __init__(self, site_language: Callable[[], str] = lambda: language.ENGLISH.tag) -> None:
        self._changed = threading.Condition()
        self._series = secrets.token_hex(
            4
        )  # another preview, or this one tomorrow, has other names
        self._count = 0
        self._site_language = site_language
        self._last: LastBuild | None = LastBuild(
            f"{self._series}-0", running=True, language=site_language()
        )

    @property
    def last(self) -> LastBuild | None:
        """Return the last build, None once the preview has ended."""
        return self._last

    def publish(self, failures: tuple[Failure, ...]) -> None:
        """Announce that a build is done."""
        self._count += 1
        self._replace(
            LastBuild(f"{self._series}-{self._count}", failures, language=self._site_language())
        )

    def close(self) -> None:
        """Announce that the preview ends."""
        self._replace(None)

    def wait_for_next(self, name: str, seconds: float) -> LastBuild | None:
        """Return the last build once it is another than `name`, or after `seconds`; None once the
        preview has ended.
        """
        with self._changed:
            self._changed.wait_for(lambda: self._last is None or self._last.name != name, seconds)
            return self._last

    def _replace(self, build: LastBuild | None) -> None:
        with self._changed:
            self._last = build
            self._changed.notify_all()
