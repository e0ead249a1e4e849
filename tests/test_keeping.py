"""Nothing of a maker's is lost: writers at one instant, two pages open on one file."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from evlab import load_vehicle, merging
from evlab.units import InputError

# Each writer says "ready", waits for the start on its standard input, then keeps its own cargo: round after round.
WRITER = """
import sys
from pathlib import Path
from evlab import data
from evlab.vehicle import Vehicle
mine = Vehicle.from_text(data.read_text("vehicles/two_shed_trike.toml"))
made = mine.change({"load.cargo": float(sys.argv[1])})
made.text
print("ready", flush=True)
for row in sys.stdin:
    kept = made.save(Path(row.strip()) / "shared.toml")
    print(kept.name, flush=True)
"""


@pytest.fixture(autouse=True)
def mine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("EVLAB_MINE", str(tmp_path))
    return tmp_path


def test_two_writers_at_one_instant_lose_no_vehicle(tmp_path: Path) -> None:
    """A hundred rounds of two processes that save another vehicle under one name: both are there each time."""
    writers = [subprocess.Popen([sys.executable, "-c", WRITER, str(cargo)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                text=True, env=dict(os.environ)) for cargo in (11, 22)]
    try:
        assert [w.stdout.readline().strip() for w in writers] == ["ready", "ready"]  # type: ignore[union-attr]
        for number in range(100):
            folder = tmp_path / str(number)
            folder.mkdir()
            for w in writers:
                w.stdin.write(f"{folder}\n")  # type: ignore[union-attr]
            for w in writers:
                w.stdin.flush()  # type: ignore[union-attr]
            names = sorted(w.stdout.readline().strip() for w in writers)  # type: ignore[union-attr]
            assert names == ["shared-2.toml", "shared.toml"]
            assert sorted(load_vehicle(file).load.cargo for file in folder.iterdir()) == [11.0, 22.0], f"round {number}"
    finally:
        for w in writers:
            w.communicate(timeout=30)


# ---------------------------------------------------------------- one file, two pages
def test_changes_of_other_fields_are_put_together_and_comments_stay(mine: Path) -> None:
    one, other = load_vehicle(), load_vehicle()
    one.change({"load.cargo": 10}).save()
    file = mine / "vehicle.toml"
    file.write_text(file.read_text(encoding="utf-8") + "# a note of mine\n", encoding="utf-8")
    got = merging.keep_together(other.change({"gearing.wheel_teeth": 70}))
    assert (got.clashes, got.taken) == ((), ("load.cargo",))
    there = load_vehicle()
    assert (there.load.cargo, there.gearing.wheel_teeth) == (10.0, 70)
    assert "# a note of mine" in file.read_text(encoding="utf-8")
    assert [p.name for p in mine.iterdir()] == ["vehicle.toml"]


@pytest.mark.parametrize(("prefer", "cargo"), [("mine", 20.0), ("theirs", 10.0)])
def test_the_same_field_is_asked_about_and_the_answer_kept(mine: Path, prefer: str, cargo: float) -> None:
    one, other = load_vehicle(), load_vehicle()
    one.change({"load.cargo": 10}).save()
    before = (mine / "vehicle.toml").read_bytes()
    changed = other.change({"load.cargo": 20, "gearing.wheel_teeth": 70})
    asked = merging.keep_together(changed)
    assert asked.kept is None
    assert [(c.field, c.mine, c.theirs) for c in asked.clashes] == [("load.cargo", "20 kg (designed)", "10 kg (designed)")]
    assert (mine / "vehicle.toml").read_bytes() == before
    merging.keep_together(changed, prefer)
    there = load_vehicle()
    assert (there.load.cargo, there.gearing.wheel_teeth) == (cargo, 70)


def test_changes_that_do_not_go_together_are_asked_about(mine: Path) -> None:
    """A lower charge here, a higher stop volts there: each is right, and together the drive never runs."""
    one, other = load_vehicle(), load_vehicle()
    one.change({"controller.resume_voltage": 31.5, "controller.stop_voltage": 31.4}).save()
    low = {"store.charge_voltage": 25.0}
    asked = merging.keep_together(other.change(low))
    assert asked.kept is None
    assert {"controller.stop_voltage", "store.charge_voltage"} <= {c.field for c in asked.clashes}
    with pytest.raises(InputError, match="stop_voltage"):
        merging.keep_together(other.change(low), "mine")


def test_another_kind_of_store_against_a_change_of_the_old_one_is_asked_about() -> None:
    one, other = load_vehicle(), load_vehicle()
    one.change({"store.cell_capacitance": "350 F"}).save()
    supply = {"kind": "supply", "voltage": "36 V", "resistance": "50 mΩ", "mass": "4 kg"}
    changed = other.change(store=supply)
    assert "store.kind" in {c.field for c in merging.keep_together(changed).clashes}
    assert merging.keep_together(changed, "mine").vehicle.store.kind == "supply"
    assert load_vehicle().store.kind == "supply"


# ---------------------------------------------------------------- what is no vehicle file, in words
@pytest.mark.parametrize("name", ["x" * 300 + ".toml", "a\0b.toml"])
def test_a_name_that_no_system_takes_is_refused_in_words(name: str) -> None:
    with pytest.raises((InputError, FileNotFoundError), match=r"name|There is no file"):
        load_vehicle(name)
    with pytest.raises(InputError, match="name"):
        load_vehicle("two_shed_trike").save(name)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="Windows has no pipes among files")
def test_a_pipe_is_refused_and_not_waited_for(mine: Path) -> None:
    os.mkfifo(mine / "pipe.toml")
    with pytest.raises(InputError, match="a pipe"):
        load_vehicle(mine / "pipe.toml")


@pytest.mark.parametrize("call", [
    lambda v: v.save(3), lambda v: type(v).from_text(None), lambda v: type(v).from_text(".".join("a" * 1500) + " = 1"),
    lambda v: v.adopt({"store.cell_capacitance": (650.0, "")}), lambda v: v.adopt({"store.cell_capacitance": (650.0, [1])}),
])
def test_wrong_calls_are_refused_in_words(call: object) -> None:
    with pytest.raises(InputError):
        call(load_vehicle("two_shed_trike"))  # type: ignore[operator]
