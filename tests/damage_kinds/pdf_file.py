"""A PDF as its numbered objects (ISO 32000-1, 7.5), so that a pattern can be spoiled and written whole again."""

from __future__ import annotations

import re
import zlib
from pathlib import Path

from damage_kinds.things import NotHereError

OBJECT = re.compile(rb"(\d+) 0 obj\s*(.*?)\s*endobj", re.S)
STREAM = re.compile(rb"(.*?)stream\r?\n(.*?)\r?\n?endstream", re.S)


class Pdf:
    """The objects by number: a dictionary's text and, where it is a stream that isn't a font, its inflated bytes."""

    def __init__(self, path: Path) -> None:
        self.path, whole = path, path.read_bytes()
        self.trailer = re.search(rb"trailer\s*(<<.*?>>)\s*startxref", whole, re.S)[1]
        self.objects = {int(found[1]): self._read(found[2]) for found in OBJECT.finditer(whole)}

    def _read(self, body: bytes) -> list[bytes | None]:
        found = STREAM.match(body)
        if not found or b"/Length1" in found[1]:
            return [body, None]
        return [found[1], zlib.decompress(found[2])]

    def pages(self) -> list[int]:
        kids = re.search(rb"/Kids \[(.*?)\]", self.objects[self.tree()][0])[1]
        return [int(number) for number in re.findall(rb"(\d+) 0 R", kids)]

    def tree(self) -> int:
        return next(number for number, (head, _) in self.objects.items() if b"/Kids" in head)

    def set_pages(self, pages: list[int]) -> None:
        kids = b" ".join(b"%d 0 R" % number for number in pages)
        head = re.sub(rb"/Kids \[.*?\]", b"/Kids [ " + kids + b" ]", self.objects[self.tree()][0], flags=re.S)
        self.objects[self.tree()][0] = re.sub(rb"/Count \d+", b"/Count %d" % len(pages), head)

    def content(self, page: int) -> list[bytes | None]:
        """Return the object of a page's content stream, to be changed in place."""
        return self.objects[int(re.search(rb"/Contents (\d+) 0 R", self.objects[page][0])[1])]

    def form(self, name: bytes) -> list[bytes | None]:
        """Return the object of a form that the pages place: the lines or the words of the pattern."""
        found = next(
            (re.search(name + rb" (\d+) 0 R", head) for head, _ in self.objects.values() if name in head), None
        )
        if found is None:
            raise NotHereError(f"no form {name!r}")
        return self.objects[int(found[1])]

    def save(self) -> None:
        parts, places = [b"%PDF-1.4\n"], {}
        for number, (head, data) in self.objects.items():
            places[number] = sum(map(len, parts))
            parts.append(b"%d 0 obj\n%s\nendobj\n" % (number, self._body(head, data)))
        start, last = sum(map(len, parts)), max(self.objects)
        rows = [b"%010d 00000 n \n" % places[number] if number in places else b"0000000000 65535 f \n"
                for number in range(1, last + 1)]  # fmt: skip
        parts += [b"xref\n0 %d\n0000000000 65535 f \n" % (last + 1), *rows]
        parts += [b"trailer\n", self.trailer, b"\nstartxref\n%d\n%%%%EOF\n" % start]
        self.path.write_bytes(b"".join(parts))

    def _body(self, head: bytes, data: bytes | None) -> bytes:
        if data is None:
            return head
        packed = zlib.compress(data)
        head = re.sub(rb"/Length \d+", b"/Length %d" % len(packed), head)
        return head + b"stream\n" + packed + b"\nendstream"
