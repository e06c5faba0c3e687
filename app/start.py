"""Set Samelight up in this folder and open it, or run its tests.

Needs nothing but CPython 3.11 or newer with pip and venv. Everything it installs goes into ``.venv`` beside
``pyproject.toml``; a later start finds it there and sets nothing up again.
"""

import argparse
import hashlib
import importlib.util
import io
import os
import platform
import shlex
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


def refusal(version: "tuple[int, ...]", implementation: str) -> "str | None":
    """Why this Python cannot run Samelight, or None when it can."""
    if implementation == "CPython" and version[:2] >= (3, 11):
        return None
    found = ".".join(str(part) for part in version[:3])
    return (
        f"Samelight needs CPython 3.11 or newer; this is {implementation} {found}.\n"
        "Install a newer Python (python.org, or your system's packages) and start with it, for example:\n"
        "  python3.11 app/start.py"
    )


# Everything up to here runs on any Python 3.6 or newer, and everything below is read by one only after this line.
# Hence the quoted types above: an older Python would stop at them without a word on what is wrong.
if refusal(sys.version_info[:3], platform.python_implementation()):
    sys.exit(refusal(sys.version_info[:3], platform.python_implementation()))

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STATE = VENV / "samelight-setup.txt"
BUILD = ROOT / "build"
SAMPLE = ROOT / "sample_sequences" / "harbour"
UNFINISHED = "unfinished"

# The system's own libraries that Qt loads, each with the Debian package that brings it.
# Found with ldd on the PySide6 6.11 and 6.12 wheels in a minimal Debian 12.
DRAWING_LIBRARIES = """
    libEGL.so.1 libegl1               libGL.so.1 libgl1                 libX11.so.6 libx11-6
    libdbus-1.so.3 libdbus-1-3        libfontconfig.so.1 libfontconfig1 libfreetype.so.6 libfreetype6
    libglib-2.0.so.0 libglib2.0-0     libgthread-2.0.so.0 libglib2.0-0  libxkbcommon.so.0 libxkbcommon0
"""
X11_LIBRARIES = """
    libX11-xcb.so.1 libx11-xcb1       libxcb-cursor.so.0 libxcb-cursor0 libxcb-icccm.so.4 libxcb-icccm4
    libxcb-image.so.0 libxcb-image0   libxcb-keysyms.so.1 libxcb-keysyms1
    libxcb-randr.so.0 libxcb-randr0   libxcb-render.so.0 libxcb-render0
    libxcb-render-util.so.0 libxcb-render-util0
    libxcb-shape.so.0 libxcb-shape0   libxcb-shm.so.0 libxcb-shm0       libxcb-sync.so.1 libxcb-sync1
    libxcb-util.so.1 libxcb-util1     libxcb-xfixes.so.0 libxcb-xfixes0 libxcb-xkb.so.1 libxcb-xkb1
    libxcb.so.1 libxcb1               libxkbcommon-x11.so.0 libxkbcommon-x11-0
"""
WAYLAND_LIBRARIES = """
    libwayland-client.so.0 libwayland-client0  libwayland-cursor.so.0 libwayland-cursor0
    libwayland-egl.so.1 libwayland-egl1
"""

HELP = """What stands above says why. Mostly it is one of these:
- The package index could not be reached: check the network and, behind a proxy, HTTPS_PROXY or pip's settings.
- The disk is full: about 1.5 GB are needed for .venv and pip's own store.
- A package does not come for this Python and system: CPython 3.11 to 3.13, 64 bit, suits best.
Then run the same command again; pip fetches nothing twice."""


class SetupError(Exception):
    """Set-up cannot go on; the text says what is wrong and what to do."""


# Printed at once, so that our lines and those of the programs we run stay in order.
say = partial(print, flush=True)


def venv_python(system: str = sys.platform) -> Path:
    """The environment's own Python."""
    return VENV / "Scripts" / "python.exe" if system == "win32" else VENV / "bin" / "python"


