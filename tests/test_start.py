"""start.py, really run, under conditions made up for it: what it says to a maker, and what it does after a mishap.

A stand-in for uv takes the place of the installer, so that nothing is fetched; its "python" is this one, and it can be
told to fail with the words of the real tools (copied from real runs on a full disk and without a network).
"""

import ast
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[1]
OLD = ("python2.7", "python3.6", "python3.8", "python3.10")
FAKE_UV = """#!{python}
import os, pathlib, sys
here = pathlib.Path.cwd()
with (here / "calls.txt").open("a", encoding="utf-8") as calls:
    print(*sys.argv[1:], file=calls)
if sys.argv[1] == "venv":
    bin = pathlib.Path(sys.argv[-1]) / "bin"
    bin.mkdir(parents=True)
    (bin / "python").write_text('#!/bin/sh\\nexec "{python}" "$@"\\n', encoding="utf-8")
    (bin / "python").chmod(0o755)
elif (here / "fail.txt").exists():
    sys.exit((here / "fail.txt").read_text(encoding="utf-8"))
"""


@pytest.fixture
def project(tmp_path: pathlib.Path) -> pathlib.Path:
    """A folder with start.py, one passing test, and a stand-in for uv."""
    if os.name == "nt":
        pytest.skip("the stand-in for uv is a script with a #! line")
    folder = tmp_path / "a maker's folder"
    (folder / "tools").mkdir(parents=True)
    shutil.copy(ROOT / "start.py", folder)
    (folder / "requirements.lock").write_text("", encoding="utf-8")
    (folder / "test_one.py").write_text("def test_one(): pass\n", encoding="utf-8")
    uv = folder / "tools" / "uv"
    uv.write_text(FAKE_UV.format(python=sys.executable), encoding="utf-8")
    uv.chmod(0o755)
    return folder


def start(folder: pathlib.Path, *words: str, faked: str = "", uv: bool = True) -> subprocess.CompletedProcess[str]:
    """Run start.py in a process of its own, after the line `faked`; return what it said."""
    line = f"import runpy, shutil, sys; sys.argv = ['start.py', *{words!r}]; {faked or 'pass'}\n"
    line += "runpy.run_path('start.py', run_name='__main__')"
    environment = dict(os.environ, PATH=f"{folder / 'tools'}{os.pathsep}{os.environ['PATH']}" if uv else "")
    return subprocess.run([sys.executable, "-c", line], cwd=folder, env=environment, capture_output=True,
                          encoding="utf-8", check=False)


def calls(folder: pathlib.Path) -> list[str]:
    return (folder / "calls.txt").read_text(encoding="utf-8").splitlines()


# ---------------------------------------------------------------------------------------------- an old Python
def test_an_old_python_is_told_which_one_is_needed(project):
    said = start(project, faked="sys.version_info = (3, 9, 6, 'final', 0)")
    assert said.returncode == 1
    assert "needs Python 3.11 or newer; this is Python 3.9" in said.stderr
    assert "Traceback" not in said.stderr


def test_a_really_old_python_gets_as_far_as_the_sentence():
    found = [path for path in map(shutil.which, OLD) if path and works(path)]
    if not found:
        pytest.skip(f"none of {', '.join(OLD)} is on this computer")
    for old in found:
        said = subprocess.run([old, str(ROOT / "start.py")], capture_output=True, encoding="utf-8", check=False)
        assert said.returncode == 1
        assert "needs Python 3.11 or newer" in said.stderr, old


def works(python: str) -> bool:
    return subprocess.run([python, "--version"], capture_output=True, check=False).returncode == 0


