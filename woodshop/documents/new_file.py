"""Writing one new file where a person asked for it, and never over another."""

from pathlib import Path

from woodshop.errors import InputError, Problem


def write_new(path: Path, data: bytes, what: str) -> None:
    """Put `data` into a new file; `what` names it in messages.

    Raises InputError when something of that name is there already, or when it cannot be written; then nothing
    of it is left behind.
    """
    try:
        with path.open("xb") as file:
            try:
                file.write(data)
            except OSError:
                path.unlink(missing_ok=True)
                raise
    except FileExistsError:
        raise InputError(
            Problem(str(path), "a name that is taken", f"a new name for {what}", "Give another, or move that one away.")
        ) from None
    except (OSError, ValueError) as why:
        reason = (why.strerror if isinstance(why, OSError) else None) or str(why)
        raise InputError(
            Problem(str(path), f"a file that cannot be written ({reason})", "a place to write", "Choose another.")
        ) from why
