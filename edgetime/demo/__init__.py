"""An invented load to try edgetime on: a café by a lake, never built, by nobody we know."""

from edgetime.demo.drawings import DRAWING_NAMES, demo_drawings
from edgetime.demo.files import Written, write_demo

__all__ = ["DRAWING_NAMES", "Written", "demo_drawings", "write_demo"]
