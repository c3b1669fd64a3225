"""Arrays that are kept on disk for later runs, and results that are kept in memory."""

import os

import numpy as np
import pytest

from airover.core import cache


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv(cache.FOLDER, str(tmp_path / "kept"))
    return tmp_path / "kept"


def test_arrays_come_back_unchanged(folder):
    given = {"numbers": np.random.default_rng(1).normal(size=(3, 4)), "flags": np.array([True])}
    cache.save("one", **given)
    found = cache.load("one")
    assert found.keys() == given.keys()
    for name, value in given.items():
        assert found[name].dtype == value.dtype
        np.testing.assert_array_equal(found[name], value)
    assert cache.load("other") is None
    assert [path.name for path in folder.iterdir()] == ["one.arrays"]


def test_the_last_result_is_kept_for_the_same_objects_only():
    made = []

    @cache.last_kept
    def total(numbers, more):
        made.append(sum(numbers) + more)
        return made[-1]

    numbers, equal = [1, 2], [1, 2]
    assert [total(numbers, 3), total(numbers, 3), total(equal, 3), total(equal, 4)] == [6, 6, 6, 7]
    assert made == [6, 6, 7]


@pytest.mark.parametrize("place", [0, 40, -1])
def test_a_damaged_file_is_not_used(folder, place):
    cache.save("one", numbers=np.arange(50.0))
    path = folder / "one.arrays"
    content = bytearray(path.read_bytes())
    content[place] ^= 1
    path.write_bytes(content)
    assert cache.load("one") is None
    path.write_bytes(content[:30])
    assert cache.load("one") is None
    cache.save("one", numbers=np.arange(50.0))
    assert cache.load("one")["numbers"][-1] == 49


def test_objects_are_never_loaded(folder):
    with pytest.raises(TypeError):
        cache.save("one", numbers=np.array([{"a": 1}], dtype=object))
    for kind in ("|O", "O", "<f8,O"):
        content = f'{{"numbers": ["{kind}", [1]]}}\n'.encode() + bytes(16)
        cache.write(folder / "one.arrays", content)
        assert cache.load("one") is None


def test_a_folder_that_cannot_be_written_is_no_error(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("not a folder")
    for named in ("", str(tmp_path / "file" / "kept")):
        monkeypatch.setenv(cache.FOLDER, named)
        cache.save("one", numbers=np.arange(3.0))
        assert cache.load("one") is None


def test_the_least_recently_used_files_are_deleted_first(folder):
    for number, name in enumerate(("first", "second", "third")):
        cache.save(name, numbers=np.arange(1000.0))
        os.utime(folder / f"{name}.arrays", (number, number))
    assert cache.load("first")  # now the most recently used
    size = (folder / "first.arrays").stat().st_size
    cache.trim(folder, 2 * size)
    assert {path.stem for path in folder.iterdir()} == {"first", "third"}


def test_a_key_depends_on_every_input_and_the_code():
    keys = [
        cache.key_of("code", np.array([1.0, 2.0]), 3),
        cache.key_of("code", np.array([1.0, 2.5]), 3),
        cache.key_of("code", np.array([[1.0, 2.0]]), 3),
        cache.key_of("code", np.array([1.0, 2.0]), 4),
        cache.key_of("other", np.array([1.0, 2.0]), 3),
    ]
    assert len(set(keys)) == len(keys)
    assert cache.code_hash("core") != cache.code_hash("physics")
