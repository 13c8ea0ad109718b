"""Registry of the scalar functions that the engine compiles.

Physics is written once, as plain scalar Python functions marked with
:func:`kernel`. Importing them never imports numba, so a study can be checked
and a load can be unit-tested without a compiler. :func:`compiled` makes the
machine-code twin of a registered function, in which every call to another
registered function is inlined, so that a loop over lanes of cases can be
vectorised (see the chapter on the kernel in the developers' guide).
"""

from __future__ import annotations

import dis
import hashlib
import os
import types
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

__all__ = [
    "build",
    "cache_folder",
    "cache_root",
    "compiled",
    "kernel",
    "outlined",
    "separate",
    "source_hash",
    "with_wide_vectors",
]

F = TypeVar("F", bound=Callable[..., Any])

COMPILED_PARTS = ("kernels.py", "quantities/outcomes.py", "loads", "motion")
"""Where kernels take their code and constants from."""

OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}
"""How every kernel is compiled. No run time of numba's: none allocates, and to count references to the arrays, in
instructions that lock the bus, at each of some hundred calls a tick took a fifth of the engine's time."""

_REGISTRY: dict[Callable[..., Any], None] = {}


def kernel(function: F) -> F:
    """Register a plain scalar function as compilable and return it unchanged."""
    _REGISTRY[function] = None
    return function


_OUTLINED: set[Callable[..., Any]] = set()


def outlined(function: F) -> F:
    """Register a function that is compiled once and called, where `kernel` would have it inlined at every call.

    For what is done at a look or a tick, not in every step: it keeps the time
    to compile short.
    """
    _OUTLINED.add(function)
    return kernel(function)


_SEPARATE: set[Callable[..., Any]] = set()


def separate(function: F) -> F:
    """Register a function that is compiled by itself and kept in the cache by itself, whoever calls it.

    For the large parts of the engine: two processes can compile them at once,
    and what calls one of them from Python shares it with the engine.
    """
    _SEPARATE.add(function)
    return kernel(function)


def source_hash(parts: tuple[str, ...] = COMPILED_PARTS) -> str:
    """Hash of the source text of parts of this package.

    Parameters
    ----------
    parts : tuple of str
        Modules and subpackages below `toolkit`; by default all that a kernel
        can take code or constants from.

    Returns
    -------
    str
        16 hexadecimal digits. numba's own disk cache looks only at the file of
        the outermost function and would miss an edit in a helper or in a
        module of constants, so the cache folder carries this hash in its name.
    """
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for part in parts:
        place = root / part
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def cache_root() -> Path:
    """Folder of all that this package keeps on a machine; it need not be there yet.

    ``TOWAGE_CACHE_DIR`` overrides the default, ``towage-envelope`` below
    ``$XDG_CACHE_HOME`` or ``~/.cache``.
    """
    root = os.environ.get("TOWAGE_CACHE_DIR")
    if root:
        return Path(root)
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "towage-envelope"


_LOADED = source_hash()
"""The hash of the sources this process has loaded: taken now, since an edit made before the first compilation
would else put the code of old sources under the name of new ones."""


def cache_folder() -> Path:
    """Folder of the compiled kernels below :func:`cache_root`, readable by its owner alone."""
    folder = cache_root() / f"kernels-{_LOADED}"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    folder.chmod(0o700)
    return folder


def with_wide_vectors() -> None:
    """Ask the compiler, from within a kernel, to work that kernel's loops in the widest vectors there are.

    Without it only half of a 512-bit unit is used, a guard against processors
    long out of use that slow down under full load. Where there are none it
    changes nothing; nor does it ever change a bit of what is computed.
    """


