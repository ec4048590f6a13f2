"""Records that many tests start from: made once, and kept in a transaction that stays open from test to test.

Each test works in a savepoint inside that transaction, so what it writes is gone afterwards and what is kept is as it
was made. It ends when a test comes that wants other records, or that commits: such a test finds the database empty.
"""

from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from typing import Any

from django.db import transaction

Made = dict[str, Any]
Maker = Callable[[Made], None]


class Kept:
    """What is kept now, as a pile: each layer is made on top of those below, in a transaction inside theirs."""

    def __init__(self, makers: Mapping[str, Maker]) -> None:
        self._makers = makers
        self._layers: list[tuple[str, transaction.Atomic, Made]] = []

    @property
    def names(self) -> list[str]:
        """The layers, the lowest first."""
        return [name for name, _, _ in self._layers]

    def hold(self, names: Sequence[str] = ()) -> None:
        """Keep these layers and no others; those that lie there already are not made again."""
        while self.names != list(names[: len(self._layers)]):
            _, layer, _ = self._layers.pop()
            transaction.set_rollback(True)
            layer.__exit__(None, None, None)
        for name in names[len(self._layers) :]:
            made = self.copies()
            layer = transaction.atomic()
            layer.__enter__()
            self._layers.append((name, layer, made))
            self._makers[name](made)

    def copies(self) -> Made:
        """The records of all layers, as they were just after they were made; the test's own, to change as it likes."""
        return deepcopy(self._layers[-1][2]) if self._layers else {}
