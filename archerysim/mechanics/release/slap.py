"""How the string comes down on the limbs: when, how quickly, and how hard it then presses on them."""

from __future__ import annotations

import numpy as np

from archerysim.mechanics.arrays import LOWER, UPPER
from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.forces.wrap import BEYOND, FREE, lies_and_presses


@inlined
def look_at_limb(wrap, rest_length, nodes, time, slap):
    """How the string lies at one limb, as of `wrap_path`; overwrites forces of the cells that nobody reads any more."""
    if wrap.reach == 0:
        return FREE
    how, lying, press, off = lies_and_presses(
        wrap, rest_length, nodes.x, nodes.y, nodes.cells.pull_x, nodes.cells.pull_y
    )
    if np.isnan(slap.time) and how != FREE and slap.off >= 0.0:  # it was free at the look before
        slap.time = time
        slap.rate = (slap.off - off) / (time - slap.seen)
    slap.off = off
    slap.seen = time
    if slap.time >= 0.0:
        slap.lying = max(slap.lying, lying)
        slap.press = max(slap.press, press)
    return how


@inlined
def look_at_limbs(chain, nodes, time, slaps):
    """At a look: what the string does on each limb. Returns whether it lies on too much of one."""
    upper = look_at_limb(chain.above, chain.rest_length, nodes, time, slaps[UPPER])
    lower = look_at_limb(chain.below, chain.rest_length, nodes, time, slaps[LOWER])
    return upper == BEYOND or lower == BEYOND
