"""Whether the kernels have been compiled on this machine, and compiling them ahead."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from archerysim.kernel_cache.kernel_files import kept_kernels
from archerysim.mechanics.compiling import CACHE
from archerysim.shot.planes import PLANES

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch

# Any bow runs through every kernel; this one is a plain take-down recurve with invented values.
BOW = """
name = "warm-up"
category = "club"
form = "measured"
[bow]
length = "68 in"
brace_height = "220 mm"
upper_tiller = "180 mm"
lower_tiller = "175 mm"
draw_weight = "34 lb"
draw_weight_at = "28 in"
[riser]
length = "25 in"
mass = "1.2 kg"
[string]
material = "HMPE"
strands = 18
[nock.locators]
reading = "8 mm"
[arrow]
length = "29 in"
diameter = "5.5 mm"
spine = 0.700
mass_per_length = "6.2 gr/in"
point_mass = "100 gr"
[archer]
hold = "split"
draw_length = "28 in"
"""

# The kernels that a shot in both planes calls, each as often as it is compiled for other kinds of arguments.
# Those that they call in turn are parts of them. `tests/study/test_cold_start.py` compares this with what a shot loads.
CALLED = {
    "statics.draw_curve": ("bow_energy", "press_of_rest"),
    "statics.arc": ("bend_both", "height_of_string", "pull_both"),
    "statics.brace": ("brace_newton", "cell_at_pivot", "line_below", "line_through", "place_clamps", "string_line"),
    "forces.chain": ("chain_energy", "chain_energy"),
    "forces.wrap": ("lies_on",),
    "statics.draw": ("draw_newton",),
    "forces.riser": ("carried_node",),
    "release.stable_step": ("longest_step",),
    "statics.match_weight": ("match_weight",),
    "release.loop": ("release",),
    "statics.lay_arrow": ("seat_arrow",),
    "rigid_body": ("rigid_motion",),
    "lumping": ("share_bends", "share_even", "share_line", "share_points"),
    "statics.stability": ("stiffness_at_brace", "ways_out_of_brace", "ways_out_of_draw"),
    "statics.newton": ("forces_at_rest",),
}  # fmt: skip


def folder() -> str:
    """Where the compiled kernels are kept."""
    return str(CACHE) if CACHE is not None else "memory, for this run only"


def is_cold() -> bool:
    """Whether a process that shoots for the first time will have to compile, in both planes."""
    called = Counter(f"{module}.{name}" for module, names in CALLED.items() for name in names)
    return bool(called - kept_kernels(CACHE))


def shoot_once(planes: int = PLANES) -> Launch:
    """One shot on a coarse mesh: compiles all it takes to shoot, or loads it where that has been done."""
    from archerysim.equipment import loads
    from archerysim.shot.shoot import shoot

    return shoot(loads(BOW), "coarse", planes=planes)


def warm_up() -> None:
    """Compile every kernel, or load it where that has been done: shots, the flight of one and a draw curve."""
    from archerysim.equipment import loads
    from archerysim.shot.flight.bare_shaft import bare_difference
    from archerysim.shot.shoot import draw

    bare_difference(shoot_once(), "18 m")
    shoot_once(planes=1)
    curve = draw(loads(BOW), mesh="coarse")
    _ = curve.braced.string_stiffness, curve.stiffness_across  # what tables tell of it
