"""The deck as a PowerPoint file (Office Open XML), to be edited and shown anywhere."""

from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any

from pmulab.figures.palette import ALARM, INK, QUIET
from pmulab.sharing.slides import layout
from pmulab.sharing.slides.deck import Deck
from pmulab.sharing.slides.layout import Box, place
from pmulab.sharing.slides.slide import Part, Slide

if TYPE_CHECKING:
    from pptx.presentation import Presentation

FONT = "Arial"
_LANGUAGE = "en-GB"
_TITLE_ONLY = 5
_DOTS = 300
_BULLET = "–"


def deck_pptx(deck: Deck) -> bytes:
    """Write the deck as a file for a slide program.

    Parameters
    ----------
    deck : Deck

    Returns
    -------
    bytes
        A .pptx file: titles as titles, pictures with their description, the words to say as
        notes. Text stays text; nothing runs and nothing is linked.
    """
    from pptx import Presentation
    from pptx.util import Inches

    show = Presentation()
    _widen(show, Inches(layout.WIDTH), Inches(layout.HEIGHT))
    _name(show, deck)
    for number, slide in enumerate(deck.slides, start=1):
        _write_slide(show, slide, deck.foot, f"{number} / {len(deck.slides)}")
    buffer = BytesIO()
    show.save(buffer)
    return buffer.getvalue()


def _widen(show: "Presentation", width: int, height: int) -> None:
    """Take the empty show from 4:3 to the shape of a screen, its layouts too."""
    wider, higher = width / (show.slide_width or width), height / (show.slide_height or height)
    for page in (show.slide_master, *show.slide_layouts):
        for shape in page.placeholders:
            shape.left, shape.width = int(shape.left * wider), int(shape.width * wider)
            shape.top, shape.height = int(shape.top * higher), int(shape.height * higher)
    show.slide_width, show.slide_height = width, height


def _name(show: "Presentation", deck: Deck) -> None:
    known = show.core_properties
    known.title, known.author, known.last_modified_by = deck.title, deck.made_by, deck.made_by
    known.subject, known.language = deck.foot, _LANGUAGE
    known.created = known.modified = datetime.fromisoformat(deck.analysed)


def _write_slide(show: "Presentation", slide: Slide, foot: str, number: str) -> None:
    placed = place(slide)
    sheet = show.slides.add_slide(show.slide_layouts[_TITLE_ONLY])
    title = sheet.shapes.title
    _set_box(title, layout.TITLE)
    _paragraph(title.text_frame, slide.title, placed.title_size, bold=True)
    _frame(title.text_frame, padding=0.0)
    if slide.picture is not None and placed.picture is not None:
        _add_picture(sheet, slide, placed.picture)
    for part, box in placed.parts:
        _add_part(sheet, part, box, placed.size)
    _add_line(sheet, foot, layout.FOOT)
    _add_line(sheet, number, layout.NUMBER)
    sheet.notes_slide.notes_text_frame.text = "\n".join(slide.notes)


def _set_box(shape: Any, box: Box) -> None:
    from pptx.util import Inches

    shape.left, shape.top = Inches(box.left), Inches(box.top)
    shape.width, shape.height = Inches(box.width), Inches(box.height)


def _text_box(sheet: Any, box: Box) -> Any:
    from pptx.util import Inches

    places = (Inches(one) for one in (box.left, box.top, box.width, box.height))
    return sheet.shapes.add_textbox(*places)


def _frame(frame: Any, padding: float = layout.PADDING) -> None:
    from pptx.enum.text import MSO_ANCHOR, MSO_AUTO_SIZE
    from pptx.util import Inches

    frame.word_wrap, frame.auto_size = True, MSO_AUTO_SIZE.NONE
    frame.vertical_anchor = MSO_ANCHOR.TOP
    frame.margin_left = frame.margin_right = Inches(padding)
    frame.margin_top = frame.margin_bottom = Inches(padding)


def _add_part(sheet: Any, part: Part, box: Box, size: float) -> None:
    from pptx.dml.color import RGBColor
    from pptx.util import Pt

    shape = _text_box(sheet, box)
    frame = shape.text_frame
    _frame(frame)
    alarm = part.kind == "alarm"
    if alarm:
        shape.line.color.rgb, shape.line.width = RGBColor.from_string(ALARM[1:]), Pt(2.5)
    if part.heading:
        colour = ALARM if alarm else INK
        _paragraph(frame, part.heading, size * layout.HEADING_GROWTH, bold=True, colour=colour)
    said = part.kind == "said"
    for line in part.lines:
        written = _paragraph(frame, line, size * layout.SAID_GROWTH if said else size, bold=said)
        if part.dashed:
            _listed(written)


def _paragraph(frame: Any, text: str, size: float, *, bold: bool = False, colour: str = INK) -> Any:
    """Add a paragraph; the first one takes the empty one that every frame begins with."""
    from pptx.dml.color import RGBColor
    from pptx.enum.text import PP_ALIGN
    from pptx.util import Pt

    first = frame.paragraphs[0]
    paragraph = first if not first.runs else frame.add_paragraph()
    paragraph.alignment = PP_ALIGN.LEFT
    paragraph.space_after = Pt(size * layout.PARAGRAPH)
    run = paragraph.add_run()
    run.text = text
    run.font.size, run.font.bold, run.font.name = Pt(size), bold, FONT
    run.font.color.rgb = RGBColor.from_string(colour[1:])
    run._r.get_or_add_rPr().set("lang", _LANGUAGE)
    return paragraph


def _listed(paragraph: Any) -> None:
    """Hang the paragraph from a dash, as a real list entry."""
    from pptx.oxml.ns import qn
    from pptx.util import Inches

    properties = paragraph._p.get_or_add_pPr()
    properties.set("marL", str(Inches(layout.INDENT)))
    properties.set("indent", str(-Inches(layout.INDENT)))
    mark = properties.makeelement(qn("a:buChar"), {"char": _BULLET})
    properties.append(mark)


def _add_line(sheet: Any, text: str, box: Box) -> None:
    shape = _text_box(sheet, box)
    _frame(shape.text_frame, padding=0.0)
    _paragraph(shape.text_frame, text, layout.FOOT_SIZE, colour=QUIET)


def _add_picture(sheet: Any, slide: Slide, box: Box) -> None:
    from pptx.util import Inches

    assert slide.picture is not None
    places = (Inches(one) for one in (box.left, box.top, box.width, box.height))
    drawn = sheet.shapes.add_picture(BytesIO(slide.picture.png(_DOTS)), *places)
    named = drawn._element.nvPicPr.cNvPr
    named.set("name", slide.picture.title)
    named.set("descr", slide.picture.alt)
