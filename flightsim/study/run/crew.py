"""Chunks of shots flown by several threads: the compiled engine releases the lock while it follows balls.

A chunk is one call of the engine, a fraction of a second: Ctrl-C and SIGTERM are heard between two, and no process is
left behind, since there is none.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import islice
from threading import Event
from typing import TypeVar

from flightsim.errors import stop_if_asked

CHUNK = 8192  # shots a call: a whole number of stream blocks
LEAST = 512  # shots a call: fewer are not worth a thread
TICK = 0.5  # s between two looks at whether we are asked to stop: Windows hears nothing while it waits
_size: ContextVar[int] = ContextVar("crew", default=1)
_over: ContextVar[Event | None] = ContextVar("over", default=None)  # of a task beside others: nobody waits for it now
S = TypeVar("S")
T = TypeVar("T")
Chunk = tuple[int, int]  # the first shot, and how many


@contextmanager
def crew(workers: int) -> Iterator[None]:
    """While the block runs, shots are flown by so many threads. What comes out does not depend on it."""
    before = _size.set(max(1, workers))
    try:
        yield
    finally:
        _size.reset(before)


def chunks_of(shots: int, begin: int = 0) -> list[Chunk]:
    """Shots begin..shots-1 in chunks."""
    return [(first, min(CHUNK, shots - first)) for first in range(begin, shots, CHUNK)]


def shared_out(shots: int) -> list[Chunk]:
    """Shots that are drawn already, in chunks that give every thread something to do, unless they are very few."""
    size = min(CHUNK, max(LEAST, -(-shots // _size.get())))
    return [(first, min(size, shots - first)) for first in range(0, shots, size)]


def each_chunk(chunks: list[Chunk], fly: Callable[[int, int], T]) -> Iterator[tuple[Chunk, T]]:
    """Each chunk with what was flown, as they are done.

    Raises what flying raises, and what we are asked to end with, once the chunks in the air are down.
    """
    workers = min(_size.get(), len(chunks))
    if workers <= 1:
        for chunk in chunks:
            yield chunk, fly(*chunk)
            _look_whether_to_end()
        return
    todo = iter(chunks)
    flying: dict[Future[T], Chunk] = {}
    with ThreadPoolExecutor(workers, "flying") as pool:
        try:
            while True:
                for chunk in islice(todo, workers + 1 - len(flying)):
                    flying[pool.submit(fly, *chunk)] = chunk
                if not flying:
                    return
                for done in wait(flying, TICK, FIRST_COMPLETED).done:
                    yield flying.pop(done), done.result()
                stop_if_asked()
        finally:
            for future in flying:
                future.cancel()


class _OverError(Exception):
    """Nobody waits for a task any more."""


def _look_whether_to_end() -> None:
    """Raise what we are asked to end with; in a task beside others, what ends it once nobody waits for it."""
    over = _over.get()
    if over is None:
        stop_if_asked()
    elif over.is_set():
        raise _OverError


def side_by_side(things: Iterable[S], work: Callable[[S], T]) -> Iterator[tuple[S, T]]:
    """Each thing with what the work makes of it, in their order: as many at a time as there are threads, each by one.

    The next things are made by who asks, while others are worked on. Raises what the work raises, and what we are asked
    to end with.
    """
    workers = _size.get()
    if workers <= 1:
        for thing in things:
            yield thing, work(thing)
        return
    over = Event()

    def alone(thing: S) -> T:
        _over.set(over)
        return work(thing)

    begun: deque[tuple[S, Future[T]]] = deque()
    with ThreadPoolExecutor(workers, "trying") as pool:
        try:
            for thing in things:
                begun.append((thing, pool.submit(alone, thing)))
                if len(begun) > workers:
                    yield _first_of(begun)
            while begun:
                yield _first_of(begun)
        finally:
            over.set()
            for _, future in begun:
                future.cancel()


def _first_of(begun: deque[tuple[S, Future[T]]]) -> tuple[S, T]:
    """The first of what was begun, when it is done."""
    thing, future = begun[0]
    while not wait((future,), TICK).done:
        stop_if_asked()
    begun.popleft()
    return thing, future.result()
