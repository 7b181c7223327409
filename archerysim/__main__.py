"""``python -m archerysim``, and the command ``archerysim``"""

import sys


def run() -> int:
    """Run the command line; also an interrupt while it is loaded is no traceback."""
    try:
        from archerysim.cli.main import main

        return main()
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(run())