def test_start_uses_no_syntax_newer_than_python_2_7():
    """Where no old Python is at hand: the constructs that one would meet with a SyntaxError instead of our sentence."""
    text = (ROOT / "start.py").read_text(encoding="ascii")      # without an encoding line Python 2 reads ASCII only
    tree = ast.parse(text)
    too_new = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.Starred, ast.Nonlocal, ast.AsyncFunctionDef, ast.Match,
               ast.YieldFrom, ast.MatMult)
    assert [node.lineno for node in ast.walk(tree) if isinstance(node, too_new)] == []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            assert not node.args.kwonlyargs
            assert node.returns is None
            assert all(argument.annotation is None for argument in node.args.args)
        if isinstance(node, ast.Raise):
            assert node.cause is None
        if isinstance(node, ast.ClassDef):
            assert not node.keywords
        if isinstance(node, ast.Dict):
            assert None not in node.keys
    assert "from __future__ import print_function" in text


# ------------------------------------------------------------------------------------------ what may be missing
@pytest.mark.parametrize("module", ["venv", "ensurepip"])
def test_a_missing_venv_module_names_the_package_to_install(project, module):
    said = start(project, faked=f"sys.modules[{module!r}] = None", uv=False)
    assert said.returncode == 1
    assert f"sudo apt install python3.{sys.version_info[1]}-venv" in said.stderr
    assert "Traceback" not in said.stderr


def test_too_little_room_is_said_before_anything_is_done(project):
    said = start(project, faked="import types; shutil.disk_usage = lambda _: types.SimpleNamespace(free=3e8)")
    assert said.returncode == 1
    assert "needs 1.5 GB of disk space" in said.stderr
    assert "0.3 GB are free" in said.stderr
    assert not (project / ".venv").exists()


@pytest.mark.parametrize(("installer_says", "start_says"), [
    ("ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device", "A disk is full."),
    ("cause: failed to copy file: No space left on device (os error 28)", "A disk is full."),
    ("ERROR: [WinError 112] There is not enough space on the disk", "A disk is full."),
    ("cause: dns error\ncause: failed to lookup address information: Temporary failure in name resolution", "on line?"),
    ("NewConnectionError: Failed to establish a new connection:\nERROR: No matching distribution", "on line?"),
    ("ERROR: No matching distribution found for numpy==2.4.6", "Try the Python before this one"),
    ("cause: Because numpy==2.4.6 has no usable wheels", "Try the Python before this one"),
    ("something nobody has seen yet", "The installation stopped"),
])
def test_a_failed_installation_is_explained_and_resumed(project, installer_says, start_says):
    (project / "fail.txt").write_text(installer_says, encoding="utf-8")
    said = start(project, "test")
    assert said.returncode == 1
    assert start_says in said.stderr
    assert "run the same command again" in said.stderr
    assert installer_says.splitlines()[-1] in said.stderr, "the installer's own words help whoever is asked"
    assert not (project / ".venv" / "ready.json").exists()

    (project / "fail.txt").unlink()                             # the mishap is mended: the same command again
    said = start(project, "test", "-p", "no:cacheprovider")
    assert said.returncode == 0, said.stdout + said.stderr
    assert "1 passed" in said.stdout
    assert [call.split()[0] for call in calls(project)] == ["venv", "pip", "venv", "pip"], "made anew, not mended"


def test_incomplete_wheels_are_named(project):
    (project / "wheels").mkdir()
    (project / "fail.txt").write_text("ERROR: No matching distribution found for numpy", encoding="utf-8")
    said = start(project)
    assert "wheels/ does not hold all" in said.stderr
    assert "--no-index --find-links" in calls(project)[-1]


# ------------------------------------------------------------------------------------------------ later starts
def test_a_second_start_sets_nothing_up_and_passes_words_on(project):
    start(project, "test")
    before = calls(project)
    said = start(project, "test", "-k", "nothing_of_this_name")
    assert said.returncode == 5, "pytest's own word for: nothing chosen"
    assert calls(project) == before
    assert "Setting up" not in said.stdout


