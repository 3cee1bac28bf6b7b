"""Take in a log with the files beside it, and keep its settings file."""

import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from reportgen.files import write
from reportgen.importing import checking
from reportgen.importing.files import log_files, with_earlier
from reportgen.importing.memory import Memory
from reportgen.importing.model.settings import Settings
from reportgen.importing.session import State, understand
from reportgen.importing.settings import read_settings, settings_file, settings_text
from reportgen.language import say
from reportgen.model.problem import WorkbookError, of_file

Talk = Callable[[Sequence[Path], Settings | None, Callable[[State], None]], State]
WINDOWS: Final = "\r\n"  # ends of lines that an editor may have written


@dataclass(frozen=True)
class TakenIn:
    """A log that was taken in: its file, its settings file, and what is understood of it."""

    source: Path
    settings: Path
    state: State


def take_in(
    sources: Sequence[Path], answers: Mapping[str, str] | None = None, talk: Talk | None = None
) -> TakenIn:
    """Understand a log and write its settings file; with `talk`, after its owner was asked.

    Once no question is open the trial is checked, and its problems are those of the state.

    Raises WorkbookError where a file cannot be used, OSError where writing fails.
    """
    paths = log_files(sources)
    log = paths[0]
    path = settings_file(log)
    if os.path.isfile(path):
        held = path.read_bytes().decode()
    else:
        held = ""
    if WINDOWS in held:
        line_end = WINDOWS
    else:
        line_end = "\n"
    earlier_text = held.replace(WINDOWS, "\n")
    if earlier_text:
        earlier = read_settings(path)
    else:
        earlier = None
    paths = with_earlier(paths, earlier.files if earlier else ())

    def keep(state: State) -> None:
        text = settings_text(state.settings, log.name, earlier_text)
        write(path, text.replace("\n", line_end).encode())

    if talk is not None:
        return _checked(TakenIn(log, path, talk(paths, earlier, keep)))
    memory = Memory(tuple(paths))
    state = understand(paths, earlier, answers, memory)
    keep(state)
    return _checked(TakenIn(log, path, state), memory)


def _checked(taken: TakenIn, memory: Memory | None = None) -> TakenIn:
    """Return what was taken in with the problems of its trial, once no question is open."""
    if taken.state.questions:
        return taken
    try:
        found = checking.problems_in(checking.read_adopted(taken.source, memory))
    except WorkbookError as error:
        found = error.problems
    problems = tuple(dict.fromkeys((*taken.state.problems, *found)))
    return replace(taken, state=replace(taken.state, problems=problems))


def read_answers(path: Path) -> dict[str, str]:
    """Return the answers of a JSON file by question key.

    Raises WorkbookError where it holds anything else.
    """
    try:
        read = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise _no_answers(path, str(error)) from error
    if not isinstance(read, dict):
        raise _no_answers(path, say("no object"))
    return {
        str(key): value if isinstance(value, str) else json.dumps(value)
        for key, value in read.items()
    }


def _no_answers(path: Path, found: str) -> WorkbookError:
    problem = of_file(
        "answers_file",
        f"{path.name}: {found}",
        say('a JSON object such as {"trial.crop": "basil"}'),
        say("Write one answer for each question key."),
    )
    return WorkbookError((problem,))
