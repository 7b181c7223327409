"""The library as it is, held against the record; and the record written anew."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any

from tests.golden import machine, record
from tests.golden.compare import ELSEWHERE, Comparison, Difference
from tests.golden.pieces import KINDS, RECORD, Piece, pieces

MACHINE = "machine"
Tell = Callable[[str], None]


@cache
def recorded(folder: Path, kind: str) -> Any:
    """One file of a record."""
    return record.read(folder, file_of(kind))


def file_of(kind: str) -> str:
    """Name of the file of one kind."""
    return kind.replace(" ", "-")


def tolerance_here(folder: Path = RECORD) -> tuple[float | None, str]:
    """How closely a record can be met on this machine, and that in words."""
    apart = machine.differences(machine.fingerprint(), record.read(folder, MACHINE))
    if not apart:
        return None, "this is a machine like the one that wrote the record: compared to the bit"
    why = f"this is not a machine like the one that wrote the record ({'; '.join(apart)})"
    return ELSEWHERE, f"compared to {ELSEWHERE:g}, because {why}"


def check_piece(piece: Piece, comparison: Comparison, folder: Path = RECORD) -> None:
    """Answer a piece and hold it against the record; one that fails is told as such, so that others are checked."""
    try:
        answer = record.encoded(piece.answer())
    except Exception as error:
        comparison.found.append(Difference(piece.words, "form", "an answer", f"{type(error).__name__}: {error}"))
        return
    there = recorded(folder, piece.kind).get(piece.bow, {})
    expected, got = ({} if there is None else {piece.name: there} for there in (there.get(piece.name), answer))
    comparison.compare((piece.kind, piece.bow), expected, got)


def lost_pieces(folder: Path = RECORD) -> list[str]:
    """What the record holds and nobody asks for any more."""
    asked = {(piece.kind, piece.bow, piece.name) for piece in pieces()}
    return [
        " / ".join((kind, bow, name))
        for kind in KINDS
        for bow, answers in recorded(folder, kind).items()
        for name in answers
        if (kind, bow, name) not in asked
    ]


def check(some: Iterable[Piece], tolerance: float | None, folder: Path = RECORD, tell: Tell = print) -> Comparison:
    """Hold pieces against the record, telling each file as it is begun."""
    comparison, kind = Comparison(tolerance), ""
    for piece in some:
        if piece.kind != kind:
            kind = piece.kind
            tell(f"{kind} ...")
        check_piece(piece, comparison, folder)
    return comparison


def add(folder: Path = RECORD, tell: Tell = print) -> list[Piece]:
    """Answer the pieces that a record lacks and write them into it; what stands in it stays, this machine untold."""
    new = [piece for piece in pieces() if piece.name not in recorded(folder, piece.kind).get(piece.bow, {})]
    for kind in dict.fromkeys(piece.kind for piece in new):
        answers = record.read(folder, file_of(kind))
        for piece in (one for one in new if one.kind == kind):
            tell(f"{piece.words} ...")
            answers.setdefault(piece.bow, {})[piece.name] = record.encoded(piece.answer())
        record.write(folder, file_of(kind), answers)
    recorded.cache_clear()
    return new


def write(folder: Path = RECORD, tell: Tell = print) -> None:
    """Write the whole record anew, and this machine's fingerprint with it."""
    write_pieces(pieces(), folder, tell)


def write_pieces(some: Iterable[Piece], folder: Path, tell: Tell = print) -> None:
    """Write a record of some pieces: nothing before all are answered."""
    data: dict[str, Any] = {kind: {} for kind in KINDS}
    for piece in some:
        if not data[piece.kind]:
            tell(f"{piece.kind} ...")
        data[piece.kind].setdefault(piece.bow, {})[piece.name] = record.encoded(piece.answer())
    for kind, answers in data.items():
        record.write(folder, file_of(kind), answers)
    record.write(folder, MACHINE, machine.fingerprint())
    recorded.cache_clear()
