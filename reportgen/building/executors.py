"""Where reports are built: in this process, in several of this computer, or on a cluster."""

import os
import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Final, Generic, TypeVar

from reportgen.language import say

Key = TypeVar("Key")
Item = TypeVar("Item")
Result = TypeVar("Result")

MOST_JOBS: Final = 4  # each takes 300 MB or more
WORTH_A_WORKER: Final = (
    8  # reports that repay the start of a further process, measured on two processors
)
AHEAD: Final = 2  # items that wait for each worker, so that none is idle and few results lie about


class ClusterUnavailable(Exception):
    """The cluster cannot be used; the message says why."""


@dataclass(frozen=True)
class Lost:
    """In the place of a result: the worker ended before it gave one, twice."""


@dataclass(frozen=True)
class Workers:
    """A way to start workers: how many they are, and with which errors the loss of one shows."""

    number: int
    start: Callable[[], Executor]
    losses: tuple[type[BaseException], ...] = (BrokenExecutor,)


def jobs_for(items: int) -> int:
    """Return how many processes build so many reports well."""
    if hasattr(os, "sched_getaffinity"):
        available = len(os.sched_getaffinity(0))
    else:
        available = os.cpu_count() or 1
    return max(1, min(MOST_JOBS, available, items // WORTH_A_WORKER))


def processes(number: int) -> Workers | None:
    """Return workers in processes of this computer; None for one, which is this process itself.

    They are spawned: a fork of a process that has drawn charts hangs.
    """
    if number < 2:
        return None

    def start() -> Executor:
        import multiprocessing

        spawning = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(number, mp_context=spawning, initializer=_end_at_once)

    return Workers(number, start)


def _end_at_once() -> None:
    """Let Ctrl-C end a worker without a word; the process that started it says what there is to
    say.
    """
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def cluster(address: str, program: Callable[[], str]) -> Workers:
    """Return workers on the Dask cluster whose scheduler is at `address`.

    `program` gives a digest of the program: every worker must give the same. Raises
    ClusterUnavailable.
    """
    try:
        distributed: Any = import_module("distributed")  # without types of its own
    except ImportError as error:
        raise ClusterUnavailable(
            say("A cluster needs Dask: pip install 'reportgen-trials[cluster]'")
        ) from error
    try:
        client = distributed.Client(address, timeout="10s", set_as_default=False)
        programs = client.run(program)
    except Exception as error:  # the address, the network, versions, a worker without the program
        raise ClusterUnavailable(
            say("The cluster at {address} cannot be used: {error}", address=address, error=error)
        ) from error
    different = sorted(worker for worker, found in programs.items() if found != program())
    if different or not programs:
        if different:
            reason = say(
                "runs another version of the program on {listed}", listed=", ".join(different)
            )
        else:
            reason = say("has no workers")
        raise ClusterUnavailable(
            say("The cluster at {address} {reason}.", address=address, reason=reason)
        )
    return Workers(
        sum(client.ncores().values()),
        client.get_executor,
        (BrokenExecutor, distributed.KilledWorker),
    )


class _Pool(Generic[Item, Result]):
    """An executor that is started when it is first needed, and anew when it is broken."""

    def __init__(self, task: Callable[[Item], Result], workers: Workers) -> None:
        self._task, self._workers = task, workers
        self._executor: Executor | None = None

    def submit(self, item: Item) -> Future[Result]:
        for _ in range(2):
            self._executor = self._executor or self._workers.start()
            try:
                return self._executor.submit(self._task, item)
            except self._workers.losses:
                self.close()
        raise BrokenExecutor(say("no worker can be started"))

    def taken(self, item: Item | None, future: Future[Result] | None) -> Result | Lost | None:
        """Return a result; an item whose worker was lost, maybe through another's fault, is tried
        once more alone.
        """
        if item is None or future is None:
            return None
        try:
            return future.result()
        except self._workers.losses:
            return self._alone(item)

    def _alone(self, item: Item) -> Result | Lost:
        executor = self._workers.start()
        try:
            return executor.submit(self._task, item).result()
        except self._workers.losses:
            return Lost()
        finally:
            executor.shutdown(wait=False)

    def close(self) -> None:
        if self._executor:
            self._executor.shutdown(wait=False)
        self._executor = None


def in_order(
    task: Callable[[Item], Result],
    items: Iterable[tuple[Key, Item | None]],
    workers: Workers | None,
) -> Iterator[tuple[Key, Result | Lost | None]]:
    """Yield each key with what `task` makes of its item, in order; a key without an item needs no
    work.

    What `task` raises is raised here. `workers` None does all in this process.
    """
    if workers is None:
        yield from ((key, None if item is None else task(item)) for key, item in items)
        return
    pool = _Pool[Item, Result](task, workers)
    waiting: deque[tuple[Key, Item | None, Future[Result] | None]] = deque()
    try:
        for key, item in items:
            waiting.append((key, item, None if item is None else pool.submit(item)))
            while waiting and (_ready(waiting[0][2]) or len(waiting) > workers.number * AHEAD):
                first, its_item, future = waiting.popleft()
                yield first, pool.taken(its_item, future)
        while waiting:
            first, its_item, future = waiting.popleft()
            yield first, pool.taken(its_item, future)
    finally:
        for _, _, left in waiting:
            if left:
                left.cancel()
        pool.close()


def _ready(future: Future[Result] | None) -> bool:
    return future is None or future.done()
