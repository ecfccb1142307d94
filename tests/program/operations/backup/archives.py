"""Archives changed by hand."""

import io
import tarfile
from collections.abc import Callable


def rewritten(content: bytes, change: Callable[[str, bytes], bytes | None]) -> bytes:
    """The same archive with some of its members changed: to other bytes, or to None for none."""
    target = io.BytesIO()
    with (
        tarfile.open(fileobj=io.BytesIO(content)) as old,
        tarfile.open(fileobj=target, mode="w") as new,
    ):
        for member in old.getmembers():
            changed = change(member.name, old.extractfile(member).read())
            if changed is not None:
                member.size = len(changed)
                new.addfile(member, io.BytesIO(changed))
    return target.getvalue()
