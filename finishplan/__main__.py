"""`python -m finishplan`."""

from finishplan.cli import main

main()
