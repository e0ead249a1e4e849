"""Set up and start.  Needs nothing but Python 3.11 or newer.

    python3 start.py              open the notebooks in the browser     (Windows: py start.py)
    python3 start.py test         run the tests                         (Windows: py start.py test)

Words after these go on to JupyterLab or to pytest:  python3 start.py --no-browser,  python3 start.py test -k road
The first run makes a folder .venv beside this file and installs what is needed into it; later runs start at once.
To start afresh, delete .venv.  A folder wheels/ beside this file, filled on another computer of the same kind by
    python3 -m pip download --dest wheels --requirement requirements.lock setuptools
serves a workshop room without a network.
"""
from __future__ import print_function

import sys

WANT = (3, 11)
if sys.version_info < WANT:             # everything above and below parses on Python 2.7 and later, to get to say this
    sys.exit("evlab needs Python %d.%d or newer; this is Python %d.%d.\n" % (WANT + tuple(sys.version_info[:2]))
             + "Install a newer one (Windows, macOS: from python.org; Linux: from your distribution),\n"
             "then start with it by name, for example: python3.12 start.py   (Windows: py -3.12 start.py)")

import collections
import contextlib
import errno
import hashlib
import json
import os
import pathlib
import shutil
import subprocess
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
VENV = HERE / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
LOCK = HERE / "requirements.lock"       # exact versions; pyproject.toml holds the ranges
WHEELS = HERE / "wheels"
MARK = VENV / "ready.json"              # written last: without it a set-up was broken off, and is begun anew
NEEDED = 1.5                            # GB while setting up, measured, with room for the downloads
AGAIN = "Then run the same command again."
AFRESH = "Delete the folder .venv and start again."

# What must be there to import; numba is not among them: without it all runs the same, only slower.
NEEDED_FOR = {"notebooks": ("evlab", "jupyterlab", "ipywidgets", "anywidget", "numpy", "scipy", "sympy", "pandas",
                            "matplotlib", "PIL", "pint", "magpylib", "tomlkit")}
NEEDED_FOR["test"] = NEEDED_FOR["notebooks"] + ("pytest", "xdist", "nbformat", "nbclient", "nbstripout", "yaml", "colorspacious",
                                                "fluids", "CoolProp", "skfem", "gpxpy")
# Run by .venv's own Python: a line for each package that fails.  A folder without its __init__.py is found without an origin.
LOOK = """
import importlib, importlib.util, sys
for name in sys.argv[2:]:
    try:
        spec = importlib.util.find_spec(name)
        if spec is None or spec.origin is None:
            raise ImportError("it is not there")
        if sys.argv[1] == "import":
            importlib.import_module(name)
    except Exception as error:
        words = " ".join(str(error).split())[:160] or type(error).__name__
        print("The package %s cannot be used: %s." % (name, words.rstrip(".")))
"""

# JupyterLab asks nothing at its first start, looks for no newer versions, and lays all cells out at once.
LAB_SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "defer"},
}
# Words by which pip, uv and the system tell why an installation stopped.
DISK_FULL = ("no space left", "not enough space", "errno 28", "os error 28", "os error 112")
NO_NETWORK = ("failed to establish a new connection", "name resolution", "getaddrinfo", "dns error", "timed out",
              "connection refused", "network is unreachable", "error sending request", "proxyerror",
              "could not connect", "failed to fetch")
NO_WHEEL = ("no matching distribution", "no usable wheels", "no wheels")


def stop(text):
    """End with a sentence instead of a traceback."""
    sys.exit("\n" + text)


def child_environment():
    """The learner's environment, less what would slow Python down (imports without bytecode) or mix packages in."""
    unwanted = ("PYTHONDONTWRITEBYTECODE", "PYTHONPATH", "PYTHONHOME")
    return {key: value for key, value in os.environ.items() if key not in unwanted}


# ------------------------------------------------------------------------------------------------ what is there
def wanted_state(what):
    """What a finished set-up for "notebooks" or "test" leaves in ready.json."""
    return {"python": "%d.%d" % sys.version_info[:2], "folder": str(HERE), "for": what,
            "lock": hashlib.sha256(LOCK.read_bytes()).hexdigest()}


def present_state():
    """What an earlier set-up left, or {} after none, or after one that was broken off."""
    if not (MARK.exists() and PYTHON.exists()):
        return {}
    try:
        have = json.loads(MARK.read_text(encoding="utf-8"))
    except (OSError, ValueError):           # empty, cut short, or no text at all: the set-up is begun anew
        return {}
    return have if isinstance(have, dict) else {}


def write_mark(state):
    """ready.json whole or not at all: a file beside it, then put in its place."""
    part = MARK.with_name("ready.json.%d.part" % os.getpid())
    part.write_text(json.dumps(state), encoding="utf-8")
    part.replace(MARK)


def is_ready(what):
    """Whether ready.json says that all is there; "test" holds all that "notebooks" needs."""
    want = wanted_state(what)
    return present_state() in (want, dict(want, **{"for": "test"}))


