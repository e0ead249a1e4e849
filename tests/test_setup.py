"""The files around the package agree with each other: locked versions, licences, hooks, binder, package data.

requirements.lock is made by hand, with uv, from this folder:
    uv pip compile pyproject.toml --universal --extra test --no-header --no-annotate \
        --output-file requirements.lock        (add --upgrade for newer versions)
"""

import fnmatch
import pathlib
import re
import runpy
import tomllib
from importlib.metadata import packages_distributions

import pytest
import yaml
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = pathlib.Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8")
LOCKED = [Requirement(line) for line in LOCK.splitlines()]
WANTED = [Requirement(text) for text in
          PROJECT["project"]["dependencies"] + PROJECT["project"]["optional-dependencies"]["test"]]
# The kinds of computer that a maker may bring, as the markers of the lock see them.
COMPUTERS = [{"python_full_version": f"{version}.9", "python_version": version, "sys_platform": system,
              "platform_machine": machine, "os_name": "nt" if system == "win32" else "posix"}
             for version in ("3.11", "3.12", "3.13", "3.14", "3.15")
             for system, machine in (("linux", "x86_64"), ("linux", "aarch64"), ("win32", "AMD64"),
                                     ("darwin", "arm64"), ("darwin", "x86_64"))]


def applies(marker: Marker | None, computer: dict[str, str]) -> bool:
    return marker is None or marker.evaluate(dict(computer, extra=""))


def test_the_lock_names_no_address_and_no_path():
    assert "://" not in LOCK
    assert "@" not in LOCK
    assert not [line for line in LOCK.splitlines() if not re.match(r"[a-z0-9][a-z0-9._-]*==\S+( ; .+)?$", line)]


@pytest.mark.parametrize("wanted", WANTED, ids=lambda wanted: wanted.name)
def test_the_lock_holds_one_version_within_the_range_for_every_kind_of_computer(wanted):
    for computer in COMPUTERS:
        found = [pin.specifier for pin in LOCKED
                 if canonicalize_name(pin.name) == canonicalize_name(wanted.name) and applies(pin.marker, computer)]
        if not applies(wanted.marker, computer):
            continue
        assert len(found) == 1, f"{wanted.name} for {computer}: {found}"
        version = str(found[0]).removeprefix("==")
        assert wanted.specifier.contains(version), f"{wanted.name} {version} is outside {wanted.specifier}"


def test_start_and_project_ask_for_the_same_python():
    assert "WANT = (3, 11)" in (ROOT / "start.py").read_text(encoding="ascii")
    assert PROJECT["project"]["requires-python"] == ">=3.11"


def test_start_looks_for_every_package_that_is_imported():
    """start.py parses on old Pythons and so cannot read the project file; its list is held against it here."""
    needed = runpy.run_path(str(ROOT / "start.py"), run_name="not main")["NEEDED_FOR"]
    not_imported = {"numba", "ruff", "mypy", "pandas-stubs", "scipy-stubs"}         # numba: slower without; tools; types
    makers: dict[str, set[str]] = {}
    for module, names in packages_distributions().items():
        for name in names:
            makers.setdefault(canonicalize_name(name), set()).add(module)
    for what, count in (("notebooks", len(PROJECT["project"]["dependencies"])), ("test", len(WANTED))):
        for wanted in WANTED[:count]:
            name = canonicalize_name(wanted.name)
            assert name in not_imported or makers[name] & set(needed[what]), f"{wanted.name} for {what}"
        known = set().union(*(makers[canonicalize_name(w.name)] for w in WANTED[:count]
                              if canonicalize_name(w.name) not in not_imported))
        assert set(needed[what]) - known == {"evlab"}


def test_every_file_of_the_package_is_declared():
    patterns = ["*.py", *PROJECT["tool"]["setuptools"]["package-data"]["*"]]
    files = [file for file in (ROOT / "evlab").rglob("*") if file.is_file() and "__pycache__" not in file.parts]
    assert files
    assert [str(file) for file in files if not any(fnmatch.fnmatch(file.name, pattern) for pattern in patterns)] == []


def test_the_licences_are_there_and_named():
    code, text = ((ROOT / name).read_text(encoding="utf-8") for name in ("LICENSE", "LICENSE-TEXT"))
    assert code.startswith("BSD 3-Clause License")
    assert "Creative Commons Attribution 4.0 International" in text
    assert all("2026, evlab contributors" in licence for licence in (code, text))


def test_the_hooks_are_local_and_their_tools_are_installed():
    hooks = yaml.safe_load((ROOT / ".pre-commit-config.yaml").read_text(encoding="utf-8"))
    assert [repo["repo"] for repo in hooks["repos"]] == ["local"]
    for hook in hooks["repos"][0]["hooks"]:
        tool = hook["entry"].split()[0]
        assert tool in [wanted.name for wanted in WANTED], f"{tool} is not installed by `start.py test`"


def test_binder_installs_the_locked_versions():
    folder = ROOT / "binder"
    assert sorted(file.name for file in folder.iterdir()) == ["postBuild", "requirements.txt", "runtime.txt"]
    assert (folder / "requirements.txt").read_text(encoding="utf-8") == "-r ../requirements.lock\n-e .\n"
    assert (folder / "runtime.txt").read_text(encoding="utf-8").strip() == "python-3.11"
