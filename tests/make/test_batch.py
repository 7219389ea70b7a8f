"""A batch: every order gets what make gives it, whatever becomes of the others and of the batch."""

from __future__ import annotations

import json
import math
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from small_jobs import content, disc, job_text, order, run

from shadowrout.cli import main
from shadowrout.errors import InputError, SettingError
from shadowrout.files.claim import claimed
from shadowrout.make.batch.one_order import MadeOrder, make_order
from shadowrout.make.batch.order_numbers import (
    AmountNumbers,
    OrderNumbers,
    PatternNumbers,
    PlaqueNumbers,
    RegisterNumbers,
    StencilNumbers,
    StockNumbers,
    TemplateNumbers,
)
from shadowrout.make.batch.orders import Order, orders_of
from shadowrout.make.batch.shopping import HolesToFill, PaperToFetch, SheetsToFetch, ToFetch, as_text, to_fetch
from shadowrout.make.batch.summary import OrderResult, exit_code
from shadowrout.make.processes import Died, Processes
from shadowrout.make.worker import Done, Told

TWO = '[[plaque]]\nname = "a"\nsize = "40x40mm"\n[[plaque]]\nname = "b"\nsize = "50x50mm"\n'
MANY_LARGE = "".join(f'[[plaque]]\nname = "{n}"\nsize = "900x900mm"\n' for n in range(20))

needs_proc = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc to see processes")


def children(pid: int) -> list[int]:
    """Return the processes whose parent is ``pid`` (proc(5): the fourth field, after the name in brackets)."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            found.append(int(path.parent.name))
    return found


def wait_for(condition, what: str) -> None:
    until = time.monotonic() + 120
    while not condition():
        assert time.monotonic() < until, what
        time.sleep(0.02)


def gone(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


class TestOrders:
    def test_names_and_folders(self, tmp_path):
        for name in ("b.toml", "a.toml", "brandt/job.toml", "brandt/carve.svg", "c/d.TOML"):
            (tmp_path / name).parent.mkdir(exist_ok=True)
            (tmp_path / name).touch()
        sources = [tmp_path / "c" / "d.TOML", tmp_path, tmp_path / "brandt", tmp_path / "a.toml"]
        found = [(o.name, o.job_file, o.out) for o in orders_of(sources, Path("out"))]
        places = [("d", "c/d.TOML"), ("a", "a.toml"), ("b", "b.toml"), ("brandt", "brandt/job.toml")]
        assert found == [(name, tmp_path / path, Path("out") / name) for name, path in places]

    def test_two_orders_of_one_name(self, tmp_path):
        for name in ("Rex.toml", "b/rex.toml"):
            (tmp_path / name).parent.mkdir(exist_ok=True)
            (tmp_path / name).touch()
        with pytest.raises(SettingError, match=r"Rex.toml and .*rex.toml are both the order 'rex'; rename"):
            orders_of([tmp_path, tmp_path / "b"], Path("out"))

    @pytest.mark.parametrize(("source", "says"), [("x.jpg", "is no job file"), ("", "holds no job files")])
    def test_what_is_no_order(self, tmp_path, source, says):
        with pytest.raises(InputError, match=says):
            orders_of([tmp_path / source], Path("out"))

    def test_a_job_file_that_is_not_there_is_an_order_that_fails(self, tmp_path, capsys):
        assert main(["batch", str(tmp_path / "gone.toml"), "--out", str(tmp_path / "out")]) == 3
        assert "there is no such file" in capsys.readouterr().out
        assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("codes", "worst"), [([], 0), ([0, 0], 0), ([0, 2, 3], 3), ([4, 3, 0], 4), ([4, 1, 2], 1)])
def test_the_exit_code_is_the_worst(codes, worst):
    order = Order("x", Path("x.toml"), Path("x"))
    assert exit_code([OrderResult(order, "", code) for code in codes]) == worst


@pytest.fixture(scope="module")
def fair(tmp_path_factory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """Return a folder of orders, two good and three not, and how their batch in two processes ended."""
    place = tmp_path_factory.mktemp("fair")
    order(place / "orders" / "brandt.toml", job_text(plaques=TWO))
    order(place / "orders" / "smith.toml")
    order(place / "orders" / "key.toml", job_text() + "tolerence = 1\n")
    order(place / "orders" / "gone.toml", job_text("gone.png"))
    order(place / "orders" / "depth.toml", job_text() + "[[cutter]]\ndepth = 17\n")
    return place, run("batch", "orders", "--out", "out", "--workers", "2", cwd=place)


def rows(text: str) -> dict[str, str]:
    """Return each order's line of the table without the time it took."""
    lines = text.split("\n\n")[0].splitlines()[2:]
    return {line.split()[0]: " ".join(part for part in line.split()[1:] if part not in ("s",)) for line in lines}