def set_up(what):
    """Make .venv and fill it, as far as that is not done yet, one start at a time."""
    if not is_ready(what):
        with alone():
            if not is_ready(what):          # another start may have done it in the meantime
                fill(what)
                return
    check_packages(what, "find")


def fill(what):
    began = time.monotonic()
    have, want = present_state(), wanted_state(what)
    check_folder()
    if all(have.get(key) == want[key] for key in ("python", "folder")):
        print("Bringing .venv up to date.", flush=True)
        MARK.unlink()
    else:
        announce(have)
        check_room()
        make_environment()
    install(what)
    quiet_lab(VENV)
    warm(what)
    write_mark(want)
    print("Ready after %.0f s." % (time.monotonic() - began), flush=True)


@contextlib.contextmanager
def alone():
    """One set-up at a time: a second start waits for the first.  The system gives the lock back however a start ends."""
    if os.name != "nt":
        handle = os.open(str(HERE), os.O_RDONLY)
    else:                                   # Windows locks no folders: a file of the user's own for this one
        name = hashlib.sha256(str(HERE).lower().encode("utf-8")).hexdigest()[:24]
        handle = os.open(str(pathlib.Path(tempfile.gettempdir()) / ("evlab-start-%s.lock" % name)), os.O_RDWR | os.O_CREAT)
    try:
        if not locked(handle):
            print("Another start is setting up this folder. This one waits until that one has ended (Ctrl+C: wait no more).",
                  flush=True)
            while not locked(handle):
                time.sleep(0.2)
        yield
    finally:
        os.close(handle)


def locked(handle):
    """Whether the lock is ours now."""
    try:
        if os.name == "nt":
            import msvcrt
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return error.errno not in (errno.EAGAIN, errno.EACCES, errno.EDEADLK)   # others: a disk without locks, so go on without
    return True


def check_folder():
    """Nothing is emptied or installed through a link, nor over a file."""
    if VENV.is_symlink() or getattr(os.path, "isjunction", lambda path: False)(str(VENV)):
        stop("The folder .venv is a link to %s.\n"
             "What is there may belong to something else, so nothing is installed or emptied there.\n"
             "Delete .venv (the link alone, not what it leads to) and start again." % os.path.realpath(str(VENV)))
    if VENV.exists() and not VENV.is_dir():
        stop("A file named .venv stands where the folder .venv belongs.\nDelete the file .venv and start again.")


def check_packages(what, how):
    """Stop with the true reason when .venv's Python or a package in it is missing.

    `how` "find" takes a tenth of a second; "import" also finds packages that are there and broken, in some seconds.
    """
    try:
        done = subprocess.run([str(PYTHON), "-P", "-c", LOOK, how] + list(NEEDED_FOR[what]), cwd=str(HERE),
                              env=child_environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              encoding="utf-8", errors="replace", check=False)
    except OSError as error:
        stop("The folder .venv is damaged.\nIts Python does not start: %s.\n%s" % (error.strerror or error, AFRESH))
    lines = done.stdout.strip().splitlines()
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["it ended without a word"])[-1]
        lines.append("Its Python stopped: %s" % last)
    if lines:
        more = ["and %d more." % (len(lines) - 4)] if len(lines) > 4 else []
        stop("\n".join(["The folder .venv is damaged."] + lines[:4] + more + [AFRESH]))


def announce(have):
    if have.get("folder", str(HERE)) != str(HERE):
        print("This folder was moved or copied; its .venv is made anew.")
    print("Setting up in %s, the first time only: about a minute, longer on a slow line." % VENV, flush=True)


def check_room():
    free = shutil.disk_usage(str(HERE)).free / 1e9
    if free < NEEDED:
        stop("The set-up needs %.1f GB of disk space in %s; %.1f GB are free.\nPlease free some space. %s"
             % (NEEDED, HERE, free, AGAIN))


# ------------------------------------------------------------------------------------------------ the set-up
def make_environment():
    """An empty .venv, whatever was there before."""
    if pathlib.Path(sys.prefix) == VENV:
        stop("This terminal is inside .venv, which must be made anew. Type: deactivate\n" + AGAIN)
    if VENV.exists():
        shutil.rmtree(str(VENV))
    if shutil.which("uv"):
        run_installer(["uv", "venv", "--python", sys.executable, str(VENV)])
    else:
        make_plainly()


def make_plainly():
    try:
        import ensurepip  # noqa: F401  Debian and Ubuntu ship venv without it, and venv fails late and unclearly
        import venv
    except ImportError:
        stop("This Python lacks a part, its venv module. On Debian or Ubuntu: sudo apt install python%d.%d-venv\n%s"
             % (sys.version_info[:2] + (AGAIN,)))
    venv.EnvBuilder(with_pip=True, symlinks=os.name != "nt").create(str(VENV))


