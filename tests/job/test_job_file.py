"""The job file and the flags over it: what is read, what is refused and how, what is written back."""

from __future__ import annotations

import contextlib
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shadowrout.errors import InputError, SettingError
from shadowrout.job import job_file
from shadowrout.job.flags import default_of, given_as, with_flags
from shadowrout.job.options import TABLES, Cutter, Job, Picture, Plaque
from shadowrout.job.schema import read_setting, settings_of

MINIMAL = '[picture]\nfile = "cat.jpg"\n'


def read(text: str) -> Job:
    return job_file.from_text(MINIMAL + text, name="job.toml")


def test_only_the_picture_must_be_named():
    assert read("") == Job(Picture(Path("cat.jpg")))


def test_lengths_in_any_unit():
    job = read('[[plaque]]\nsize = "8 1/2 x 11\\""\nmargin = 12\n[[cutter]]\ndiameter = "1/8in"\n')
    assert job.plaques[0].size == (215.9, 279.4)
    assert job.plaques[0].margin == 12
    assert job.cutters[0].diameter == 3.175


SETTINGS = [declared for table in TABLES for declared in settings_of(table.section)]


@pytest.mark.parametrize("declared", SETTINGS, ids=lambda declared: declared.flag)
def test_the_default_that_help_tells_can_be_given(declared):
    """What stands in a flag's help is what the flag takes: no quotes or brackets, which are the job file's."""
    told = default_of(declared)
    assert "[" not in given_as(declared)
    if declared.default in (None, ()):
        assert told in (declared.when_unset, "none")
    else:
        assert not set(told) & set('[]"')
        assert read_setting(declared, told, key=declared.flag) == declared.default


@pytest.mark.parametrize(
    ("flag", "texts"),
    [
        ("--crop", ("0.1,0,0.9,1", "[0.1, 0, 0.9, 1]")),
        ("--fine", ("0.1,0,0.5,1;0.6,0,0.9,1", "[[0.1, 0, 0.5, 1], [0.6, 0, 0.9, 1]]")),
        ("--keep-out", ("1,2,3,4;5,6,7,8", "[[1, 2, 3, 4], [5, 6, 7, 8]]")),
        ("--bridges", ("10,20,90", "[10, 20, 90]", "[[10, 20, 90]]")),
    ],
)
def test_a_list_is_taken_as_it_stands_in_a_job_file_too(flag, texts):
    first, *others = (with_flags(read(""), {flag: text}) for text in texts)
    assert first != read("")
    assert all(other == first for other in others)
    with pytest.raises(SettingError, match=flag):
        with_flags(read(""), {flag: "[1, 2"})


@pytest.mark.parametrize(("text", "value"), [("true", True), ("false", False)])
def test_switches_from_a_job_file_and_a_flag(text, value):
    job = read(f"[v_tool]\nflow = {text}\n")
    assert job.v_tool.flow is value
    assert with_flags(read(""), {"--flow": text}).v_tool.flow is value
    assert f"flow = {text}" in job_file.written(job, folder=Path())
    for wrong in ('"yes"', "1", "0", "[]"):
        with pytest.raises(SettingError, match="give true or false"):
            read(f"[v_tool]\nflow = {wrong}\n")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[output]\ntolerence = 1", "output.tolerence: there is no such key; did you mean tolerance?"),
        ("[cuter]\ndiameter = 1", "cuter: there is no such key; did you mean cutter?"),
        ("[output]\nzzzz = 1", "output.zzzz: there is no such key; known here: origin,"),
        (
            '[output]\nunit = "furlong"',
            "output.unit: 'furlong' can't be used (not among the choices); give one of mm, in",
        ),
        ("[output]\nunit = 3", "output.unit: 3 can't be used"),
        ("[output]\ntolerance = true", "output.tolerance: True can't be used (not a length); give a length from"),
        ('[output]\nfiles = ["carve", "lunch"]', "output.files: ['carve', 'lunch'] can't be used"),
        ("[output]\nfiles = []", "output.files: [] can't be used"),
        (
            '[[plaque]]\nsize = "0x0mm"',
            "plaque.size: '0x0mm' can't be used (too small); give width x height, each side",
        ),
        ('[[plaque]]\nsize = "-200x250mm"', "plaque.size: '-200x250mm' can't be used (too small)"),
        ('[[plaque]]\nsize = "wide x high"', "plaque.size: 'wide x high' can't be used (not a length)"),
        ('[[plaque]]\nsize = "3x2m"', "plaque.size: '3x2m' can't be used (too large)"),
        ("[[plaque]]\nsize = 200", "plaque.size: 200 can't be used"),
        ('[[plaque]]\nname = "../up"', "plaque.name: '../up' can't be used"),
        ('[[plaque]]\nname = "a/b"', "plaque.name: 'a/b' can't be used"),
        ("[plaque]\nmargin = 3", "plaque: give one or more tables, each under [[plaque]]"),
        ("[[output]]\norigin = 'corner'", "output: [{'origin': 'corner'}] can't be used"),
        ("tone = 3", "tone: 3 can't be used; give a table"),
        ("[tone]\ndark = 1.5", "tone.dark: 1.5 can't be used (too large); give a number from 0.02 to 0.9"),
        ("[tone]\ndark = nan", "tone.dark: nan can't be used"),
    ],
)
def test_what_is_refused_names_its_key_and_what_is_allowed(text, message):
    source = text + "\n" + MINIMAL if text == "tone = 3" else MINIMAL + text
    with pytest.raises(SettingError) as caught:
        job_file.from_text(source, name="job.toml")
    assert str(caught.value).startswith(message)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("crop", ["[0, 0, 1]", "[0, 0, 2, 1]", "[0.5, 0, 0.4, 1]", "[0, 0, true, 1]", '"all"'])