def run(command: list[str], what: str, extra_environment: Mapping[str, str] | None = None) -> None:
    """Run a program, which shows its own progress; SetupError when it fails."""
    begun = time.monotonic()
    say(f"{what} ...")
    environment = {**os.environ, **(extra_environment or {})}
    with subprocess.Popen(command, cwd=ROOT, env=environment, stdin=subprocess.DEVNULL) as process:
        try:
            process.wait()
        except BaseException:
            process.terminate()
            raise
    if process.returncode != 0:
        raise SetupError(
            f"{what} failed: {shlex.join(command)}\nended with exit code {process.returncode}.\n{HELP}"
        )
    say(f"  done in {time.monotonic() - begun:.0f} s")


def agreed(question: str) -> bool:
    """Whether who sits at the terminal agrees; Enter is yes. Without a terminal nobody is asked: the command asked for it."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return True
    try:
        return input(f"{question} [Y/n] ").strip().casefold() in {"", "y", "yes"}
    except EOFError:
        return False


def supply(packages: list[str], lack: str, elsewhere: str, system: bool) -> None:
    """Bring Debian packages: install them where we may, else SetupError with the command that does.

    On a terminal we ask first, and take sudo where we are not root. `system` is False where nothing may be installed.
    """
    if not shutil.which("apt-get"):
        raise SetupError(f"{lack}\n{elsewhere}")
    update, install = (
        ["apt-get", "update"],
        ["apt-get", "install", "-y", "--no-install-recommends", *packages],
    )
    sudo = [] if os.geteuid() == 0 else ["sudo"]
    by_hand = f"{shlex.join(['sudo', *update])} && {shlex.join(['sudo', *install])}"
    may = system and (not sudo or (sys.stdin.isatty() and shutil.which("sudo") is not None))
    if may:
        say(lack)
    if not may or not agreed(f"Install {', '.join(packages)} with {' '.join([*sudo, 'apt-get'])} now?"):
        raise SetupError(f"{lack}\nInstall what is missing and run the same command again:\n  {by_hand}")
    run([*sudo, *update], "Reading the lists of system packages")
    run(
        [*sudo, *install],
        f"Installing the system packages {' '.join(packages)}",
        {"DEBIAN_FRONTEND": "noninteractive"},
    )


def lock_now(descriptor: int) -> bool:
    """Lock an open file unless another process holds it. The system unlocks it even when we are killed."""
    try:
        if sys.platform == "win32":
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


@contextmanager
def one_at_a_time() -> Iterator[None]:
    """Hold this project's set-up for ourselves; wait while another start holds it."""
    BUILD.mkdir(exist_ok=True)
    with (BUILD / "start.lock").open("a") as lock:
        waiting = False
        while not lock_now(lock.fileno()):
            if not waiting:
                say("Another start is setting this folder up; waiting for it ...")
            waiting = True
            time.sleep(0.3)
        yield


def stamp(project: bytes, extras: str, python: str, root: Path) -> str:
    """What an environment is made from, as one hash: while it stays the same there is nothing to set up."""
    parts = (project, extras.encode(), python.encode(), os.fsencode(root))
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def read_state() -> str:
    """The environment's stamp, UNFINISHED while it is being made, or nothing when it was made by other means."""
    try:
        return STATE.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def write_state(state: str) -> None:
    """Write the state whole or not at all."""
    fresh = STATE.with_suffix(".new")
    fresh.write_text(state, encoding="ascii")
    fresh.replace(STATE)


def python_in_venv() -> str | None:
    """Name and version of the environment's Python; None if it does not run (the Python it came from may be gone), is too
    old, or has no pip."""
    program = (
        "import importlib.util, sys; fit = sys.version_info >= (3, 11) and importlib.util.find_spec('pip'); "
        "print(sys.implementation.cache_tag if fit else '')"
    )
    try:
        asked = subprocess.run([venv_python(), "-c", program], capture_output=True, text=True, check=False)
    except OSError:
        return None
    return asked.stdout.strip() or None


