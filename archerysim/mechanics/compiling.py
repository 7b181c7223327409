"""How the kernels are compiled, said once.

``error_model="numpy"`` keeps the inner loops free of the zero-division branch that stops them from using
vector instructions. The fast-math flags are named: contraction, reciprocals and the sign of zero only, so
that tests for NaN stay valid and results do not depend on the order of summation.

What runs inside another kernel's loop is marked `inlined`: it is put into its callers' own code. A call between
kernels hands over every field of every array.

No kernel asks for memory, but for those marked `with_memory`: what it works in is handed in. It is compiled without
numba's counting of an array's holders (``_nrt``), which took a third of a release; one that makes an array
(`numpy.empty` and the like) does not compile.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit

from archerysim.kernel_cache.compile_messages import COMPILES
from archerysim.kernel_cache.kernel_files import KernelFiles
from archerysim.kernel_cache.kernel_folder import kernel_folder

CACHE = kernel_folder()


def kernel(function: Callable[..., Any], inside: bool = False, memory: bool = False) -> Callable[..., Any]:
    """Compile a module-level function for numbers and arrays; see the module for what it may not do."""
    compiled = njit(
        nogil=True, error_model="numpy", fastmath={"contract", "arcp", "nsz"}, forceinline=inside, _nrt=memory
    )(function)
    if hasattr(compiled, "_cache"):  # not where numba is told to leave functions as they are
        compiled._cache = KernelFiles(function, CACHE)
        COMPILES.names.add(compiled._cache.name)
    return compiled  # type: ignore[no-any-return]


def inlined(function: Callable[..., Any]) -> Callable[..., Any]:
    """A `kernel` whose code is put into each kernel that calls it."""
    return kernel(function, True)


def with_memory(function: Callable[..., Any]) -> Callable[..., Any]:
    """A `kernel` that may ask for memory."""
    return kernel(function, False, True)


def inlined_with_memory(function: Callable[..., Any]) -> Callable[..., Any]:
    """An `inlined` kernel that may ask for memory."""
    return kernel(function, True, True)
