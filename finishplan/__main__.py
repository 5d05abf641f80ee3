"""`python -m finishplan` and the command `finishplan`: signals are heeded before anything slow is imported."""

import os

try:
    from finishplan.basics.signals import heed
except KeyboardInterrupt:
    os._exit(130)


def main() -> None:
    """Run the command line; leave with 0, 2 on input that cannot be used, 130 on Ctrl-C."""
    heed()
    from finishplan.cli.main import main as run

    run()


if __name__ == "__main__":
    main()