def test_a_failing_order_stops_no_other(fair):
    place, done = fair
    assert (done.returncode, done.stderr) == (3, "")
    told = rows(done.stdout)
    assert list(told) == ["brandt", "depth", "gone", "key", "smith"]
    assert told["brandt"].startswith("a, b made ")
    assert told["smith"].startswith("p made ")
    assert "failed" in told["depth"]
    assert told["depth"].endswith("6 mm must be left under it; the most that works is 12 mm")
    assert told["gone"].startswith("- failed - gone.png: no such file; gone.toml looks for it at ")
    assert told["key"] == "- failed - output.tolerence: there is no such key; did you mean tolerance?"
    assert done.stdout.endswith("5 orders: 2 made, 3 failed\n")
    assert sorted(path.name for path in (place / "out").iterdir()) == ["brandt", "smith"]


def test_whatever_is_wrong_with_an_orders_file_is_that_orders_failure(tmp_path):
    """A folder's files in every state of disrepair: each is named with its reason, and the whole ones are made."""
    orders = tmp_path / "orders"
    order(orders / "good.toml")
    digits = "9" * 400
    texts = {
        "brackets": job_text() + "x = " + "[" * 100_000,
        "bridges": job_text() + f"[stencil]\nbridges = [[1, 2, {digits}]]",
        "dots": "a" + ".a" * 100_000 + " = 1",
        "integer": job_text() + f"tolerance = {digits}",
    }
    for name, text in texts.items():
        (orders / f"{name}.toml").write_text(text, encoding="utf-8")
    (orders / "binary.toml").write_bytes(bytes(range(256)))
    (orders / "folder.toml").mkdir()
    (orders / "link.toml").symlink_to("gone.toml")
    (orders / "loop.toml").symlink_to("loop.toml")
    os.mkfifo(orders / "pipe.toml")
    done = run("batch", "orders", "--out", "out", "--workers", "1", cwd=tmp_path, timeout=300)
    assert (done.returncode, done.stderr) == (3, "")
    told = rows(done.stdout)
    assert told.pop("good").startswith("p made ")
    says = {
        "binary": "binary.toml: is no text in UTF-8",
        "brackets": "brackets.toml: line 6: brackets stand within brackets",
        "bridges": "stencil.bridges: [[1, 2, 9999",
        "dots": "dots.toml: line 1: a key has more than 8 parts",
        "folder": "folder.toml: is a folder",
        "integer": "output.tolerance: 9999",
        "link": "link.toml: is a link to gone.toml, which isn't there",
        "loop": "loop.toml: is a link to loop.toml, which isn't there",
        "pipe": "pipe.toml: is a device or a pipe",
    }
    assert told.keys() == says.keys()
    assert {name: line for name, line in told.items() if says[name] not in line} == {}
    assert done.stdout.endswith("10 orders: 9 failed, 1 made\n")


class OfALibraryError(Exception):
    """An error that its pickle can't be made again from."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(one)


def fail_as_a_library_may(task: int, tell: object) -> None:
    raise OfALibraryError("lib", "rary")


def test_an_error_that_no_pickle_holds_is_told_all_the_same():
    with Processes(1) as processes:
        processes.begin(fail_as_a_library_may, 1)
        _, message = end_of(processes)
    assert "a fault of the program, please report it: OfALibraryError: lib" in str(message.error)


def test_one_list_says_what_to_fetch_for_all_orders_that_are_made(fair):
    """Two boards of 40 x 40 mm and one of 50 x 50, 18 mm thick, and the paint of all three, by each order's figures."""
    place, done = fair
    _, table, _ = done.stdout.split("\n\n")
    litres = sum(
        plaque["amounts"]["paint_litres"]
        for name in ("brandt", "smith")
        for plaque in json.loads((place / "out" / name / "numbers.json").read_text())["plaques"]
    )
    told = [" ".join(line.split()) for line in table.splitlines()]
    assert told[0].startswith("to fetch for 2 orders, 3 plaques")
    assert told[2].startswith("1 basswood board 50 x 50 mm, 18 mm thick 0.04 dm³")
    assert told[3].startswith("2 basswood boards 40 x 40 mm, 18 mm thick 0.06 dm³")
    assert told[4].startswith("3 basswood boards in all 0.10 dm³")
    assert told[5] == f"paint {5 * math.ceil(litres * 200 - 1e-9)} ml"


def carved(size_mm, wood: str = "basswood", **made) -> PlaqueNumbers:
    """Return the numbers of a plaque: 18 mm thick, painted with 10 ml, cut by carve files."""
    volume = size_mm[0] * size_mm[1] * 18.0
    amounts = AmountNumbers(wood, blank_mm3=volume, blank_kg=volume * 4e-7, paint_litres=0.01)
    parts = dict.fromkeys(("register", "stencil", "template", "pattern"))
    rest = {"amounts": amounts, "files": ("carve.svg", "carve.dxf"), **parts, **made}
    return PlaqueNumbers("a", size_mm, thickness_mm=18.0, **rest)


