"""Which licences go with Apache-2.0, and whether all that is shipped is under one of them."""

from collections.abc import Iterator, Sequence
from typing import Any, Final

from license_expression import get_spdx_licensing

from tests.release.shipped import Package, ShippedFile

# Those that may be shipped beside Apache-2.0, and why.
_KEEP_THE_NOTICE = "asks for its notice to be kept, no more"
ALLOWED: Final = {
    "Apache-2.0": "our own",
    "Apache-2.0 WITH LLVM-exception": "our own, and less asked",
    "0BSD": "asks for nothing",
    "CC0-1.0": "asks for nothing",
    "Unlicense": "asks for nothing",
    "BSD-1-Clause": _KEEP_THE_NOTICE,
    "BSD-2-Clause": _KEEP_THE_NOTICE,
    "BSD-2-Clause-Patent": _KEEP_THE_NOTICE,
    "BSD-3-Clause": _KEEP_THE_NOTICE,
    "BSD-3-Clause-Clear": _KEEP_THE_NOTICE,
    "BSD-Attribution-HPND-disclaimer": "asks for a line of thanks in what is passed on",
    "FTL": "asks for a line of thanks in what is passed on",
    "IJG": "asks for a line of thanks in what is passed on",
    "ISC": _KEEP_THE_NOTICE,
    "MIT": _KEEP_THE_NOTICE,
    "MIT-0": "asks for nothing",
    "MIT-CMU": _KEEP_THE_NOTICE,
    "OLDAP-2.8": _KEEP_THE_NOTICE,
    "PSF-2.0": _KEEP_THE_NOTICE,
    "PostgreSQL": _KEEP_THE_NOTICE,
    "Unicode-3.0": _KEEP_THE_NOTICE,
    "Unicode-DFS-2016": _KEEP_THE_NOTICE,
    "ZPL-2.1": _KEEP_THE_NOTICE,
    "Zlib": _KEEP_THE_NOTICE,
    "libpng-2.0": _KEEP_THE_NOTICE,
    "libtiff": _KEEP_THE_NOTICE,
    "OFL-1.1": "a font that is not sold by itself; its text lies beside it",
    "MPL-2.0": "holds file by file, and its files are shipped unchanged",
    "LGPL-2.0-or-later": "a library of its own that whoever has it can exchange",
    "LGPL-2.1-or-later": "a library of its own that whoever has it can exchange",
    "LGPL-3.0-only": "a library of its own that whoever has it can exchange",
    "LGPL-3.0-or-later": "a library of its own that whoever has it can exchange",
}

# Each for one library alone: another under the same licence is still refused.
_FETCHED = (
    "not in this repository: whoever installs fetches it within the wheel of av. It goes with "
    "Apache-2.0 as GPL-3.0: whoever passes on an image with it passes that on under GPL-3.0, and "
    "says where the sources are"
)
ALLOWED_HERE_ONLY: Final = {
    ("av", "libx264", "GPL-2.0-or-later"): _FETCHED,
    ("av", "libx265", "GPL-2.0-or-later"): _FETCHED,
}

_SPDX = get_spdx_licensing()


def refused(files: Sequence[ShippedFile], packages: Sequence[Package]) -> list[str]:
    """What may not be shipped, in words."""
    return [
        f"{what} is under {licence or 'nothing that is known'}"
        for what, licence, why in _looked_at(files, packages)
        if why is None
    ]


def page(files: Sequence[ShippedFile], packages: Sequence[Package]) -> str:
    """Every licence, what is under it, and why it goes with ours."""
    under: dict[tuple[str, str], list[str]] = {}
    for what, licence, why in _looked_at(files, packages):
        under.setdefault((licence or "unknown", why or "REFUSED"), []).append(what)
    return "\n".join(
        f"{licence}\n  {why}\n" + "".join(f"    {what}\n" for what in names)
        for (licence, why), names in sorted(under.items())
    )


def goes_with_ours(licence: str | None) -> bool:
    """Whether an SPDX expression can be met by allowed licences alone; what is unknown cannot."""
    return licence is not None and _met(_SPDX.parse(licence))


def _looked_at(
    files: Sequence[ShippedFile], packages: Sequence[Package]
) -> Iterator[tuple[str, str | None, str | None]]:
    """What it is, its licence, and why that goes with ours (None: it does not)."""
    for file in files:
        yield file.path, file.licence, _reason(file.licence)
    for package in packages:
        yield package.name, package.licence, _reason(package.licence)
        for part in package.parts:
            here = ALLOWED_HERE_ONLY.get((package.name, part.name, part.licence or ""))
            reason = _reason(part.licence) or here
            yield f"{package.name}: {part.name}", part.licence, reason


def _reason(licence: str | None) -> str | None:
    if not goes_with_ours(licence):
        return None
    named = [str(each) for each in _SPDX.license_symbols(licence, decompose=False)]
    return "; ".join(dict.fromkeys(ALLOWED[each] for each in named if each in ALLOWED))


def _met(expression: Any) -> bool:
    if isinstance(expression, _SPDX.OR):
        return any(_met(each) for each in expression.args)
    if isinstance(expression, _SPDX.AND):
        return all(_met(each) for each in expression.args)
    return str(expression) in ALLOWED
