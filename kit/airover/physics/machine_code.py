"""Compile kernels once with Numba, and load their machine code without Numba.

Numba takes longer to import than a job takes to evaluate. The machine code of all kernels of a
module is therefore saved in one file, which llvmlite loads. The file is saved in the folder
``__pycache__`` of the module or, if this folder is not writable, in the user's cache folder. If
neither is writable, each process compiles the kernels.

A file is used only if it is undamaged and was made from the same source code by the same versions
for the same processor, if no other user can change it, and if this process has all functions that
the machine code calls. Any other file is replaced. Machine code that calls functions of Numba, such
as those that raise exceptions, is not saved.
"""

import ctypes
import hashlib
import os
import re
import stat
import struct
import sys
import tempfile
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.core.cache import cache_folder, code_hash, read, write

AVAILABLE = bool(find_spec("numba") and find_spec("llvmlite"))
FROM_DATA_AND_SIGNATURE = 31  # place of PyUFunc_FromFuncAndDataAndSignature in NumPy's C interface
NO_IDENTITY = -1  # PyUFunc_None
ELF_64 = b"\x7fELF\x02\x01"  # first bytes of an object file with 64-bit little-endian addresses
ELF_SYMBOL = "<IBBHQQ"  # its symbols: name, type, visibility, section, value, size
_in_use = []  # what the universal functions refer to


class Kernel(NamedTuple):
    """Types and dimensions of the arguments and results of a kernel.

    The kernel is a function of scalars and arrays that writes each result to an array.
    """

    kinds: str  # NumPy's character for the type of each argument and result
    layout: str  # signature of a generalized universal function


def universal_functions(module: str, kernels: dict[str, Kernel], *code: str) -> dict:
    """Return the ``kernels`` as NumPy universal functions, loaded or compiled.

    Parameters
    ----------
    module : str
        Name of the module, which is imported only if its kernels must be compiled.
    kernels : dict of Kernel
        Types and dimensions, by the name of the function in the module.
    code : str
        Names of the rooms and files whose code is used, as in `cache.code_hash`.

    Raises
    ------
    ModuleNotFoundError
        If numba is not installed.
    """
    if not AVAILABLE:
        raise ModuleNotFoundError("compiled calculations need numba: install airover[fast]")
    key = hashlib.sha256(f"{code_hash(*code)} {build()} {kernels}".encode()).digest()
    files = _files(module)
    functions = _from_files(files, key, kernels)
    if functions is None:
        with compiling():
            functions = _from_files(files, key, kernels)  # another process may have compiled them
            if functions is None:
                functions = _compiled_and_saved(module, kernels, files, key)
    return functions


@cache
def build() -> str:
    """Return the versions of the compiler and the processor for which it compiles."""
    from importlib.metadata import version

    from llvmlite import __version__
    from llvmlite import binding as llvm

    settings = sorted(item for item in os.environ.items() if item[0].startswith("NUMBA_"))
    features = llvm.get_host_cpu_features().flatten()
    processor = f"{llvm.get_process_triple()} {llvm.get_host_cpu_name()} {features}"
    return f"{version('numba')} {__version__} {processor} {settings}"


def compiling():
    """Return a lock for all processes of this user that compile code."""
    from filelock import FileLock

    name = f"airover-compile-{getattr(os, 'getuid', int)()}.lock"
    return FileLock(Path(tempfile.gettempdir()) / name)


def _files(module: str) -> list[Path]:
    """Return the files for the machine code of a module, with the preferred file first."""
    builds = f"{sys.implementation.name} {sys.version} {build()}"
    name = f"{module}.{hashlib.sha256(builds.encode()).hexdigest()[:16]}.code"
    beside = Path(find_spec(module).origin).parent / "__pycache__"
    folders = (beside, cache_folder())
    return [folder / name for folder in folders if folder is not None]


def _from_files(files: list[Path], key: bytes, kernels: dict[str, Kernel]) -> dict | None:
    """Return the universal functions from the first usable file."""
    for file in files:
        content = read(file) if _own(file) else None
        if content is not None and content[: len(key)] == key:
            functions = _loaded(bytes(content[len(key) :]), kernels)
            if functions is not None:
                return functions
    return None


def _compiled_and_saved(module: str, kernels, files: list[Path], key: bytes) -> dict:
    """Compile the kernels and save their machine code in the first writable file."""
    try:
        machine_code = _compiled(module, kernels)
    except (ImportError, AttributeError, TypeError):  # this version of Numba has other parts
        machine_code = None
    functions = None if machine_code is None else _loaded(machine_code, kernels)
    if functions is None:
        return {name: _of_numba(module, name, kernel) for name, kernel in kernels.items()}
    for file in files:
        if write(file, key + machine_code):
            file.chmod(0o644)  # other users of this installation use the file as well
            break
    return functions


def _own(file: Path) -> bool:
    """Return True if nobody but this user, or the owner of this program, can write the file."""
    try:
        found, program = file.stat(), Path(__file__).stat()
    except OSError:
        return False
    if os.name == "nt":
        return True
    return found.st_uid in (os.getuid(), program.st_uid) and not found.st_mode & stat.S_IWOTH