def order_of(*plaques: PlaqueNumbers, stock: tuple[StockNumbers, ...] = ()) -> OrderNumbers:
    return OrderNumbers("mm", plaques, stock)


def register(dowel_mm: float) -> RegisterNumbers:
    return RegisterNumbers(dowel_mm, marks=("A", "B", "C"))


class TestToFetch:
    def test_nothing_for_no_orders(self):
        assert to_fetch([]) == ToFetch(
            0, 0, boards=(), boards_by_wood=(), paint_litres=0, holes=(), sheets=(), paper=()
        )

    def test_sums_over_orders(self):
        template = TemplateNumbers(sheets=2, sheet_mm=(-7.0, -7.0, 107.0, 82.0), thickness_mm=6.0)
        stencil = StencilNumbers((-6.0, -6.0, 106.0, 81.0))
        orders = [
            order_of(
                carved((100.0, 75.0), register=register(4.0), template=template, pattern=PatternNumbers("A4", 2)),
                carved((75.0, 100.0), "maple", register=register(6.0), stencil=stencil),
            ),
            order_of(carved((75.0, 100.0), register=register(4.0), template=template)),
            order_of(carved((100.0, 75.0), stencil=stencil, files=("stencil.svg",))),
        ]
        found = to_fetch(orders)
        boards = [(board.wood, board.size_mm, board.count) for board in found.boards]
        assert boards == [("basswood", (100.0, 75.0), 2), ("maple", (100.0, 75.0), 1)]
        assert found.paint_litres == pytest.approx(0.03), "a stencil alone takes neither board nor paint"
        assert found.holes == (HolesToFill(4.0, 6), HolesToFill(6.0, 3))
        assert found.sheets == (
            SheetsToFetch("stencil", (112.0, 87.0), None, 2),
            SheetsToFetch("template", (114.0, 89.0), 6.0, 4),
        )
        assert found.paper == (PaperToFetch("A4", 3),), "two sheets and the first page"

    def test_paper_is_counted_by_its_size(self):
        """Each pattern has a first page beside its sheets."""
        patterns = [PatternNumbers(paper, n) for paper, n in (("letter", 2), ("A4", 1), ("A4", 4))]
        found = to_fetch([order_of(*(carved((100.0, 75.0), pattern=pattern) for pattern in patterns))])
        assert found.paper == (PaperToFetch("A4", 7), PaperToFetch("letter", 3))

    def test_sheets_laid_out_on_stock_count_by_the_stock(self):
        plaques = [carved((100.0, 75.0), stencil=StencilNumbers((0.0, 0.0, 112.0, 87.0))) for _ in range(5)]
        laid = order_of(*plaques, stock=(StockNumbers("stencil", (300.0, 600.0), pieces=1),))
        assert to_fetch([laid, laid]).sheets == (SheetsToFetch("stencil, stock", (600.0, 300.0), None, 2),)


def test_the_list_counts_in_words_that_fit_the_number():
    kinds = [("stencil", 1), ("stencil, stock", 2), ("template", 3)]
    sheets = tuple(SheetsToFetch(kind, (200.0, 100.0), None, n) for kind, n in kinds)
    wanted = replace(to_fetch([]), orders=1, plaques=2, sheets=sheets)
    told = [" ".join(line.split()) for line in as_text(wanted, unit="mm").splitlines()]
    assert told[0] == "to fetch for 1 order, 2 plaques size amount"
    assert told[2:] == [
        "1 sheet for stencils 200 x 100 mm",
        "2 stock sheets for stencils 200 x 100 mm",
        "3 sheets for templates 200 x 100 mm",
    ]


def test_each_order_gets_what_make_gives_it(fair, tmp_path):
    place, _ = fair
    alone = place / "alone"
    assert main(["make", str(place / "orders" / "brandt.toml"), "--out", str(alone / "brandt")]) == 0
    made = content(place / "out" / "brandt")
    record = json.loads(made.pop("batch.json"))
    assert sorted(record) == ["inputs", "job.toml", "numbers.json"]
    assert content(alone / "brandt") == made


