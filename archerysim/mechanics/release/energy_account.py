"""The energy account: what goes into each part, step by step."""

from __future__ import annotations

from archerysim.mechanics.compiling import inlined
from archerysim.mechanics.release.chain_loss import chain_loss

SAMPLE = 4  # steps between two looks at the chain's losses


@inlined
def add_up(model, nodes, acting, dt, look, works, side):
    """Add a step's work to the account; the chain's losses where one looks at them, for all steps until the next."""
    if look:
        lost_string, lost_limbs, lost_arrow = chain_loss(
            model.chain, model.marks, nodes.vx, nodes.vy, nodes.cells, side
        )
        works.string += SAMPLE * dt * lost_string
        works.limbs += SAMPLE * dt * lost_limbs
        works.arrow += SAMPLE * dt * lost_arrow
    works.nock += dt * acting.edge_power
    works.locators += dt * acting.locator_power
    works.friction += dt * acting.friction_power
    works.rest += dt * acting.rest_power
    works.hand += dt * acting.hand_power
    works.rods += dt * acting.rods_power
    works.fingers -= dt * acting.finger_power
    if side is not None:
        works.side_support += dt * acting.support_power
        works.groove += dt * acting.groove_power
        works.tips += dt * acting.tips_power
        works.folding += dt * acting.fold_power
