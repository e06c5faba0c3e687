"""The command `samelight`, which is also `python -m samelight`."""

import sys


def run() -> int:
    """Run the command; the exit status. It ends without a traceback also where it is stopped before it has begun."""
    try:
        from samelight.cli.main import main  # not before: a process that reads sheets needs none of it
    except KeyboardInterrupt:
        print("samelight: stopped", file=sys.stderr)
        return 130
    except ImportError as error:
        print(f"samelight: the program is not whole, install it again: {error}", file=sys.stderr)
        return 2
    return main()


if __name__ == "__main__":
    if getattr(
        sys, "frozen", False
    ):  # a packaged program, which is started again for every process it works with
        from multiprocessing import freeze_support

        from samelight.sources.trial_child import READS, serve

        freeze_support()
        if sys.argv[1:] == [READS]:
            serve()
    sys.exit(run())
