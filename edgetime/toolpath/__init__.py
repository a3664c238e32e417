"""From the pass plan to moves: cuts, leads, plunges and rapids; reach and clearance."""

from edgetime.toolpath.build_tool_paths import build_tool_paths
from edgetime.toolpath.tool_paths import HandWork, ToolPaths

__all__ = ["HandWork", "ToolPaths", "build_tool_paths"]
