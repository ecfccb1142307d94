"""`uv run python -m tests.release FOLDER`: the papers of a release.

fledge.cdx.json   every file and package that is shipped, with its SHA-256 and its licence
licences.txt      which licences those are, why they go with ours, and what they ask
weaknesses.txt    what is known against the packages, or that nobody could be asked

Status 0: all of it is well. 1: something is refused: a licence, an altered file, a known weakness.
3: nothing is refused, but not everything could be asked about.
"""

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.release import audit, bill, licences, shipped

WELL, REFUSED, UNASKED = 0, 1, 3


def main(arguments: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(description="Write the papers of a release into a folder.")
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args(arguments).folder
    folder.mkdir(parents=True, exist_ok=True)
    files, packages = shipped.own_files(), shipped.packages()

    text = json.dumps(bill.of(files, packages), indent=1) + "\n"
    (folder / "fledge.cdx.json").write_text(text)
    (folder / "licences.txt").write_text(licences.page(files, packages))
    refused = [line for each in packages for line in shipped.altered(each)]
    refused = [f"not as its maker built it: {line}" for line in refused]
    refused += licences.refused(files, packages)
    if fault := bill.fault(text):
        refused.append(f"the bill is not valid: {fault}")

    asked = audit.of(packages)
    (folder / "weaknesses.txt").write_text(_weaknesses(asked, len(packages)))
    refused += asked.weak
    print(f"{len(files)} files of our own, {len(packages)} packages")
    print(_weaknesses(asked, len(packages)), end="")
    for line in refused:
        print(f"refused: {line}")
    if refused:
        return REFUSED
    return UNASKED if asked.unasked else WELL


def _weaknesses(asked: audit.Audit, among: int) -> str:
    lines = [*asked.weak]
    if asked.unasked:
        lines.append(
            f"The audit was NOT DONE for {len(asked.unasked)} of {among} packages: pip-audit could "
            f"not reach its data about {', '.join(asked.unasked)}. Run this where it can."
        )
    elif not asked.weak:
        lines.append(f"pip-audit knows nothing against any of {among} packages.")
    return "".join(f"{line}\n" for line in lines)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