def install(what):
    """This folder, in place, and what it needs: the versions are those of requirements.lock, ready-made."""
    if shutil.which("uv"):
        command = ["uv", "pip", "install", "--python", str(PYTHON), "--compile-bytecode"]
    else:
        command = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--no-input"]
    if WHEELS.is_dir():
        command += ["--no-index", "--find-links", str(WHEELS)]
    here = str(HERE) + ("[test]" if what == "test" else "")
    run_installer(command + ["--only-binary", ":all:", "--constraint", str(LOCK), "--editable", here])


def run_installer(command):
    """Run it, its lines shown one over the other; when it fails, say why."""
    tail = collections.deque(maxlen=400)
    with subprocess.Popen(command, cwd=str(HERE), env=child_environment(), stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, encoding="utf-8", errors="replace") as process:
        for line in process.stdout:
            tail.append(line)
            show(line.strip())
    show("")
    if process.returncode:
        last = [line.rstrip()[:160] for line in tail if line.strip()][-4:]
        stop("%s\n%s\n\nThe installer's last words:\n%s" % (why(" ".join(tail)), AGAIN, "\n".join(last)))


def show(line):
    """One line that overwrites the one before, on a terminal only."""
    if sys.stdout.isatty():
        width = shutil.get_terminal_size().columns - 1
        print("\r" + line[:width].ljust(width), end="\r", flush=True)


def why(output):
    """A sentence for a maker, from an installer's output."""
    told = output.lower()
    if any(word in told for word in DISK_FULL):
        return disk_full()
    if WHEELS.is_dir():
        return "The folder wheels/ does not hold all that is needed for this Python and this kind of computer."
    if any(word in told for word in NO_NETWORK):
        return ("The packages could not be fetched. Is this computer on line?\n"
                "Without a network, fill a folder wheels/ on another computer: see the top of start.py.")
    if any(word in told for word in NO_WHEEL):
        return ("A package is not to be had ready-made for Python %d.%d on this kind of computer.\n"
                "Try the Python before this one, by name: python3.13 start.py   (Windows: py -3.13 start.py)"
                % sys.version_info[:2])
    return "The installation stopped; why, is told below."


def disk_full():
    places = sorted({str(HERE), tempfile.gettempdir(), str(pathlib.Path.home())})
    free = ", ".join("%.1f GB in %s" % (shutil.disk_usage(place).free / 1e9, place) for place in places)
    return "A disk is full. Free are: %s. Please make room: %.1f GB in all." % (free, NEEDED)


def quiet_lab(environment):
    """Lay JupyterLab's settings down in an environment (binder/postBuild calls this too)."""
    file = pathlib.Path(environment) / "share" / "jupyter" / "lab" / "settings" / "overrides.json"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(json.dumps(LAB_SETTINGS, indent=1), encoding="utf-8")


def warm(what):
    """Compile the ride's functions now, so that the first picture does not wait for them."""
    if (HERE / "evlab" / "warm.py").exists():
        print("Compiling.", flush=True)
        done = subprocess.run([str(PYTHON), "-m", "evlab.warm"], cwd=str(HERE), env=child_environment(),
                              stderr=subprocess.PIPE, encoding="utf-8", errors="replace", check=False)
        if done.returncode:
            check_packages(what, "import")      # a package that is broken is told as such
            print("The compiling failed (%s). Everything works all the same; the first picture will be slower."
                  % (done.stderr.strip().splitlines() or ["without a word"])[-1])


# ------------------------------------------------------------------------------------------------ the two commands
def open_notebooks(rest):
    print("The notebooks open in your browser. To stop: Ctrl+C here, twice.", flush=True)
    command = [str(PYTHON), "-m", "jupyterlab", "--ServerApp.root_dir=" + str(HERE / "notebooks"),
               "--LabApp.default_url=/lab/tree/index.ipynb", "--log-level=WARN"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")          # in a container, where root is the only user
    return command + rest


def run_tests(rest):
    return [str(PYTHON), "-m", "pytest"] + rest


def run(command):
    """Run it to its end.  Ctrl+C goes to the child as well, which asks or tidies up, and is waited for."""
    with subprocess.Popen(command, cwd=str(HERE), env=child_environment()) as process:
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:
                pass


def main(arguments):
    what, rest = "notebooks", arguments
    if rest and not rest[0].startswith("-"):
        what, rest = rest[0], rest[1:]
    if what not in ("notebooks", "test") or rest[:1] in (["-h"], ["--help"]):
        stop(__doc__)
    try:
        set_up(what)
        command = run_tests(rest) if what == "test" else open_notebooks(rest)
        code = run(command)
        if code == 1 and what == "notebooks":
            check_packages(what, "import")      # JupyterLab did not come up: is it for a broken package?
        return code
    except (OSError, subprocess.CalledProcessError) as error:
        full = getattr(error, "errno", None) == errno.ENOSPC or shutil.disk_usage(str(HERE)).free < 5e7
        stop(disk_full() if full else "%s\nIs %s a folder that may be written to?" % (error, HERE))
    except KeyboardInterrupt:
        print("\nStopped. Run the same command again to go on.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
