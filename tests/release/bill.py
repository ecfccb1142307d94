"""The bill of materials in CycloneDX 1.6: each file and package with its SHA-256 and licence."""

import json
import tomllib
import uuid
from collections.abc import Sequence
from typing import Any

from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator

from tests.release.shipped import REPOSITORY, Package, Part, ShippedFile

Component = dict[str, Any]


def of(files: Sequence[ShippedFile], packages: Sequence[Package]) -> dict[str, Any]:
    """The whole bill. It has no time in it, and its number follows from its parts: what is the same
    release has the same bill."""
    components = [_file(each) for each in files] + [_package(each) for each in packages]
    number = uuid.uuid5(uuid.NAMESPACE_OID, json.dumps(components, sort_keys=True))
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "serialNumber": f"urn:uuid:{number}",
        "version": 1,
        "metadata": {"component": _fledge()},
        "components": components,
        "dependencies": [{"ref": "fledge", "dependsOn": [_ref(each) for each in packages]}],
    }


def fault(text: str) -> str | None:
    """What CycloneDX's own schema has against it."""
    found = JsonStrictValidator(SchemaVersion.V1_6).validate_str(text)
    return None if found is None else str(found)


def _fledge() -> Component:
    project = tomllib.loads((REPOSITORY / "pyproject.toml").read_text())["project"]
    return {
        "type": "application",
        "bom-ref": "fledge",
        "name": "fledge",
        "version": project["version"],
        "licenses": [{"expression": project["license"]}],
    }


def _package(package: Package) -> Component:
    """It is hashed file by file: which archive it was unpacked from is not kept by an installer."""
    within = [_part(each) for each in package.parts] + [_file(each) for each in package.files]
    return {
        "type": "library",
        "bom-ref": _ref(package),
        "name": package.name,
        "version": package.version,
        "purl": _ref(package),
        "licenses": _licences(package.licence),
        "components": within,
    }


def _ref(package: Package) -> str:
    return f"pkg:pypi/{package.name}@{package.version}"


def _part(part: Part) -> Component:
    version = {"version": part.version} if part.version else {}
    return {"type": "library", "name": part.name, **version, "licenses": _licences(part.licence)}


def _file(file: ShippedFile) -> Component:
    return {
        "type": "file",
        "name": file.path,
        "hashes": [{"alg": "SHA-256", "content": file.sha256}],
        "licenses": _licences(file.licence),
    }


def _licences(licence: str | None) -> list[dict[str, str]]:
    return [] if licence is None else [{"expression": licence}]