def _undefined(machine_code: bytes) -> list[str]:
    """Return the names that an ELF object file refers to without defining them.

    LLVM ends the process if a name is not found. It uses ELF files on all systems but macOS.
    """
    from llvmlite import binding as llvm

    if not machine_code.startswith(ELF_64):
        return []
    sections = llvm.ObjectFileRef.from_data(machine_code).sections()
    parts = {part.name(): part.data() for part in sections}
    names, symbols = parts[b".strtab"], struct.iter_unpack(ELF_SYMBOL, parts[b".symtab"])
    starts = [name for name, _, _, section, _, _ in symbols if name and not section]
    return [names[start : names.index(b"\0", start)].decode() for start in starts]


def _machine():
    """Return LLVM's description of this processor, with the settings that Numba uses."""
    from llvmlite import binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    target = llvm.Target.from_default_triple()
    return target.create_target_machine(
        cpu=llvm.get_host_cpu_name(),
        features=llvm.get_host_cpu_features().flatten(),
        opt=3,
        reloc="static" if target.name.startswith("x86") else "default",
        codemodel="jitdefault",
        jit=True,
    )


def _compiled(module: str, kernels: dict[str, Kernel]) -> bytes | None:
    """Return the machine code of the kernels, or None if it depends on Numba."""
    from llvmlite import binding as llvm
    from numba.core.compiler_lock import global_compiler_lock
    from numba.np.ufunc.ufuncbuilder import GUFuncBuilder
    from numba.np.ufunc.wrappers import build_gufunc_wrapper

    whole = llvm.parse_assembly("")
    for name, kernel in kernels.items():
        function = getattr(import_module(module), name)
        builder = GUFuncBuilder(function, kernel.layout, targetoptions={"nopython": True})
        compiled = builder.add(_signature(kernel))
        with global_compiler_lock:
            sides = builder.sin, builder.sout
            loop = build_gufunc_wrapper(function, compiled, *sides, cache=False, is_parfors=False)
            part = llvm.parse_bitcode(loop.library.serialize_using_bitcode()[-1])
        part.get_function(loop.name).name = name
        whole.link_in(part)
    machine = _machine()
    _optimize(whole, machine, kernels)
    declared = [one.name for one in whole.functions if one.is_declaration]
    declared += [one.name for one in whole.global_variables if one.is_declaration]
    if not all(name.startswith("llvm.") for name in declared):
        return None
    return machine.emit_object(whole)


def _optimize(whole, machine, kernels) -> None:
    """Remove what handles exceptions, which LLVM can do if nothing else calls the functions."""
    from llvmlite import binding as llvm

    for function in whole.functions:
        if not function.is_declaration and function.name not in kernels:
            function.linkage = llvm.Linkage.internal
    passes = llvm.create_pass_builder(machine, llvm.create_pipeline_tuning_options(speed_level=3))
    passes.getModulePassManager().run(whole, passes)


def _of_numba(module: str, name: str, kernel: Kernel) -> np.ufunc:
    """Return a kernel as a universal function that is compiled for this process only."""
    import numba

    function = getattr(import_module(module), name)
    signatures = [_signature(kernel)]
    return numba.guvectorize(signatures, kernel.layout, nopython=True)(function)


def _signature(kernel: Kernel) -> tuple:
    """Return Numba's types of the arguments and results: results and vectors are arrays."""
    from numba import from_dtype

    given, returned = (re.findall(r"\((\w*)\)", side) for side in kernel.layout.split("->"))
    vectors = [bool(core) for core in given] + [True] * len(returned)
    types = [from_dtype(np.dtype(kind)) for kind in kernel.kinds]
    return tuple(kind[:] if vector else kind for kind, vector in zip(types, vectors, strict=True))


def _loaded(machine_code: bytes, kernels: dict[str, Kernel]) -> dict | None:
    """Return the universal functions, or None if the machine code calls an unknown function."""
    from llvmlite import binding as llvm

    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), _machine())
    if not all(map(llvm.address_of_symbol, _undefined(machine_code))):
        return None
    engine.add_object_file(llvm.ObjectFileRef.from_data(machine_code))
    engine.finalize_object()
    _in_use.append((engine, machine_code))
    return {
        name: _universal_function(name, kernel, engine.get_function_address(name))
        for name, kernel in kernels.items()
    }


def _universal_function(name: str, kernel: Kernel, address: int) -> np.ufunc:
    """Return the loop over a kernel at ``address`` as a universal function, through NumPy's C API.

    NumPy broadcasts the arguments and releases the interpreter lock during the loop.
    """
    from numpy._core import _multiarray_umath

    pointer, number, text = ctypes.c_void_p, ctypes.c_int, ctypes.c_char_p
    table = ctypes.PYFUNCTYPE(pointer, ctypes.py_object, text)(
        ("PyCapsule_GetPointer", ctypes.pythonapi)
    )(_multiarray_umath._UFUNC_API, None)
    function = (pointer * (FROM_DATA_AND_SIGNATURE + 1)).from_address(table)[-1]
    arguments = (pointer, pointer, text, number, number, number, number, text, text, number, text)
    made = ctypes.PYFUNCTYPE(ctypes.py_object, *arguments)(function)
    loops, data = (pointer * 1)(address), (pointer * 1)(None)
    types = bytes(np.dtype(kind).num for kind in kernel.kinds)
    words = name.encode(), kernel.layout.encode()
    _in_use.append((loops, data, types, words))
    count = [side.count("(") for side in kernel.layout.split("->")]
    addresses = ctypes.addressof(loops), ctypes.addressof(data)
    return made(*addresses, types, 1, *count, NO_IDENTITY, words[0], b"", 0, words[1])
