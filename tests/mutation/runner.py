"""Runs tests on changed modules, in a copy of the tree: one process that has loaded all, a child of it for each change.

The parent loads the package and runs the tests once as they are, so that what is kept (compiled code, fonts, fields) is warm.
For a change the child writes the changed module into the copy, forgets that module and everything that imports it, and runs the
tests until the first that fails.
"""

from __future__ import annotations

import ast
import contextlib
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from tests.mutation.changes import Change

__all__ = ["Copy", "covering", "importers", "reaches_kernels"]

ROOT = Path(__file__).resolve().parents[2]
LEFT = (".git", ".venv", "*.egg-info", ".mypy_cache", ".ruff_cache", ".pytest_cache", "mine")
NOTICED, SURVIVED, ENDLESS = "noticed", "survived", "ran out of time"


# ---------------------------------------------------------------- who imports whom
def _module_name(path: Path, root: Path) -> str:
    parts = path.relative_to(root).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imports(path: Path, known: set[str], lazy: dict[str, str]) -> set[str]:
    """The modules of the package that a file imports anywhere."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found |= {node.module, *(f"{node.module}.{a.name}" for a in node.names)}
            if node.module == "evlab":
                found |= {f"evlab.{lazy[a.name]}" for a in node.names if a.name in lazy}
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "evlab":
            found.add(f"evlab.{lazy.get(node.attr, node.attr)}")
    return found & known


def _lazy(root: Path) -> dict[str, str]:
    """{public name: module} of the package, which loads them at first use."""
    for node in ast.parse((root / "evlab/__init__.py").read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id == "_NAMES":
            return dict(ast.literal_eval(node.value))
    return {}


def _graph(root: Path) -> dict[str, set[str]]:
    files = {_module_name(p, root): p for p in sorted((root / "evlab").rglob("*.py"))}
    lazy = _lazy(root)
    return {name: _imports(path, set(files) - {"evlab"}, lazy) for name, path in files.items()}


def importers(module: str, root: Path = ROOT) -> set[str]:
    """A module and all that import it, directly or through others; never the package itself, which loads at first use."""
    graph, found, fresh = _graph(root), {module}, {module}
    while fresh:
        fresh = {name for name, used in graph.items() if used & fresh} - found - {"evlab"}
        found |= fresh
    return found


def covering(path: str, most: int = 4, root: Path = ROOT) -> list[str]:
    """The test files that import a module, the one that bears its name first, then those that use it for the most."""
    module, lazy = _module_name(root / path, root), _lazy(root)
    stem, ranked = module.rpartition(".")[2], []
    for test in sorted((root / "tests").glob("test_*.py")):
        used = _imports(test, {module}, lazy)
        named = test.stem == f"test_{stem}"
        if used or named:
            ranked.append((not named, -test.read_text(encoding="utf-8").count(stem), str(test.relative_to(root))))
    return [name for *_, name in sorted(ranked)][:most]


def reaches_kernels(path: str, root: Path = ROOT) -> bool:
    """Whether compiled functions rest on a module: numba keeps a caller's machine code although what it calls has changed."""
    files = (root / (name.replace(".", "/") + ".py") for name in importers(_module_name(root / path, root), root))
    return any("@kernel(" in file.read_text(encoding="utf-8") for file in files if file.exists())


# ---------------------------------------------------------------- the copy
class Copy:
    """A copy of the tree under a temporary folder, and the process that runs its tests.  Enter it once in a process."""

    def __init__(self, tests: Sequence[str], limit: float) -> None:
        self.tests, self.limit, self.root = list(tests), limit, Path()

    def __enter__(self) -> Copy:
        self.folder = tempfile.TemporaryDirectory(prefix="changed-")
        self.root = Path(self.folder.name) / "tree"
        shutil.copytree(ROOT, self.root, ignore=shutil.ignore_patterns(*LEFT))
        for name in [n for n in sys.modules if n.partition(".")[0] == "evlab"]:
            del sys.modules[name]
        own = str(ROOT)
        sys.path[:] = [str(self.root), str(self.root / "tests"), *(p for p in sys.path if p not in ("", own, f"{own}/tests"))]
        os.chdir(self.root)
        os.environ["PYTHONPATH"] = str(self.root)
        sys.dont_write_bytecode = False
        return self

    def __exit__(self, *_: object) -> None:
        os.chdir(ROOT)
        self.folder.cleanup()

    def as_it_is(self) -> float:
        """Run the tests on the unchanged tree, here, so that what is kept is warm; then once more in a child: its seconds.  Raises
        RuntimeError where they fail."""
        import importlib

        importlib.import_module("evlab")
        code, words = self._run_here()
        if code:
            raise RuntimeError(f"the tests fail on the tree as it is:\n{words[-2000:]}")
        began = time.monotonic()
        if self._child(None, self.limit * 5)[0] != SURVIVED:
            raise RuntimeError("the tests pass here and fail in a child process")
        return time.monotonic() - began

    def fate(self, change: Change) -> tuple[str, str]:
        """What becomes of a change: (noticed, survived or ran out of time, the test that noticed it)."""
        path = self.root / change.path
        kept, stamp = path.read_bytes(), path.stat()
        path.write_text(change.source + "\n", encoding="utf-8")
        try:
            return self._child(change.path, self.limit)
        finally:
            path.write_bytes(kept)
            os.utime(path, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))

    # ------------------------------------------------------------ processes
    def _child(self, path: str | None, limit: float) -> tuple[str, str]:
        told = Path(self.folder.name) / "told"
        child = os.fork()
        if not child:
            code = 1
            try:
                os.setsid()
                if path:
                    sys.dont_write_bytecode = True
                    _forget(importers(_module_name(self.root / path, self.root), self.root))
                code, words = self._run_here()
                told.write_text(words, encoding="utf-8")
            finally:
                os._exit(int(bool(code)))
        until = time.monotonic() + limit
        while time.monotonic() < until:
            ended, status = os.waitpid(child, os.WNOHANG)
            if ended:
                words = told.read_text(encoding="utf-8") if told.exists() else ""
                told.unlink(missing_ok=True)
                return (SURVIVED, "") if status == 0 else (NOTICED, _first_failed(words))
            time.sleep(0.02)
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return ENDLESS, ""

    def _run_here(self) -> tuple[int, str]:
        """pytest over the tests in this process: (exit code, what it printed)."""
        import io

        import pytest

        for name, module in list(sys.modules.items()):
            if (getattr(module, "__file__", None) or "").startswith(str(self.root / "tests")):
                del sys.modules[name]
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
            code = pytest.main(["-x", "-q", "--no-header", "--tb=line", "-p", "no:cacheprovider", f"--rootdir={self.root}",
                                *(str(self.root / t) for t in self.tests)])
        return int(code), out.getvalue()


def _forget(modules: set[str]) -> None:
    """Take modules away, and the equations that they declared."""
    equations = getattr(sys.modules.get("evlab.equation"), "EQUATIONS", {})
    declared = {n.rpartition(".")[2] for n in modules}
    for name in [n for n in equations if n.partition(".")[0] in declared]:
        del equations[name]
    for name in modules:
        sys.modules.pop(name, None)
        above, _, own = name.rpartition(".")
        if above in sys.modules:
            vars(sys.modules[above]).pop(own, None)


def _first_failed(words: str) -> str:
    lines = [line for line in words.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return lines[0].split(" - ")[0].partition(" ")[2].replace("tests/", "") if lines else "at import"
