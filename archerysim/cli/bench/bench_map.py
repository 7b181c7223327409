"""``archerysim map``: the launch over tiller split and reading, finger share or crawl."""

from __future__ import annotations

from typing import Any

from archerysim.cli.options import Commands, add_command, add_workers_and_store, bow_of
from archerysim.cli.output import plot

TEXT = "a map of the launch over tiller split and reading, finger share or crawl, with the line of the best reading"


def add(commands: Commands) -> None:
    """What the command accepts."""
    parser = add_command(commands, "map", run, TEXT)
    parser.add_argument(
        "--against", choices=("reading", "finger-share", "crawl"), default="reading",
        help="the other axis (default reading; finger-share: the index finger's, the ring finger bears what is left)",
    )  # fmt: skip
    parser.add_argument(
        "--splits", metavar="VALUES", help='tiller splits, for example "-2 mm:10 mm:0.5 mm" (default 41 about today\'s)'
    )
    parser.add_argument(
        "--values", metavar="VALUES", help='of the other axis, for example "2 mm:12 mm:0.5 mm" (default 21)'
    )
    parser.add_argument(
        "--distance", default="18 m", metavar="DISTANCE", help="of bare and fletched shafts (default 18 m)"
    )
    add_workers_and_store(parser)
    parser.add_argument("--out", metavar="FILE", help="write every point (.nc or .csv)")


def run(options: Any) -> int:
    """What the command does."""
    from archerysim import show
    from archerysim.show.bench.map_table import map_table
    from archerysim.show.csv import write_map
    from archerysim.study.bench.bench_map import bench_map
    from archerysim.study.sweeps.table_file import save

    found = bench_map(
        bow_of(options, (".csv", ".nc")), options.against, splits=options.splits, values=options.values,
        distance=options.distance, workers=options.workers, store=options.store,
    )  # fmt: skip
    print(map_table(found))
    if options.out and options.out.lower().endswith(".nc"):
        save(found.to_xarray(), options.out)
    elif options.out:
        write_map(found, options.out)
    plot(options, lambda: show.bench_map(found))
    return 0
