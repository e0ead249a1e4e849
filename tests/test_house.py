"""The house rules: rooms and imports, one glossary, documented parameters, thin pages, nothing of one person's machine.

Each rule is a function from source text to the list of what breaks it, so that a test can also show that it finds a slip.
"""

import ast
import dataclasses
import importlib
import inspect
import json
import re
import subprocess
import sys
from pathlib import Path

import evidence
import pytest
import reference

import evlab
from evlab import chargers, converter, data, demands, driver, gearing, lithium, motor, motor_parts, road, store, supply
from evlab.controller import Controller
from evlab.equation import EQUATIONS
from evlab.glossary import GLOSSARY, SI, SPELLINGS, entry
from evlab.sources import SOURCES
from evlab.units import registry

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "evlab"
MODULES = sorted(PACKAGE.rglob("*.py"))
reference.load_stages()
NAMES = sorted(EQUATIONS)

# The rooms from the top floor down.  An import points to a lower floor, or stays inside its own package.
FLOORS = (
    ("workbench", "warm"),
    ("plots",),
    ("identification", "store_case"),
    ("plugging", "ragone", "discharging"),
    ("ride_case", "regen_case"),
    ("charging", "trip", "ratios", "road_case", "shuttling", "remedies", "hardships", "descent_room"),
    ("hill_test",),
    ("exploring", "comparing", "regen_pieces"),
    ("riding", "merging"),
    ("vehicle", "ride_words", "route_files"),
    ("ride_ledger",),
    ("winding_case",),
    ("magnet_case", "winding_asked"),
    ("vehicle_file", "keeping", "tracks"),
    ("demands", "cold_day"),
    ("vehicle_values", "route", "driver", "toml_lines"),
    ("loop", "tractive", "starting"),
    ("controller",),
    ("wiring", "cell_check"),
    ("balance", "ageing"),
    ("charged", "recharging", "bench_motor"),
    ("stray", "heat", "motor_sheet", "start_map", "counting"),
    ("image_magnets", "linkage", "inductance", "wires", "eddies", "demagnetising", "rotor_forces", "motor_map", "motor_readings",
     "turning", "releasing"),
    ("motor_parts",),
    ("rings",),
    ("lithium", "chargers", "supply", "weather", "coasting", "footing", "tyres", "chains", "emptying", "start_load"),
    ("store", "road", "motor", "gearing", "converter", "winds", "regeneration", "magnets", "coils", "winding", "coil_star"),
    ("cautions",),
    ("equation", "trust", "folder_lock"),
    ("kernels", "look", "branches", "roots"),
    ("units", "data"),
    ("glossary", "sources", "profiles"),
)
FLOOR = {room: height for height, rooms in enumerate(reversed(FLOORS)) for room in rooms}
PARTS = {
    "store": (store.CapacitorBank, lithium.LithiumPack, supply.Supply),
    "motor": (motor.Motor,),
    "motor.magnets": (motor_parts.Magnets,),
    "motor.winding": (motor_parts.Winding,),
    "controller": (Controller,),
    "gearing": (gearing.Gearing,),
    "road": (road.Road,),
    "driver": (driver.SetSpeed, driver.ThrottleHeld, demands.PowerHeld),
    "converter": (converter.NoConverter, converter.Converter),
    "charger": (chargers.RegulatedCharger, chargers.ResistorCharger),
}


def named(path):
    return path.relative_to(ROOT).as_posix()


def room_of(path):
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


