"""The plan of a load as a picture: parts, edges, openings, findings, tool paths."""

from edgetime.picture.plan import draw_plan
from edgetime.picture.scene import Show

__all__ = ["Show", "draw_plan"]
