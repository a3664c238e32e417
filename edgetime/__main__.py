"""``python -m edgetime``."""

from edgetime.cli.app import main

main()
