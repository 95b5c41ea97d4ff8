"""Title, subject and language come in; what a file says of itself goes out: its XMP packet and its output intent.

The packet claims PDF/UA-1 (ISO 14289-1) and PDF/A-2a (ISO 19005-2, level A); `tests/render/pdf/test_conformance.py` holds both. PDF/A
knows no identifier of PDF/UA, so an extension schema declares it.
"""

from __future__ import annotations

import struct
from functools import lru_cache

_EXTENSION = """<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" \
xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289 that the file conforms to</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
"""


def metadata(title: str, subject: str, language: str) -> bytes:
    """The XMP packet: title, subject and language, as readers and archives look them up, and what the file conforms to."""
    return f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" \
xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">
<dc:format>application/pdf</dc:format>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{_escaped(title)}</rdf:li></rdf:Alt></dc:title>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{_escaped(subject)}</rdf:li></rdf:Alt></dc:description>
<dc:language><rdf:Bag><rdf:li>{_escaped(language)}</rdf:li></rdf:Bag></dc:language>
<xmp:CreatorTool>Molewright</xmp:CreatorTool>
<pdfuaid:part>1</pdfuaid:part>
<pdfaid:part>2</pdfaid:part>
<pdfaid:conformance>A</pdfaid:conformance>
</rdf:Description>
{_EXTENSION}</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>""".encode()


def _escaped(text: str) -> str:
    """Text as character data. The library's own function for it brings a client for the web with it, a tenth of a cold start."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def output_intent(profile: int) -> str:
    """What is meant by black and white on these pages; `profile` is the number of the stream that holds `grey_profile`."""
    named = "(Grey, gamma 2.2)"
    return f"<</Type /OutputIntent /S /GTS_PDFA1 /OutputConditionIdentifier {named} /Info {named} /DestOutputProfile {profile} 0 R>>"


@lru_cache(maxsize=1)
def grey_profile() -> bytes:
    """A profile of a grey screen, in the form of ICC.1:2001-04: white of daylight D50, gamma 2.2. Made here, so it is nobody's else."""
    description, licence = b"Grey, gamma 2.2", b"No copyright, use freely"
    tags = {
        b"desc": struct.pack(">4s4xI", b"desc", len(description) + 1) + description + bytes(1 + 4 + 4 + 2 + 1 + 67),
        b"cprt": b"text" + bytes(4) + licence + b"\0",
        b"wtpt": struct.pack(">4s4x3i", b"XYZ ", *_D50),
        b"kTRC": struct.pack(">4s4xIH", b"curv", 1, round(2.2 * 256)),
    }
    at = 128 + 4 + 12 * len(tags)
    table, bodies = struct.pack(">I", len(tags)), b""
    for name, body in tags.items():
        table += struct.pack(">4sII", name, at + len(bodies), len(body))
        bodies += body + bytes(-len(body) % 4)
    head = struct.pack(
        ">I4xI4s4s4s6H4s4xI8xQI3i48x",
        at + len(bodies),
        0x02400000,  # version 2.4
        b"mntr",
        b"GRAY",
        b"XYZ ",
        *(2026, 1, 1, 0, 0, 0),  # a date must stand there; it tells nothing
        b"acsp",
        0,
        0,
        0,
        *_D50,
    )
    return head + table + bodies


_D50 = (0xF6D6, 0x10000, 0xD32D)  # X, Y and Z of daylight in 16 bits after the point
