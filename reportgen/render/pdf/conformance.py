"""Mend what the layout engine leaves short of PDF/UA-1 (ISO 14289-1) and PDF/A-3a (ISO 19005-3).

Every repair works on the PDF's own objects, before they are written, through the engine's hook for
that. Table and clause numbers are those of ISO 32000-1:2008 where no other standard is named.
"""

from collections.abc import Iterator, Mapping
from typing import Any, Final

import pydyf

POINTS: Final = 0.75  # of 1/72 inch in a CSS px of 1/96

# PDF/A allows no property of a foreign schema that is not described (ISO 19005-3, 6.6.2.3); PDF/UA
# asks for one.
PDF_UA: Final = b"""<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<pdfuaid:part>1</pdfuaid:part></rdf:Description>
<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>The part of ISO 14289 to which the file conforms</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>
"""


def finish(document: Any, pdf: Any) -> None:
    """Repair a PDF: `document` is WeasyPrint's laid out document, `pdf` the pydyf file made from
    it.
    """
    root = _object(pdf, pdf.catalog["StructTreeRoot"])
    for element in list(_below(pdf, root)):
        _leave_out_what_decorates(pdf, element)
    elements = list(_below(pdf, root))
    for element in elements:
        if element["S"] in ("/TH", "/TD"):
            _say_what_a_header_heads(pdf, element)
        elif element["S"] == "/LI":
            _keep_an_item_in_one_body(pdf, element)
        elif element["S"] == "/Figure":
            _measure_from_below(pdf, element)
    _part_artifacts_from_the_text(pdf, {id(element) for element in elements})
    _name_links_by_their_text(document)
    _name_each_attachment_once(pdf)
    _declare_accessible(pdf)


def _object(pdf: Any, reference: bytes) -> Any:
    return pdf.objects[int(reference.split()[0])]


def _below(pdf: Any, element: Any) -> Iterator[Any]:
    """Yield every structure element under one, in reading order."""
    for kid in _kids(pdf, element):
        yield kid
        yield from _below(pdf, kid)


def _kids(pdf: Any, element: Any) -> list[Any]:
    """Return the structure elements directly under one; other kids are marks in a page and
    annotations.
    """
    named = (_object(pdf, kid) for kid in element.get("K", ()) if isinstance(kid, bytes))
    return [kid for kid in named if "S" in kid]


def _leave_out_what_decorates(pdf: Any, parent: Any) -> None:
    """Take drawings without words in place of them from the tree (ISO 14289-1, 7.3): the text
    beside says it all.
    """
    decorations = [kid for kid in _kids(pdf, parent) if kid["S"] == "/Figure" and "Alt" not in kid]
    if not decorations:
        return
    left_out = {kid.reference for kid in decorations}
    parent["K"] = pydyf.Array([kid for kid in parent["K"] if kid not in left_out])


def _say_what_a_header_heads(pdf: Any, cell: Any) -> None:
    """Give a header cell its scope (table 349) in place of identifiers, which would need a tree of
    their own.
    """
    cell.pop("ID", None)
    cell["A"].pop("Headers", None)
    if cell["S"] == "/TH":
        part = _object(pdf, _object(pdf, cell["P"])["P"])
        cell["A"]["Scope"] = "/Column" if part["S"] == "/THead" else "/Row"


def _keep_an_item_in_one_body(pdf: Any, item: Any) -> None:
    """Let a list item have its label and one body, and nothing else (table 336)."""
    kids = _kids(pdf, item)
    labels = [kid for kid in kids if kid["S"] == "/Lbl"]
    rest = [kid for kid in kids if kid["S"] != "/Lbl"]
    if [kid["S"] for kid in rest] in ([], ["/LBody"]):
        return
    body = pydyf.Dictionary(
        {"Type": "/StructElem", "S": "/LBody", "Pg": item["Pg"], "P": item.reference}
    )
    pdf.add_object(body)
    body["K"] = pydyf.Array([kid.reference for kid in rest])
    item["K"] = pydyf.Array([kid.reference for kid in (*labels, body)])
    for kid in rest:
        kid["P"] = body.reference
        if kid["S"] == "/LBody":
            kid["S"] = "/Div"


def _measure_from_below(pdf: Any, figure: Any) -> None:
    """Turn a figure's box from CSS px under the page's top into points over its foot (table 344)."""
    height = _object(pdf, figure["Pg"])["MediaBox"][3]
    left, top, right, bottom = (POINTS * length for length in figure["A"]["BBox"])
    figure["A"]["BBox"] = pydyf.Array((left, height - bottom, right, height - top))


def _part_artifacts_from_the_text(pdf: Any, read: set[int]) -> None:
    """Mark running titles, page numbers and decorations, which the tree `read` leaves out, as
    artifacts (14.8.2.2).
    """
    numbers = _object(pdf, _object(pdf, pdf.catalog["StructTreeRoot"])["ParentTree"])["Nums"]
    for parents, reference in zip(
        numbers[1::2], pdf.page_references, strict=False
    ):  # then come annotations
        owners = [_object(pdf, parent) for parent in parents]
        unread = {
            mark: _kind_of_artifact(owner)
            for mark, owner in enumerate(owners)
            if id(owner) not in read
        }
        _make_artifacts(_object(pdf, _object(pdf, reference)["Contents"]).stream, unread)
        for mark in unread:
            parents[mark] = "null"


def _kind_of_artifact(element: Any) -> str:
    if element["S"] == "/Figure":
        return "/Layout"
    return "/Pagination"


def _make_artifacts(stream: list[Any], kinds: Mapping[int, str]) -> None:
    """Turn marks of a page's content into artifacts; `kinds` is the type of each by its number."""
    for place, operand in enumerate(stream):
        if isinstance(operand, dict) and operand.get("MCID") in kinds:
            artifact = pydyf.Dictionary({"Type": kinds[operand["MCID"]]})
            stream[place - 1 : place + 1] = ["/Artifact", artifact]


def _name_links_by_their_text(document: Any) -> None:
    """Describe a link by its words (ISO 14289-1, 7.18.5); the engine repeats the address."""
    for page in document.pages:
        for _, _, _, box in page.links:
            box.link_annotation["Contents"] = pydyf.String(
                " ".join("".join(box.element.itertext()).split())
            )


def _name_each_attachment_once(pdf: Any) -> None:
    """Let the file be associated with each attachment once; the engine says it twice."""
    pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(pdf.catalog.get("AF", ())))


def _declare_accessible(pdf: Any) -> None:
    """Add to the file's metadata that it conforms to PDF/UA-1 (ISO 14289-1, clause 5)."""
    metadata = _object(pdf, pdf.catalog["Metadata"])
    metadata.stream = [
        part.replace(b"</rdf:RDF>", PDF_UA + b"</rdf:RDF>") for part in metadata.stream
    ]
