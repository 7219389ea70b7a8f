"""An SVG file as a tree of elements, bounded while it is parsed: bytes, depth, elements, and no entities of its own."""

from __future__ import annotations

from xml.etree import ElementTree
from xml.parsers import expat

from shadowrout.check.untrusted import UnusableFileError, shown

MOST_BYTES = 64_000_000
"""Twenty times the largest known, a carve drawing of 10,000 strokes."""

_MOST_ELEMENTS = 300_000
"""Ten times the largest known: 10,000 strokes are refused before anything is drawn, and each is one path."""
_MOST_DEPTH = 32
"""Eight times as deep as any drawing: shape in layer in root, and the properties in the metadata."""
_DAMAGED = "can't be read as XML{where}: it is cut off or damaged"


class SvgTree:
    """The root of a file, and what stands beside the elements: ``asides``, in words that follow after "holds".

    Raises UnusableFileError where it is no XML, passes a bound, or declares entities, whose text may grow without end.
    """

    def __init__(self, content: bytes) -> None:
        self.asides: list[str] = []
        self._builder = ElementTree.TreeBuilder()
        self._depth = self._elements = 0
        parser = expat.ParserCreate(namespace_separator="}")
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._builder.data
        parser.ProcessingInstructionHandler = self._instruction
        parser.StartDoctypeDeclHandler = self._document_type
        parser.EntityDeclHandler = self._entity
        try:
            parser.Parse(content, True)
            self.root: ElementTree.Element = self._builder.close()
        except expat.ExpatError as problem:
            raise UnusableFileError(_DAMAGED.format(where=f" near line {problem.lineno}")) from None
        except UnusableFileError:
            raise
        except (AssertionError, LookupError, ValueError):
            raise UnusableFileError(_DAMAGED.format(where="")) from None

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        self._elements += 1
        if self._depth > _MOST_DEPTH:
            raise UnusableFileError(f"has groups within groups, {_MOST_DEPTH} and more deep, and isn't read")
        if self._elements > _MOST_ELEMENTS:
            raise UnusableFileError(f"has more than {_MOST_ELEMENTS} elements, and isn't read")
        self._builder.start(_named(tag), {_named(name): value for name, value in attributes.items()})

    def _end(self, tag: str) -> None:
        self._depth -= 1
        self._builder.end(_named(tag))

    def _instruction(self, target: str, words: str) -> None:
        self.asides.append(f"an instruction to other programs ({shown(f'{target} {words}')})")

    def _document_type(self, name: str, system: str | None, public: str | None, internal: bool) -> None:
        self.asides.append(f"a document type ({shown(name)})")

    def _entity(self, name: str, *rest: object) -> None:
        raise UnusableFileError(f"declares a text of its own to be put in ({shown(name)}), and isn't read")


def _named(name: str) -> str:
    return f"{{{name}" if "}" in name else name