@pytest.mark.parametrize("left", ["", "{", "7", "\0\0"])
def test_a_damaged_mark_begins_the_set_up_again(project, left):
    start(project, "--version")
    mark = project / ".venv" / "ready.json"
    whole = mark.read_text(encoding="utf-8")
    mark.write_text(left, encoding="utf-8")
    done = start(project, "--version")
    assert "Traceback" not in done.stderr
    assert mark.read_text(encoding="utf-8") == whole
    assert not list(mark.parent.glob("*.part"))


def spoil(project: pathlib.Path, line: str) -> None:
    """The Python of .venv, started by another line."""
    (project / ".venv" / "bin" / "python").write_text(f"#!/bin/sh\n{line}\n", encoding="utf-8")


def as_damaged(said: subprocess.CompletedProcess[str]) -> str:
    """What a start says that found .venv damaged; the reason is for the reader to check."""
    assert said.returncode == 1
    assert "Traceback" not in said.stderr
    assert "The folder .venv is damaged.\n" in said.stderr
    assert said.stderr.rstrip().endswith("Delete the folder .venv and start again.")
    return said.stderr


@pytest.mark.parametrize("words", [("--version",), ("test",)])
def test_packages_missing_behind_the_mark_are_named(project, words):
    start(project, *words)
    spoil(project, f'exec "{sys.executable}" -S "$@"')          # without site-packages: nothing that was installed is there
    said = as_damaged(start(project, *words))
    assert "The package jupyterlab cannot be used: it is not there." in said
    assert re.search(r"and \d+ more\.", said)


def test_a_package_whose_files_are_gone_is_named(project):
    """An emptied folder still imports, as a namespace; the package in it is gone."""
    start(project, "--version")
    (project / "left" / "tomlkit").mkdir(parents=True)
    for name in ("evlab", "jupyterlab", "ipywidgets", "anywidget", "numpy", "scipy", "sympy", "pandas", "matplotlib", "PIL", "pint",
                 "magpylib"):
        (project / "left" / f"{name}.py").touch()
    spoil(project, f'PYTHONPATH="{project / "left"}" exec "{sys.executable}" -S "$@"')
    said = as_damaged(start(project, "--version"))
    assert "The package tomlkit cannot be used: it is not there." in said
    assert said.count("The package") == 1


def test_a_package_that_is_there_and_broken_is_named_when_jupyterlab_does_not_come_up(project):
    start(project, "--version")
    (project / "broken").mkdir()
    (project / "broken" / "jupyterlab.py").write_text("raise ImportError('libfoo.so.3: cannot open')", encoding="utf-8")
    spoil(project, f'PYTHONPATH="{project / "broken"}" exec "{sys.executable}" "$@"')
    said = start(project, "--version")
    assert said.returncode == 1
    assert said.stderr.count("Traceback") == 1, "JupyterLab's own"
    assert "The package jupyterlab cannot be used: libfoo.so.3: cannot open." in said.stderr
    assert said.stderr.rstrip().endswith("Delete the folder .venv and start again.")


def test_a_broken_package_found_at_compiling_leaves_no_mark(project):
    (project / "evlab").mkdir()
    (project / "evlab" / "__init__.py").touch()
    (project / "evlab" / "warm.py").write_text("import pint", encoding="utf-8")
    broken = project.parent / "broken"
    broken.mkdir()
    (broken / "pint.py").write_text("raise ImportError('half a file')", encoding="utf-8")
    uv = project / "tools" / "uv"
    uv.write_text(uv.read_text(encoding="utf-8").replace("exec ", f'PYTHONPATH="{broken}" exec '), encoding="utf-8")
    said = as_damaged(start(project, "--version"))
    assert "The package pint cannot be used: half a file." in said
    assert not (project / ".venv" / "ready.json").exists()


@pytest.mark.parametrize(("line", "reason"), [("#!/no/such/python", "Its Python does not start: "),
                                              ("#!/bin/sh\necho lost library >&2; exit 127", "Its Python stopped: lost library")])
