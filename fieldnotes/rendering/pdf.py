"""A paper as PDF: the same markdown laid out on A4, its fonts embedded, its pages numbered."""

from __future__ import annotations

import io
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Final

from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.rendering.markdown import parser

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from fpdf import FPDF
    from markdown_it.token import Token

    from fieldnotes.rendering.handout.sheet import Picture

MARGIN_MM, FOOT_MM = 12.0, 12.0
LINE_MM, SIZE_PT = 3.75, 8.4
PICTURE_MM, PICTURE_HIGH_MM = 58.0, 40.0
CHART_MM, CHART_HIGH_MM = 130.0, 60.0
INDENT_MM, BAR_MM = 4.0, 1.4
HEADINGS = {"h1": 17.0, "h2": 11.0, "h3": 9.5}
PHONE_PT = 14.0
BOX = "\N{BALLOT BOX}"
INK, GREEN, RED, AMBER = (28, 35, 33), (31, 92, 70), (163, 22, 27), (122, 75, 0)
PAPER, PALE = (255, 255, 255), (233, 243, 238)
ALARMS = {
    "Call now": RED, "Call the same day": AMBER,
    "Sofort anrufen": RED, "Noch am selben Tag anrufen": AMBER,
}  # fmt: skip
NARROWEST, WIDEST, WRITTEN_IN = 8, 60, 40  # of a table's columns, in characters
FAMILY = "Noto Sans"
WEIGHTS: Final[Mapping[str, float]] = {"": 400, "B": 700}
SIGNS = frozenset(map(ord, "0123456789?[] .\N{BULLET}pageof{nb}"))


def pdf_bytes(
    markdown: str, title: str, made: dt.datetime, pictures: Sequence[Picture] = ()
) -> bytes:
    """Give the PDF, each picture where the paragraph of its words stands.

    RefusedInputError where the library or its font is not installed.
    """
    with TemporaryDirectory() as folder:
        letters, fonts = _fonts(frozenset(map(ord, markdown + title)) | SIGNS, Path(folder))
        shown = "".join(c if ord(c) in letters else "?" for c in title)
        sheet = _Sheet(_document(shown, made, fonts), {p.words: p for p in pictures}, letters)
        sheet.write(parser().parse(markdown))
        return bytes(sheet.pdf.output())


def _fonts(wanted: frozenset[int], folder: Path) -> tuple[frozenset[int], dict[str, Path]]:
    """Cut the font down to the characters wanted, in two weights; give what it can print.

    The whole variable font takes a quarter of a minute to set to a weight, a cut one no time.
    """
    try:
        import fontpkg_noto_sans  # noqa: PLC0415  (an extra; only a PDF needs it)
        from fontTools.subset import Options, Subsetter  # noqa: PLC0415
        from fontTools.ttLib import TTFont  # noqa: PLC0415
        from fontTools.varLib.instancer import instantiateVariableFont  # noqa: PLC0415
    except ImportError as error:
        raise RefusedInputError(
            "--format", "PDF needs the extra 'pdf': pip install 'fieldnotes[pdf]'"
        ) from error
    files = sorted((fontpkg_noto_sans.ROOT / "files").iterdir())
    source = next(p for p in files if p.name.startswith("NotoSans["))
    made: dict[str, Path] = {}
    letters: frozenset[int] = frozenset()
    for style, weight in WEIGHTS.items():
        font = TTFont(source)
        letters = frozenset(font.getBestCmap())
        subsetter = Subsetter(Options(layout_features=[], notdef_outline=True))
        subsetter.populate(unicodes=wanted)
        subsetter.subset(font)
        instantiateVariableFont(font, {"wght": weight, "wdth": 100}, inplace=True)
        made[style] = folder / f"{FAMILY}{style}.ttf"
        font.save(made[style])
    return letters, made


def _document(title: str, made: dt.datetime, fonts: Mapping[str, Path]) -> FPDF:
    from fpdf import FPDF  # noqa: PLC0415  (an extra; only a PDF needs it)

    class Numbered(FPDF):
        """A document whose every page says what it belongs to and its number."""

        def footer(self) -> None:
            """Write the page's foot."""
            self.set_y(-FOOT_MM + 3)
            self.set_font(FAMILY, size=7)
            self.set_text_color(85, 96, 92)
            self.cell(0, 4, f"{title}   page {self.page_no()} of {{nb}}", align="C")

    pdf = Numbered(format="A4")
    pdf.set_margins(MARGIN_MM, MARGIN_MM - 2)
    pdf.set_auto_page_break(auto=True, margin=FOOT_MM)
    pdf.set_creation_date(made)
    pdf.set_title(title)
    for style, file in fonts.items():
        pdf.add_font(FAMILY, style, file)
    pdf.add_page()
    pdf.set_fill_color(*GREEN)
    pdf.rect(0, 0, pdf.w, 2.2, style="F")
    pdf.set_fill_color(*PAPER)
    return pdf


