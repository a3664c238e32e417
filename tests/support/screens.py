"""What a person sees of blocks on a screen."""

from __future__ import annotations

from edgetime.report.document import Document
from edgetime.report.screen import Screen
from edgetime.units import UnitSystem


def shown(blocks, system=UnitSystem.METRIC, **screen):
    """Return the text of some blocks; ``screen`` is what the screen can show."""
    return Screen(**screen).render(Document.of(blocks, system))
