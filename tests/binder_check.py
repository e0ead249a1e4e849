"""Check binder/ without a container engine:  python tests/binder_check.py      (about two minutes)

repo2docker is asked which steps it would take; then its pip step and postBuild are taken here, in a clean environment.
"""

import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import venv

ROOT = pathlib.Path(__file__).resolve().parents[1]
NOT_COPIED = shutil.ignore_patterns(".venv", ".git", "__pycache__", ".*_cache", "wheels", "shots", "*.egg-info", "mine")
SHOW = "import evlab, jupyterlab; print(evlab.__file__, '- jupyterlab', jupyterlab.__version__)"


def environment(folder: pathlib.Path) -> pathlib.Path:
    """A clean environment; its Python."""
    venv.create(folder, with_pip=True)
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def check_plan(folder: pathlib.Path, source: pathlib.Path) -> None:
    """repo2docker would take our Python, and copy the project before it installs it."""
    python = environment(folder)
    subprocess.run([python, "-m", "pip", "install", "-qq", "jupyter-repo2docker"], check=True)
    plan = subprocess.run([python, "-m", "repo2docker", "--no-build", "--debug", source], capture_output=True,
                          encoding="utf-8", check=False)
    text = plan.stdout + plan.stderr
    assert plan.returncode == 0, text[-1500:]
    wanted = (source / "binder" / "runtime.txt").read_text(encoding="utf-8").strip()
    chosen = {"python-{}.{}".format(*pair) for pair in re.findall(r"environment-2epy-2d(\d)-2e(\d+)", text)}
    assert chosen == {wanted}, f"runtime.txt asks for {wanted}, repo2docker would take {chosen}"
    lines = [line.strip() for line in text.splitlines()]
    copied = next(i for i, line in enumerate(lines) if re.match(r"COPY .* src/ ", line))
    installed = next(i for i, line in enumerate(lines)
                     if line.startswith("RUN") and "pip install" in line and "binder/requirements.txt" in line)
    assert copied < installed, "pip would run before the project is there"
    print(f"repo2docker would take {wanted} and run: {lines[installed][4:]}", flush=True)


def take_steps(folder: pathlib.Path, source: pathlib.Path) -> None:
    """The same steps, here."""
    python = environment(folder)
    surroundings = dict(os.environ, PATH=f"{python.parent}{os.pathsep}{os.environ['PATH']}")
    surroundings.pop("PYTHONDONTWRITEBYTECODE", None)
    for command in ([python, "-m", "pip", "install", "-qq", "-r", "binder/requirements.txt"],
                    ["bash", "binder/postBuild"], [python, "-c", SHOW]):
        subprocess.run(command, cwd=source, env=surroundings, check=True)
    assert (folder / "share" / "jupyter" / "lab" / "settings" / "overrides.json").exists(), "postBuild laid no settings"


def main() -> None:
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(temporary)
        source = folder / "source"
        shutil.copytree(ROOT, source, ignore=NOT_COPIED)
        check_plan(folder / "planner", source)
        take_steps(folder / "environment", source)
    print("binder/ installs and starts.")


if __name__ == "__main__":
    sys.exit(main())
