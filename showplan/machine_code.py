"""Functions as machine code: compiled once, at installation, and kept in the Python environment.

numba itself looks only at the file of the function that is called first, would keep old code of the others, and reads
no folder that it may not write. Here a folder is named after all the sources and only read where it cannot be written.
Nothing imports numba before the first function is made.
"""

import hashlib
import os
import shutil
import sys
import time
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cached_property
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])

KEPT_IN: Final = Path(os.environ.get("NUMBA_CACHE_DIR") or Path(sys.prefix) / "compiled")
UNUSED_AFTER_S: Final = 30 * 24 * 3600
READY: Final = "ready"

# Functions that make no arrays: nothing is counted for them, and every call is taken into its caller, because to hand
# many arrays on, or to count references to them, would take longer than the work itself (2 to 6 times, and 60 times).
_WITHOUT_ARRAYS: Final = {"nogil": True, "forceinline": True, "_nrt": False}
_WITH_ARRAYS: Final = {"nogil": True}


class MachineCode:
    """The functions of some source files that belong together, and where their machine code is kept."""

    def __init__(self, *sources: Path) -> None:
        self._sources = (Path(__file__), *sources)

    @cached_property
    def folder(self) -> Path:
        """The folder for the present sources and the compiler's version; not made here."""
        found = hashlib.sha256(version("numba").encode())
        for source in self._sources:
            found.update(source.read_bytes())
        return KEPT_IN / found.hexdigest()[:16]

    def compiled(self, function: F) -> F:
        """The function as machine code; it runs beside other threads. It is compiled when first called."""
        return cast(F, self._dispatcher(function, _WITHOUT_ARRAYS))

    def compiled_with_arrays(self, function: F) -> F:
        """The same for a function that makes arrays of its own."""
        return cast(F, self._dispatcher(function, _WITH_ARRAYS))

    def compiled_for(self, *arguments: Any) -> Callable[[F], F]:
        """The same for arguments of these numba types alone: compiled here, or loaded; no call ever compiles."""

        def make(function: F) -> F:
            dispatcher = self._dispatcher(function, _WITHOUT_ARRAYS)
            dispatcher.compile(arguments)
            dispatcher.disable_compile()
            return cast(F, dispatcher)

        return make

    def _dispatcher(self, function: Callable[..., Any], options: Mapping[str, bool]) -> Any:
        import numba

        njit: Any = numba.njit  # `_nrt` is not among its typed options
        dispatcher = njit(**options)(function)
        dispatcher._cache = _cache_in(self.folder)(function)
        return dispatcher

    @property
    def is_ready(self) -> bool:
        """Whether `set_ready` was called for the present sources."""
        return (self.folder / READY).exists()

    def set_ready(self) -> None:
        """Note that everything has been compiled."""
        if self.folder.exists():  # not where it cannot be written
            with suppress(OSError):
                (self.folder / READY).touch()


def remove_old(used: Iterable[MachineCode]) -> None:
    """Remove code of other versions that nobody has made anew for a month."""
    folders = {one.folder for one in used}
    for other in KEPT_IN.iterdir() if KEPT_IN.exists() else ():
        if other not in folders and time.time() - other.stat().st_mtime > UNUSED_AFTER_S:
            shutil.rmtree(other, ignore_errors=True)


def _cache_in(folder: Path) -> Any:
    """numba's cache, in this folder alone; where it cannot be written, what is there is read all the same."""
    from numba.core import caching

    class Locator(caching.UserProvidedCacheLocator):
        def __init__(self, function: Callable[..., Any], source: str) -> None:
            super().__init__(function, source)  # type: ignore[no-untyped-call]
            self._cache_path = str(folder / Path(source).stem)

        def ensure_cache_path(self) -> None:
            with suppress(OSError):
                os.makedirs(self._cache_path, exist_ok=True)

        from_function = classmethod(lambda cls, function, source: cls(function, source))

    class Files(caching.CompileResultCacheImpl):
        _locator_classes = [Locator]

    class Cache(caching.FunctionCache):
        _impl_class = Files

        def load_overload(self, sig: Any, target_context: Any) -> Any:
            with suppress(OSError):
                return super().load_overload(sig, target_context)  # type: ignore[no-untyped-call]
            return None

        def save_overload(self, sig: Any, data: Any) -> None:
            with suppress(OSError):
                super().save_overload(sig, data)  # type: ignore[no-untyped-call]

    return Cache
