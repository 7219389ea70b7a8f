"""A PDF's content stream cut into its operators and their operands (ISO 32000-1, 7.2 to 7.8)."""

from __future__ import annotations

import re
from collections.abc import Iterator

_MOST_OPERANDS = 1000
"""Operands before one operator: more than any takes."""
FARTHEST = 1e6
"""A coordinate or factor beyond it belongs to no sheet, and products of a few of them stay finite."""

_TOKEN = re.compile(
    rb"[\0\t\n\f\r ]*(?:(?P<numbers>[-+.\d][-+.\d\t\n\f\r ]*)?(?P<operator>[A-Za-z'\"][\w*]*)"
    rb"|(?P<alone>[-+.\d][-+.\d\t\n\f\r ]*)|(?P<name>/[^\0\t\n\f\r ()<>\[\]{}/%]*)|(?P<string>\()"
    rb"|<(?P<hex>[\dA-Fa-f\0\t\n\f\r ]*)>|<<|>>|\[|\]|%[^\r\n]*|\Z)"
)
"""An operator comes with the numbers before it in one match: nearly all of a pattern is that."""
_IN_STRING = re.compile(rb"[()]|\\.?", re.DOTALL)
_ESCAPE = re.compile(rb"\\(?:([0-7]{1,3})|\r\n|(.))", re.DOTALL)
_ESCAPED = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\r": b"", b"\n": b""}
_KEYWORDS = {"true", "false", "null"}
_PICTURE_END = re.compile(rb"[\0\t\n\f\r ]EI(?![^\0\t\n\f\r ])")

Operation = tuple[str, list[float], list[str | bytes]]
"""An operator, its numbers, and its names, keywords and strings. No operator's meaning needs the brackets here."""


class ContentError(ValueError):
    """Why a stream can't be read, in words for people."""


def operations(stream: bytes) -> Iterator[Operation]:
    """Yield each operator with its operands; raises ContentError for a stream that is damaged."""
    numbers: list[float] = []
    others: list[str | bytes] = []
    at, end, match = 0, len(stream), _TOKEN.match
    while at < end:
        token = match(stream, at)
        if token is None:
            raise ContentError(f"byte {at} of a page's content can't be read")
        at, kind = token.end(), token.lastgroup
        if kind == "operator":
            before, word = token.groups()[:2]
            if before:
                numbers += _numbers(before)
            operator = word.decode("latin-1")
            if operator in _KEYWORDS:
                others.append(operator)
                continue
            if operator == "ID":
                at = _after_picture(stream, at)
            yield operator, numbers, others
            numbers, others = [], []
        elif kind == "alone":
            numbers += _numbers(token["alone"])
        elif kind == "string":
            at, text = _string(stream, at)
            others.append(text)
        elif kind is not None:
            others.append(_name_or_hex(token))
        if len(numbers) + len(others) > _MOST_OPERANDS:
            raise ContentError("numbers stand in a page's content that belong to nothing")
    if numbers or others:
        raise ContentError("a page's content ends amid an operation")


def _numbers(text: bytes) -> list[float]:
    try:
        numbers = [*map(float, text.split())]
    except ValueError:
        raise ContentError(f"{text[:20].decode('latin-1')!r} in a page's content is no number") from None
    if max(numbers) > FARTHEST or min(numbers) < -FARTHEST:
        raise ContentError("a page's content reaches beyond any sheet")
    return numbers


def _name_or_hex(token: re.Match[bytes]) -> str | bytes:
    if token["name"] is not None:
        return token["name"].decode("latin-1")
    digits = b"".join(token["hex"].replace(b"\0", b"").split())
    return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))


def _string(stream: bytes, start: int) -> tuple[int, bytes]:
    """Return where a string ends and what it holds; brackets in pairs and whatever is escaped belong to it."""
    depth = 1
    for mark in _IN_STRING.finditer(stream, start):
        depth += {b"(": 1, b")": -1}.get(mark[0], 0)
        if depth == 0:
            return mark.end(), _ESCAPE.sub(_unescaped, stream[start : mark.start()])
    raise ContentError("a text in a page's content has no end")


def _unescaped(escape: re.Match[bytes]) -> bytes:
    if escape[1]:
        return bytes([int(escape[1], 8) & 0xFF])
    return _ESCAPED.get(escape[2], escape[2]) if escape[2] else b""


def _after_picture(stream: bytes, at: int) -> int:
    end = _PICTURE_END.search(stream, at)
    if end is None:
        raise ContentError("a picture in a page's content has no end")
    return end.end()