def make_venv(system: bool) -> None:
    """Make .venv from nothing, whatever stands there now."""
    if not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        supply(
            [f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"],
            f"This Python ({sys.executable}) cannot make environments: its venv or ensurepip module is missing.",
            "Install your system's package of it (often python3-venv), or Python from python.org, and run again.",
            system,
        )
    if os.path.lexists(VENV):
        say("The environment in .venv is half made or no longer runs; making it anew.")
        # Moved away in one step: half removed, it could pass for a whole one.
        old = BUILD / "old-venv"
        shutil.rmtree(old, ignore_errors=True)
        VENV.replace(old)
        shutil.rmtree(old, ignore_errors=True)
    VENV.mkdir()
    write_state(UNFINISHED)
    # When we are run by the environment that is being remade, only its base Python is sure to stay.
    base = getattr(sys, "_base_executable", None) or sys.executable
    run([base, "-m", "venv", str(VENV)], "Making the environment .venv")


def set_up(extras: str, system: bool = True) -> None:
    """Bring .venv to hold Samelight, editable, with what it needs; at once when it does already."""
    project = (ROOT / "pyproject.toml").read_bytes()
    with one_at_a_time():
        python, state = python_in_venv(), read_state()
        # One made for the tests opens the window too.
        if python and state in {stamp(project, held, python, ROOT) for held in (extras, "dev")}:
            return
        if python is None or state == UNFINISHED:
            make_venv(system)
            python, state = python_in_venv(), UNFINISHED
        if python is None:
            raise SetupError(
                f"{venv_python()} was made, but does not run. Remove the folder .venv and run again."
            )
        write_state(UNFINISHED)
        target = f".[{extras}]" if extras else "."
        pip = [str(venv_python()), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
        try:
            run([*pip, "-e", target], "Installing Samelight and what it needs")
        except SetupError:
            # pip gave up by itself, mostly without a network, and left what was there: that may still be of use.
            write_state(state)
            raise
        write_state(stamp(project, extras, python, ROOT))


def has_display(environment: Mapping[str, str], system: str) -> bool:
    """Whether a window can be shown. Windows and macOS always have a screen; elsewhere a variable names it."""
    return system in {"win32", "darwin"} or bool(
        environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY")
    )


def libraries_needed(environment: Mapping[str, str], system: str, windowed: bool) -> dict[str, str]:
    """Each system library Qt loads, with its Debian package, to draw into a picture or to open a window."""
    if not system.startswith("linux"):
        return {}
    names = DRAWING_LIBRARIES.split()
    if windowed and environment.get("DISPLAY"):
        names += X11_LIBRARIES.split()
    if windowed and environment.get("WAYLAND_DISPLAY"):
        names += WAYLAND_LIBRARIES.split()
    return dict(zip(names[::2], names[1::2], strict=True))


def libraries_missing(names: list[str]) -> list[str]:
    """Those that the environment's Python cannot load. A new process is asked: one that failed once may not look again."""
    program = (
        "import ctypes, sys\n"
        "for name in sys.argv[1:]:\n"
        "    try: ctypes.CDLL(name)\n"
        "    except OSError: print(name)\n"
    )
    asked = subprocess.run(
        [venv_python(), "-c", program, *names], stdout=subprocess.PIPE, text=True, check=False
    )
    return asked.stdout.split()


def check_libraries(windowed: bool, system: bool = True) -> None:
    """See that Qt finds the system libraries it needs, and bring those it lacks."""
    needed = libraries_needed(os.environ, sys.platform, windowed)
    missing = libraries_missing(list(needed)) if needed else []
    if missing:
        lack = f"Qt needs system libraries that are not here: {', '.join(missing)}"
        supply(
            sorted({needed[name] for name in missing}),
            lack,
            "Install the packages of your system that hold them.",
            system,
        )
        still = libraries_missing(missing)
        if still:
            raise SetupError(f"Installed, but still not to be loaded: {', '.join(still)}")


def samelight(*arguments: str | Path, offscreen: bool = False) -> int:
    """Run the program from the environment and give its exit code."""
    surroundings = {**os.environ, "QT_QPA_PLATFORM": "offscreen"} if offscreen else None
    return subprocess.call([venv_python(), "-m", "samelight", *arguments], env=surroundings)


def open_sequence(folder: Path) -> int:
    """Open the window on a sequence; where there is no screen, check it here and save a picture of the window."""
    if has_display(os.environ, sys.platform):
        say(f"Opening {folder}")
        opened = samelight(folder)
        if opened < 0:
            say(f"The window was ended by signal {-opened}. Is the display that DISPLAY names within reach?")
            return 1
        return opened
    say(
        "There is no display here (neither DISPLAY nor WAYLAND_DISPLAY is set): checking the sequence in the terminal.\n"
    )
    checked = samelight("check", folder)
    if checked not in {0, 1}:  # 1 says that drift is open, which is what the program is for
        return checked
    picture = BUILD / "samelight-window.png"
    drawn = samelight("picture", folder, "-o", picture, offscreen=True)
    if drawn == 0:
        say(f"\nThe window, as a picture: {picture}")
    return drawn


def run_tests(pytest_arguments: list[str]) -> int:
    """Run the whole test command in the environment and give its exit code."""
    return subprocess.call([venv_python(), ROOT / "tests" / "run.py", *pytest_arguments], cwd=ROOT)


def read_arguments(arguments: list[str]) -> argparse.Namespace:
    """Read the command line: `folder` (a path), and `tests` (None, or what pytest is to be given)."""
    parser = argparse.ArgumentParser(
        prog="start.py", description="Set Samelight up in this folder and open it, or run its tests."
    )
    parser.add_argument(
        "folder", nargs="?", type=Path, help="sequence to open (default: the sample, a harbour at dawn)"
    )
    parser.add_argument(
        "--no-system",
        action="store_true",
        help="never install packages of the system; say what is missing instead",
    )
    parser.add_argument(
        "--tests",
        nargs=argparse.REMAINDER,
        metavar="PYTEST_ARGUMENT",
        help="run the whole test command instead; whatever follows is passed to pytest",
    )
    read = parser.parse_args(arguments)
    if read.folder and read.tests is not None:
        parser.error("give a folder to open or --tests, not both")
    if read.folder and not read.folder.is_dir():
        parser.error(f"no such folder: {read.folder}")
    return read


def work(arguments: list[str]) -> int:
    """Set up what is wanted, then do it."""
    wanted = read_arguments(arguments)
    system = not wanted.no_system
    if wanted.tests is not None:
        set_up("dev", system)
        check_libraries(windowed=False, system=system)
        return run_tests(wanted.tests)
    set_up("", system)
    check_libraries(windowed=has_display(os.environ, sys.platform), system=system)
    return open_sequence((wanted.folder or SAMPLE).resolve())


def main(arguments: list[str]) -> int:
    """Do what the command line asks; what can go wrong on the way ends in a message and an exit code."""
    try:
        return work(arguments)
    except KeyboardInterrupt:
        say("\nStopped. Run the same command again to go on.")
        return 130
    except SetupError as error:
        print(f"\n{error}", file=sys.stderr)
    except OSError as error:
        print(f"\nCannot go on: {error}", file=sys.stderr)
    return 1


if __name__ == "__main__":
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a console's encoding may lack a sign that pip prints
            stream.reconfigure(errors="replace")
    # Ended by another program, we take pip along instead of leaving it at work on an environment nobody guards.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    sys.exit(main(sys.argv[1:]))