def test_a_python_that_does_not_start_is_told(project, line, reason):
    start(project, "--version")
    (project / ".venv" / "bin" / "python").write_text(f"{line}\n", encoding="utf-8")
    assert reason in as_damaged(start(project, "--version"))


def test_nothing_is_installed_or_emptied_through_a_link(project):
    elsewhere = project / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "theirs.txt").write_text("a year's work", encoding="utf-8")
    (project / ".venv").symlink_to(elsewhere)
    said = start(project, "--version")
    assert said.returncode == 1
    assert f"The folder .venv is a link to {elsewhere}." in said.stderr
    assert "Delete .venv (the link alone, not what it leads to) and start again." in said.stderr
    assert [file.name for file in elsewhere.iterdir()] == ["theirs.txt"]
    assert not (project / "calls.txt").exists()
    (project / ".venv").unlink()                                # as was said
    assert start(project, "--version").returncode == 0
    assert (elsewhere / "theirs.txt").exists()


def test_a_finished_venv_moved_behind_a_link_still_starts_and_is_not_changed_through_it(project):
    start(project, "--version")
    (project / ".venv").rename(project / "elsewhere")
    (project / ".venv").symlink_to("elsewhere")
    assert start(project, "--version").returncode == 0
    (project / "requirements.lock").write_text("numpy==9.9\n", encoding="utf-8")
    before = calls(project)
    said = start(project, "--version")
    assert "is a link to" in said.stderr
    assert calls(project) == before
    assert (project / "elsewhere" / "ready.json").exists()


@pytest.mark.parametrize("leads_to", ["nowhere", ".venv"])
def test_a_link_that_leads_nowhere_is_told(project, leads_to):
    (project / ".venv").symlink_to(leads_to)
    said = start(project, "--version")
    assert "The folder .venv is a link to" in said.stderr
    assert "Traceback" not in said.stderr


def test_a_file_in_the_place_of_the_folder_is_told_and_kept(project):
    (project / ".venv").write_text("a note", encoding="utf-8")
    said = start(project, "--version")
    assert "Delete the file .venv and start again." in said.stderr
    assert (project / ".venv").read_text(encoding="utf-8") == "a note"


# ------------------------------------------------------------------------------------------ two starts at one instant
def test_of_two_starts_at_one_instant_the_second_waits_and_sets_nothing_up(project):
    uv = project / "tools" / "uv"
    uv.write_text(uv.read_text(encoding="utf-8") + "\nimport time\nwhile not (here / 'go.txt').exists(): time.sleep(0.05)\n",
                  encoding="utf-8")
    environment = dict(os.environ, PATH=f"{project / 'tools'}{os.pathsep}{os.environ['PATH']}", PYTHONUNBUFFERED="1")
    command = [sys.executable, "start.py", "--version"]
    with subprocess.Popen(command, cwd=project, env=environment, stdout=subprocess.DEVNULL) as first:
        for _ in range(600):
            if (project / "calls.txt").exists():
                break
            time.sleep(0.05)
        with subprocess.Popen(command, cwd=project, env=environment, stdout=subprocess.PIPE, encoding="utf-8") as second:
            assert second.stdout is not None
            line = second.stdout.readline()
            assert "Another start is setting up this folder. This one waits" in line
            assert second.poll() is None
            (project / "go.txt").touch()
            rest = second.stdout.read()
    assert (first.returncode, second.returncode) == (0, 0)
    assert "Setting up" not in rest
    assert [call.split()[0] for call in calls(project)] == ["venv", "pip"], "set up once"


def test_a_start_that_failed_keeps_no_lock(project):
    (project / "fail.txt").write_text("something nobody has seen yet", encoding="utf-8")
    assert start(project, "--version").returncode == 1
    (project / "fail.txt").unlink()
    said = start(project, "--version")
    assert said.returncode == 0
    assert "Another start" not in said.stdout


