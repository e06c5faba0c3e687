"""`python -m samelight` is the command `samelight`."""

import sys
from multiprocessing import freeze_support

if __name__ == "__main__":
    freeze_support()  # in a packaged program, which is started again for every process it works with

    from samelight.cli.main import main  # not before: a process that reads sheets needs none of it

    sys.exit(main())
