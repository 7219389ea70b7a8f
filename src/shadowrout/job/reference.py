"""The job file reference, a Markdown page made from the declared settings.

``python -m shadowrout.job.reference`` prints it; ``docs/job-file.md`` holds it.
"""

from __future__ import annotations

import inspect
import sys

from shadowrout.job.options import TABLES
from shadowrout.job.schema import JobTable, Setting, settings_of

_INTRODUCTION = """# The job file

A job file says what to make of a picture. It is a text file in TOML. Only the picture must be named; every other
key may be left out. `shadowrout start PHOTO` writes one with a comment over each key, and the `job.toml` among the
results holds every setting as it was used. This one makes two plaques, with two cutters, and a stencil for each:

    [picture]
    file = "rex.jpg"                # looked for in the job file's folder

    [[plaque]]
    name = "mantel"
    size = "200x250mm"
    wood = "sugar maple"

    [[plaque]]
    name = "desk"
    size = '5 x 7"'                 # single quotes where the text has inch marks

    [[cutter]]
    diameter = "6mm"

    [[cutter]]
    diameter = "3mm"

    [output]
    files = ["carve", "pattern", "preview", "stencil"]

A length is a text with a unit, as people write it (`"200mm"`, `"20cm"`, `"8 1/2in"`, `"3/8in"`), or a plain number of
millimetres; a fraction needs its unit. Where the files' unit is the inch, `make` says of each plain number how it was
read. A share is a number from 0 to 1. Headings in double brackets may come several times: one `[[plaque]]` for each
board to make, one `[[cutter]]` for each cutter, the largest first; 200 of each at most, in a file of at most 250 kB.

Every key but the picture's file has a flag of the same meaning for `shadowrout make`. `--size`, `--name`,
`--board-wood` and `--board-coats` may come once for each plaque, `--cutter` once for each cutter; other flags hold for
all plaques or cutters.
"""


def page() -> str:
    """Return the whole page."""
    return "\n".join([_INTRODUCTION, *map(_table, TABLES)])


def _table(table: JobTable) -> str:
    about = inspect.cleandoc(table.section.__doc__ or "")
    lines = [
        f"## `{table.in_brackets}`",
        "",
        about,
        "",
        "| key | flag | what it does | may be | default |",
        "| --- | --- | --- | --- | --- |",
        *map(_row, settings_of(table.section)),
    ]
    return "\n".join(lines) + "\n"


def _row(declared: Setting) -> str:
    flag = "" if declared.flag == "--file" else f"`{declared.flag}`"
    default = declared.when_unset if declared.default is None else f"`{declared.kind.write(declared.default)}`"
    return f"| `{declared.name}` | {flag} | {declared.about} | {declared.kind.allowed} | {default} |"


if __name__ == "__main__":
    sys.stdout.write(page())
