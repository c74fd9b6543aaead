"""Keeps the blocks of terrain read last in memory, safely for threads, up to a stated number of cells."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Any, Final

import numpy as np
import numpy.typing as npt

BLOCK_CELLS: Final = 2048
"""Rows and columns of one block; a block also holds the next row and column, to interpolate up to them."""

LARGEST_TOTAL_CELLS: Final = 64_000_000
"""Cells kept for one terrain: a quarter of a gigabyte for whole-metre heights."""

Block = npt.NDArray[np.floating[Any]]
Key = tuple[int, int]


class BlockCache:
    """The blocks of one terrain, dropped least recently used first; it travels empty to other processes."""

    def __init__(self, largest_total_cells: int = LARGEST_TOTAL_CELLS) -> None:
        self._largest = largest_total_cells
        self._blocks: OrderedDict[Key, Block] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Key, read: Callable[[], Block]) -> Block:
        """Return the block of ``key``, calling ``read`` for it only if it is not kept."""
        with self._lock:
            if key not in self._blocks:
                self._blocks[key] = read()
                self._drop_oldest()
            self._blocks.move_to_end(key)
            return self._blocks[key]

    def _drop_oldest(self) -> None:
        """Drop blocks until the total fits; the newest always stays."""
        total = sum(block.size for block in self._blocks.values())
        while total > self._largest and len(self._blocks) > 1:
            total -= self._blocks.popitem(last=False)[1].size

    def __len__(self) -> int:
        """Return the number of blocks kept."""
        return len(self._blocks)

    def __reduce__(self) -> tuple[type[BlockCache], tuple[int]]:
        return BlockCache, (self._largest,)
