"""Pages of paper, read again by another library: nothing is cut, every sign and word is there."""

from pathlib import Path

import pymupdf
import pytest

from rhythm import RequestError, read, restate
from rhythm.show.paper import Piece, pdf, pieces_of
from tests.tiny import melody

EXAMPLES = {path.stem: path for path in (Path(__file__).parents[2] / "examples").iterdir()}
MILLIMETRE = 72 / 25.4


def opened(data):
    return pymupdf.open(stream=data, filetype="pdf")


def staff_lines(page):
    """The heights at which a page has long level lines, each once."""
    found = set()
    for drawing in page.get_drawings():
        for item in drawing["items"]:
            level = item[0] == "l" and abs(item[1].y - item[2].y) < 0.01
            if level and abs(item[1].x - item[2].x) > 25:
                found.add(round(item[1].y, 1))
    return sorted(found)


@pytest.fixture(scope="module")
def long():
    score = melody("4/4", *["1/8 1/8 1/8 1/8 1/4 1/16 1/16 1/16 1/16"] * 64)
    return opened(pdf([Piece(score)], title="A long one"))


def test_no_system_is_cut_by_a_page(long):
    assert len(long) > 1
    for page in long:
        heights = staff_lines(page)
        assert heights and len(heights) % 5 == 0
        assert heights[-1] < page.rect.height - 16 * MILLIMETRE
        assert heights[0] > 14 * MILLIMETRE
        for top in range(0, len(heights), 5):
            assert heights[top + 4] - heights[top] == pytest.approx(6 * MILLIMETRE, abs=0.4)


def test_a_full_page_spreads_its_systems_and_the_last_does_not(long):
    *full, last = [staff_lines(page) for page in long]
    foot = long[0].rect.height - 16 * MILLIMETRE
    assert full and all(foot - heights[-1] < 12 * MILLIMETRE for heights in full)
    gap = full[0][5] - full[0][4]
    assert last[5] - last[4] < gap or len(last) == len(full[0])
    assert foot - last[-1] > 20 * MILLIMETRE


def test_pages_are_numbered_and_titled(long):
    texts = [page.get_text() for page in long]
    assert texts[0].startswith("A long one")
    for number, text in enumerate(texts, start=1):
        assert str(number) in text.split()
    assert all("A long one" in text for text in texts)
    assert "1" not in opened(pdf([Piece(melody("4/4", "1/1"))]))[0].get_text().split()[-1:]


@pytest.mark.parametrize(
    "paper, size", [("a4", (210, 297)), ("letter", (216, 279))], ids=["a4", "letter"]
)
def test_paper_has_its_size(paper, size):
    page = opened(pdf([Piece(melody("4/4", "1/1"))], paper=paper))[0]
    assert (page.rect.width, page.rect.height) == pytest.approx(
        [side * MILLIMETRE for side in size], abs=0.1
    )


def test_another_paper_is_refused():
    with pytest.raises(RequestError, match="no paper is called 'b5'; a4 or letter"):
        pdf([Piece(melody("4/4", "1/1"))], paper="b5")


def test_words_are_text_and_music_is_drawn_and_every_font_is_in_the_file():
    document = opened(pdf([Piece(read(EXAMPLES["lantern-song"]))], title="Lantern Song"))
    page = document[0]
    for word in ("Lantern Song", "Light", "door,", "poco rit.", "96"):
        assert word in page.get_text()
    fonts = [name for _, kind, _, name, *_ in page.get_fonts()]
    assert any("RemetreSigns" in name for name in fonts)  # the tempo mark's note
    assert "\ueca5" in page.get_text()
    assert all(document.extract_font(number[0])[3] for number in page.get_fonts())
    assert not page.get_images()
    assert len(page.get_drawings()) > 100


def test_a_heading_stays_with_its_music_and_a_table_repeats_its_head():
    short = melody("4/4", *["1/4 1/4 1/4 1/4"] * 8)
    document = opened(
        pdf([Piece(short, heading=f"Exercise {n}", text=("Clap.",)) for n in range(1, 15)])
    )
    assert len(document) > 1
    for page in document:
        lines = staff_lines(page)
        headings = [box for n in range(1, 15) for box in page.search_for(f"Exercise {n}")]
        assert headings
        for box in headings:
            assert any(0 < line - box.y1 < 30 * MILLIMETRE for line in lines)
    key = Piece(heading="Key", table=(("bar", "sum"), *((str(n), "1") for n in range(120))))
    assert all("sum" in page.get_text() for page in opened(pdf([key])))


def test_a_system_taller_than_a_page_is_set_on_smaller_staves_that_fill_the_line():
    part = melody("4/4", *["1/4 1/4 1/4 1/4"] * 8).parts[0]
    score = melody("4/4", "1/1").replace(
        parts=tuple(part.replace(id=f"P{n}", name=f"Part {n}") for n in range(22))
    )
    document = opened(pdf([Piece(score)]))
    for page in document:
        heights = staff_lines(page)
        assert len(heights) == 22 * 5
        assert heights[-1] < page.rect.height - 10 * MILLIMETRE
    drawn = [item for each in document[0].get_drawings() for item in each["items"]]
    assert max(item[2].x for item in drawn if item[0] == "l") > 190 * MILLIMETRE


def test_the_same_pieces_give_the_same_bytes():
    piece = Piece(restate(read(EXAMPLES["lantern-song"]), "compound"))
    assert pdf([piece], title="x") == pdf([piece], title="x")


def test_answers_are_set_with_their_headings_and_tables():
    table = "| bar | sum |\n|---|---|\n| 1 | 1 |\n"
    text = f"# Answers: X\n\nDurations.\n\n## Theme\n\nGrade 4.\n\n{table}"
    title, pieces = pieces_of(text)
    assert title == "Answers: X"
    assert pieces == [
        Piece(text=("Durations.",)),
        Piece(heading="Theme", text=("Grade 4.",), table=(("bar", "sum"), ("1", "1"))),
    ]
    page = opened(pdf(pieces, title=title))[0].get_text()
    assert "Answers: X" in page and "Grade 4." in page and "|" not in page