def test_crops_that_are_refused(crop):
    with pytest.raises(SettingError, match="picture.crop"):
        job_file.from_text(f"{MINIMAL}crop = {crop}\n", name="job.toml")


@pytest.mark.parametrize(
    ("slip", "mended"),
    [
        ("size = 200x250mm", 'size = "200x250mm"'),
        ('size = 8 x 10"', 'size = "8 x 10in"'),
        ('size = "8x10in', 'size = "8x10in"'),
        ('size = "8" x 10""', 'size = "8in x 10in"'),
        ('size = "8 1/2 x 11""', 'size = "8 1/2 x 11in"'),
        ("size: 8x10in", 'size = "8x10in"'),
        ("size = “8x10in”", 'size = "8x10in"'),
        ("margin = 8,5", "margin = 8.5"),
        ("margin = .5", "margin = 0.5"),
        ("margin = 3/4 # inch", 'margin = "3/4in"'),
        ("name = 'big one", "name = 'big one'"),
        ('name = """big one', 'name = "big one"'),
    ],
)
def test_a_slip_is_told_with_its_line_and_what_to_write(slip, mended):
    with pytest.raises(SettingError) as caught:
        job_file.from_text(f"{MINIMAL}[[plaque]]\n{slip}\n", name="rex.toml")
    assert str(caught.value).startswith(f"rex.toml: line 4 ({slip}): ")
    assert mended in str(caught.value)
    assert "\n" not in str(caught.value)
    job_file.from_text(f"{MINIMAL}[[plaque]]\n{mended}\n", name="rex.toml")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[tone]\ndark = 0.3\ndark = 0.4", "line 5 (dark = 0.4): dark has a value already"),
        ("[tone]\ndark = 30%", "line 4 (dark = 30%): write dark = 0.3"),
        ("[tone]\ndetail = ", "line 4 (detail =): the value is missing"),
        ("[tone]\n[tone]", "line 4 ([tone]): the heading tone stood higher up already; put the keys of both under one"),
        (
            "[plaque]\n[plaque]",
            "line 4 ([plaque]): the heading plaque stood higher up already; write [[plaque]] over each",
        ),
        ("[output", "line 3 ([output): a heading is a name in brackets, as [output]"),
        (
            '[output] unit = "in"',
            'line 3 ([output] unit = "in"): a heading stands alone on its line; put unit = "in" on',
        ),
        ('[output]\nunit = "in" dxf = "R12"', 'line 4 (unit = "in" dxf = "R12"): a key stands alone on its line'),
        (
            '[output]\nfiles = ["carve"\nunit = "in"',
            'line 4 (files = ["carve"): a list\'s closing bracket is missing; write',
        ),
        (
            "[output]\nfiles = [\n'carve',\nunit = 'in'",
            "line 4 (files = [): the list that begins here is not closed",
        ),
        (
            "[output]\nfiles = [carve, pattern]",
            "line 4 (files = [carve, pattern]): the words of a list stand in quotes",
        ),
        ('[output]\nfiles = ["carve" "pattern"]', 'line 4 (files = ["carve" "pattern"]): a list has commas'),
        ("[output]\nexplain = Yes", "line 4 (explain = Yes): write explain = true"),
        ("= broken", "line 3 (= broken): a line is a heading, as [picture], a key with its value"),
        ("Dear Sir", "line 3 (Dear Sir): a line is a heading, as [picture], a key with its value"),
    ],
)
def test_slips_of_many_kinds_are_told_in_plain_words(text, message):
    with pytest.raises(SettingError) as caught:
        job_file.from_text(MINIMAL + text, name="rex.toml")
    assert str(caught.value).startswith("rex.toml: " + message)


