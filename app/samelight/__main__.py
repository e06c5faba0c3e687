"""`python -m samelight` is the command `samelight`."""

import sys

from samelight.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
