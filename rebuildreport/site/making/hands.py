"""Who does the work of a run: this process, or any executor of ``concurrent.futures``."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from contextlib import suppress
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from multiprocessing.process import BaseProcess

T = TypeVar("T")
# Handed out ahead, for each of the workers: enough that none waits, and few enough to be held.
AHEAD = 2
FEW = 4  # fewer are done before other processes have begun, or been told
LONG = 2  # the same of what lasts for seconds


class Hands:
    """Hands out calls.

    ``begin`` makes the executor when there is enough to do; None: all is done here.  ``apart``: what lasts
    is never done here, so that this process can turn to something else.
    """

    def __init__(
        self, begin: Callable[[], Executor] | None = None, many: int = 0, apart: bool = False
    ) -> None:
        self._begin, self._apart = begin, apart
        self.many = many or cores()
        self._executor: Executor | None = None

    def each(self, call: Callable[..., T], tasks: Iterable[tuple[Any, ...]], few: int = FEW) -> Iterator[T]:
        """The result of each call as it is done, in any order; the tasks are taken as they are needed."""
        tasks = iter(tasks)
        first = list(islice(tasks, few))
        if self._begin is None or len(first) < (few if few != LONG or not self._apart else 1):
            for task in chain(first, tasks):
                yield call(*task)
            return
        if self._executor is None:
            self._executor = self._begin()
        yield from self._elsewhere(self._executor, call, chain(first, tasks))

    @property
    def begun(self) -> bool:
        """Whether somebody stands ready beside this process."""
        return self._executor is not None

    def ahead(self, call: Callable[..., T], *task: Any) -> Future[T] | None:
        """One call that begins now beside this process; None where there is nobody else."""
        if self._begin is None:
            return None
        self._executor = self._executor or self._begin()
        try:
            return self._executor.submit(call, *task)
        except BrokenExecutor:
            self._executor = None  # others are begun the next time
            raise

    def _elsewhere(
        self, executor: Executor, call: Callable[..., T], tasks: Iterator[tuple[Any, ...]]
    ) -> Iterator[T]:
        running: set[Future[T]] = set()
        try:
            while True:
                while len(running) < AHEAD * self.many and (task := next(tasks, None)) is not None:
                    running.add(executor.submit(call, *task))
                if not running:
                    return
                done, running = wait(running, return_when=FIRST_COMPLETED)
                for future in done:
                    yield future.result()
        except BrokenExecutor:
            self._executor = None  # others are begun the next time
            raise
        finally:
            for future in running:
                future.cancel()

    def rest(self) -> None:
        """Let them go."""
        if self._executor is not None:
            self._executor.shutdown()
            self._executor = None


def cores() -> int:
    """Cores that this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not told on every system
        return os.cpu_count() or 1


def processes() -> Executor:
    """A process for each core.

    Forked off this one, with all that it has loaded, where nothing else runs in it that might hold a lock;
    else begun by a server that has the program loaded, where there is such a thing.
    """
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_all_start_methods, get_context

    if _alone():
        return ProcessPoolExecutor(cores(), get_context("fork"), begun)
    forking = "forkserver" in get_all_start_methods()
    context = get_context("forkserver" if forking else "spawn")
    if forking:
        context.set_forkserver_preload([f"{__package__}.work"])
    return ProcessPoolExecutor(cores(), context, begun)


def _alone() -> bool:
    """Whether this process is known to have one thread, those that libraries begin counted."""
    try:
        return len([*Path("/proc/self/task").iterdir()]) == 1
    except OSError:  # not told on every system
        return False


def begun() -> None:
    """What a process does before its first task: it ends with whoever began it, however that ends."""
    import gc
    from multiprocessing import parent_process

    gc.set_threshold(400_000, 20, 20)
    gc.freeze()  # what was there before lasts
    with suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the one that began it stops it
    if (parent := parent_process()) is not None:
        threading.Thread(target=_leave_with, args=(parent,), daemon=True).start()


def _leave_with(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)


def cluster(address: str) -> Executor:
    """The workers of a Dask cluster that see the same folders; ImportError without ``distributed``."""
    from distributed import Client

    client: Any = Client
    executor: Executor = client(address).get_executor()
    return executor