@pytest.mark.parametrize("path", ['"C:\\Users\\me\\cat.jpg"', "C:\\Users\\me\\cat.jpg", '"C:\\pics\\cat.jpg'])
def test_a_path_with_backslashes_is_told_how_to_be_written(path):
    with pytest.raises(SettingError, match="line 2 .* write file = '") as caught:
        job_file.from_text(f"[picture]\nfile = {path}", name="rex.toml")
    mended = re.search(r"write (file = '[^']*')", str(caught.value))[1]
    job = job_file.from_text(f"[picture]\n{mended}", name="rex.toml")
    assert str(job.picture.file) == path.strip('"')


@given(st.text("=[]\"'#\\ \n{}.,/ax1", max_size=40))
def test_any_text_is_a_job_or_one_line_that_names_the_file_or_the_setting(text):
    with contextlib.suppress(SettingError):
        job_file.from_text(text, name="rex.toml")


def test_a_job_without_a_picture():
    with pytest.raises(SettingError, match="picture.file: is missing"):
        job_file.from_text("[tone]\ndark = 0.3\n", name="job.toml")


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"\x80abc"])
def test_not_text(tmp_path, content):
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    with pytest.raises(SettingError, match="is no text in UTF-8"):
        Job.from_file(path)


def test_no_such_job(tmp_path):
    for path, says in ((tmp_path, "is a folder"), (tmp_path / "none.toml", "there is no such file")):
        with pytest.raises(InputError, match=says):
            Job.from_file(path)


def test_the_pictures_path_starts_at_the_job_file(tmp_path):
    (tmp_path / "job.toml").write_text(MINIMAL, encoding="utf-8")
    assert Job.from_file(tmp_path / "job.toml").picture.file == tmp_path / "cat.jpg"


FULL = Job(
    Picture(Path('orders/Müller\'s "cat" \\ 1.jpg'), (0.1, 0.0, 0.9, 1.0)),
    plaques=(Plaque("small one", (100.0, 215.9)), Plaque(None, None, "oval", 3.175)),
    cutters=(Cutter(6.0), Cutter(3.175, depth=4.000001)),
)


@pytest.mark.parametrize("explained", [False, True])
def test_a_written_job_reads_back_the_same(tmp_path, explained):
    text = job_file.written(FULL, folder=Path(), explained=explained)
    tomllib.loads(text)
    assert job_file.from_text(text, name="job.toml") == FULL


def test_a_written_job_finds_its_picture_from_its_own_folder(tmp_path):
    job = Job(Picture(tmp_path / "in" / "cat.jpg"))
    assert 'file = "../in/cat.jpg"' in job_file.written(job, folder=tmp_path / "out")


def test_explained_jobs_explain_every_key():
    text = job_file.written(FULL, folder=Path(), explained=True)
    for table in TABLES:
        for declared in settings_of(table.section):
            assert declared.kind.allowed[:40] in " ".join(text.replace("\n# ", " ").split())
    assert text.count("For another one write [[plaque]] again") == len(FULL.plaques)
    assert text.count("For another one write [[") == len(FULL.plaques) + len(FULL.cutters)
    assert max(len(line) for line in text.splitlines() if line.startswith("# ")) <= 120


@given(st.dictionaries(st.text(max_size=8), st.one_of(st.integers(), st.text(max_size=8), st.booleans())))
def test_any_table_is_a_job_or_a_setting_error(table):
    lines = [f"{_quoted(key)} = {value if isinstance(value, int) else _quoted(value)}".replace("True", "true")
             .replace("False", "false") for key, value in table.items()]  # fmt: skip
    try:
        read("[tone]\n" + "\n".join(lines) + "\n")
    except SettingError as error:
        assert "\n" not in str(error)


def _quoted(text: str) -> str:
    return '"' + "".join(f"\\U{ord(c):08X}" for c in text) + '"'


