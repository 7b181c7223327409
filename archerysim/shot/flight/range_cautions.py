"""What is to be minded on the range by whoever shoots what was computed: common practice, for coaches to overrule."""

from __future__ import annotations

FAR = 30.0  # [m]
JUNIOR_BARE = 18.0  # [m], farthest of a junior's bare shaft
EDGE = 1e-6  # [m]

CAUTION = (
    "Bare shafts fly less steadily: shoot them close first (10 to 18 m), at a large butt with nobody behind it, by the "
    "range's rules; check shafts and nocks before each end."
)
FAR_BUTT = "Beyond 30 m: only at a large butt with clear ground far behind it, as the range's rules allow."
FAR_BARE = (
    "Bare shafts beyond 30 m: only for experienced archers whose bare and fletched shafts are already together at 18 "
    "and 30 m, and only where the range agrees; check shafts and nocks before each end."
)
JUNIORS = (
    "Juniors shoot bare shafts at 18 m at most: anything farther here is only computed and must not be shot by them."
)


def range_cautions(distance: float, bare: bool, category: str = "") -> tuple[str, ...]:
    """Cautions for arrows that fly to a target.

    Parameters
    ----------
    distance : float
        The farthest of the targets [m].
    bare : bool
        Whether a shaft without fletching is among them.
    category : str
        Of the setup.

    Returns
    -------
    tuple of str
        None for a fletched arrow to 30 m or nearer.
    """
    far, junior = distance > FAR + EDGE, category == "junior"
    cautions = []
    if bare and junior and distance > JUNIOR_BARE + EDGE:
        cautions.append(JUNIORS)
    if far:
        cautions.append(FAR_BUTT)
    if bare and not (far and junior):
        cautions.append(FAR_BARE if far else CAUTION)
    return tuple(cautions)
