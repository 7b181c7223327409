"""What turning the lower limb bolt would do, tried without touching the bow.

python examples/bowmaker.py
"""

import archerysim

CAUTION = """\
On a real bow: unstring it or follow its maker before touching a bolt, never turn past the maker's limit, and check
brace height, tillers and locators again before shooting. More draw weight comes in small steps, within the maker's
limit; juniors with a coach. Pain means stop. The model sees no twist of the limbs
and no old damage."""


def main() -> None:
    """The same turns twice: nothing else touched, then brace height and reading set again."""
    setup = archerysim.load("examples/club-outdoor.toml")
    turns = {"lower_limb.bolt_turns": "-1 turn:1 turn:0.5 turn"}
    for hold in (None, ("brace height", "reading")):
        data = archerysim.sweep(setup, over=turns, hold=hold)
        attack = data.angle_of_attack.sel(moment="clear")
        split = data.upper_tiller - data.lower_tiller
        print(f"held: {data.attrs['held']}")
        print("turns in | tiller split | brace height | reading | draw weight | angle of attack at clear")
        for i, turn in enumerate(data["lower_limb_bolt_turns"].values):
            print(
                f"{turn:8.1f} | {float(split[i]):9.1f} mm | {float(data.brace_height[i]):9.1f} mm | "
                f"{float(data.reading[i]):4.1f} mm | {float(data.draw_force[i]) / 4.448:8.1f} lb | "
                f"{float(attack[i]):+.2f} deg"
            )
        print()
    print(CAUTION)


if __name__ == "__main__":
    main()
