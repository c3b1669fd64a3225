"""Compiled code as Python: a mutant of it is planted at once, and not compiled for seconds.

Has to be asked for before numba is loaded.
"""

import os
from importlib import import_module

import numpy as np


def run_uncompiled() -> None:
    os.environ["NUMBA_DISABLE_JIT"] = "1"  # read when numba is loaded
    from airover.physics import machine_code

    machine_code.universal_functions = _universal_functions


def _universal_functions(module, kernels, *_):
    functions = vars(import_module(module))
    return {name: _looped(functions[name], *kernel) for name, kernel in kernels.items()}


def _looped(function, kinds, layout):
    """A universal function by a loop: inputs and results of one or no dimension."""
    given, returned = (side[1:-1].split("),(") for side in layout.split("->"))
    kinds = kinds[len(given) :]

    def run(*inputs):
        sizes = {core: np.size(one) for core, one in zip(given, inputs, strict=True)}
        results = [
            np.empty(sizes[core] if core else 1, kind) for core, kind in zip(returned, kinds)
        ]
        function(*inputs, *results)
        results = [one if core else one[0] for core, one in zip(returned, results, strict=True)]
        return tuple(results) if len(results) > 1 else results[0]

    return np.vectorize(run, otypes=list(kinds), signature=layout)
