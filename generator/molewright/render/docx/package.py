"""The paragraphs of a sheet come in; the bytes of a Word file go out: the same bytes whenever and wherever it is made.

python-docx carries the parts and what leads from one to another. A file without words, with our styles, is made once for each look.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable
from datetime import datetime
from functools import lru_cache
from typing import Any

from molewright.nodes.blocks import Sheet
from molewright.render.docx.lines import TAB, written
from molewright.render.docx.look import BULLETS, SETTINGS, PageLook, section, styles
from molewright.render.docx.markup import NAMESPACES
from molewright.render.tints import TINTS

_NO_TIME = datetime(2000, 1, 1)  # noqa: DTZ001  # a file says when it was made: always the same
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the first that an archive can hold
_MOST_PROPERTY = 255  # letters, in the properties of a file
_FIELD = '<w:fldSimple w:instr="{}"><w:r><w:t>{}</w:t></w:r></w:fldSimple>'
_NEEDED = ("/styles", "/settings", "/numbering")  # of what the library's own empty file leads to
"""Its theme, its picture of the first page and its keeper of custom data say nothing about a sheet."""


class Package:
    """One Word file that is being made."""

    def __init__(self, sheet: Sheet, look: PageLook) -> None:
        import docx

        self._look = look
        self._sheet = sheet
        self._document: Any = docx.Document(io.BytesIO(_empty(look, sheet.language)))

    def embed(self, png: bytes) -> str:
        """A picture is put into the file; what it is called there."""
        name, _ = self._document.part.get_or_add_image(io.BytesIO(png))
        return str(name)

    def written(self, body: str) -> bytes:
        """The whole file with these paragraphs."""
        document, sheet = self._document, self._sheet
        running = document.sections[0]
        _fill(running.header, written(sheet.header) + (TAB + written(sheet.version, True) if sheet.version else ""))
        pages = f"{written('page ')}{_FIELD.format('PAGE', 1)}{written(' of ')}{_FIELD.format('NUMPAGES', 1)}"
        _fill(running.footer, f"{written(sheet.code)}{TAB}{pages}")
        references = "".join(_text_of(one) for one in document.element.body.sectPr if one.tag.endswith("Reference"))
        new = _parsed(f"<w:body {NAMESPACES}>{body}{section(self._look, references)}</w:body>")
        document.element.replace(document.element.body, new)
        if self._look.tint:
            tint = _parsed(f'<w:background {NAMESPACES} w:color="{TINTS[self._look.tint]}"/>')
            document.element.insert(0, tint)
        _tell(document.core_properties, sheet)
        return _packed(document)


def _fill(part: Any, content: str) -> None:
    """The one paragraph of a header or footer."""
    part.is_linked_to_previous = False
    old = part.paragraphs[0]._p
    style = "Header" if type(part).__name__ == "_Header" else "Footer"
    old.getparent().replace(
        old, _parsed(f'<w:p {NAMESPACES}><w:pPr><w:pStyle w:val="{style}"/></w:pPr>{content}</w:p>')
    )


def _tell(properties: Any, sheet: Sheet) -> None:
    """Title, subject, language, and nothing of who made it when and where."""
    properties.title = sheet.title[:_MOST_PROPERTY]
    properties.subject = sheet.subject[:_MOST_PROPERTY]
    properties.keywords = sheet.code[:_MOST_PROPERTY]
    properties.language = sheet.language
    properties.author = properties.last_modified_by = "Molewright"
    properties.comments = properties.category = ""
    properties.created = properties.modified = _NO_TIME
    properties.revision = 1


def _parsed(xml: str) -> Any:
    from docx.oxml import parse_xml

    return parse_xml(xml)


def _text_of(element: Any) -> str:
    from lxml import etree

    return str(etree.tostring(element, encoding="unicode"))


def _packed(document: Any) -> bytes:
    """The file with its entries in one order, dated alike: the library would pack each, and each would be packed anew for its date."""
    package = document.part.package
    parts = list(package.iter_parts())
    entries = [("[Content_Types].xml", _content_types(parts)), ("_rels/.rels", package.rels.xml)]
    for part in parts:
        part.before_marshal()
        entries.append((part.partname.membername, part.blob))
        if part.rels:
            entries.append((part.partname.rels_uri.membername, part.rels.xml))
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        for name, body in entries:
            entry = zipfile.ZipInfo(name, _ZIP_TIME)
            entry.compress_type = zipfile.ZIP_STORED if name.endswith(".png") else zipfile.ZIP_DEFLATED
            entry.external_attr = 0o600 << 16
            entry.create_system = 3
            packed.writestr(entry, body)
    return made.getvalue()


def _content_types(parts: Iterable[Any]) -> bytes:
    """What the parts of a package are (ECMA-376-2, 6.2.3): pictures by how their names end, all others by name."""
    from docx.opc.constants import CONTENT_TYPE
    from docx.opc.oxml import CT_Types, serialize_part_xml

    ends = {"rels": CONTENT_TYPE.OPC_RELATIONSHIPS, "xml": CONTENT_TYPE.XML}
    named: dict[str, str] = {}
    for part in parts:
        if part.partname.ext == "png":
            ends["png"] = CONTENT_TYPE.PNG
        else:
            named[str(part.partname)] = part.content_type
    types: Any = CT_Types  # of which the library does not say the types
    told = types.new()
    for end, kind in sorted(ends.items()):
        told.add_default(end, kind)
    for name, kind in sorted(named.items()):
        told.add_override(name, kind)
    written: bytes = serialize_part_xml(told)
    return written


@lru_cache(maxsize=16)
def _empty(look: PageLook, language: str) -> bytes:
    """A file without words: our styles, list and settings, and none of the library's."""
    import docx

    document: Any = docx.Document()
    part = document.part
    for holder, needed in ((part, _NEEDED), (part.package, ("/officeDocument", "/core-properties"))):
        for name, relation in list(holder.rels.items()):
            if not relation.reltype.endswith(needed):
                del holder.rels[name]
    _put(document.styles.element, styles(look, language))
    _put(document.settings.element, SETTINGS)
    _put(part.numbering_part.element, BULLETS)
    made = io.BytesIO()
    document.save(made)
    return made.getvalue()


def _put(element: Any, children: str) -> None:
    """These children in place of those it has."""
    for child in list(element):
        element.remove(child)
    made = _parsed(f"<w:body {NAMESPACES}>{children}</w:body>")
    element.extend(list(made))
