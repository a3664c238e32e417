"""Exact planar curves: chains of lines and arcs, their measures and parallels."""
