"""Everything the shop has, read from its files."""

from __future__ import annotations

from dataclasses import dataclass, field

from edgetime.tooling.defaults import ShopDefaults
from edgetime.tooling.layers import LayerRules
from edgetime.tooling.machines import Machine
from edgetime.tooling.profiles import Profile
from edgetime.tooling.stacks import Stack
from edgetime.tooling.stones import Stone
from edgetime.tooling.tools import Tool, ToolKind


@dataclass(frozen=True)
class Catalogue:
    """Everything the shop has: the shipped files, overlaid by the shop's own.

    Attributes
    ----------
    profiles, tools, stacks, machines, stones : dict
        By name.
    shop : ShopDefaults
        Defaults.
    layers : LayerRules
        ``layers.toml``.
    digest : str
        SHA-256 over all files read, hexadecimal.
    raw : dict
        ``(file, dotted key) -> text as written``, for ``--explain``; list entries are counted
        from 1 (``step[3].feed``), and a figure the file leaves to the schema reads
        ``default: …``.
    sources : dict
        ``(file, key) -> sentence``, where a figure comes from; ``""`` for all other keys.
    """

    profiles: dict[str, Profile]
    tools: dict[str, Tool]
    stacks: dict[str, Stack]
    machines: dict[str, Machine]
    stones: dict[str, Stone]
    shop: ShopDefaults
    layers: LayerRules
    digest: str
    raw: dict[tuple[str, str], str] = field(default_factory=dict, repr=False)
    sources: dict[tuple[str, str], str] = field(default_factory=dict, repr=False)

    def core_diameters_mm(self) -> tuple[float, ...]:
        """Return the diameters of all core bits, ascending [mm]."""
        return tuple(
            sorted({t.diameter_mm for t in self.tools.values() if t.kind is ToolKind.CORE_BIT})
        )

    def source_of(self, file: str, key: str) -> str:
        """Return the sentence that says where a figure comes from.

        Parameters
        ----------
        file, key : str
            As in ``raw``.

        Returns
        -------
        str
            The sentence for the innermost name of the key that has one, else the file's own;
            empty when there is none.
        """
        names = [part.partition("[")[0] for part in key.split(".")]
        found = (self.sources.get((file, name)) for name in [*reversed(names), ""])
        return next((sentence for sentence in found if sentence), "")
