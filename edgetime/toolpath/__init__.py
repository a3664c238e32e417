"""From the pass plan to moves: cuts, leads, plunges and rapids; reach and clearance."""

from edgetime.toolpath.build import build_tool_paths
from edgetime.toolpath.model import HandWork, ToolPaths

__all__ = ["HandWork", "ToolPaths", "build_tool_paths"]
