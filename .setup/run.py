"""The two commands of a fresh clone, for any Python from 3.11 on and nothing else installed.

    python3 .setup/run.py demo     make an environment, install from the lock, open the sample season
    python3 .setup/run.py check    the same with the developers' tools, then format, lint, types and all tests
    python3 .setup/run.py lock     work the locked versions out anew (needs the network)

What follows the verb is passed on: to ``floorbook demo``, or to pytest.
"""

import sys


def main() -> int:
    """Run the verb named on the command line and return the exit code."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this file alone is for any Python
        print(
            f"floorbook needs Python 3.11 or newer; this is {sys.version.split()[0]}: {sys.executable}", file=sys.stderr
        )
        return 1
    import verbs  # only now: it is written for the Python that floorbook needs

    return verbs.run(sys.argv[1:], usage=__doc__ or "")


if __name__ == "__main__":
    sys.exit(main())
