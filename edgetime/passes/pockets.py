"""Which stays need a tool put in by hand, where the rack has fewer pockets than tools."""

from __future__ import annotations

from collections.abc import Sequence


def hand_swaps(pieces: Sequence[str], pockets: int) -> list[int]:
    """Return the stays before which a person swaps a tool; no plan needs fewer.

    The rack is full at the start; each time a piece is not in it, the one whose next use lies
    furthest ahead makes room (Belady, A study of replacement algorithms, IBM Systems Journal 5,
    1966: the optimal replacement).

    Returns
    -------
    list of int
        Indices into ``pieces``, ascending.
    """
    rack: set[str] = set()
    swapped = []
    for at, piece in enumerate(pieces):
        if piece in rack:
            continue
        if len(rack) >= pockets:
            swapped.append(at)
            if rack:
                # The tool that is needed latest makes room (Belady): no other choice needs fewer
                # swaps.
                ahead = list(pieces[at:])
                rack.remove(
                    max(sorted(rack), key=lambda p: ahead.index(p) if p in ahead else len(ahead))
                )
        if len(rack) < pockets:
            rack.add(piece)
    return swapped
