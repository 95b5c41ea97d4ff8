"""The measures of a page and the type of a kind of sheet come in; what the styles of a Word document are made of goes out.

The page is that of the PDF. The typeface is one that every machine has or replaces by one of the same widths.
"""

from __future__ import annotations

from dataclasses import dataclass

from molewright.nodes.blocks import RULED_MM, LookName, TintName
from molewright.render.docx.lettering import REGULAR, text_width
from molewright.render.docx.markup import escaped, twips
from molewright.render.docx.maths import MATHS_FACE
from molewright.render.pdf.look import (
    BOTTOM,
    LEFT,
    MM,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    PUPIL_LOOKS,
    RIGHT,
    TEACHER,
    TOP,
    Look,
)

TYPEFACE = "Arial"
_ONE_LINE = 1.149  # its own leading, in ems, after its public metrics
HEADER_DOWN, FOOTER_UP = 12 * MM, 10.5 * MM
WRITING_LINE = RULED_MM * MM
_FURTHER_APART = 0.06  # ems after each letter where letters are set wide, as in the PDF
_LARGEST_RUNNING = 1.7  # times as large as usual: what the margins hold
HEADINGS = ((8.0, 8.0), (14.0, 5.0), (10.0, 3.0))  # space above and below


@dataclass(frozen=True, slots=True, kw_only=True)
class PageLook:
    """The page and the type of one sheet."""

    wide: bool
    pupil: bool  # somebody writes on it
    name: LookName = "usual"
    tint: TintName = ""

    @property
    def type(self) -> Look:
        """Sizes of the type, as the PDF has them."""
        return TEACHER if self.name == "usual" and not self.pupil else PUPIL_LOOKS[self.name]

    @property
    def writing_line(self) -> float:
        """From one line to write on to the next."""
        return WRITING_LINE * self.type.scale

    @property
    def wide_set(self) -> bool:
        """Letters further apart, and none of them sloped."""
        return self.type.body.wide_set

    def ems(self, text: str, face: int = REGULAR) -> float:
        """About how wide a text is, in sizes of its type, with what its letters stand further apart."""
        return text_width(text, face) + (_FURTHER_APART * len(text) if self.wide_set else 0.0)

    @property
    def page(self) -> tuple[float, float]:
        """Width and height of the paper in points."""
        return (PAGE_HEIGHT, PAGE_WIDTH) if self.wide else (PAGE_WIDTH, PAGE_HEIGHT)

    @property
    def column(self) -> float:
        """What the margins leave of the width."""
        return self.page[0] - LEFT - RIGHT

    @property
    def room(self) -> float:
        """What the margins leave of the height."""
        return self.page[1] - TOP - BOTTOM


def section(look: PageLook, references: str) -> str:
    """The page as a Word section; `references` name its header and footer."""
    across, down = (twips(side) for side in look.page)
    orient = ' w:orient="landscape"' if look.wide else ""
    return (
        f'<w:sectPr>{references}<w:pgSz w:w="{across}" w:h="{down}"{orient}/>'
        f'<w:pgMar w:top="{twips(TOP)}" w:right="{twips(RIGHT)}" w:bottom="{twips(BOTTOM)}" w:left="{twips(LEFT)}"'
        f' w:header="{twips(HEADER_DOWN)}" w:footer="{twips(FOOTER_UP)}" w:gutter="0"/></w:sectPr>'
    )


def _style(name: str, paragraph: str = "", letters: str = "", based: str = "Normal", following: str = "") -> str:
    identity = style_id(name)
    base = f'<w:basedOn w:val="{style_id(based)}"/>' if name != based else ""
    following = f'<w:next w:val="{style_id(following)}"/>' if following else ""
    default = ' w:default="1"' if name == "Normal" else ""
    built_in = name == "Normal" or name.casefold().startswith(("heading ", "header", "footer"))
    custom = "" if built_in else ' w:customStyle="1"'
    return (
        f'<w:style w:type="paragraph"{default}{custom} w:styleId="{identity}"><w:name w:val="{escaped(name)}"/>'
        f"{base}{following}<w:qFormat/><w:pPr>{paragraph}</w:pPr><w:rPr>{letters}</w:rPr></w:style>"
    )


def style_id(name: str) -> str:
    """A style's identity in the file: its name without spaces."""
    return name.title().replace(" ", "") if " " in name else name[:1].upper() + name[1:]


def _space(above: float = 0.0, below: float = 0.0, exact: float = 0.0) -> str:
    line = f' w:line="{twips(exact)}" w:lineRule="exact"' if exact else ""
    return f'<w:spacing w:before="{twips(above)}" w:after="{twips(below)}"{line}/>'


def _size(points: float) -> str:
    halves = round(points * 2)
    return f'<w:sz w:val="{halves}"/><w:szCs w:val="{halves}"/>'


def _border(*sides: str, line: str = "single", width: int = 4, space: int = 1) -> str:
    inside = "".join(f'<w:{side} w:val="{line}" w:sz="{width}" w:space="{space}" w:color="auto"/>' for side in sides)
    return f"<w:pBdr>{inside}</w:pBdr>"


