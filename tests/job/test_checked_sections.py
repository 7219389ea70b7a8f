"""A section is checked when it is made, by whatever way: what it takes, what it holds, what it refuses and how."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shadowrout.errors import SettingError
from shadowrout.job import job_file
from shadowrout.job.job_unit import bare_lengths
from shadowrout.job.options import TABLES, Cutter, Finish, Job, Output, Picture, Plaque, ToneOptions, VTool
from shadowrout.job.schema import JobTable, Setting, settings_of
from shadowrout.job.sheet_options import PatternOptions, StencilOptions
from shadowrout.job.shop import Shop
from shadowrout.words.units import Bare, Sides

SETTINGS = [(table, declared) for table in TABLES for declared in settings_of(table.section)]

ANYTHING = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**400), 10**400),
    st.floats(),
    st.text(max_size=12),
    st.lists(st.one_of(st.integers(0, 9), st.text(max_size=3)), max_size=4),
    st.tuples(st.floats(0, 300), st.floats(0, 300)),
    st.sampled_from([object(), {"a": 1}, b"3mm", "3mm", '1/8"', "8x10in", "true", "carve", Path("cat.jpg")]),
)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: Cutter(diameter=-3),
            "cutter.diameter: -3 can't be used (too small); give a length from 0.5mm to 50mm",
        ),
        (lambda: Cutter(diameter="wide"), "cutter.diameter: 'wide' can't be used (not a length); give a length"),
        (lambda: Cutter(diameter=None), "cutter.diameter: None can't be used (not a length)"),
        (lambda: Cutter(diameter=True), "cutter.diameter: True can't be used (not a length)"),
        (lambda: Cutter(depth=float("nan")), "cutter.depth: nan can't be used (not a number)"),
        (lambda: Plaque(margin=10**400), "plaque.margin: 1000"),
        (lambda: Plaque(thickness=0.75), "plaque.thickness: 0.75 can't be used (too small, read as millimetres: for"),
        (lambda: Plaque(size=200), "plaque.size: 200 can't be used (not a size); give width x height"),
        (lambda: Plaque(size=(200, "250")), "plaque.size: (200, '250') can't be used (not a size)"),
        (lambda: Plaque(size=(200, 2500)), "plaque.size: (200, 2500) can't be used (too large)"),
        (lambda: Plaque(name="../up"), "plaque.name: '../up' can't be used"),
        (
            lambda: Plaque(shape="ovel"),
            "plaque.shape: 'ovel' can't be used (not among the choices; did you mean oval?)",
        ),
        (lambda: VTool(flow="yes"), "v_tool.flow: 'yes' can't be used"),
        (lambda: ToneOptions(dark=30), "tone.dark: 30 can't be used (too large for a share of 1: for 30 % write 0.3)"),
        (lambda: Shop(feed="fast"), "shop.feed: 'fast' can't be used; give a number from 10 to 50000 mm a minute"),
        (lambda: Output(files=()), "output.files: () can't be used"),
        (lambda: Output(files=("carve", "lunch")), "output.files: ('carve', 'lunch') can't be used"),
        (lambda: StencilOptions(keep_out=((1, 2, 3),)), "stencil.keep_out: ((1, 2, 3),) can't be used (each row needs"),
        (lambda: Picture("cat.jpg", crop=(0.5, 0, 0.4, 1)), "picture.crop: (0.5, 0, 0.4, 1) can't be used"),
        (lambda: Picture(""), "picture.file: '' can't be used (not a path)"),
        (lambda: Picture(), "picture.file: is missing; name the picture"),
        (lambda: Job("cat.jpg"), "picture: 'cat.jpg' can't be used; give Picture(...)"),
        (lambda: Job(Picture("cat.jpg"), plaques=()), "plaque: give one or more tables, each under [[plaque]]"),
        (lambda: Job(Picture("cat.jpg"), cutters=()), "cutter: give one or more tables, each under [[cutter]]"),
        (lambda: Job(Picture("cat.jpg"), cutters=Cutter()), "cutter: give one or more tables"),
        (lambda: Job(Picture("cat.jpg"), cutters=(Cutter(), 3)), "cutter: 3 can't be used; give Cutter(...)"),
        (lambda: Job(Picture("cat.jpg"), output=None), "output: None can't be used; give Output(...)"),
        (lambda: Cutter(10**5000), "cutter.diameter: a value too long to show can't be used; give a length from 0.5mm"),
        (
            lambda: Plaque(size=(10**5000, 3)),
            "plaque.size: a value too long to show can't be used; give width x height",
        ),
        (
            lambda: Cutter("1" * 5000 + "/2in"),
            f"cutter.diameter: '{'1' * 56}... can't be used (too long for a length); give",
        ),
        (lambda: Picture("cat.jpg", crop="[" * 10**5), f"picture.crop: '{'[' * 56}... can't be used; give left, top"),
        (lambda: VTool(flow=np.array(["true"])), "v_tool.flow: array(['true'], dtype='<U4') can't be used (not among"),
        (lambda: VTool(flow=np.array([1, 0])), "v_tool.flow: array([1, 0]) can't be used (not among the choices)"),
        (lambda: dataclasses.replace(Cutter(), diameter=0), "cutter.diameter: 0 can't be used (too small)"),
    ],
)
def test_what_is_refused_names_its_key_what_it_was_and_what_is_allowed(make, message):
    with pytest.raises(SettingError) as refused:
        make()
    assert str(refused.value).startswith(message)
    assert refused.value.key == message.partition(":")[0]
    assert "\n" not in str(refused.value)


def test_a_wrong_value_is_told_in_the_words_of_the_job_file():
    for key, text, value in (("diameter", "-3", -3), ("depth", '"deep"', "deep"), ("least_pocket", "true", True)):
        with pytest.raises(SettingError) as by_file:
            job_file.from_text(f"[picture]\nfile = 'cat.jpg'\n[[cutter]]\n{key} = {text}\n", name="job.toml")
        with pytest.raises(SettingError) as by_program:
            Cutter(**{key: value})
        assert str(by_program.value) == str(by_file.value)


class OwnText(str):
    """A program's own class of text."""


