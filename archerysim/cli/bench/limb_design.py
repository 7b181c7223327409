"""``archerysim limb-design``: how thick limbs have to be for a wanted draw weight."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "how thick wooden limbs have to be for a draw weight, strained evenly or bent in an arc at full draw"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "limb-design", run, TEXT, shoots=False)
    parser.add_argument("--draw-weight", metavar="FORCE", required=True, help="at the archer's draw length")
    parser.add_argument("--brace-height", metavar="LENGTH", help="default: the bow's own")
    parser.add_argument(
        "--law", choices=("even strain", "arc"), default="even strain",
        help="what the drawn limb is to be: strained alike everywhere (default), or an arc of a circle",
    )  # fmt: skip
    parser.add_argument("--split", metavar="LENGTH", help="tiller split wanted; default: both limbs alike")
    parser.add_argument("--material", metavar="WOOD", help="another wood, with what is usual for it")
    parser.add_argument("--allowance", default="0.5 mm", metavar="LENGTH", help="left for tillering (default 0.5 mm)")
    parser.add_argument(
        "--sections", metavar="FILE",
        help='write stations, width and finished thickness (.csv), as sections = "FILE" reads them',
    )  # fmt: skip
    parser.add_argument("--limb", choices=("upper", "lower"), default="upper", help="whose (default: upper)")
    parser.add_argument("--rough", action="store_true", help="write them with the allowance on")
    parser.add_argument("--bow", metavar="FILE", help="write the finished bow as built (.toml)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.fields.file_writing import check_target, write_text
    from archerysim.show.bench.limb_design_table import limb_design_table
    from archerysim.show.csv import write_sections
    from archerysim.study.bench.wood.limb_design import limb_design

    for path, name, ending in ((options.sections, "sections", ".csv"), (options.bow, "bow", ".toml")):
        if path is not None:
            check_target(path, name, (ending,))
    found = limb_design(
        bow_of(options), draw_weight=options.draw_weight, brace_height=options.brace_height, law=options.law,
        split=options.split, material=options.material, allowance=options.allowance,
    )  # fmt: skip
    print(limb_design_table(found))
    if options.sections:
        write_sections(found.rough if options.rough else found.setup, options.limb, options.sections)
    if options.bow:
        write_text(options.bow, found.setup.to_toml(), "bow")
    plot(options, lambda: show.limb_design(found))
    return 0
