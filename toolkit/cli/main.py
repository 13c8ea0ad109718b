"""Entry of the command: from arguments to an exit code, never to a traceback."""

from __future__ import annotations

import logging
import os
import sys
import warnings
from collections.abc import Sequence

from toolkit.cli.parser import build_parser
from toolkit.errors import StoreError, StudyError

__all__ = ["main"]

FINE, FAILED, BAD_INPUT, STORE_DOES_NOT_FIT, STOPPED = 0, 1, 2, 3, 130
"""Exit codes; the help text of the command says them."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the name of the command; those of the process unless given.

    Returns
    -------
    int
        0 fine, 1 anything else, 2 problems of input, 3 a store or file
        that does not fit, 130 stopped by Ctrl-C. With TOWAGE_DEBUG=1 an unexpected error
        keeps its traceback.
    """
    with warnings.catch_warnings():
        warnings.showwarning = _show_warning
        # missing values are ordinary; xarray passes this over itself, but not where two threads do so at once
        warnings.filterwarnings("ignore", "All-NaN (slice|axis) encountered", RuntimeWarning)
        # of several files of a store that cannot be read the first is told; the rest would come as tracebacks
        logging.getLogger("asyncio").setLevel(logging.CRITICAL)
        try:
            options = build_parser().parse_args(arguments)
            options.process_is_ours = arguments is None
            options.verb(options)
            sys.stdout.flush()
        except StudyError as error:
            return _say(str(error), BAD_INPUT)
        except StoreError as error:
            return _say(str(error), STORE_DOES_NOT_FIT)
        except KeyboardInterrupt as stop:
            code = _say("\n".join(["Stopped.", *getattr(stop, "__notes__", ())]), STOPPED)
            if arguments is None:  # the process is ours: leave blocks in work that the user did not wait for
                os._exit(code)
            return code
        except BrokenPipeError:
            # the reader of our output has read enough; nothing more can be written, not even at exit
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        except OSError as error:
            if not error.filename:
                return _unforeseen(error)
            remedy = "Check the name, the rights and the room there"
            return _say(f"{error.filename}: {error.strerror or error}. {remedy}.", STORE_DOES_NOT_FIT)
        except Exception as error:
            return _unforeseen(error)
    return FINE


def _unforeseen(error: Exception) -> int:
    """Tell an error that nobody foresaw in one line, or raise it where somebody wants to see it all."""
    if os.environ.get("TOWAGE_DEBUG") == "1":
        raise error
    told = (str(error).strip().splitlines() or ["no further word"])[0]
    return _say(f"{type(error).__name__}: {told} (set TOWAGE_DEBUG=1 for more)", FAILED)


def _say(text: str, code: int) -> int:
    print(f"towage: {text}", file=sys.stderr)
    return code


def _show_warning(message: Warning | str, *_: object, **__: object) -> None:
    print(f"towage: warning: {message}", file=sys.stderr)