@pytest.mark.parametrize(
    ("section", "held"),
    [
        (Cutter("3mm"), {"diameter": 3.0}),
        (Cutter('1/8"', depth=4), {"diameter": 3.175, "depth": 4.0}),
        (Cutter(25.4 / 7), {"diameter": 3.628571}),
        (Plaque(size="8 x 10in", margin=12, coats=3), {"size": (203.2, 254.0), "margin": 12.0, "coats": 3.0}),
        (Plaque(size=[200, 250]), {"size": (200.0, 250.0)}),
        (Picture("cat.jpg", crop=[0, 0, 1, 0.5]), {"file": Path("cat.jpg"), "crop": (0.0, 0.0, 1.0, 0.5)}),
        (Output(files=["pattern", "carve"]), {"files": ("carve", "pattern")}),
        (Output(files="carve,pattern", unit="IN"), {"files": ("carve", "pattern"), "unit": "in"}),
        (StencilOptions(bridges=[[1, 2, 90]], ties=True), {"bridges": ((1.0, 2.0, 90.0),), "ties": True}),
        (ToneOptions(dark="30%"), {"dark": 0.3}),
        (PatternOptions(paper="a4"), {"paper": "A4"}),
        (Plaque(OwnText("rex"), size=np.array([60, 45]).tolist()), {"name": "rex", "size": (60.0, 45.0)}),
        (Plaque(size=tuple(np.array([60, 45])), coats=np.int64(3)), {"size": (60.0, 45.0), "coats": 3.0}),
        (Cutter(np.float32(2.5), depth=np.float64(4)), {"diameter": 2.5, "depth": 4.0}),
        (Picture("cat.jpg", crop=tuple(np.linspace([0, 0], [1, 1], 2).ravel())), {"crop": (0.0, 0.0, 1.0, 1.0)}),
    ],
)
def test_a_section_holds_final_types(section, held):
    for name, value in held.items():
        assert getattr(section, name) == value
        assert type(getattr(section, name)) in (type(value), Bare, Sides, type(Path()))
    assert dataclasses.replace(section) == section


def job_text(table: JobTable, declared: Setting, value: object) -> str:
    """Return a job file that gives one setting this value."""
    given = {("picture", "file"): 'file = "cat.jpg"'}
    given[table.heading, declared.name] = f"{declared.name} = {declared.kind.write(value)}"
    headings = {table.heading: table.in_brackets, "picture": "[picture]"}
    tables = {
        words: [line for (name, _), line in given.items() if name == heading] for heading, words in headings.items()
    }
    return "\n".join("\n".join([words, *lines]) for words, lines in tables.items())


@settings(max_examples=500, deadline=None)
@given(st.sampled_from(SETTINGS), ANYTHING)
def test_any_value_is_refused_by_name_or_reads_back_from_a_job_file(place, value):
    table, declared = place
    needed = {"file": "cat.jpg"} if table.section is Picture else {}
    try:
        section = table.section(**(needed | {declared.name: value}))
    except SettingError as refused:
        assert refused.key == f"{table.heading}.{declared.name}"
        return
    held = getattr(section, declared.name)
    if held is not None:
        job = job_file.from_text(job_text(table, declared, held), name="job.toml")
        assert getattr(table.sections_of(job)[0], declared.name) == declared.kind.held(held) == held


def test_how_a_length_was_written_outlives_a_change_and_a_numbers_unit_is_no_question():
    job = job_file.from_text('[picture]\nfile = "cat.jpg"\n[[plaque]]\nsize = "8x6in"\nmargin = 9\n', name="job.toml")
    changed = dataclasses.replace(job.plaques[0], thickness=19)
    assert isinstance(changed.size, Sides) and changed.size.inches
    assert isinstance(changed.margin, Bare) and not isinstance(changed.thickness, Bare)
    again = dataclasses.replace(job, plaques=[changed])
    assert [bare.key for bare in bare_lengths(again)] == ["plaque.margin"]
    assert pickle.loads(pickle.dumps(again)) == copy.deepcopy(again) == again


def test_a_job_holds_tuples_of_its_sections():
    job = Job(Picture("cat.jpg"), plaques=[Plaque("a"), Plaque("b")], cutters=[Cutter(6)])
    assert (job.plaques, job.cutters) == ((Plaque("a"), Plaque("b")), (Cutter(6.0),))
    assert hash(job) == hash(dataclasses.replace(job, finish=Finish()))


def test_a_programs_own_kind_of_a_section_is_checked_under_the_sections_name():
    class SmallCutter(Cutter):
        pass

    assert Job(Picture("cat.jpg"), cutters=(SmallCutter(1),)).cutters[0].diameter == 1.0
    with pytest.raises(SettingError, match="cutter.diameter: 0 can't be used"):
        SmallCutter(0)
