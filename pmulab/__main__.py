"""`python -m pmulab` is the command `pmulab`."""

from pmulab.cli import main

main()
