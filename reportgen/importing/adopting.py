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
    text_now = _text_of(path)
    line_end = "\n"
    if WINDOWS in text_now:
        line_end = WINDOWS
    earlier_text = text_now.replace(WINDOWS, "\n")
    earlier = None
    if earlier_text:
        earlier = read_settings(path)
        paths = with_earlier(paths, earlier.files)

    def keep(state: State) -> None:
        text = settings_text(state.settings, log.name, earlier_text)
        write(path, text.replace("\n", line_end).encode())

    if talk is not None:
        return _checked(TakenIn(log, path, talk(paths, earlier, keep)))
    memory = Memory(tuple(paths))
    state = understand(paths, earlier, answers, memory)
    keep(state)
    return _checked(TakenIn(log, path, state), memory)


def _text_of(path: Path) -> str:
    """Return the text of a file with its line ends, "" where there is none."""
    if os.path.isfile(path):
        return path.read_bytes().decode()
    return ""


def _checked(result: TakenIn, memory: Memory | None = None) -> TakenIn:
    """Return what was taken in with the problems of its trial, once no question is open."""
    state = result.state
    if state.questions:
        return result
    try:
        problems = checking.problems_in(checking.read_adopted(result.source, memory))
    except WorkbookError as error:
        problems = error.problems
    every = tuple(dict.fromkeys((*state.problems, *problems)))
    return replace(result, state=replace(state, problems=every))


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
    answers = {}
    for key, value in read.items():
        if isinstance(value, str):
            answers[key] = value
        else:
            answers[key] = json.dumps(value)
    return answers


def _no_answers(path: Path, found: str) -> WorkbookError:
    problem = of_file(
        "answers_file",
        f"{path.name}: {found}",
        say('a JSON object such as {"trial.crop": "basil"}'),
        say("Write one answer for each question key."),
    )
    return WorkbookError((problem,))