class TestFlags:
    JOB = Job(Picture(Path("cat.jpg")), plaques=(Plaque("hall", (300.0, 200.0), margin=20.0), Plaque("small")))

    def test_none_changes_nothing(self):
        assert with_flags(self.JOB, {"--margin": None}) == self.JOB

    def test_a_flag_holds_for_all_plaques(self):
        job = with_flags(self.JOB, {"--margin": "1/2in", "--unit": "in"})
        assert [plaque.margin for plaque in job.plaques] == [12.7, 12.7]
        assert [plaque.name for plaque in job.plaques] == ["hall", "small"]
        assert job.output.unit == "in"

    def test_sizes_replace_the_plaques(self):
        job = with_flags(self.JOB, {"--size": ["8x10in", "100x100", "90x90"]})
        assert [plaque.size for plaque in job.plaques] == [(203.2, 254.0), (100.0, 100.0), (90.0, 90.0)]
        assert {plaque.margin for plaque in job.plaques} == {20.0}
        assert {plaque.name for plaque in job.plaques} == {None}

    def test_names_go_with_sizes(self):
        job = with_flags(self.JOB, {"--size": ["100x100", "90x90"], "--name": ["a", "b"]})
        assert [plaque.name for plaque in job.plaques] == ["a", "b"]
        with pytest.raises(SettingError, match="--name: was given 1 times for 2"):
            with_flags(self.JOB, {"--size": ["100x100", "90x90"], "--name": ["a"]})

    def test_a_board_has_a_wood_and_coats_of_its_own(self):
        given = {"--board-wood": ["white oak", "basswood"], "--board-coats": ["3", "2"], "--wood": "red maple"}
        job = with_flags(self.JOB, given)
        assert [(plaque.wood, plaque.coats) for plaque in job.plaques] == [("white oak", 3), ("basswood", 2)]
        assert job.finish.wood == "red maple"
        again = job_file.from_text(job_file.written(job, folder=Path()), name="job.toml")
        assert [plaque.wood for plaque in again.plaques] == ["white oak", "basswood"]
        assert [plaque.wood for plaque in self.JOB.plaques] == [None, None]
        with pytest.raises(SettingError, match="--board-wood: 'oak' can't be used"):
            with_flags(self.JOB, {"--board-wood": ["oak", "oak"]})

    def test_cutters(self):
        job = with_flags(self.JOB, {"--cutter": ["6mm", "1/8in"], "--depth": "4"})
        assert [(cutter.diameter, cutter.depth) for cutter in job.cutters] == [(6.0, 4.0), (3.175, 4.0)]

    def test_a_wrong_value_names_the_flag(self):
        with pytest.raises(SettingError, match=r"--only: 'lunch' can't be used \(not among the choices\)"):
            with_flags(self.JOB, {"--only": "lunch"})
        with pytest.raises(SettingError, match=r"--dark: 'much' can't be used; give a number from 0.02 to 0.9"):
            with_flags(self.JOB, {"--dark": "much"})

    def test_no_two_settings_share_a_flag(self):
        flags = [s.flag for table in TABLES for s in settings_of(table.section)]
        assert len(flags) == len(set(flags))


@pytest.mark.parametrize(("text", "value"), [("a4", "A4"), ("Letter", "letter"), (" LEGAL ", "legal")])
def test_capitals_of_a_choice_do_not_matter(text, value):
    assert with_flags(read(""), {"--paper": text}).pattern.paper == value
    assert with_flags(read(""), {"--only": f"Carve, {'pattern'.upper()}"}).output.files == ("carve", "pattern")


@pytest.mark.parametrize(
    ("flag", "text", "says"),
    [
        ("--detail", "1/2in", "too large: 10mm is 0.393in"),
        ("--detail", '0.01"', "too small: 0.3mm is 0.012in"),
        ("--size", "48x60in", "too large: 1200mm is 47.244in"),
        ("--size", '1 x 8"', "too small: 40mm is 1.575in"),
    ],
)
def test_a_limit_is_told_in_inches_too_where_the_length_is(flag, text, says):
    """By NIST SP 811, 25.4 mm to the inch; the figure told is itself within the limit."""
    given = [text] if flag == "--size" else text
    with pytest.raises(SettingError, match=says):
        with_flags(read(""), {flag: given})
    limit = says.split()[-1]
    with_flags(read(""), {flag: [f"{limit} x 8in"] if flag == "--size" else limit})


@pytest.mark.parametrize(("text", "value"), [("30%", 0.3), ("5 %", 0.05), ("0.3", 0.3)])
def test_a_share_in_per_cent(text, value):
    assert with_flags(read(""), {"--dark": text}).tone.dark == pytest.approx(value)
    with pytest.raises(SettingError, match="--angle"):
        with_flags(read(""), {"--angle": "30%"})
