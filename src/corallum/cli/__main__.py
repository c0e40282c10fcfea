"""``python -m corallum.cli``."""

from corallum.cli.main import main

main()