class TestAgain:
    def results(self, fair, capsys, *more: str) -> dict[str, str]:
        main(["batch", str(fair[0] / "orders"), "--out", str(fair[0] / "out"), "--json", "--workers", "1", *more])
        return {told["order"]: told["result"] for told in json.loads(capsys.readouterr().out)["orders"]}

    def test_only_what_changed_is_made(self, fair, capsys):
        place, _ = fair
        before = content(place / "out")
        told = self.results(fair, capsys)
        assert told == {"brandt": "as before", "depth": "failed", "gone": "failed", "key": "failed",
                        "smith": "as before"}  # fmt: skip
        assert content(place / "out") == before

        order(place / "orders" / "gone.toml")
        order(place / "orders" / "smith.toml", job_text("other.png"))
        disc(place / "orders" / "other.png", radius_px=15)
        (place / "out" / "brandt" / "b" / "carve.svg").write_bytes(b"edited")
        told = self.results(fair, capsys)
        assert told | {"depth": "", "key": ""} == {"brandt": "as before", "depth": "", "gone": "made", "key": "",
                                                   "smith": "made"}  # fmt: skip
        assert (place / "out" / "brandt" / "b" / "carve.svg").read_bytes() == b"edited"

        (place / "out" / "brandt" / "b" / "carve.svg").unlink()
        out = place / "out" / "gone"
        assert main(["make", str(place / "orders" / "gone.toml"), "--out", str(out), "--detail", "2mm"]) == 0
        capsys.readouterr()
        told = self.results(fair, capsys)
        assert (told["brandt"], told["smith"], told["gone"]) == ("made", "as before", "made")
        assert {f"brandt/{name}": found for name, found in content(place / "out" / "brandt").items()} == {
            name: found for name, found in before.items() if name.startswith("brandt/")
        }


def start(place: Path) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "shadowrout", "batch", "orders", "--out", "out", "--workers", "2"]
    return subprocess.Popen(
        command,
        cwd=place,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # tests in the background have it ignored
    )


@needs_proc
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_an_end_at_any_moment_leaves_whole_files_and_no_process(tmp_path, how):
    order(tmp_path / "orders" / "a.toml")
    order(tmp_path / "orders" / "long.toml", job_text(plaques=MANY_LARGE))
    with start(tmp_path) as batch:
        wait_for(lambda: list(tmp_path.glob("out/*/batch.json")), "no order was made")
        workers = children(batch.pid)
        assert len(workers) == 2
        if how is signal.SIGINT:  # as a terminal does: to the whole group
            os.killpg(batch.pid, how)
        else:
            batch.send_signal(how)
        out, err = batch.communicate()
        code = batch.returncode
    for pid in workers:
        wait_for(lambda pid=pid: gone(pid), "a worker outlived the batch")
    if how is signal.SIGINT:
        assert (code, out) == (130, "")
        assert err == "shadowrout: stopped; no file is half-written, and the same command goes on with what is left\n"
        return
    made = [path.parent for path in tmp_path.glob("out/*/batch.json")]
    before = {path: content(path) for path in made}
    order(tmp_path / "orders" / "long.toml", job_text(plaques=TWO))
    done = run("batch", "orders", "--out", "out", "--workers", "1", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert list(tmp_path.rglob("*.part")) == []
    assert {path: content(path) for path in made} == before
    assert all(rows(done.stdout)[path.name] == "p as before -" for path in made)
    assert rows(done.stdout)["long"].startswith("a, b made")


def end_of(processes: Processes):
    """Return the next order of which there is more to hear than steps, and what that is."""
    while isinstance((heard := processes.hear())[1], Told):
        pass
    return heard


def test_a_process_that_dies_fails_its_order_alone(tmp_path):
    job_file = order(tmp_path / "a.toml")
    asked = Order("a", job_file, tmp_path / "out" / "a")
    with Processes(1) as processes:
        processes.begin(make_order, asked)
        (process,) = processes._busy
        process._process.kill()
        assert end_of(processes) == (asked, Died(-signal.SIGKILL))
        assert processes.busy == ()
        processes.begin(make_order, asked)
        heard, message = end_of(processes)
        assert (heard, type(message)) == (asked, Done)
        assert message.result == MadeOrder(("p",), (), ())


@needs_proc
def test_a_batch_goes_on_where_the_system_ends_a_process(tmp_path):
    order(tmp_path / "orders" / "a.toml", job_text(plaques=MANY_LARGE))
    order(tmp_path / "orders" / "b.toml")
    command = [sys.executable, "-m", "shadowrout", "batch", "orders", "--out", "out", "--workers", "1"]
    with subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as batch:
        wait_for(lambda: (tmp_path / "out" / "a").exists(), "no order was begun")
        os.kill(*children(batch.pid), signal.SIGKILL)
        out, err = batch.communicate()
    assert (batch.returncode, err) == (1, "")
    told = rows(out)
    assert "its process was killed by signal 9, perhaps for want of memory; fewer --workers may help" in told["a"]
    assert told["b"].startswith("p made")


def test_a_second_batch_into_one_folder_is_refused(tmp_path, capsys):
    job_file = order(tmp_path / "a.toml")
    with claimed(tmp_path / "out"):
        assert main(["batch", str(job_file), "--out", str(tmp_path / "out")]) == 2
    assert "another run is writing to" in capsys.readouterr().err