# ---------------------------------------------------------------- rooms
def imported_rooms(source):
    """The rooms of evlab that a source text imports, wherever in it the import stands; not those for types alone."""
    found, lazily = set(), evlab._NAMES
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            for inner in node.body:
                inner.names = []
                inner.module = None
        if isinstance(node, ast.ImportFrom) and node.module == "evlab":
            found |= {lazily.get(alias.name, alias.name) for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("evlab."):
            found.add(node.module.split(".")[1])
        elif isinstance(node, ast.Import):
            found |= {alias.name.split(".")[1] for alias in node.names if alias.name.startswith("evlab.")}
    return found


def upward(room, source):
    """The imports of a room that do not point downwards."""
    return sorted(other for other in imported_rooms(source) - {room} if FLOOR.get(other, 99) >= FLOOR[room])


def test_every_room_has_its_floor():
    assert {room_of(path) for path in MODULES} - {"__init__"} == set(FLOOR), "give a new room its floor in the table FLOORS"


@pytest.mark.parametrize("path", [p for p in MODULES if room_of(p) != "__init__"], ids=named)
def test_imports_point_downwards(path):
    assert upward(room_of(path), path.read_text(encoding="utf-8")) == []


def test_an_upward_import_is_found():
    assert upward("store", "from evlab.riding import ride") == ["riding"]
    assert upward("store", "def f():\n    from evlab import vehicle") == ["vehicle"]
    assert upward("store", "import evlab.motor") == ["motor"]  # a neighbour on the same floor
    assert upward("units", "from evlab import ride") == ["riding"]
    assert upward("riding", "from evlab.store import energy") == []


def test_only_the_workbench_knows_widgets():
    for path in MODULES:
        if room_of(path) != "workbench":
            assert not re.search(
                r"^\s*(import|from) (ipywidgets|IPython|anywidget|traitlets)\b", path.read_text(encoding="utf-8"), re.M
            ), path


def test_the_package_opens_without_loading_anything_heavy():
    heavy = ("numpy", "sympy", "pint", "scipy", "numba", "matplotlib", "pandas", "ipywidgets", "tomlkit")
    code = f"import evlab, sys; print([m for m in {heavy!r} if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT).stdout.strip() == "[]"


def test_scipy_pictures_and_tables_are_loaded_where_used():
    late = ("scipy", "matplotlib", "pandas", "lmfit")
    for path in MODULES:
        if room_of(path) in ("plots", "look", "workbench", "identification"):
            continue
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.Import | ast.ImportFrom):
                names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [alias.name for alias in node.names]
                assert not [n for n in names if n.split(".")[0] in late], (
                    f"{named(path)}: {ast.unparse(node)} belongs into the function that needs it"
                )


def public(tree):
    """The public functions and classes of a module, as nodes."""
    return [n for n in tree.body if isinstance(n, ast.FunctionDef | ast.ClassDef) and not n.name.startswith("_")]


def test_no_public_function_bears_a_modules_name():
    """Python would put the module in its place, or it in the module's, once both are imported."""
    rooms = set(FLOOR)
    clashes = [name for name in (*evlab._NAMES, *(n.rpartition(".")[2] for n in EQUATIONS)) if name in rooms]
    for path in MODULES:
        beside = rooms | {p.stem for p in path.parent.glob("*.py")}
        clashes += [f"{named(path)}: {n.name}" for n in public(ast.parse(path.read_text(encoding="utf-8"))) if n.name in beside]
    assert clashes == []


def test_modules_stay_within_the_house():
    long = {named(p): n for p in MODULES if (n := p.read_text(encoding="utf-8").count("\n")) > 400}
    assert long == {}, "much over 400 lines asks for a second room"


