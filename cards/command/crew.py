"""Work shared out over several processes, its results taken in order."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from cards.errors import OutputError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

PAYS_FROM = 6  # pieces of work for each process: fewer take less time than to start it

Item = TypeVar("Item")
Result = TypeVar("Result")


def processes_for(pieces: int) -> int:
    """How many processes to share so many pieces of work out over: as many as it pays to start."""
    if sys.platform != "linux":
        return 1  # elsewhere a process begins from nothing: it loads longer than most batches take
    return max(1, min(len(os.sched_getaffinity(0)), pieces // PAYS_FROM))


@contextmanager
def in_order(
    make: Callable[[Item], Result], items: Sequence[Item], processes: int
) -> Iterator[Iterator[Result]]:
    """Make something of each item; with several processes each takes every so-manieth.

    Parameters
    ----------
    make
        What to do; it raises nothing.
    items
        What to do it with.
    processes
        How many to start; 1 makes everything here.

    Returns
    -------
    context of iterator
        What was made, in the order of the items. A process goes on only as fast as its results
        are taken, so that few of them wait in memory. When the context is left, none goes on.

    Raises
    ------
    OutputError
        When a process is ended from outside.

    Examples
    --------
    >>> with in_order(abs, [-1, 2, -3], processes=2) as made:
    ...     list(made)
    [1, 2, 3]
    """
    processes = min(processes, len(items))
    if processes <= 1:
        yield map(make, items)
        return
    from multiprocessing import get_context

    context: Any = get_context("fork" if sys.platform == "linux" else "spawn")
    crew: list[BaseProcess] = []
    readers: list[Connection] = []
    try:
        for place in range(processes):
            reader, writer = context.Pipe(duplex=False)
            readers.append(reader)
            share = items[place::processes]
            member = context.Process(target=_work, args=(make, share, writer, readers), daemon=True)
            member.start()
            crew.append(member)
            writer.close()
        yield _gathered(readers, len(items))
    finally:
        for member in crew:
            member.terminate()
        for member in crew:
            member.join()
        for reader in readers:
            reader.close()


def _work(
    make: Callable[[Item], Result],
    share: Sequence[Item],
    writer: Connection,
    readers: Sequence[Connection],
) -> None:
    """Make a share and send it; end quietly when nobody takes it any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for reader in readers:
        # Held open here, they would keep a process that nobody listens to waiting for ever.
        reader.close()
    try:
        for item in share:
            writer.send(make(item))
    except (BrokenPipeError, ConnectionResetError):
        pass


def _gathered(readers: Sequence[Connection], count: int) -> Iterator[Any]:
    for place in range(count):
        try:
            yield readers[place % len(readers)].recv()
        except EOFError:
            raise OutputError(
                "found a process that was ended before its cards were made; expected it to go on. "
                "Try again with --jobs 1."
            ) from None
