"""Tells whoever listens how far long work has come; nobody listens unless a surface asks to.

A stage wraps what it iterates over in :func:`track`. What is done with the news is the business of
a surface, which sets a listener with :func:`listening`: the command line draws a bar, a test keeps a
list. The listener is a context variable and no parameter: progress changes no result, and as a
parameter it would run through every function between a command and the loop that takes long.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sized
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final, TypeVar

Item = TypeVar("Item")

Listener = Callable[[str, int, int], None]
"""Takes what is being done, how many items are done, and how many there are."""

_listener: Final[ContextVar[Listener | None]] = ContextVar("progress", default=None)

STEPS: Final = 200
"""A loop tells of itself at most about so often: a bar has no finer steps."""


@contextmanager
def listening(listener: Listener) -> Iterator[None]:
    """Let a listener hear of the work done within."""
    token = _listener.set(listener)
    try:
        yield
    finally:
        _listener.reset(token)


def tell(what: str, done: int, total: int) -> None:
    """Tell the listener, if there is one, how far work in unlike steps has come."""
    listener = _listener.get()
    if listener is not None:
        listener(what, done, total)


def track(
    items: Iterable[Item], what: str, total: Callable[[], int] | None = None
) -> Iterable[Item]:
    """Pass items on, and tell the listener how many are done.

    Parameters
    ----------
    items : iterable
        What is worked through.
    what : str
        What is done with them: ``reading drawings``.
    total : callable, optional
        Counts them, for items that have no length; not called when nobody listens.

    Returns
    -------
    iterable
        The items themselves when nobody listens.
    """
    listener = _listener.get()
    if listener is None:
        return items
    count = total() if total is not None else len(items) if isinstance(items, Sized) else 0
    return _told(items, what, count, listener) if count else items


def _told(items: Iterable[Item], what: str, total: int, listener: Listener) -> Iterator[Item]:
    step = max(1, total // STEPS)
    for done, item in enumerate(items):
        if done % step == 0:
            listener(what, done, total)
        yield item
    listener(what, total, total)
