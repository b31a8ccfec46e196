"""Writing a result folder whole: made beside the old one, then put in its place; other people's files stay."""

import hashlib
import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from woodshop.errors import InputError, Problem

MANIFEST = "manifest.json"
MANIFEST_FORMAT = "woodshop-manifest/1"


def write_folder(folder: Path, files: dict[str, bytes]) -> None:
    """Put these files, by their path in it, into the folder, together with a manifest of their hashes.

    What the folder's last manifest lists is replaced or removed; every other file in it is left as it is.
    A file in the way that is not ours, or a folder that cannot be written, raises InputError and changes nothing.
    """
    folder = folder.absolute()
    files = dict(sorted(files.items()))
    files[MANIFEST] = _manifest(files)
    foreign = _foreign(folder, files)
    fresh: Path | None = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{folder.name}.new-", dir=folder.parent))
        for name, data in files.items():
            target = fresh / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
        for name in foreign:
            target = fresh / name
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(folder / name, target, follow_symlinks=False)
        fresh.chmod(0o777 & ~_umask())
        _exchange(fresh, folder)
    except OSError as why:
        raise InputError(
            Problem(str(folder), f"a folder that cannot be written ({why.strerror or why})", "a folder to write to",
                    "Choose another with --out, or check its rights and the free space.")
        ) from why  # fmt: skip
    finally:
        if fresh is not None and fresh.exists():
            shutil.rmtree(fresh)


def _manifest(files: dict[str, bytes]) -> bytes:
    hashes = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    return json_bytes({"format": MANIFEST_FORMAT, "sha256": hashes})


def json_bytes(value: Any) -> bytes:
    """Readable JSON, one way only: the same values give the same bytes."""
    return (json.dumps(value, indent=1, ensure_ascii=False) + "\n").encode("utf-8")


def _foreign(folder: Path, files: dict[str, bytes]) -> list[str]:
    """What stands in the folder and is not ours. Raises InputError when it is in the way."""
    if not folder.exists():
        return []
    if not folder.is_dir():
        raise InputError(Problem(str(folder), "a file of that name", "a folder", "Choose another with --out."))
    ours = _listed(folder)
    there = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_symlink() or not p.is_dir())
    foreign = [name for name in there if name not in ours]
    blocked = [name for name in foreign if name in files]
    if blocked:
        raise InputError(
            Problem(
                str(folder / blocked[0]),
                "a file that no earlier run of ours wrote",
                "a folder without it",
                "Move it away, or choose another folder with --out.",
            )
        )
    return foreign


def _listed(folder: Path) -> set[str]:
    """What the folder's manifest says is ours, and the manifest itself; nothing when it cannot be read."""
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        if manifest["format"] != MANIFEST_FORMAT:
            return set()
        return {*manifest["sha256"], MANIFEST}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def _exchange(fresh: Path, folder: Path) -> None:
    """Put the fresh folder in the old one's place; if that fails half way, put the old one back."""
    if not folder.exists():
        fresh.rename(folder)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.old-", dir=folder.parent))
    old = aside / "old"
    try:
        folder.rename(old)
        try:
            fresh.rename(folder)
        except OSError:
            old.rename(folder)
            raise
    finally:
        shutil.rmtree(aside)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
