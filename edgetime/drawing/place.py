"""Where entities are read from: model space, or one instance of a block."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from edgetime.drawing.affine import Affine, Trace
from edgetime.drawing.curves import Strokes
from edgetime.drawing.drawing import Entity, LayerState, Text
from edgetime.errors import Where
from edgetime.findings import Code, Finding


def whole(text: str) -> str:
    """Return a text with surrogate pairs joined and undecodable bytes replaced."""
    if text.isascii():
        return text
    return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """The coordinates, layer and visibility that a layout or block instance gives its entities.

    Attributes
    ----------
    map : Affine
        From the entities' coordinates to the world in millimetres.
    flat : Trace
        Its trace for a plane curve without normal or elevation.
    layer : str or None
        What layer ``0`` means; None in model space.
    handle : str
        Handle of the outermost INSERT; ``""`` in model space.
    blocks : tuple of str
        Names of the blocks, outermost first.
    insert : int
        Number of the outermost instance, -1 in model space.
    visible : bool
        False below an INSERT that is itself hidden.
    """

    map: Affine
    flat: Trace
    layer: str | None = None
    handle: str = ""
    blocks: tuple[str, ...] = ()
    insert: int = -1
    visible: bool = True


@dataclass(slots=True, eq=False)
class Builder:
    """What has been read so far; filled entity by entity.

    Attributes
    ----------
    path : str
        The file as the user named it.
    layers : dict
        State of every layer, by its name as defined or first used.
    names : dict
        Lower-case name → name: layer names ignore case.
    firsts : list of int
        Each entity's first segment.
    """

    path: str
    layers: dict[str, LayerState]
    names: dict[str, str]
    segments: Strokes = field(default_factory=Strokes)
    entities: list[Entity] = field(default_factory=list)
    firsts: list[int] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    ignored: Counter[str] = field(default_factory=Counter)
    zero: int = 0
    inserts: int = 0

    def layer(self, name: str, place: Place) -> str:
        """Return the layer an entity counts for, in its one spelling."""
        if name == "0" and place.layer is not None:
            return place.layer
        known = self.names.get(name)
        if known is not None:
            return known
        known = self.names.setdefault(name.lower(), whole(name))
        self.names[name] = known
        if known not in self.layers:
            self.layers[known] = LayerState.SHOWN
        return known

    def find(self, kind: Code, message: str, layer: str, handle: str) -> None:
        """Collect a finding about this drawing."""
        where = Where(path=self.path, layer=layer or None, handle=handle or None)
        self.findings.append(Finding(kind, message, where))