# ---------------------------------------------------------------- sources, line by line
def slips_of_source(source, workbench=False):
    """What the house does not have: blind excepts (outside the workbench), pyplot, **kwargs, attributes set by name."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ExceptHandler) and not workbench:
            kinds = ast.unparse(node.type) if node.type else "bare"
            if re.search(r"\b(bare|Exception|BaseException)\b", kinds):
                found.append(f"except {kinds}")
        if isinstance(node, ast.Import | ast.ImportFrom) and "pyplot" in ast.unparse(node):
            found.append("pyplot")
        if isinstance(node, ast.Attribute) and ast.unparse(node).startswith("plt."):
            found.append("plt.")
        if (
            isinstance(node, ast.FunctionDef | ast.Lambda)
            and node.args.kwarg
            and node.args.kwarg.arg in ("kwargs", "kw", "options")
        ):
            found.append("**" + node.args.kwarg.arg)
        if isinstance(node, ast.Call) and re.search(r"\bsuppress\((Base)?Exception", ast.unparse(node)):
            found.append(ast.unparse(node)[:40])
        if isinstance(node, ast.FunctionDef):  # what was passed in becomes attributes: a misspelt input would vanish among them
            given = {a.arg for a in (*node.args.args, *node.args.kwonlyargs, node.args.kwarg) if a}
            calls = [n for n in ast.walk(node) if isinstance(n, ast.Call) and ast.unparse(n.func).endswith("__dict__.update")]
            for call in calls:
                passed = [*call.args, *(k.value for k in call.keywords if k.arg is None)]
                found += [ast.unparse(call)[:40] for x in passed if isinstance(x, ast.Name) and x.id in given]
    return found


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_sources_keep_the_house_rules(path):
    assert slips_of_source(path.read_text(encoding="utf-8"), room_of(path) == "workbench") == []


@pytest.mark.parametrize(
    "slip",
    [
        "try:\n    f()\nexcept Exception:\n    pass",
        "try:\n    f()\nexcept:\n    pass",
        "try:\n    f()\nexcept (OSError, BaseException) as e:\n    pass",
        "import matplotlib.pyplot as plt",
        "from matplotlib import pyplot",
        "plt.show()",
        "def f(**kwargs):\n    pass",
        "def f(self, given):\n    self.__dict__.update(given)",
        "def f(self, **given):\n    self.__dict__.update(**given)",
        "with contextlib.suppress(Exception):\n    f()",
    ],
)
def test_a_slip_in_a_source_is_found(slip):
    assert slips_of_source(slip)


def test_the_workbench_shows_what_it_catches():
    """Where an exception of any kind is caught, it gets a name and is used: shown or handed on, never dropped."""
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ExceptHandler) and node.type is not None and ast.unparse(node.type) == "Exception":
                assert node.name, f"{named(path)}: the error has no name, so nobody sees it"
                assert any(isinstance(n, ast.Name) and n.id == node.name for part in node.body for n in ast.walk(part)), named(path)


# ---------------------------------------------------------------- documents
def documented(text):
    """The parameters that a docstring lists behind 'Parameters:', as 'name, words; name, words.'"""
    section = re.search(r"Parameters:(.*?)(?=\n\s*\n|\n\s*(?:Returns|Raises|Range|Errors|Source)\b|\Z)", text, re.S)
    if not section:
        return None
    listed = []
    for part in re.sub(r"\s+", " ", section[1]).split(";"):
        plain = re.match(r" ?([a-z_]+)(?= ?[,.:\[]|$)", part)
        listed += [plain[1]] if plain else re.findall(r"`([a-z_]+)`", part)
    return listed


def signature_slips(function, text):
    """How the parameters that a docstring lists differ from those of the signature."""
    listed = documented(text)
    real = [n for n in inspect.signature(function).parameters if n not in ("self", "cls")] if listed is not None else []
    return [] if listed is None or set(listed) == set(real) else [f"lists {listed}, takes {real}"]


def public_functions():
    for path in MODULES:
        module = importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"))
        for node in public(ast.parse(path.read_text(encoding="utf-8"))):
            thing = getattr(module, node.name)
            yield f"{module.__name__}.{node.name}", thing
            if isinstance(node, ast.ClassDef):
                for inner in node.body:
                    if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                        yield f"{module.__name__}.{node.name}.{inner.name}", inspect.getattr_static(thing, inner.name)


def bare_of(thing):
    """The plain Python function inside a compiled one, a class method, a property."""
    for attribute in ("py_func", "__func__", "fget", "func"):
        thing = getattr(thing, attribute, thing)
    return thing


def test_documented_parameters_are_those_of_the_signature():
    wrong = {}
    for name, thing in public_functions():
        plain = bare_of(thing)
        if callable(plain) and (slips := signature_slips(plain, inspect.getdoc(plain) or "")):
            wrong[name] = slips
    assert wrong == {}


def test_every_public_function_and_class_says_what_it_is():
    """Compiled seams excepted: what each of a kind takes and gives stands once, in kernels.SEAMS."""
    for path in MODULES:
        for node in public(ast.parse(path.read_text(encoding="utf-8"))):
            seam = any(ast.unparse(d).startswith("kernel(") for d in node.decorator_list)
            own = node.name == "Equation"  # its instances have docstrings of their own, made from the declaration
            assert seam or own or ast.get_docstring(node), f"{named(path)}: {node.name} says nothing"


def test_a_wrong_docstring_is_found():
    def f(time, place):
        """Does.

        Parameters: time, when; speed, how fast.
        Returns nothing.
        """

    assert signature_slips(f, f.__doc__)
    assert documented("x.\n\nParameters: `text`; `e`, the entry; `where`, added to it.\nReturns y.") == ["text", "e", "where"]


# ---------------------------------------------------------------- one glossary
@pytest.mark.parametrize("name", sorted(GLOSSARY))
def test_every_entry_is_whole(name):
    e, reads = entry(name), registry()
    assert e.label
    assert e.meaning
    assert not e.meaning[0].isupper() or e.meaning.split()[0].isupper()
    if e.family:
        assert reads.Unit(e.unit or "dimensionless").dimensionality == reads.Unit(SI[e.family] or "dimensionless").dimensionality
        for spelling, unit in SPELLINGS[e.family].items():
            assert reads.Unit(unit).dimensionality == reads.Unit(e.unit or "dimensionless").dimensionality, spelling
    else:
        assert e.kind in ("text", "switch", "choice", "") or e.choices
    if e.shown:
        assert e.shown in e.accepts
    if e.low is not None and e.high is not None:
        assert e.low < e.high
    if e.table and e.kind in ("chosen", "found", "count"):
        assert e.why, "a control says why its range is what it is"
        assert None not in (e.low, e.high)
        assert e.high <= (e.ceiling or e.high)
        assert e.low >= 0 or not e.positive
        if e.default is not None:
            assert e.low <= e.default <= e.high
    assert (e.kind == "constant") == (e.value is not None)


def test_every_symbol_can_be_drawn():
    from matplotlib.mathtext import MathTextParser

    draws = MathTextParser("path")
    for e in GLOSSARY.values():
        if e.symbol:
            draws.parse(f"${e.symbol}$")


@pytest.mark.parametrize("table", sorted(PARTS))
def test_every_field_of_a_part_is_in_the_glossary(table):
    for part in PARTS[table]:
        for field in dataclasses.fields(part):
            e = entry(f"{table}.{field.name}")
            assert e.table == table


def test_every_field_of_the_vehicle_file_belongs_to_a_part():
    real = {f"{table}.{f.name}" for table, parts in PARTS.items() for part in parts for f in dataclasses.fields(part)}
    kinds = {f"{table}.kind" for table in ("store", "driver", "converter", "charger")}
    assert {n for n, e in GLOSSARY.items() if e.table in PARTS} == real | kinds


def test_every_column_of_a_ride_is_in_the_glossary():
    result = evlab.ride(evlab.load_vehicle("two_shed_trike"), evlab.load_route("two_sheds_up"))
    assert list(result.table().columns) == list(result.units)
    for column, unit in result.units.items():
        assert entry(column).unit == unit
    for key in result.ledger:
        assert entry(f"energy_{key}").unit == "J"


def test_no_symbol_lies_about_unused():
    reference.routes()  # loads every equation, also when this file is run alone
    used = {n for e in EQUATIONS.values() for n in (*e.inputs, e.left)}
    result = evlab.ride(evlab.load_vehicle("two_shed_trike"), evlab.load_route("two_sheds_up"))
    spare = [n for n, e in GLOSSARY.items() if not e.table and n not in used and n not in result.units]
    texts = "".join(p.read_text(encoding="utf-8") for p in MODULES if room_of(p) != "glossary")
    assert [n for n in spare if f'"{n}"' not in texts and not n.startswith("energy_")] == []


# ---------------------------------------------------------------- equations
@pytest.mark.parametrize("name", NAMES)
def test_every_equation_is_whole(name):
    e = EQUATIONS[name]
    e.audit()
    stage, _, word = name.partition(".")
    module = importlib.import_module(f"evlab.{stage}")
    assert getattr(module, word) is e
    assert word in module.__all__
    assert e.title.endswith(".")
    assert e.source
    assert e.range
    assert re.fullmatch(r"[A-Z]\d+", e.tag)
    assert set(e.limits) <= set(e.inputs)
    assert evidence_rows(name), "no evidence: neither a value from outside nor a second route"


def evidence_rows(name):
    return [c for c in reference.checks() if name in (c.equation, *c.also)] + [r for r in reference.routes() if r.equation == name]


def test_every_source_is_used_and_every_key_known():
    texts = "".join(p.read_text(encoding="utf-8") for p in MODULES if p.name != "sources.py")
    assert [key for key in SOURCES if f'"{key}"' not in texts] == []
    assert {s.mark for s in SOURCES.values()} <= {"read", "memory", "derived", "common practice", "definition"}


def test_the_evidence_counts_every_equation():
    page = evidence.page()
    assert f"- equations: {len(EQUATIONS)}\n" in page
    for name in NAMES:
        assert f"| {name} (" in page


# ---------------------------------------------------------------- pages
def slips_of_page(page):
    """What makes a page thick, or somebody's own: functions of its own, outputs, other imports, another kernel."""
    found = [] if page["metadata"].get("kernelspec", {}).get("name") == "python3" else ["another kernel"]
    for cell in page["cells"]:
        if cell["cell_type"] != "code":
            continue
        if cell["outputs"] or cell["execution_count"] is not None:
            found.append("outputs kept")
        if "your-code" in cell["metadata"].get("tags", []):
            continue
        for node in ast.walk(ast.parse("".join(cell["source"]))):
            if isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Lambda | ast.AsyncFunctionDef | ast.For | ast.While | ast.Try):
                found.append(type(node).__name__)
            if isinstance(node, ast.Import) and any(alias.name.split(".")[0] != "evlab" for alias in node.names):
                found.append(ast.unparse(node))
            if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] != "evlab":
                found.append(ast.unparse(node))
    return found