class _Sheet:
    """Writes tokens on pages, with pictures at the right and text beside them."""

    def __init__(self, pdf: FPDF, pictures: Mapping[str, Picture], letters: frozenset[int]) -> None:
        self.pdf = pdf
        self._pictures = pictures
        self._letters = letters
        self._colour = INK
        self._floor = (0, 0.0)  # page and height down to which a picture stands at the right
        self._large = False
        self._column, self._row = 0, (0, 0.0)  # where the next photograph stands in its row
        self._bar: tuple[int, float] | None = None  # page and height where an alarm begins

    def write(self, tokens: Sequence[Token]) -> None:
        """Write a whole document."""
        at = 0
        while at < len(tokens):
            token = tokens[at]
            match token.type:
                case "heading_open":
                    if tokens[at + 3 : at + 4] and tokens[at + 3].type == "table_open":
                        self._below()  # a table is as wide as the page, its heading stays with it
                    self._heading(tokens[at + 1], token.tag)
                case "bullet_list_open" | "ordered_list_open":
                    at = self._list(tokens, at)
                case "table_open":
                    at = self._table(tokens, at)
                case "inline" if tokens[at - 1].type == "paragraph_open":
                    self._paragraph(token)
                case _:
                    pass
            at += 1
        self._end_bar()

    def _end_bar(self) -> None:
        """Draw the bar beside an alarm that ends here, as far as it stands on this page."""
        if self._bar is not None:
            pdf, (page, top) = self.pdf, self._bar
            begins = top if page == pdf.page_no() else pdf.t_margin
            pdf.set_fill_color(*self._colour)
            pdf.rect(pdf.l_margin - 3.2, begins, BAR_MM, pdf.get_y() - begins - 0.4, style="F")
            pdf.set_fill_color(*PAPER)
        self._bar = None

    def _text(self, words: str) -> str:
        """Give what the font can print; a sign it lacks stands as a question mark."""
        known = words.replace(BOX, "[  ]")
        return "".join(c if ord(c) in self._letters or c == "\n" else "?" for c in known)

    def _room(self) -> None:
        """Keep the text clear of a picture that stands beside it."""
        page, floor = self._floor
        beside = page == self.pdf.page_no() and self.pdf.get_y() < floor
        self.pdf.set_right_margin(MARGIN_MM + (PICTURE_MM + 4 if beside else 0))

    def _below(self) -> None:
        page, floor = self._floor
        if page == self.pdf.page_no() and self.pdf.get_y() < floor:
            self.pdf.set_y(floor)
        self._room()

    def _heading(self, token: Token, tag: str) -> None:
        words = self._text(token.content and _words(token))
        if tag != "h3":
            self._end_bar()
        self._room()
        self._colour = ALARMS.get(words, GREEN)
        self._large = self._colour == RED
        self.pdf.ln(0.6 if tag == "h1" else 1.4)
        if self.pdf.will_page_break(12):
            self.pdf.add_page()
        self.pdf.set_text_color(*self._colour)
        size = HEADINGS.get(tag, 9.5)
        self.pdf.set_font(FAMILY, "B", size)
        if words in ALARMS:
            self._bar = (self.pdf.page_no(), self.pdf.get_y())
        self.pdf.multi_cell(0, size * 0.46, words, new_x="LMARGIN", new_y="NEXT")

    def _runs(self, token: Token) -> None:
        bold, link, pdf = False, "", self.pdf
        for child in token.children or ():
            match child.type:
                case "strong_open" | "strong_close":
                    bold = child.type == "strong_open"
                case "link_open":
                    link = str(child.attrGet("href") or "")
                case "link_close":
                    link = ""
                case "softbreak" | "hardbreak":
                    pdf.write(LINE_MM, "\n")
                case _ if child.content:
                    size = PHONE_PT if link and self._large and bold else SIZE_PT
                    pdf.set_font(FAMILY, "B" if bold else "", size)
                    pdf.write(size * 0.446, self._text(child.content), link)
                case _:
                    pass

    def _paragraph(self, token: Token) -> None:
        self._room()
        words = _words(token)
        if words in self._pictures:
            self._picture(self._pictures[words])
            return
        self.pdf.set_text_color(*INK)
        self._runs(token)
        self.pdf.ln(LINE_MM + (2.4 if self._large and "tel:" in str(token.children) else 0.5))

    def _picture(self, picture: Picture) -> None:
        """Set a drawing at the right, a chart across the page, photographs three to a row."""
        if picture.kind == "chart":
            self._below()
            self._placed(picture, self.pdf.l_margin, CHART_MM, CHART_HIGH_MM)
        elif picture.kind == "photo":
            self._photograph(picture)
        else:
            self._beside(picture)

    def _placed(self, picture: Picture, left: float, wide: float, high: float) -> None:
        """Set a picture with its words below; writing goes on beneath."""
        pdf = self.pdf
        if pdf.will_page_break(high + 8):
            pdf.add_page()
        self._drawn(picture, left, pdf.get_y(), wide, high)
        pdf.set_xy(pdf.l_margin, pdf.get_y() + 1)

    def _drawn(self, picture: Picture, left: float, top: float, wide: float, high: float) -> None:
        """Draw a picture in a box, its words below; the cursor stands beneath them."""
        pdf = self.pdf
        pdf.image(
            io.BytesIO(picture.png), left, top, wide, high,
            keep_aspect_ratio=True, alt_text=picture.words,
        )  # fmt: skip
        pdf.set_xy(left, top + high + 0.5)
        pdf.set_font(FAMILY, size=6)
        pdf.set_text_color(85, 96, 92)
        pdf.multi_cell(wide, 2.6, self._text(picture.words), align="C")

    def _photograph(self, picture: Picture) -> None:
        pdf = self.pdf
        if self._column == 0 or self._row[0] != pdf.page_no():
            self._below()
            if pdf.will_page_break(PICTURE_HIGH_MM + 12):
                pdf.add_page()
            self._column, self._row = 0, (pdf.page_no(), pdf.get_y())
        floor = max(self._floor[1] if self._column else 0.0, 0.0)
        pdf.set_y(self._row[1])
        left = pdf.l_margin + self._column * (PICTURE_MM + 5)
        self._placed(picture, left, PICTURE_MM, PICTURE_HIGH_MM)
        self._floor = (pdf.page_no(), max(floor, pdf.get_y()))
        self._column = (self._column + 1) % 3

    def _beside(self, picture: Picture) -> None:
        """Set a picture at the right, below one that is there, and go on writing beside it."""
        pdf, start = self.pdf, self.pdf.get_y()
        page, floor = self._floor
        top = max(start, floor if page == pdf.page_no() else 0.0) + 1
        if top + PICTURE_HIGH_MM + 12 > pdf.page_break_trigger:
            pdf.add_page()
            start = pdf.get_y()
            top = start + 1
        self._drawn(picture, pdf.w - MARGIN_MM - PICTURE_MM, top, PICTURE_MM, PICTURE_HIGH_MM)
        self._floor = (pdf.page_no(), pdf.get_y() + 1)
        pdf.set_xy(pdf.l_margin, start)

    def _list(self, tokens: Sequence[Token], at: int) -> int:
        end, number = _closing(tokens, at), 0
        ordered = tokens[at].type == "ordered_list_open"
        for token in tokens[at:end]:
            if token.type == "list_item_open":
                number += 1
            if token.type == "inline":
                self._item(token, f"{number}." if ordered else "\N{BULLET}")
        return end

    def _item(self, token: Token, sign: str) -> None:
        pdf = self.pdf
        self._room()
        pdf.set_text_color(*INK)
        pdf.set_font(FAMILY, "", SIZE_PT)
        if pdf.will_page_break(LINE_MM):
            pdf.add_page()
        pdf.set_x(pdf.l_margin + 0.5)
        ticked = _words(token).startswith(BOX)
        pdf.cell(INDENT_MM, LINE_MM, "" if ticked else sign)
        left = pdf.l_margin
        pdf.set_left_margin(left + INDENT_MM + 0.5)
        self._runs(token)
        pdf.set_left_margin(left)
        pdf.ln(LINE_MM)

    def _table(self, tokens: Sequence[Token], at: int) -> int:
        end = _closing(tokens, at)
        rows: list[list[str]] = []
        for token in tokens[at:end]:
            if token.type == "tr_open":
                rows.append([])
            if token.type == "inline":
                rows[-1].append(_words(token))
        self._below()
        self.pdf.set_font(FAMILY, "", 7.6)
        self.pdf.set_text_color(*INK)
        self.pdf.set_draw_color(190, 198, 194)
        self.pdf.set_line_width(0.15)
        from fpdf.fonts import FontFace  # noqa: PLC0415  (an extra; only a PDF needs it)

        with self.pdf.table(
            headings_style=FontFace(emphasis="BOLD", fill_color=PALE),
            col_widths=_widths(rows), line_height=3.4, padding=0.4,
            text_align="LEFT", first_row_as_headings=True,
        ) as table:  # fmt: skip
            for row in rows:
                line = table.row()
                for cell in row:
                    line.cell("" if cell == BOX else self._text(cell))
        self.pdf.ln(0.5)
        return end


def _widths(rows: Sequence[Sequence[str]]) -> tuple[int, ...]:
    """Give how wide each column is beside the others; an empty last one is to be written in."""
    columns = tuple(zip(*rows, strict=True))
    widths = [min(max(NARROWEST, *map(len, column)), WIDEST) for column in columns]
    if not any(columns[-1][1:]):
        widths[-1] = WRITTEN_IN
    return tuple(widths)


def _words(token: Token) -> str:
    return "".join(child.content for child in token.children or ())


def _closing(tokens: Sequence[Token], at: int) -> int:
    """Give where the block that opens at a token closes."""
    kind, depth = tokens[at].type.removesuffix("_open"), 0
    for index in range(at, len(tokens)):
        depth += {f"{kind}_open": 1, f"{kind}_close": -1}.get(tokens[index].type, 0)
        if depth == 0:
            return index
    return len(tokens) - 1