def test_a_moved_folder_is_set_up_anew_and_says_so(project):
    start(project, "test")
    moved = project.rename(project.with_name("moved"))
    said = start(moved, "test")
    assert said.returncode == 0, said.stdout + said.stderr
    assert "was moved or copied" in said.stdout
    assert json.loads((moved / ".venv" / "ready.json").read_text(encoding="utf-8"))["folder"] == str(moved)


def test_new_versions_are_installed_over_the_old_ones(project):
    start(project, "test")
    (project / "requirements.lock").write_text("numpy==9.9\n", encoding="utf-8")
    said = start(project, "test")
    assert "Bringing .venv up to date." in said.stdout
    assert [call.split()[0] for call in calls(project)] == ["venv", "pip", "pip"]


def test_the_tests_need_more_than_the_notebooks_and_not_the_other_way_round(project):
    for words in (("--version",), ("test",), ("--version",)):
        start(project, *words)
    installs = [call for call in calls(project) if call.startswith("pip")]
    assert [call.endswith("[test]") for call in installs] == [False, True]


def test_the_compile_cache_is_warmed_where_there_is_one(project):
    (project / "evlab").mkdir()
    (project / "evlab" / "__init__.py").touch()
    text = "import sys; print('warmed', not sys.dont_write_bytecode)"
    (project / "evlab" / "warm.py").write_text(text, encoding="utf-8")
    said = start(project, "test", faked="import os; os.environ['PYTHONDONTWRITEBYTECODE'] = '1'")
    assert "warmed True" in said.stdout


def test_a_failed_compiling_is_said_and_does_not_stop_the_rest(project):
    (project / "evlab").mkdir()
    (project / "evlab" / "__init__.py").touch()
    (project / "evlab" / "warm.py").write_text("raise OSError('nowhere to write')", encoding="utf-8")
    said = start(project, "test")
    assert "The compiling failed (OSError: nowhere to write)." in said.stdout
    assert said.returncode == 0


def test_an_unknown_word_shows_how_to_start(project):
    said = start(project, "tset")
    assert said.returncode == 1
    assert "python3 start.py test" in said.stderr


# --------------------------------------------------------------------------------------------------- the real thing
@pytest.mark.slow
def test_the_notebooks_open(tmp_path):
    """The command itself, in the environment that it made: the server answers with the contents page."""
    if not (ROOT / ".venv" / "ready.json").exists():
        pytest.skip("this .venv was not made by start.py, which would make it anew")
    environment = dict(os.environ, JUPYTER_RUNTIME_DIR=str(tmp_path), JUPYTER_CONFIG_DIR=str(tmp_path))
    with subprocess.Popen([sys.executable, str(ROOT / "start.py"), "--no-browser", "--ServerApp.port=0"],
                          env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8") as lab:
        try:
            assert answer_of(address_of(lab), lab) == 200
        finally:
            stop_server(tmp_path)


def address_of(lab: subprocess.Popen[str]) -> str:
    said = ""
    for line in lab.stdout or ():
        said += line
        if found := re.search(r"http://127\.0\.0\.1\S+/lab/tree/index\.ipynb\S+", line):
            return found.group()
    pytest.fail("JupyterLab ended without an address:\n" + said)


def answer_of(address: str, lab: subprocess.Popen[str]) -> int:
    """The server's status, within half a minute: on a busy computer it tells its address before it listens there."""
    for _ in range(60):
        try:
            with urllib.request.urlopen(address, timeout=30) as answer:
                return int(answer.status)
        except urllib.error.URLError as error:
            if not isinstance(error.reason, ConnectionRefusedError) or lab.poll() is not None:
                raise
        time.sleep(0.5)
    pytest.fail(f"nothing listens at {address}")


def stop_server(runtime: pathlib.Path) -> None:
    """Ask the server itself, by the process number that it wrote down."""
    for file in runtime.glob("jpserver-*.json"):
        os.kill(json.loads(file.read_text(encoding="utf-8"))["pid"], 15)
