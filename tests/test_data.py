"""Every file of data/ has its provenance in its header, and a file that is not what it says is refused in words."""

import hashlib
import shutil
from pathlib import Path

import pytest

from evlab import data

RIDE = "sweat-2020-ride-hilly-57km.csv"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of data/ that a test may spoil."""
    copy = tmp_path / "data"
    shutil.copytree(data.FOLDER, copy)
    monkeypatch.setattr(data, "FOLDER", copy)
    return copy


@pytest.mark.parametrize("name", data.names())
def test_every_file_has_its_provenance(name: str) -> None:
    found = data.provenance(name)
    assert found.source
    assert found.licence
    assert len(found.sha256) == 64


def test_fingerprint_by_a_second_route() -> None:
    """The bytes below the header, cut off here by hand."""
    lines = data.path(RIDE).read_bytes().replace(b"\r\n", b"\n").splitlines(keepends=True)
    payload = b"".join(line for line in lines if not line.startswith(b"#"))
    assert hashlib.sha256(payload).hexdigest() == data.provenance(RIDE).sha256
    assert payload.startswith(b"t_s,distance_m,speed_mps,altitude_m,power_W,cadence_rpm,temperature_C\n")


def test_a_known_fingerprint() -> None:
    """FIPS 180-4, example value: sha256 of the three letters "abc" (quoted from memory)."""
    assert data.fingerprint("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_the_licence_of_the_measured_ride_asks_for_its_notice() -> None:
    licence = " ".join(data.provenance(RIDE).licence.split())
    assert licence.startswith("MIT")
    for sentence in (
        "Copyright (c) 2020 Aart Goossens",
        "Permission is hereby granted, free of charge",
        "The above copyright notice and this permission notice shall be included in all copies",
        'THE SOFTWARE IS PROVIDED "AS IS", WITHOUT WARRANTY OF ANY KIND',
    ):
        assert sentence in licence


def test_line_ends_of_another_system_do_not_matter(folder: Path) -> None:
    file = folder / RIDE
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    assert "\r" not in data.read_text(RIDE)


def test_a_changed_payload_is_refused_in_words(folder: Path) -> None:
    file = folder / RIDE
    right = data.provenance(RIDE).sha256
    file.write_bytes(file.read_bytes().replace(b"473.8", b"483.8", 1))
    with pytest.raises(ValueError, match="the text below the header") as refusal:
        data.read_text(RIDE)
    assert f"data/{RIDE}" in str(refusal.value)
    assert right in str(refusal.value)


@pytest.mark.parametrize("key", ["source", "licence", "sha256"])
def test_a_header_without_a_line_is_refused_in_words(folder: Path, key: str) -> None:
    header = {"source": "our own, invented", "licence": "CC BY 4.0", "sha256": data.fingerprint("a,b\n1,2\n")}
    del header[key]
    text = "".join(f"# {name}: {value}\n" for name, value in header.items()) + "a,b\n1,2\n"
    (folder / "small.csv").write_text(text, encoding="utf-8")
    with pytest.raises(ValueError, match=f"data/small.csv must hold .* instead {key} is missing"):
        data.provenance("small.csv")


def test_a_whole_header_is_read(folder: Path) -> None:
    payload = "\n[vehicle]\n# a comment of the author\nname = 'x'\n"
    header = f"# source: our own,\n# invented\n# licence: CC BY 4.0\n# sha256: {data.fingerprint(payload)}\n"
    (folder / "small.toml").write_text(header + payload, encoding="utf-8")
    assert data.provenance("small.toml").source == "our own,\ninvented"
    assert data.read_text("small.toml") == header + payload


def test_text_of_another_encoding_is_refused_in_words(folder: Path) -> None:
    (folder / "small.csv").write_bytes(b"# source: \xff\n")
    with pytest.raises(ValueError, match=r"data/small\.csv must be UTF-8 text; instead byte 10"):
        data.read_text("small.csv")


def test_a_missing_file_names_the_nearest() -> None:
    with pytest.raises(FileNotFoundError, match=f"no file data/{RIDE[:-5]}; the nearest is {RIDE}"):
        data.read_text(RIDE[:-5])


@pytest.mark.parametrize("name", ["", "../pyproject.toml", "/etc/hostname", "vehicles\\x.toml", "C:/x.toml"])
def test_a_name_that_leads_out_of_the_folder_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match=r"must be a file of the folder data/"):
        data.path(name)


def test_without_its_folder_it_says_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(data, "FOLDER", tmp_path / "data")
    with pytest.raises(FileNotFoundError, match="evlab works from a clone"):
        data.names()
