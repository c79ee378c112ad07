"""What shows: the page as a whole, and annotations."""

from __future__ import annotations

from typing import Any

from pikepdf import Array, Dictionary, Name, String
from tampering import WINDOWS, cell, over, page_of, state, tamper, under

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind


@tamper("it is turned by 180 degrees")
def upside_down(pdf: Any, little: Any) -> None:
    page_of(pdf, little).Rotate = 180


@tamper("it is turned by 90 degrees")
def on_its_side(pdf: Any, little: Any) -> None:
    pdf.pages[0].Rotate = -270


@tamper("its CropBox, 74.0 x 210.0 mm, cuts into the page")
def cropped_to_a_half(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    page.CropBox = [0, 0, float(page.MediaBox[2]) / 2, page.MediaBox[3]]


@tamper("cuts into the page")
def a_smaller_sheet(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    page.MediaBox = [0, 0, page.MediaBox[2], float(page.MediaBox[3]) - 60]


@tamper("its BleedBox")
def a_bleed_within_the_trim(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    page.BleedBox = [20, 20, float(page.MediaBox[2]) - 20, float(page.MediaBox[3]) - 20]


@tamper("its ArtBox is not the page")
def an_art_box(pdf: Any, little: Any) -> None:
    pdf.pages[4].ArtBox = [0, 0, 100, 100]


@tamper("it is shown 2 times as large")
def twice_as_large(pdf: Any, little: Any) -> None:
    pdf.pages[4].UserUnit = 2


@tamper("it has an entry /Trans")
def a_transition(pdf: Any, little: Any) -> None:
    pdf.pages[4]["/Trans"] = Dictionary(S=Name.Dissolve)


@tamper("'a' stands")
def a_blank_page_written_on(pdf: Any, little: Any) -> None:
    blank = next(at for at, page in enumerate(little.original.laid.pages) if not page.marks)
    page = pdf.pages[blank]
    page.Resources = Dictionary(Font=Dictionary(F=Dictionary(Type=Name.Font, Subtype=Name.Type1,
                                                             BaseFont=Name.Helvetica)))
    over(pdf, page, "BT /F 12 Tf 100 300 Td (a) Tj ET")


@tamper("is 0 % opaque")
def opacity_nought(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little, GridKind.ANSWER)
    state(page, ca=0, CA=0)
    under(pdf, page, "q /Odd gs", "Q")


@tamper("is 50 % opaque")
def half_opaque(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    state(page, ca=0.5, CA=0.5)
    under(pdf, page, "q /Odd gs", "Q")


@tamper("blended (Multiply)")
def multiplied(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    state(page, BM=Name.Multiply)
    under(pdf, page, "q /Odd gs", "Q")


@tamper("behind a mask")
def masked(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    group = pdf.make_stream(b"0.5 g 0 0 400 600 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 400, 600],
                            Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray))
    state(page, SMask=Dictionary(Type=Name.Mask, S=Name.Luminosity, G=group))
    under(pdf, page, "q /Odd gs", "Q")


@tamper("is overprinting")
def tints_overprinting(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little, GridKind.ANSWER)
    state(page, op=True, OP=True, OPM=1)
    under(pdf, page, "q /Odd gs", "Q")


@tamper("is on a layer that is off")
def a_layer_switched_off(pdf: Any, little: Any) -> None:
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("answers")))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(OFF=[layer]))
    page = page_of(pdf, little, GridKind.ANSWER)
    page.Resources["/Properties"] = Dictionary(L=layer)
    under(pdf, page, "/OC /L BDC", "EMC")


@tamper("colours are printed lighter or darker than they are (TR)")
def a_transfer_function(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    state(page, TR=Dictionary(FunctionType=2, Domain=[0, 1], C0=[1], C1=[0], N=1))
    under(pdf, page, "q /Odd gs", "Q")


@tamper("plain colours are given another meaning (DefaultGray)")
def grey_made_red(pdf: Any, little: Any) -> None:
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1, 0, 0], C1=[1, 1, 1], N=1)
    page_of(pdf, little).Resources["/ColorSpace"] = Dictionary(
        DefaultGray=Array([Name.Separation, Name("/Red"), Name.DeviceRGB, function]))


@tamper("is cut off by a clip")
def clipped_to_a_half(pdf: Any, little: Any) -> None:
    under(pdf, page_of(pdf, little), "q 0 0 200 600 re W n", "Q")


@tamper("a clip that is no rectangle may hide a part of the page")
def clipped_to_a_triangle(pdf: Any, little: Any) -> None:
    under(pdf, page_of(pdf, little), "q 0 0 m 420 0 l 0 596 l h W n", "Q")



def _note(pdf: Any, page: Any, **entries: Any) -> None:
    notes = page.get("/Annots", Array())
    notes.append(pdf.make_indirect(Dictionary(Type=Name.Annot, **entries)))
    page.Annots = notes


@tamper("there is one of the kind Stamp; the book has links alone")
def a_sum_covered_by_an_annotation(pdf: Any, little: Any) -> None:
    page, place = page_of(pdf, little), little.grid(GridKind.PUZZLE, WINDOWS)
    x, y, side = cell(page, place, Cell(1, 1))
    look = pdf.make_stream(b"1 g 0 0 10 10 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 10, 10])
    _note(pdf, page, Subtype=Name.Stamp, Rect=[x, y + side / 2, x + side / 2, y + side], AP=Dictionary(N=look))


@tamper("there is one of the kind Square; the book has links alone")
def a_square_without_a_look(pdf: Any, little: Any) -> None:
    _note(pdf, page_of(pdf, little), Subtype=Name.Square, Rect=[50, 300, 100, 350], C=[1, 0, 0])


@tamper("there is one of the kind Highlight")
def a_highlight(pdf: Any, little: Any) -> None:
    _note(pdf, pdf.pages[4], Subtype=Name.Highlight, Rect=[50, 300, 100, 350], C=[1, 1, 0],
          QuadPoints=[50, 350, 100, 350, 50, 300, 100, 300])


@tamper("there is one of the kind FileAttachment")
def an_attachment_on_a_page(pdf: Any, little: Any) -> None:
    _note(pdf, pdf.pages[4], Subtype=Name.FileAttachment, Rect=[50, 300, 70, 320], Contents=String("see"))


@tamper("it has a form to fill in")
def a_field(pdf: Any, little: Any) -> None:
    field = pdf.make_indirect(Dictionary(Type=Name.Annot, Subtype=Name.Widget, FT=Name.Tx, T=String("name"),
                                         Rect=[50, 300, 150, 320]))
    pdf.pages[4].Annots = Array([*pdf.pages[4].get("/Annots", ()), field])
    pdf.Root.AcroForm = Dictionary(Fields=[field])


@tamper("a link has a border of 2 pt, which shows")
def a_link_framed(pdf: Any, little: Any) -> None:
    note, *_ = page_of(pdf, little).Annots
    note.Border = [0, 0, 2]


@tamper("a link paints something of its own")
def a_link_that_paints(pdf: Any, little: Any) -> None:
    note, *_ = page_of(pdf, little).Annots
    look = pdf.make_stream(b"0 0 10 10 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 10, 10])
    note.AP = Dictionary(N=look)
