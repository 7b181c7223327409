"""Launches kept, so that a shot asked for twice is shot once."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from archerysim.equipment import SetupError
from archerysim.errors import ShotError
from archerysim.shot.launch import Launch


class Memo:
    """The launches asked for last, and why others failed; for several threads."""

    def __init__(self, most: int) -> None:
        self.most, self._lock = most, Lock()
        self._kept: OrderedDict[bytes, Launch | SetupError | ShotError] = OrderedDict()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: bytes) -> Launch | SetupError | ShotError | None:
        """What is kept under a key."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def put(self, key: bytes, result: Launch | SetupError | ShotError) -> None:
        """Keep a result; the one not asked for longest makes room."""
        with self._lock:
            self._kept[key] = result
            self._kept.move_to_end(key)
            while len(self._kept) > self.most:
                self._kept.popitem(last=False)