@cache
def _wide_vectors() -> Callable[..., Any]:
    """What stands for `with_wide_vectors` in a kernel that is compiled: a mark on the function it is called in."""
    from numba.core import types as numba_types
    from numba.extending import intrinsic

    def mark(typingctx: Any) -> Any:
        def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            # past the builder's own list of attributes, which knows only those of one word
            set.add(builder.function.attributes, '"prefer-vector-width"="512"')
            for each in builder.function.args:
                if each.type.is_pointer:
                    each.add_attribute("noalias")
            return context.get_dummy_value()

        return numba_types.none(), generate

    marked: Callable[..., Any] = intrinsic(mark)
    return marked


@cache
def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """Machine-code twin of a registered function.

    Parameters
    ----------
    function : callable
        A function marked with :func:`kernel`, called with arrays and numbers.

    Returns
    -------
    callable
        The numba dispatcher; it compiles at the first call, or loads the code
        from :func:`cache_folder`, and releases the interpreter lock.

    Raises
    ------
    KeyError
        If the function is not registered.
    """
    if function not in _REGISTRY:
        raise KeyError(f"{function.__qualname__} is not marked as a kernel")
    import numba

    settings: Any = numba.config
    before = settings.CACHE_DIR
    settings.CACHE_DIR = str(cache_folder())
    try:
        made: Callable[..., Any] = numba.njit(cache=True, **OPTIONS)(_rebound(function))
        return made
    finally:
        settings.CACHE_DIR = before


def build(function: Callable[..., Any], *kinds: str) -> None:
    """Compile a registered function for arguments of given kinds now, or load it from the cache.

    Parameters
    ----------
    function : callable
        As for :func:`compiled`.
    *kinds : str
        Of each argument: ``row`` or ``table``, arrays of one and two dimensions in order of memory, ``number`` or
        ``whole``, ``wholes``, a row of them, or ``work``, a kernel of four rows and a whole number.
    """
    import numba

    row = numba.float64[::1]
    types_of = {
        "row": row, "table": numba.float64[:, ::1], "number": numba.float64, "whole": numba.int64,
        "wholes": numba.int64[::1],
        "work": numba.types.FunctionType(numba.types.void(row, row, row, row, numba.int64)),
    }  # fmt: skip
    dispatcher: Any = compiled(function)
    dispatcher.compile(tuple(types_of[kind] for kind in kinds))


@cache
def _inner(function: Callable[..., Any]) -> Callable[..., Any]:
    if function in _SEPARATE:
        return compiled(function)
    import numba

    # called by kernels alone: no doors for Python or C, which would be compiled for each of some hundred functions
    options = {**OPTIONS, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    inner: Callable[..., Any] = numba.njit(forceinline=function not in _OUTLINED, **options)(_rebound(function))
    return inner


def _as_compiled(value: Any) -> Any:
    """What a global of a kernel is replaced by for the compiler: kernels by compiled ones, rows by constants."""
    if value is with_wide_vectors:
        return _wide_vectors()
    if isinstance(value, types.FunctionType) and value in _REGISTRY:
        return _inner(value)
    if isinstance(value, tuple) and hasattr(value, "_fields"):
        return _constants(value)
    return value


@cache
def _constants(rows: Any) -> types.ModuleType:
    """Named tuple of row numbers as a module, whose attributes the compiler takes for constants.

    A tuple it would build anew, all of it, wherever one of its fields is named.
    """
    module = types.ModuleType(type(rows).__name__)
    for name, value in zip(rows._fields, rows, strict=True):
        setattr(module, name, value)
    return module


def _rebound(function: Callable[..., Any]) -> Callable[..., Any]:
    """Copy of a function whose references to other kernels are compiled ones."""
    names = function.__globals__
    used = {each.argval for each in dis.get_instructions(function) if each.opname == "LOAD_GLOBAL"}
    bound = {key: _as_compiled(value) for key, value in names.items() if key in used or key.startswith("__")}
    twin = types.FunctionType(function.__code__, bound, function.__name__, function.__defaults__)
    twin.__qualname__ = function.__qualname__
    twin.__module__ = function.__module__
    twin.__doc__ = function.__doc__
    return twin
