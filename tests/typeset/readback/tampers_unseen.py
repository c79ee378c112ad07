"""What is heard, copied or run, and does not show."""

from __future__ import annotations

from typing import Any

from pikepdf import Array, Dictionary, Name, String
from tampering import anchored, page_of, replace, tamper


def _elements(pdf: Any, kind: str) -> list[Any]:
    return [one for one in pdf.Root.StructTreeRoot.K.K if f"/{kind}" == one.S]


@tamper("in place of a figure 'nothing' is read aloud")
def alternative_text_changed(pdf: Any, little: Any) -> None:
    _elements(pdf, "Figure")[1].Alt = String("nothing")


@tamper("in place of a figure '' is read aloud")
def alternative_text_lost(pdf: Any, little: Any) -> None:
    del _elements(pdf, "Figure")[1]["/Alt"]


@tamper("in place of a link 'elsewhere' is read aloud")
def a_link_told_otherwise(pdf: Any, little: Any) -> None:
    _elements(pdf, "Link")[0].Alt = String("elsewhere")


@tamper("a paragraph is tagged as 'Artifact'")
def a_paragraph_passed_over(pdf: Any, little: Any) -> None:
    _elements(pdf, "P")[0].S = Name.Artifact


@tamper("a paragraph says something else to those who hear it (/ActualText)")
def a_paragraph_told_otherwise(pdf: Any, little: Any) -> None:
    _elements(pdf, "P")[2].ActualText = String("quite another thing")


@tamper("tags: the file has none")
def tags_lost(pdf: Any, little: Any) -> None:
    del pdf.Root["/StructTreeRoot"]


@tamper("does not say that it has them")
def tags_not_owned_to(pdf: Any, little: Any) -> None:
    del pdf.Root["/MarkInfo"]


@tamper("they are given another meaning (RoleMap)")
def tags_renamed(pdf: Any, little: Any) -> None:
    pdf.Root.StructTreeRoot.RoleMap = Dictionary(P=Name.NonStruct)


@tamper("the pages are not read in their order")
def pages_told_in_another_order(pdf: Any, little: Any) -> None:
    pdf.Root.StructTreeRoot.K.K = Array(list(pdf.Root.StructTreeRoot.K.K)[::-1])


@tamper("tags: there are 0; there should be")
def tags_of_a_page_lost(pdf: Any, little: Any) -> None:
    del page_of(pdf, little)["/StructParents"]


@tamper("the page's content is not marked as it should be")
def content_marked_otherwise(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), "/MCID 1", "/MCID 0")


@tamper("is of something else")
def two_tags_exchanged(pdf: Any, little: Any) -> None:
    one, other = [one for one in _elements(pdf, "P") if one.Pg == anchored(pdf, little, "how").obj][:2]
    one.K, other.K = other.K, one.K


@tamper("the extent of a figure is another than it is drawn in")
def a_figures_extent(pdf: Any, little: Any) -> None:
    next(one for one in _elements(pdf, "Figure") if "/A" in one).A.BBox = [0, 0, 10, 10]



@tamper("'5' is copied as '6'")
def letters_copied_as_others(pdf: Any, little: Any) -> None:
    for one in pdf.objects:
        if isinstance(one, Dictionary) and one.get("/Type") == "/Font" and "/ToUnicode" in one:
            one.ToUnicode.write(one.ToUnicode.read_bytes().replace(b"<35> <0035>", b"<35> <0036>"))


@tamper("does not say what its letters are")
def letters_not_to_be_copied(pdf: Any, little: Any) -> None:
    font = next(iter(pdf.pages[6].Resources.Font.values()))
    del font["/ToUnicode"]


@tamper("its language is 'fr'; it should be 'en'")
def another_language(pdf: Any, little: Any) -> None:
    pdf.Root.Lang = String("fr")


@tamper("its language is ''; it should be 'en'")
def no_language(pdf: Any, little: Any) -> None:
    del pdf.Root["/Lang"]


@tamper("its title is 'Another'; it should be 'Platform 9'")
def another_title(pdf: Any, little: Any) -> None:
    pdf.docinfo["/Title"] = "Another"


@tamper("its author is 'Nobody'; it should be ''")
def another_author(pdf: Any, little: Any) -> None:
    pdf.docinfo["/Author"] = "Nobody"


@tamper("it says something of itself that the book does not (/Secret)")
def a_secret(pdf: Any, little: Any) -> None:
    pdf.docinfo["/Secret"] = "twenty-three"


@tamper("its metadata name the title 'Another'")
def another_title_in_the_metadata(pdf: Any, little: Any) -> None:
    with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as metadata:
        metadata["dc:title"] = "Another"


@tamper("it runs JavaScript")
def a_script(pdf: Any, little: Any) -> None:
    pdf.Root.Names = Dictionary(JavaScript=Dictionary(Names=[String("a"), Dictionary(S=Name.JavaScript,
                                                                                    JS=String("app.beep()"))]))


@tamper("it does something when it is opened")
def a_script_at_opening(pdf: Any, little: Any) -> None:
    pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=String("app.beep()"))


@tamper("it has an entry /AA")
def a_script_on_a_page(pdf: Any, little: Any) -> None:
    pdf.pages[4].AA = Dictionary(O=Dictionary(S=Name.JavaScript, JS=String("app.beep()")))


@tamper("a link does something besides leading to a page (/AA)")
def a_script_on_a_link(pdf: Any, little: Any) -> None:
    note, *_ = page_of(pdf, little).Annots
    note.AA = Dictionary(E=Dictionary(S=Name.JavaScript, JS=String("app.beep()")))


@tamper("it has files attached")
def a_file_attached(pdf: Any, little: Any) -> None:
    pdf.attachments["a.txt"] = b"twenty-three"


@tamper("it has layers")
def layers_that_hold_nothing(pdf: Any, little: Any) -> None:
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("none")))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary())


@tamper("it numbers its pages in a way of its own")
def pages_numbered_otherwise(pdf: Any, little: Any) -> None:
    pdf.Root.PageLabels = Dictionary(Nums=[0, Dictionary(S=Name.r)])


@tamper("it opens in the mode FullScreen")
def full_screen(pdf: Any, little: Any) -> None:
    pdf.Root.PageMode = Name.FullScreen


@tamper("it says how it is to be shown or printed (/Direction)")
def read_from_right_to_left(pdf: Any, little: Any) -> None:
    pdf.Root.ViewerPreferences.Direction = Name.R2L


@tamper("bookmarks: 'Elsewhere' stands where")
def a_bookmark_renamed(pdf: Any, little: Any) -> None:
    pdf.Root.Outlines.First.Title = String("Elsewhere")


@tamper("bookmarks: there are 0")
def bookmarks_lost(pdf: Any, little: Any) -> None:
    del pdf.Root["/Outlines"]


@tamper("it names a printing condition")
def a_printing_condition(pdf: Any, little: Any) -> None:
    pdf.Root.OutputIntents = Array([Dictionary(Type=Name.OutputIntent, S=Name.GTS_PDFX,
                                               OutputConditionIdentifier=String("FOGRA51"))])
