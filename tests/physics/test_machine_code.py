"""Machine code of kernels: when it is loaded, when it is compiled again, and when Numba calls it."""

import os
import platform
import subprocess
import sys

import numpy as np
import pytest

from airover.physics import machine_code
from airover.physics.machine_code import Kernel

INTEL_MAC = sys.platform == "darwin" and platform.machine() != "arm64"
pytestmark = pytest.mark.skipif(
    INTEL_MAC, reason="there is no numba for Macs with an Intel processor"
)

SCALED = """
def scaled(scale, values, results, total):
    total[0] = 0.0
    for place in range(len(values)):
        results[place] = scale * values[place]
        total[0] += results[place]
"""
RAISING = """
def scaled(scale, values, results, total):
    if scale < 0:
        raise ArithmeticError("negative scale")
    total[0] = 0.0
    for place in range(len(values)):
        results[place] = scale * values[place]
        total[0] += results[place]
"""
KERNELS = {"scaled": Kernel("dddd", "(),(n)->(n),()")}
PROGRAM = """
import sys
from airover.physics import machine_code

kernels = {"scaled": machine_code.Kernel("dddd", "(),(n)->(n),()")}
found = machine_code.universal_functions("scaling", kernels, "core/errors.py")
results, total = found["scaled"](2.0, [0.0, 1.0, 2.0])
print(results.tolist(), total, "numba" in sys.modules)
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with the module `scaling` and the cache folder."""
    (tmp_path / "scaling.py").write_text(SCALED)
    monkeypatch.setenv("AIROVER_CACHE", str(tmp_path / "cache"))
    monkeypatch.syspath_prepend(tmp_path)
    yield tmp_path
    sys.modules.pop("scaling", None)


@pytest.fixture
def compilations(monkeypatch):
    """The modules whose kernels were compiled."""
    made, compile_kernels = [], machine_code._compiled

    def compiled(module, kernels):
        made.append(module)
        return compile_kernels(module, kernels)

    monkeypatch.setattr(machine_code, "_compiled", compiled)
    return made


def run(code="core/errors.py"):
    found = machine_code.universal_functions("scaling", KERNELS, code)
    values = np.arange(6.0).reshape(2, 3).T  # neither contiguous nor of the same type as the scale
    results, total = found["scaled"](np.array([2, 3, 4]), values)
    np.testing.assert_array_equal(results, [[0, 6], [3, 12], [8, 20]])
    np.testing.assert_array_equal(total, [6, 15, 28])
    return found["scaled"]


def files(folder):
    return list(folder.rglob("*.code"))


def started(folder):
    paths = os.pathsep.join([str(folder), *sys.path])
    return subprocess.Popen(
        [sys.executable, "-c", PROGRAM],
        env={**os.environ, "PYTHONPATH": paths},
        stdout=subprocess.PIPE,
        text=True,
    )


def test_machine_code_is_compiled_once_and_loaded_without_numba(folder, compilations):
    scaled = run()
    assert (scaled.signature, scaled.types) == ("(),(n)->(n),()", ["dd->dd"])
    run()
    assert compilations == ["scaling"]
    [file] = files(folder)
    assert file.parent == folder / "__pycache__"
    assert started(folder).communicate()[0] == "[0.0, 2.0, 4.0] 6.0 False\n"


def test_processes_that_compile_at_the_same_time(folder):
    processes = [started(folder) for _ in range(3)]
    for process in processes:
        assert process.communicate()[0].startswith("[0.0, 2.0, 4.0] 6.0")
    assert len(files(folder)) == 1
    assert sorted(path.suffix for path in (folder / "__pycache__").iterdir()) == [".code", ".pyc"]


@pytest.mark.parametrize("damage", ["byte", "end", "empty", "other"])
def test_a_damaged_file_is_replaced(folder, compilations, damage):
    run()
    [file] = files(folder)
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    damaged = {"byte": content, "end": content[:-1], "empty": b"", "other": b"text" * 100}
    file.write_bytes(damaged[damage])
    run()
    run()
    assert len(compilations) == 2


def test_machine_code_of_other_source_code_is_replaced(folder, compilations):
    run()
    run("core/cache.py")
    run("core/cache.py")
    assert len(compilations) == 2 and len(files(folder)) == 1


def test_other_processors_and_versions_have_their_own_files(folder, compilations, monkeypatch):
    run()
    monkeypatch.setattr(machine_code, "build", lambda: "another processor")
    run()
    assert len(compilations) == 2 and len(files(folder)) == 2
    monkeypatch.undo()


def test_the_build_names_versions_settings_and_processor(monkeypatch):
    from llvmlite import binding
    from numba import __version__

    machine_code.build.cache_clear()
    build = machine_code.build()
    assert __version__ in build and binding.get_host_cpu_name() in build
    monkeypatch.setenv("NUMBA_OPT", "1")
    machine_code.build.cache_clear()
    assert machine_code.build() != build
    monkeypatch.undo()
    monkeypatch.setattr(binding, "get_host_cpu_name", lambda: "other")
    machine_code.build.cache_clear()
    assert machine_code.build() != build
    machine_code.build.cache_clear()


@pytest.mark.skipif(os.name == "nt", reason="Windows has other permissions")
def test_a_file_that_others_can_write_is_not_used(folder, compilations):
    run()
    [file] = files(folder)
    file.chmod(0o666)
    run()
    assert len(compilations) == 2


def test_the_cache_folder_is_used_if_the_module_has_none(folder, compilations):
    (folder / "__pycache__").write_text("not a folder")
    run()
    run()
    assert compilations == ["scaling"]
    assert [file.parent for file in files(folder)] == [folder / "cache"]


def test_nothing_is_saved_if_no_folder_is_writable(folder, compilations, monkeypatch):
    (folder / "__pycache__").write_text("not a folder")
    for cache_folder in ("", str(folder / "scaling.py" / "cache")):
        monkeypatch.setenv("AIROVER_CACHE", cache_folder)
        run()
    assert len(compilations) == 2 and not files(folder)


def test_a_kernel_that_raises_exceptions_is_called_by_numba(folder):
    (folder / "scaling.py").write_text(RAISING)
    scaled = run()
    assert not files(folder)
    with pytest.raises(ArithmeticError, match="negative scale"):
        scaled(-1.0, [1.0])


def test_another_version_of_numba_calls_the_kernels_itself(folder, monkeypatch):
    from numba.np.ufunc import wrappers

    monkeypatch.delattr(wrappers, "build_gufunc_wrapper")
    run()
    assert not files(folder)


def test_machine_code_that_calls_an_unknown_function_is_not_loaded():
    """LLVM would end the process."""
    from llvmlite import binding

    machine = machine_code._machine()
    for name, known in (("airover_unknown", False), ("exp", True)):
        source = (
            f"declare double @{name}(double)\n"
            "define void @scaled(ptr %args, ptr %dims, ptr %steps, ptr %data) {\n"
            f"  %1 = call double @{name}(double 1.0)\n  ret void\n}}\n"
        )
        code = machine.emit_object(binding.parse_assembly(source))
        if code.startswith(machine_code.ELF_64):  # on all systems but macOS
            assert machine_code._undefined(code) == [name]
            assert (machine_code._loaded(code, KERNELS) is not None) == known