def styles(look: PageLook, language: str) -> str:
    """The children of w:styles: defaults, paragraph styles by plain names, one table style."""
    sizes = look.type
    small, cell = sizes.small.size, sizes.cell.size
    after, column = sizes.after, twips(look.column)
    running = 9 * min(_LARGEST_RUNNING, sizes.scale)
    keep, lines = "<w:keepNext/>", "<w:keepLines/>"
    right_tab = f'<w:tabs><w:tab w:val="right" w:pos="{column}"/></w:tabs>'
    bold = "<w:b/><w:bCs/>"
    frame = _border("top", "left", "bottom", "right", space=4)  # neighbours of one frame and one indentation share it
    made = [_defaults(look, language), _style("Normal", f"{_space(0, after)}")]
    for level, (sized, (above, below)) in enumerate(zip(sizes.headings, HEADINGS, strict=True), 1):
        outline = f'{keep}{lines}{_space(above, below)}<w:outlineLvl w:val="{level - 1}"/>'
        made.append(_style(f"heading {level}", outline, bold + _size(sized.size), following="Normal"))
    part = f'<w:ind w:left="{twips(sizes.gutter)}" w:hanging="{twips(sizes.gutter)}"/>'
    made += [
        _style("header", right_tab + _space(), _size(running)),
        _style("footer", right_tab + _space(), _size(running)),
        _style("Question stem", lines),
        _style("Part", lines + right_tab + _space(11, 4) + part),
        _style("Question total", lines + _space(6, 14) + '<w:jc w:val="right"/>', bold),
        _style("Hint", lines, _size(small)),
        _style("Note", lines, _size(small)),
        _style("Caution", lines + frame + _space(6, after + 6), _size(small)),
        _style("Framed title", keep + lines + frame + _space(), bold),
        _style("Framed line", lines + frame + _space()),
        _style("Lead", keep + lines, bold),
        _style("Centred", lines + '<w:jc w:val="center"/>'),
        _style("Point", lines + '<w:numPr><w:ilvl w:val="0"/><w:numId w:val="1"/></w:numPr>' + _space(0, 2)),
        _style("Working", lines, following="Working"),
        _style("Working line", _space(0, 0, look.writing_line)),
        _style(
            "Ruled line", _border("bottom", "between", line="dotted", space=0) + _space(0, 0, look.writing_line), ""
        ),
        _style("Answer line", lines + _space(10, after)),
        _style("Figure", lines + _space(6, 8)),
        _style("After table", _space(0, 0, after + 2), _size(4)),
        _style("Cell", lines + _space(), _size(cell)),
        _style("Heading cell", keep + lines + _space(), bold + _size(cell), based="Cell"),
        _style("Element", lines + _space() + '<w:jc w:val="center"/>', bold + _size(11)),
        _style("Element mass", lines + _space() + '<w:jc w:val="center"/>', _size(10)),
        _style("Long element mass", lines + _space() + '<w:jc w:val="center"/>', _size(8)),
        _style("School", keep + _space(0, 4), bold),
        _style("Topic", lines + _space(0, 8)),
        _style("Fields", lines + _space(6, 4)),
        _style("Time and marks", lines + right_tab + _space(4, 4), bold),
        _style("End of front", _border("bottom", width=8) + _space(0, 8, 5), _size(4)),
        _style("Closing line", lines + _space(22, 0) + '<w:jc w:val="center"/>', bold),
        _RULED_TABLE,
    ]  # fmt: skip
    return "".join(made)


def _defaults(look: PageLook, language: str) -> str:
    size = look.type.body.size
    lines = round(240 * look.type.body.leading / (size * _ONE_LINE))
    apart = f'<w:spacing w:val="{twips(size * _FURTHER_APART)}"/>' if look.wide_set else ""
    return (
        f'<w:docDefaults><w:rPrDefault><w:rPr><w:rFonts w:ascii="{TYPEFACE}" w:hAnsi="{TYPEFACE}" w:cs="{TYPEFACE}"'
        f' w:eastAsia="{TYPEFACE}"/>{apart}{_size(size)}<w:lang w:val="{escaped(language)}" w:eastAsia="{escaped(language)}"'
        ' w:bidi="ar-SA"/></w:rPr></w:rPrDefault><w:pPrDefault><w:pPr><w:widowControl/>'
        '<w:spacing w:after="0" w:line="%d" w:lineRule="auto"/></w:pPr></w:pPrDefault></w:docDefaults>' % lines
    )


_SIDES = "".join(
    f'<w:{side} w:val="single" w:sz="4" w:space="0" w:color="auto"/>'
    for side in ("top", "left", "bottom", "right", "insideH", "insideV")
)
_RULED_TABLE = (
    '<w:style w:type="table" w:default="1" w:customStyle="1" w:styleId="RuledTable"><w:name w:val="Ruled table"/><w:qFormat/>'
    f'<w:tblPr><w:tblBorders>{_SIDES}</w:tblBorders><w:tblCellMar><w:top w:w="50" w:type="dxa"/><w:left w:w="90" w:type="dxa"/>'
    '<w:bottom w:w="50" w:type="dxa"/><w:right w:w="90" w:type="dxa"/></w:tblCellMar></w:tblPr></w:style>'
)

BULLETS = (
    '<w:abstractNum w:abstractNumId="0"><w:multiLevelType w:val="singleLevel"/><w:lvl w:ilvl="0"><w:start w:val="1"/>'
    '<w:numFmt w:val="bullet"/><w:lvlText w:val="•"/><w:lvlJc w:val="left"/><w:pPr><w:ind w:left="300" w:hanging="300"/></w:pPr>'
    f'<w:rPr><w:rFonts w:ascii="{TYPEFACE}" w:hAnsi="{TYPEFACE}"/></w:rPr></w:lvl></w:abstractNum>'
    '<w:num w:numId="1"><w:abstractNumId w:val="0"/></w:num>'
)
SETTINGS = (
    '<w:zoom w:percent="100"/><w:displayBackgroundShape/>'
    '<w:defaultTabStop w:val="510"/><w:characterSpacingControl w:val="doNotCompress"/>'
    '<w:compat><w:compatSetting w:name="compatibilityMode" w:uri="http://schemas.microsoft.com/office/word" w:val="15"/></w:compat>'
    f'<m:mathPr><m:mathFont m:val="{MATHS_FACE}"/></m:mathPr>'
)
