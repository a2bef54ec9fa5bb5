# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The search as a whole: batches on all cores or on a Dask scheduler, taken over in their order.

Results are used in the order of the batches' numbers, so the finds of a seed are the same for one
core or a hundred; only how many batches fit into the time differs.
"""

from __future__ import annotations

import importlib
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
from .state import DESIGNS, INDEX, State, read_state, same_search

__all__ = ["Plan", "begin", "search"]

_WRITE_EVERY = 10.0  # seconds between two writings of the index
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True, slots=True)
class Plan:
    """How long and where to search.

    seconds, designs, batches : the first limit that is reached ends the search (None: no limit);
        `batches` counts from the beginning, also when a search is resumed
    workers : processes; 0: in this process, one batch after the other
    scheduler : address of a Dask scheduler, takes the place of the processes
    """

    seconds: float | None = 60.0
    designs: int | None = None
    batches: int | None = None
    workers: int = 1
    scheduler: str | None = None


def begin(folder: Path, wanted: Wanted, seed: int, resume: bool) -> State:
    """Make the folder, or read what an earlier run left there.

    Raises OutputError when a search lies in the folder already and is not to be resumed,
    DesignError when it is to be resumed with other wishes.
    """
    known = (folder / INDEX).exists()
    if known and not resume:
        raise OutputError(
            f"{folder} holds a search already. Add --resume to go on with it, "
            "or take another folder."
        )
    if known:
        state = read_state(folder)
        same_search(state, wanted, seed)
        return state
    try:
        (folder / DESIGNS).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder} cannot be made: {error.strerror}.") from error
    state = State(wanted, seed)
    state.write(folder)
    return state


def search(
    state: State,
    folder: Path,
    plan: Plan,
    progress: Callable[[State], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> State:
    """Search until a limit of the plan is reached; return the state, written to its index too.

    progress : called after each batch; cancelled : asked after each batch. What was found stays
    also when KeyboardInterrupt ends the search (it is raised again) or a batch fails.
    """
    start, before = time.monotonic(), state.seconds
    written = start
    try:
        with _executor(plan) as pool:
            for result in _results(pool, state, plan, start):
                state.add(result, folder, plan.designs)
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


def _results(
    pool: Executor | None, state: State, plan: Plan, start: float
) -> Iterator[BatchResult]:
    """Yield the results of one batch after the other until a limit is reached."""

    def ended(batch: int) -> bool:
        late = plan.seconds is not None and time.monotonic() - start >= plan.seconds
        full = plan.designs is not None and len(state.found) >= plan.designs
        return late or full or (plan.batches is not None and batch >= plan.batches)

    batch = state.next_batch
    if pool is None:
        while not ended(batch):
            yield run_batch(state.wanted, state.seed, batch)
            batch += 1
        return
    waiting: list[Future[BatchResult]] = []
    try:
        ahead = batch
        while not ended(batch):
            while len(waiting) < 3 * plan.workers and not ended(ahead):
                waiting.append(pool.submit(run_batch, state.wanted, state.seed, ahead))
                ahead += 1
            if not waiting:
                break
            rest = None if plan.seconds is None else plan.seconds - (time.monotonic() - start)
            try:
                result = waiting[0].result(timeout=None if rest is None else max(rest, 0.0))
            except TimeoutError:
                break
            waiting.pop(0)
            yield result
            batch += 1
    finally:
        for future in waiting:
            future.cancel()


@contextmanager
def _executor(plan: Plan) -> Iterator[Executor | None]:
    """Give the place where batches run."""
    if plan.scheduler is not None:
        with _dask(plan.scheduler) as client:
            yield client.get_executor(pure=False)
        return
    if plan.workers == 0:
        yield None
        return
    with _one_thread_each():
        context = multiprocessing.get_context("spawn")
        pool = ProcessPoolExecutor(plan.workers, mp_context=context, initializer=_quiet)
        try:
            yield pool
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
        return distributed.Client(address, timeout=10)
    except (OSError, ValueError) as error:
        raise PinwrightError(f"No Dask scheduler answers at {address}: {error}.") from error


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