def test_pages_are_thin():
    for path in (ROOT / "notebooks").rglob("*.ipynb"):
        if not {".ipynb_checkpoints", "mine"} & set(path.parts):
            assert slips_of_page(json.loads(path.read_text(encoding="utf-8"))) == [], named(path)


@pytest.mark.parametrize(
    ("cell", "slip"),
    [
        ({"source": ["def f():\n", "    return 1"]}, "FunctionDef"),
        ({"source": "f = lambda x: x"}, "Lambda"),
        ({"source": "import numpy as np"}, "import numpy as np"),
        ({"source": "1", "outputs": [{}]}, "outputs kept"),
        ({"source": "1", "execution_count": 3}, "outputs kept"),
        ({"source": "for x in y:\n    z"}, "For"),
    ],
)
def test_a_thick_page_is_found(cell, slip):
    whole = {"cell_type": "code", "metadata": {}, "outputs": [], "execution_count": None} | cell
    page = {"metadata": {"kernelspec": {"name": "python3"}}, "cells": [whole]}
    assert slips_of_page(page) == [slip]
    if "outputs" not in slip:
        assert slips_of_page(page | {"cells": [whole | {"metadata": {"tags": ["your-code"]}}]}) == []
    assert slips_of_page({"metadata": {}, "cells": []}) == ["another kernel"]


