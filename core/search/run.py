# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The search as a whole: batches on all cores or on a Dask scheduler, taken over in their order.

Results are used in the order of the batches' numbers, so the finds of a seed are the same for one
core or a hundred; only how many batches fit into the time differs.
"""

from __future__ import annotations

import importlib
import math
import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import OutputError, PinwrightError
from .batch import BatchResult, run_batch
from .finds import Wanted
from .sheet import picture_seconds
from .state import DESIGNS, INDEX, State, read_state, same_search

__all__ = ["Plan", "begin", "search"]

_WRITE_EVERY = 10.0  # seconds between two writings of the index
_PICTURE = 0.35  # seconds that one picture takes, before it is known how fast this computer is
_SHEET = 1.5  # seconds for index, page and the sheet's own file
_ANSWER = 10.0  # seconds that a scheduler has to answer
_MOST = 0.4  # share of the time that pictures may take
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True, slots=True)
class Plan:
    """How long and where to search.

    seconds, designs, batches : the first limit that is reached ends the search (None: no limit);
        `batches` counts from the beginning, also when a search is resumed
    workers : processes; 0: in this process, one batch after the other
    scheduler : address of a Dask scheduler, takes the place of the processes
    pictures : drawn afterwards of the finds; time is kept for them, as far as it is limited
    """

    seconds: float | None = 60.0
    designs: int | None = None
    batches: int | None = None
    workers: int = 1
    scheduler: str | None = None
    pictures: int = 0

    def searching(self, found: int, picture: float = _PICTURE) -> float | None:
        """Return the seconds for the search alone when there are `found` designs to be drawn.

        picture : seconds that one takes; several are drawn at a time, but hinder each other
        """
        if self.seconds is None or self.pictures == 0:
            return self.seconds
        drawn = min(self.pictures, found) * picture / math.sqrt(max(self.workers, 1))
        return self.seconds - min(_SHEET + drawn, _MOST * self.seconds)


def begin(folder: Path, wanted: Wanted, seed: int, resume: bool) -> State:
    """Return a new search, or what an earlier run left in the folder; nothing is written yet.

    Raises OutputError when a search lies in the folder already and is not to be resumed, or when
    one is to be resumed and none lies there; DesignError when it is to be resumed with other
    wishes.
    """
    known = (folder / INDEX).exists()
    if known and not resume:
        raise OutputError(
            f"{folder} holds a search already. Add --resume to go on with it, "
            "or take another folder."
        )
    if resume and not known:
        raise OutputError(
            f"{folder} holds no search to go on with ({INDEX} is missing). Leave --resume out to "
            "begin one there, or name the folder of the earlier search."
        )
    if not known:
        return State(wanted, seed)
    state = read_state(folder)
    same_search(state, wanted, seed)
    return state


def search(
    state: State,
    folder: Path,
    plan: Plan,
    progress: Callable[[State], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> State:
    """Search until a limit of the plan is reached; return the state, written to its index too.

    The folder is made, and the first index written, once the place where batches run is known to
    be there; a scheduler that does not answer leaves nothing behind.

    progress : called after each batch; cancelled : asked after each batch. What was found stays
    also when KeyboardInterrupt ends the search (it is raised again) or a batch fails.
    """
    start, before = time.monotonic(), state.seconds
    written, clock = start, _Clock(plan, start)
    with _executor(plan) as (pool, lanes):
        _make(folder)
        state.write(folder)
        try:
            for result in _results(pool, lanes, state, clock):
                state.add(result, folder, plan.designs)
                clock.measure(state, folder)
                now = time.monotonic()
                state.seconds = before + now - start
                if now - written > _WRITE_EVERY:
                    state.write(folder)
                    written = now
                if progress is not None:
                    progress(state)
                if cancelled is not None and cancelled():
                    break
        finally:
            state.seconds = before + time.monotonic() - start
            state.write(folder)
    return state


@dataclass(slots=True)
class _Clock:
    """How much time is left for the search; `picture` : seconds that one takes, once measured."""

    plan: Plan
    start: float
    picture: float | None = None

    def measure(self, state: State, folder: Path) -> None:
        """Draw the first find, to learn how long a picture takes here."""
        limited = self.plan.seconds is not None and self.plan.pictures > 0
        if limited and self.picture is None and state.found:
            self.picture = picture_seconds(folder / state.found[0].file)

    def left(self, found: int) -> float | None:
        """Return the seconds that are left; None: no limit."""
        cost = _PICTURE if self.picture is None else self.picture
        seconds = self.plan.searching(found, cost)
        return None if seconds is None else seconds - (time.monotonic() - self.start)


def _make(folder: Path) -> None:
    try:
        (folder / DESIGNS).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder} cannot be made: {error.strerror}.") from error


def _results(
    pool: Executor | None, lanes: int, state: State, clock: _Clock
) -> Iterator[BatchResult]:
    """Yield the results of one batch after the other until a limit is reached.

    lanes : batches that run at the same time
    """
    plan = clock.plan

    def ended(batch: int, cost: float = 0.0) -> bool:
        left = clock.left(len(state.found))
        late = left is not None and left <= cost
        full = plan.designs is not None and len(state.found) >= plan.designs
        return late or full or (plan.batches is not None and batch >= plan.batches)

    batch = state.next_batch
    if pool is None:
        cost = 0.0  # a batch cannot be broken off here: one that would end too late is not begun
        while not ended(batch, cost):
            begun = time.monotonic()
            result = run_batch(state.wanted, state.seed, batch)
            cost = max(cost / 2, time.monotonic() - begun)
            yield result
            batch += 1
        return
    waiting: list[Future[BatchResult]] = []
    try:
        ahead = batch
        while not ended(batch):
            while len(waiting) < 3 * lanes and not ended(ahead):
                waiting.append(pool.submit(run_batch, state.wanted, state.seed, ahead))
                ahead += 1
            if not waiting:
                break
            left = clock.left(len(state.found))
            try:
                result = waiting[0].result(timeout=None if left is None else max(left, 0.0))
            except TimeoutError:
                break
            waiting.pop(0)
            yield result
            batch += 1
    finally:
        # Our own processes are stopped with what they do (see `_executor`); their futures must not
        # be cancelled before, or the pool's thread stumbles over them.
        if not isinstance(pool, ProcessPoolExecutor):
            for future in waiting:
                future.cancel()


@contextmanager
def _executor(plan: Plan) -> Iterator[tuple[Executor | None, int]]:
    """Give the place where batches run (None: here) and how many run at the same time."""
    if plan.scheduler is not None:
        with _dask(plan.scheduler) as client:
            yield client.get_executor(pure=False), max(sum(client.ncores().values()), 1)
        return
    if plan.workers == 0:
        yield None, 1
        return
    with _one_thread_each():
        context = multiprocessing.get_context("spawn")
        pool = ProcessPoolExecutor(plan.workers, mp_context=context, initializer=_quiet)
        try:
            yield pool, plan.workers
        finally:
            # Batches that run are thrown away: they can be run again with the same finds.
            processes = list(getattr(pool, "_processes", {}).values())
            pool.shutdown(wait=False, cancel_futures=True)
            for process in processes:
                process.terminate()


def _dask(address: str) -> Any:
    """Return a client of a running Dask scheduler."""
    try:
        distributed = importlib.import_module("distributed")
    except ImportError as error:
        raise PinwrightError(
            "A scheduler needs the library `distributed`: install pinwright[search]."
        ) from error
    try:
        return distributed.Client(address, timeout=_ANSWER)
    except (OSError, ValueError) as error:
        raise PinwrightError(
            f"No Dask scheduler answers at {address} ({str(error).rstrip('.')}). Start one there, "
            "or leave --scheduler out: the search then runs on this computer."
        ) from error


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Keep each worker's linear algebra to one core: the workers themselves fill all cores."""
    kept = {name: os.environ.get(name) for name in _ONE_THREAD}
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))
    try:
        yield
    finally:
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _quiet() -> None:
    """Leave Ctrl-C to the process that asked for the search."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
