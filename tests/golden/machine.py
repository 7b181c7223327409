"""What decides the last bit of a number: the processor, and the versions of what computes."""

from __future__ import annotations

import os
import platform
from importlib.metadata import version

CHOSEN = (
    "NPY_DISABLE_CPU_FEATURES",
    "OPENBLAS_CORETYPE",
)  # variables that choose other instructions than the processor's
LIBRARIES = ("numpy", "scipy", "numba", "llvmlite", "pint")


def fingerprint() -> dict[str, str]:
    """This machine; two with the same fingerprint compute the same bits."""
    import numba
    from llvmlite import binding

    config = numba.config
    features = binding.get_host_cpu_features()
    host = ",".join(sorted(name for name, there in features.items() if there))
    return {
        "processor": getattr(config, "CPU_NAME", None) or binding.get_host_cpu_name(),
        "instructions": getattr(config, "CPU_FEATURES", None) or host,
        **{name: os.environ[name] for name in CHOSEN if os.environ.get(name)},
        "system": f"{platform.system()} {platform.machine()}",
        "C library": " ".join(platform.libc_ver()),
        "python": platform.python_version(),
        **{name: version(name) for name in LIBRARIES},
    }


def differences(here: dict[str, str], there: dict[str, str]) -> list[str]:
    """What tells two machines apart, in words; nothing where they are the same."""
    found = []
    for name in sorted({*here, *there}):
        one, other = here.get(name, "none"), there.get(name, "none")
        if one != other and name == "instructions":
            one, other = (
                ", ".join(sorted(set(a.split(",")) - set(b.split(",")))) for a, b in ((one, other), (other, one))
            )
            found.append(f"{name}: only here {one or 'none'}; only there {other or 'none'}")
        elif one != other:
            found.append(f"{name}: {one} here, {other} there")
    return found
