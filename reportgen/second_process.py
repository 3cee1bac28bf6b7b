"""A second process of this computer, which computes while this one goes on."""

import multiprocessing
import os
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

Request = tuple[Callable[..., Any], tuple[Any, ...]]  # a function of a module, its arguments


@dataclass(frozen=True)
class Answer:
    """What a function gave; `failed` says that it raised an error instead."""

    value: Any = None
    failed: bool = False


class SecondProcess:
    """A process that is given functions to call and answers in their order.

    It is spawned, as a fork of a process that has drawn charts hangs, and ends with this one.
    """

    def __init__(self) -> None:
        spawning = multiprocessing.get_context("spawn")
        self._connection, theirs = spawning.Pipe()
        process = spawning.Process(target=_serve, args=(theirs,), daemon=True)
        process.start()
        theirs.close()  # so that its end is seen here

    def ask(self, requests: Sequence[Request]) -> None:
        """Give functions to call; raise OSError where the process has ended.

        All answers to earlier requests must have been taken: else both sides may wait to send.
        """
        self._connection.send(requests)

    def answer(self) -> Answer:
        """Wait for the next answer; raise EOFError or OSError where the process has ended."""
        found: Answer = self._connection.recv()
        return found


def is_of_use() -> bool:
    """Tell whether a processor is free for a second process, and this is none of several."""
    if multiprocessing.parent_process() is not None:
        return False
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0)) > 1
    return (os.cpu_count() or 1) > 1


def _serve(connection: Connection) -> None:
    """Answer until the other process ends; what to say of Ctrl-C is left to it.

    A thread sends the answers, as a pipe holds few of them until the other side takes one.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with ThreadPoolExecutor(1) as sender:
        try:
            while True:
                for function, arguments in connection.recv():
                    sender.submit(connection.send, _answer(function, arguments))
        except (EOFError, OSError):
            return


def _answer(function: Callable[..., Any], arguments: tuple[Any, ...]) -> Answer:
    try:
        return Answer(function(*arguments))
    except Exception:  # the other process calls it again, and meets the error where it is handled
        return Answer(failed=True)