# ---------------------------------------------------------------- nothing of one machine
_HOMES = "|".join(("home", "root", "Users", "work", "farm", "opt", "mnt"))
_MACHINE = re.compile(rf"(?<![\w.:/])/(?:{_HOMES})/\w|\b[A-Z]:\\\\?(?:Users|Program)")
_INDEX = re.compile(
    r"https?://[^\s\"')]*(?:" + "|".join(("pypi", "pythonhosted", "anaconda", "npmjs", "conda-forge", "registry", "/simple")) + ")"
)


def slips_of_text(text):
    """Paths of one machine, and addresses of package indexes."""
    return [m[0] for pattern in (_MACHINE, _INDEX) for m in pattern.finditer(text)]


def texts_of_the_project():
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], cwd=ROOT, capture_output=True, check=False
    )
    names = [n for n in listed.stdout.decode().split("\0") if n] if listed.returncode == 0 else [named(p) for p in MODULES]
    for name in names:
        path = ROOT / name
        if path.is_file() and path != Path(__file__).resolve() and path.suffix not in (".png", ".gz", ".npz", ".ico"):
            yield path


def test_no_text_holds_a_path_of_one_machine_or_an_index():
    assert {named(p): s for p in texts_of_the_project() if (s := slips_of_text(p.read_text(encoding="utf-8")))} == {}


def test_such_a_text_is_found():
    for planted in ("see /ho" + "me/anna/x.csv", "cd /wo" + "rk/main", "C:" + "\\Users\\anna", "https://py" + "pi.org/simple"):
        assert slips_of_text(planted), planted
    assert slips_of_text("a/b/home/x and m/s, notebooks/work/x, https://creativecommons.org/licenses") == []


def test_data_is_invented_or_has_its_source():
    for name in data.names():
        if name.endswith(".toml"):
            assert re.search(r"^invented = true$", data.read_text(name), re.M), f"{name}: ours are marked invented"
