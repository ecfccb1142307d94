"""What is shipped: our own files, and the packages that the image installs."""

import base64
import hashlib
import json
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.release.licence_tables import (
    LICENCE_OF_CRATE,
    LICENCE_OF_PACKAGE,
    LICENCE_OF_VENDORED,
    WITHIN_WHEELS,
)

REPOSITORY = Path(__file__).resolve().parents[2]
NEVER_SHIPPED = {
    "__pycache__",
    "INSTALLER",
    "RECORD",
    "REQUESTED",
}  # the installer's own, made here
LIBRARY_OF_A_WHEEL = re.compile(r"^[\w.]+\.libs/(?P<name>.+?)(-[0-9a-f]{8})+\.so")


@dataclass(frozen=True)
class ShippedFile:
    """A file with its SHA-256 in hexadecimal, and what it is under (None: nobody has said)."""

    path: str
    sha256: str
    licence: str | None


@dataclass(frozen=True)
class Part:
    """What a wheel carries of others' work."""

    name: str
    version: str
    licence: str | None


@dataclass(frozen=True)
class Package:
    """An installed distribution.

    Its files' hashes are those of its RECORD, which the wheel brought along: what its maker built,
    for the platform of whoever makes the release.
    """

    name: str
    version: str
    licence: str | None
    files: tuple[ShippedFile, ...]
    parts: tuple[Part, ...]


def packages() -> list[Package]:
    """What a club may install: Fledge's own requirements with its extras, and theirs."""
    return [_package(each) for _, each in sorted(_distributions(with_extras=True).items())]


def names_without_extras() -> set[str]:
    """What the image installs."""
    return set(_distributions(with_extras=False))


def own_files() -> list[ShippedFile]:
    """Every file that the Dockerfile copies: Fledge itself, and what lies in static/vendor."""
    return [
        ShippedFile(name, hashlib.sha256(path.read_bytes()).hexdigest(), licence_of_own(name))
        for name, path in sorted(_copied())
    ]


def licence_of_own(name: str) -> str | None:
    if not name.startswith("static/vendor/"):
        return "Apache-2.0"
    for start, licence in LICENCE_OF_VENDORED.items():
        if name.startswith(start):
            return licence
    return None


def altered(package: Package) -> list[str]:
    """Files that are not as their RECORD says."""
    distribution = metadata.distribution(package.name)
    return [
        f"{package.name}: {each.path}"
        for each in package.files
        if hashlib.sha256(distribution.locate_file(each.path).read_bytes()).hexdigest()  # type: ignore[attr-defined]
        != each.sha256
    ]


def _copied() -> Iterator[tuple[str, Path]]:
    for line in (REPOSITORY / "Dockerfile").read_text().splitlines():
        word, *sources = line.split()[:-1] or [""]
        for source in sources if word == "COPY" else []:
            for path in _files_of(REPOSITORY / source):
                yield str(path.relative_to(REPOSITORY)), path


def _files_of(path: Path) -> Iterator[Path]:
    if path.is_file():
        yield path
    for each in path.rglob("*"):
        if each.is_file() and not NEVER_SHIPPED & set(each.parts):
            yield each


def _distributions(*, with_extras: bool) -> dict[str, metadata.Distribution]:
    found: dict[str, metadata.Distribution] = {}
    waiting = _own_requirements(with_extras=with_extras)
    asked: set[tuple[str, frozenset[str]]] = set()
    while waiting:
        requirement = waiting.pop()
        name = canonicalize_name(requirement.name)
        if (name, frozenset(requirement.extras)) in asked:
            continue
        asked.add((name, frozenset(requirement.extras)))
        found[name] = metadata.distribution(name)
        waiting += _required_by(found[name], requirement.extras)
    return found


def _own_requirements(*, with_extras: bool) -> list[Requirement]:
    project = tomllib.loads((REPOSITORY / "pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"].values() if with_extras else []
    return [Requirement(each) for each in sum(extras, project["dependencies"])]


def _required_by(distribution: metadata.Distribution, extras: set[str]) -> list[Requirement]:
    required = [Requirement(each) for each in distribution.requires or []]
    return [each for each in required if _is_meant(each, extras)]


def _is_meant(requirement: Requirement, extras: set[str]) -> bool:
    marker = requirement.marker
    return marker is None or any(marker.evaluate({"extra": each}) for each in {"", *extras})


def _package(distribution: metadata.Distribution) -> Package:
    name = canonicalize_name(distribution.name)
    licence = distribution.metadata.get("License-Expression") or LICENCE_OF_PACKAGE.get(name)
    files = tuple(_recorded(distribution, licence))
    parts = (*_libraries(name, files), *_crates(distribution))
    return Package(name, distribution.version, licence, files, parts)


def _recorded(distribution: metadata.Distribution, licence: str | None) -> Iterator[ShippedFile]:
    for path in distribution.files or []:
        if path.hash is None or NEVER_SHIPPED & set(path.parts) or ".." in path.parts:
            continue  # a program in bin/ is written by the installer
        digest = base64.urlsafe_b64decode(path.hash.value + "=").hex()
        yield ShippedFile(str(path), digest, licence)


def _libraries(name: str, files: tuple[ShippedFile, ...]) -> Iterator[Part]:
    """Those that a wheel's maker put in beside it, and those that we know to be built into it."""
    known = WITHIN_WHEELS.get(name, {})
    beside = {m["name"] for each in files if (m := LIBRARY_OF_A_WHEEL.match(each.path))}
    for library in sorted(beside | known.keys()):
        yield Part(library, "", known.get(library))


def _crates(distribution: metadata.Distribution) -> Iterator[Part]:
    """What was built into it, where the wheel has a bill of its own for that (PEP 770)."""
    for path in distribution.files or []:
        if path.parts[-2:-1] == ("sboms",):
            bill = json.loads(path.locate().read_text())
            for each in bill.get("components", []):
                if str(each.get("purl", "")).startswith("pkg:cargo/"):
                    yield Part(each["name"], each["version"], _stated(each))


def _stated(crate: dict[str, Any]) -> str | None:
    said = next((each.get("expression") for each in crate.get("licenses", [])), None)
    return said or LICENCE_OF_CRATE.get(crate["name"])
