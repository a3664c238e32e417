"""The command line: thin over the package, light to start.

Heavy modules are imported inside the commands that need them, because ``--help`` and
shell completion must answer at once.
"""
