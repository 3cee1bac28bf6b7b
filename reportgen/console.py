"""How the commands speak: quietly or in detail, in colour or without, with progress on a pipe."""

import logging
import sys
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from reportgen.language import say

if TYPE_CHECKING:
    from reportgen.model.problem import Problem, Severity

Command = TypeVar("Command", bound=Callable[..., Any])
Item = TypeVar("Item")

BETWEEN_LINES: Final = 5.0  # seconds from one line of progress on a pipe to the next
VOLUME: Final = "reportgen.volume"  # in the context of click: quiet or verbose, else neither
PROGRAM: Final = "reportgen"  # the logger above those of all modules
COLOURS: Final = {"error": "red", "caution": "yellow", "remark": "cyan", "to come": "blue"}


def wants_colour(environment: Mapping[str, str]) -> bool | None:
    """Return whether colours were asked for or refused; None where the terminal decides.

    NO_COLOR and FORCE_COLOR count where they hold anything; NO_COLOR comes first.
    """
    if environment.get("NO_COLOR"):
        return False
    if environment.get("FORCE_COLOR"):
        return True
    return None


class _Echo(logging.Handler):
    """Shows what modules log beside the problems."""

    def emit(self, record: logging.LogRecord) -> None:
        click.echo(self.format(record), err=True)


def _set_volume(context: click.Context, option: click.Parameter, wanted: bool) -> None:
    if not wanted:
        return
    if VOLUME in context.meta:
        raise click.UsageError(say("Type --quiet or --verbose, not both."))
    context.meta[VOLUME] = option.name
    if option.name == "verbose":
        _log_until_the_end(context)


def _log_until_the_end(context: click.Context) -> None:
    logger = logging.getLogger(PROGRAM)
    handler = _Echo()
    logger.addHandler(handler)
    logger.setLevel(logging.INFO)

    def end() -> None:
        logger.removeHandler(handler)
        logger.setLevel(logging.NOTSET)

    context.call_on_close(end)


QUIET: Final = click.option(
    "-q",
    "--quiet",
    is_flag=True,
    expose_value=False,
    callback=_set_volume,
    help="Say only what is wrong: errors, and what was not built.",
)
VERBOSE: Final = click.option(
    "-v",
    "--verbose",
    is_flag=True,
    expose_value=False,
    callback=_set_volume,
    help="Also say, in English, what is read, kept and written.",
)


def with_volume(command: Command) -> Command:
    """Give a command the options --quiet and --verbose."""
    return QUIET(VERBOSE(command))


def is_quiet() -> bool:
    """Tell whether only errors are to be said."""
    context = click.get_current_context(silent=True)
    return context is not None and context.meta.get(VOLUME) == "quiet"


def tell(text: str, *, err: bool = False) -> None:
    """Print a text, unless only errors are to be said."""
    if not is_quiet():
        click.echo(text, err=err)


def show(problems: "Iterable[Problem]") -> None:
    """Print problems, the worst first, alike ones in one line; of a quiet command errors alone."""
    from reportgen.model.grouped import grouped
    from reportgen.model.problem import Severity

    for problem in grouped(tuple(problems)):
        if problem.severity is Severity.ERROR or not is_quiet():
            click.echo(f"  {_label(problem.severity)}: {problem}", err=True)


def _label(severity: "Severity") -> str:
    from reportgen.model.problem import Severity

    said = severity.said()
    if severity is Severity.TO_COME:
        said = say("still to come")
    return click.style(said, fg=COLOURS[severity])


def with_progress(
    items: Iterable[Item],
    number: int,
    *,
    clock: Callable[[], float] = time.monotonic,
) -> Iterator[Item]:
    """Yield items, and say on stderr how many of `number` are done.

    A terminal gets a bar. Elsewhere there is a line every BETWEEN_LINES seconds, so that whoever
    reads a log sees that work goes on. One item alone, or a quiet command, gets neither.
    """
    if number < 2 or is_quiet():
        yield from items
    elif sys.stderr.isatty():
        label = say("Building")
        with click.progressbar(items, length=number, label=label, file=sys.stderr) as bar:
            yield from bar
    else:
        yield from _with_lines(items, number, clock)


def _with_lines(items: Iterable[Item], number: int, clock: Callable[[], float]) -> Iterator[Item]:
    said_at = clock()
    for done, item in enumerate(items, start=1):
        yield item
        if done < number and clock() - said_at >= BETWEEN_LINES:
            click.echo(say("Building: {done} of {number}", done=done, number=number), err=True)
            said_at = clock()


def fails(problems: "Collection[Problem]", *, strict: bool) -> bool:
    """Tell whether a command fails: by an error, or where it is strict by a caution too."""
    from reportgen.model.problem import Severity

    found = {problem.severity for problem in problems}
    return Severity.ERROR in found or (strict and Severity.CAUTION in found)
