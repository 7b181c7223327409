"""``archerysim even-tiller``: the least scraping or bolt turns for a wanted tiller."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, bow_of
from archerysim.cli.output import plot

TEXT = "the least scraping, or the least bolt turns, for a wanted tiller split, draw weight or even strain"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "even-tiller", run, TEXT, shoots=False)
    parser.add_argument("--split", metavar="LENGTH", help='wanted upper less lower tiller, for example "3 mm"')
    parser.add_argument(
        "--draw-weight", metavar="FORCE", help="wanted draw weight at the archer's draw length; never passed"
    )
    parser.add_argument(
        "--even", metavar="SHARE", help='wanted: strain of both limbs within this share of its mean, for example "5 %%"'
    )
    parser.add_argument(
        "--by", choices=("scraping", "bolts"), default="scraping", help="what is done (default: scraping)"
    )
    parser.add_argument(
        "--least-thickness", default="0 mm", metavar="LENGTH", help="left everywhere (20 %% are taken at most anyhow)"
    )
    parser.add_argument("--passes", type=int, default=0, metavar="N", help="in how many (default: as many as it needs)")
    parser.add_argument("--out", metavar="FILE", help="write stations, thickness and depth (.csv)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.bench.even_tiller_table import even_tiller_table
    from archerysim.show.csv import write_scraping
    from archerysim.study.bench.wood.even_tiller import even_tiller

    found = even_tiller(
        bow_of(options, (".csv",)), split=options.split, draw_weight=options.draw_weight, even=options.even,
        by=options.by, least_thickness=options.least_thickness, passes=options.passes,
    )  # fmt: skip
    print(even_tiller_table(found))
    if options.out:
        write_scraping(found, options.out)
    plot(options, lambda: show.even_tiller(found))
    return 0
