"""The built-in example: an order at a winter fair, for a cat's portrait at two sizes."""

from __future__ import annotations

import dataclasses
from importlib.resources import files
from pathlib import Path

from shadowrout.errors import SettingError
from shadowrout.files.save import folder, save
from shadowrout.job import job_file
from shadowrout.job.options import Job

_PICTURE = "chelsea.png"


def example_in(out: Path) -> Job:
    """Return the example's job, with its picture laid into ``out``.

    The picture is "Chelsea the cat" by Stefan van der Walt, CC0, as scikit-image ships it. Raises
    SettingError where another picture of its name lies there.
    """
    picture = folder(out) / _PICTURE
    content = (files("skimage") / "data" / _PICTURE).read_bytes()
    if not (picture.is_file() and picture.read_bytes() == content):
        if picture.exists():
            raise SettingError("--out", f"{picture} is another picture of this name; name another folder")
        save(picture, content)
    text = (files("shadowrout.make") / "example" / "job.toml").read_text(encoding="utf-8")
    job = job_file.from_text(text, name="the example")
    return dataclasses.replace(job, picture=dataclasses.replace(job.picture, file=picture))
