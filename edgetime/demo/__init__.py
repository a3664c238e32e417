"""An invented load to try edgetime on: a café by a lake, never built, by nobody we know."""

from edgetime.demo.files import Written, write_demo
from edgetime.demo.scenario import DRAWING_NAMES, demo_drawings

__all__ = ["DRAWING_NAMES", "Written", "demo_drawings", "write_demo"]
