"""A shot explained in plain words: what happened in the order of time, and which part turned the arrow how far."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from archerysim.show.style import INCH, MM
from archerysim.show.text import columns, force, nose, number, titled, turning, with_warnings, wrapped

if TYPE_CHECKING:
    from archerysim.shot.launch import Launch
    from archerysim.study.explanation.explain import Explained
    from archerysim.study.explanation.instants import Instant

LEAST = 0.05  # smaller forces count as none [N]


def explain_table(result: Explained) -> str:
    """The shot told in time, then the launch shared out between the parts.

    Parameters
    ----------
    result : Explained
        As `archerysim.study.explanation.explain.explain` returns it.

    Returns
    -------
    str
        Times in ms after the fingers begin to open; angles positive nose up.
    """
    lines = [f"{result.launch.setup.name}: why the arrow leaves as it does", ""]
    lines += titled(
        "The shot, in the order of time", [line for one in result.instants for line in _instant_lines(result, one)]
    )
    lines += _why(result)
    return with_warnings(lines, result.launch.warnings, len(result.launch.limits_passed))


def _instant_lines(result: Explained, instant: Instant) -> list[str]:
    text = _sentence(result, instant)
    return wrapped(text, f"  {1e3 * instant.time:6.2f} ms  ", " " * 13)


def _sentence(result: Explained, instant: Instant) -> str:
    from archerysim.equipment import filled

    if instant.name == "full draw":
        index, middle, ring = instant.fingers
        return (
            f"The fingers begin to open. They hold {force(instant.finger_force)}: index {index:.0f}, "
            f"middle {middle:.0f}, ring {ring:.0f} N. The rest carries {instant.rest:.2f} N."
        )
    if instant.name == "fingers half open":
        begin = "Half of the fingers' force is gone, and the string has taken over."
    elif instant.name == "fingers off":
        begin = "The last finger is off the string."
    elif instant.name == "greatest push":
        begin = "The string pushes the nock hardest."
    elif instant.name == "rest left":
        begin = "The shaft lifts off the rest." + (
            " It touched it again before." if result.launch.timeline.left_again else ""
        )
    elif instant.name == "rest's support ends":
        travel = filled(result.launch.setup).number("rest.support_travel")
        begin = f"The rest lets go: in the model after {travel / MM:.0f} mm ({travel / INCH:.1f} in) of travel."
        begin += (
            f" It was still pushing with {instant.rest:.2f} N." if instant.rest > LEAST else " The shaft was off it."
        )
    elif instant.name == "shaft on the rest again":
        begin = "The shaft comes down on the rest again: a second strike."
    elif instant.name in SIDEWAYS:
        begin = SIDEWAYS[instant.name](result.launch)
    elif instant.name.startswith("string on the"):
        limb = "upper" if "upper" in instant.name else "lower"
        speed, most = (getattr(result.launch, f"slap_{what}_{limb}") for what in ("speed", "force"))
        begin = f"The string comes down on the {limb} limb at {speed:.1f} m/s, and presses up to {most:.0f} N there."
    elif instant.name == "string straight":
        begin = "The string is straight: the nock passes the line between the places where it leaves the limbs."
    elif instant.name == "separation":
        begin = "Separation: the string lets go of the nock."
    else:
        begin = (
            f"Clear: the tail is past the bow, nothing touches the arrow. It flies off at {instant.speed:.1f} m/s, "
            f"{_way(instant.vertical_velocity)} at {abs(instant.vertical_velocity):.2f} m/s across the aim line; "
            f"angle of attack {number(result.launch.clear.angle_of_attack, 'deg', 2, True)}."
        )
    return " ".join(part for part in (begin, _push(instant), _attitude(instant)) if part)


def _off_the_side_support(launch: Launch) -> str:
    passage = launch.passage
    before = " It had left it before and come back." if passage.side_touches > 1.0 else ""
    return f"The shaft leaves the side support, {_travelled(passage.side_left_travel)}.{before}"


def _off_the_arm(launch: Launch) -> str:
    way = _travelled(launch.passage.arm_left_travel)
    if launch.timeline.rest_left == launch.timeline.off_arm:
        return f"The shaft goes off the end of the rest's arm, {way}."
    return f"The shaft, off the rest already, passes the end of its arm, {way}."


def _arm_struck(launch: Launch) -> str:
    passage = launch.passage
    last = f" This is the last of {passage.arm_strikes:.0f} such strikes." if passage.arm_strikes > 1.0 else ""
    return (
        f"The shaft strikes the rest's arm from the side, {passage.arm_strike_place:.0f} mm in front of the nock and "
        f"up to {passage.arm_strike_depth:.1f} mm under its top: the arm folds away.{last}"
    )


def _tail_touches(launch: Launch) -> str:
    passage = launch.passage
    return (
        f"The tail touches the side support, {passage.tail_touch_place:.0f} mm in front of the nock, with up to "
        f"{passage.tail_touch_force:.1f} N."
    )


def _travelled(travel: float) -> str:
    return f"after {travel:.0f} mm ({travel * MM / INCH:.1f} in) of travel"


# what only the shot in both planes has; how far sideways is not told: that follows from how the string rolls off the
# fingers, which is known badly
SIDEWAYS: dict[str, Callable[[Launch], str]] = {
    "off the side support": _off_the_side_support,
    "off the arm": _off_the_arm,
    "nock furthest sideways": lambda _: "The nock is furthest sideways, away from the riser's window.",
    "arm struck from the side": _arm_struck,
    "tail on the side support": _tail_touches,
    "tail past": lambda _: "The tail is past the rest and the side support.",
}


def _way(velocity: float) -> str:
    return "rising" if velocity >= 0.0 else "sinking"


def _push(instant: Instant) -> str:
    """What the string does to the nock."""
    if instant.name in ("separation", "clear"):
        return ""
    if instant.push < -LEAST:
        return f"The nock's grip holds it back by {-instant.push:.1f} N."
    ends = f"{instant.edge_upper:.0f} at the upper end of its floor, {instant.edge_lower:.0f} at the lower"
    for end, force_there in (("upper", instant.edge_upper), ("lower", instant.edge_lower)):
        if force_there < -LEAST:
            ends = f"its grip already holds it back at the {end} end of its floor"
    text = f"Push on the nock {instant.push:.0f} N ({ends})" if instant.push > LEAST else ""
    if text and instant.rest > LEAST and instant.name not in ("rest's support ends", "off the arm"):
        text += f", of the rest {instant.rest:.2f} N"
    if text and instant.side_support > LEAST:
        text += f", of the side support {instant.side_support:.2f} N"
    return f"{text}." if text else ""


def _attitude(instant: Instant) -> str:
    return f"The arrow is {nose(instant.pitch)}, {turning(instant.pitch_rate)}."


def _why(result: Explained) -> list[str]:
    def cells(values: np.ndarray) -> list[str]:
        return [number(values[k], "", 3, True) for k in range(3)]

    def ways(one: np.ndarray, other: np.ndarray) -> str:
        return f"{number(one[0], '', 3, True)} / {number(other[0], '', 3, True)}"

    rows = [("the neutral bow", *cells(result.base), "")]
    rows += [(one.part.name, *cells(one.value), ways(one.on_neutral, one.on_actual)) for one in result.contributions]
    rows += [
        ("what they do only together", *cells(result.remainder), ""), ("this bow", *cells(result.actual), ""),
    ]  # fmt: skip
    heads = (
        ("", "attack", "pitch", "pitch rate", "attack: on the neutral bow /"),
        ("", "[deg]", "[deg]", "[rad/s]", "on this bow"),
    )
    lines = titled("What turned the arrow: at clear, nose up +", columns(rows, *heads))
    lines += _largest(result)
    lines += titled(
        "Each part against its neutral state",
        [line for one in result.contributions for line in
         wrapped(f"{one.part.name}: {one.part.here}. Neutral: {one.part.neutral}.")],
    )  # fmt: skip
    lost = [one for one in result.contributions if one.reason]
    if lost:
        lines += titled("No result", [line for one in lost for line in wrapped(f"{one.part.name}: {one.reason}")])
    from archerysim.study.explanation.neutral_bow import HELD

    lines += wrapped(f"Held: {HELD}.", "  ", "  ")
    left = "arrow, draw, limbs and the height of the rest"
    if result.launch.planes == 2:
        left = "arrow, draw, limbs, the height of the rest and how the shaft goes past it sideways"
    lines += wrapped(
        "A part counts as the mean of what it does on the neutral bow and on this one. The neutral bow is a yardstick, "
        f"not a bow to build; how it throws depends on {left}.", "  ", "  ",
    )  # fmt: skip
    return [*lines, ""]


def _largest(result: Explained) -> list[str]:
    known = [one for one in result.contributions if one.known and abs(one.value[0]) >= 0.0005]
    known = sorted(known, key=lambda one: -abs(one.value[0]))[:2]
    if not known:
        return []
    words = ", then ".join(
        f"{one.part.name} (nose {'up' if one.value[0] > 0 else 'down'} by {abs(one.value[0]):.2f} deg)" for one in known
    )
    return [*wrapped(f"Most of it: {words}.", "  ", "  "), ""]
