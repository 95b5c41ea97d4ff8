"""Files of answers: what is read, what is refused with its line, and how codes, versions and parts find their place."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.marking.marked import MarkedClass
from molewright.marking.returned import MOST_BYTES, MOST_COLUMNS, Returned, read_returned
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil, pupil_codes
from molewright.papers.making import PaperMaker
from molewright.papers.record.form import SUFFIX
from molewright.papers.record.reader import read_record
from molewright.papers.record.writer import record
from molewright.question.check import Question
from shared.for_each import for_each
from shared.records import write_record

Write = Callable[..., Path]
HEADING = "paper code,pupil,question,part,answer\n"


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="module")
def maker(bank: Bank, plans: Plans) -> PaperMaker:
    return PaperMaker(
        bank, Order(seed=77, count=3, level="structured", archetypes=("direct-solutions", "back-portions")), plans
    )


@pytest.fixture(scope="module")
def first(maker: PaperMaker) -> Question:
    return maker.paper(Wanted(), "A").questions[0]


@pytest.fixture
def record_file(maker: PaperMaker, tmp_path: Path) -> Path:
    records = [record(maker.paper(Wanted(), version)) for version in ("A", "B")]
    return write_record(maker, tmp_path, records, f"homework-{maker.code}")


@pytest.fixture
def marked(bank: Bank, plans: Plans, answers_file: Write) -> Callable[..., MarkedClass]:
    def mark(text: str, **named: object) -> MarkedClass:
        return mark_answers(answers_file(text), bank, plans, **named)[0]  # type: ignore[arg-type]

    return mark


# ------------------------------------------------------------------ the file


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16"])
def test_separator_and_coding_are_found_out(answers_file: Write, separator: str, coding: str) -> None:
    text = "Pupil,Question,Part,Answer\nÉdda Voß,3,b,2.6 × 10⁻³\n".replace(",", separator)
    (row,) = read_returned(answers_file(text.encode(coding))).rows
    assert (row.line, row.pupil, row.question, row.part, row.answer) == (2, "Édda Voß", 3, "b", "2.6 × 10⁻³")


def test_the_coding_of_windows_is_read_and_told_and_any_other_refused_with_its_line(answers_file: Write) -> None:
    text = "pupil,question,answer\nAnna,1,2\nVoß,1,2.5 µmol\n"
    found = read_returned(answers_file(text.encode("cp1252")))
    assert [(row.pupil, row.answer) for row in found.rows] == [("Anna", "2"), ("Voß", "2.5 µmol")]
    assert found.notes == ("read as cp1252, for line 3 is not UTF-8: please look whether its letters are right",)
    with pytest.raises(Mistake, match=r"answers\.csv:3: byte 0x81 is neither UTF-8 nor cp1252"):
        read_returned(answers_file(text.encode("cp1252").replace(b"\xb5", b"\x81")))


@pytest.mark.parametrize(
    ("question", "part", "found"),
    [
        ("3b", "", (3, "b")), ("3(b)", "", (3, "b")), ("Q3 b", "", (3, "b")), ("question 3", "(B)", (3, "b")), ("3.", "", (3, "")),
        ("3", "part c", (3, "c")), ("3b", "b", (3, "b")), ("3.0", "a", (3, "a")), ("3", "m", (3, "m")), ("3p", "", (3, "p")),
        ("3", "point 2", (3, "point 2")), ("3 point 02", "", (3, "point 2")), ("3, p2", "", (3, "point 2")),
        ("3", "Mark point 2", (3, "point 2")), ("3", "M2", (3, "point 2")), ("3 M2", "", (3, "point 2")),
    ],
)  # fmt: skip
def test_question_and_part_are_read_together_or_apart(
    answers_file: Write, question: str, part: str, found: tuple[int, str]
) -> None:
    (row,) = read_returned(answers_file(f'pupil,question,part,answer\nx,"{question}","{part}",1\n')).rows
    assert (row.question, row.part) == found


def test_columns_go_by_several_names_and_others_are_named(answers_file: Write) -> None:
    found = read_returned(answers_file("Seat;Version;Name;Q;Response;Time\n4;A;Ilsa;1;0.1;12:30\n"))
    (row,) = found.rows
    assert (row.code, row.pupil, row.question, row.answer) == ("A", "Ilsa", 1, "0.1")
    assert found.notes == ("columns left aside: 'Seat', 'Time'",)


def test_a_line_that_names_the_separator_and_empty_lines_are_passed_over(answers_file: Write) -> None:
    found = read_returned(answers_file("sep=;\npupil;question;answer\n\nIlsa;1;94,9\n;;\n"))
    assert [(row.line, row.answer) for row in found.rows] == [(4, "94,9")]


BROKEN = {
    "": "empty",
    "pupil,question,answer\n": "no answer",
    "just some words\n": "one column",
    "pupil,question\nx,1\n": "no column 'answer'",
    "pupil,question,anwser\nx,1,2\n": "Change the heading 'anwser' to 'answer'",
    "pupil,question,ans\nx,1,2\n": "Change the heading 'ans' to 'answer'",
    "pupil,question,xyz\nx,1,2\n": "Call one of the columns 'answer'. Not read: 'xyz'",
    "pupil,pupil,question,answer\nx,y,1,2\n": "two columns are called 'pupil'",
    "pupil,question,answer\nx,1,94,9\n": r":2: 4 cells below a heading of 3",
    "pupil,question,answer\nx,one,2\n": r":2: the question 'one'",
    "pupil,question,part,answer\nx,1b,c,2\n": "one part",
    "pupil,question,part,answer\nx,1,bee,2\n": "the part 'bee'",
    "pupil,question,answer\n,1,2\n": "no pupil is named",
    "pupil,question,answer\nx,1,2\ny\0,1,2\n": r":3: a NUL character",
    'pupil,question,answer\nx,1,"2\n': r":2: the row cannot be read",
    "pupil,question,answer\n" + "x" * 300 + ",1,2\n": "pupil has 300 letters",
    "pupil,question,answer" + ",c" * 10_000 + "\nx,1,2\n": f"at most {MOST_COLUMNS}",
}


@pytest.mark.parametrize("text", BROKEN)
def test_what_is_no_table_of_answers_is_refused_in_a_sentence(answers_file: Write, text: str) -> None:
    with pytest.raises(Mistake, match=BROKEN[text]):
        read_returned(answers_file(text))


def test_several_faults_are_told_at_once(answers_file: Write) -> None:
    with pytest.raises(Mistake) as caught:
        read_returned(answers_file("pupil,question,answer\nx,one,2\ny,2,3\nz,two,2\n"))
    assert ":2:" in str(caught.value)
    assert ":4:" in str(caught.value)


def test_a_file_that_is_too_large_or_absent_is_refused(answers_file: Write, tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="too large"):
        read_returned(answers_file(b"x" * (MOST_BYTES + 1)))
    with pytest.raises(Mistake, match="cannot be read"):
        read_returned(tmp_path / "nowhere.csv")


def test_a_very_long_answer_is_listed_and_refuses_nothing(
    marked: Callable[..., MarkedClass], record_file: Path
) -> None:
    found = marked(HEADING + f"A,Ilsa,1,,{'9' * 100_000}\n", given=record_file)
    (one,) = found.pupils[0].answers
    assert (one.verdict, one.marks) == ("not read", 0)


# ------------------------------------------------------------------ the paper


def test_a_paper_is_found_beside_the_answers_or_made_again_from_its_code(
    marked: Callable[..., MarkedClass], maker: PaperMaker, first: Question, record_file: Path, bank: Bank, plans: Plans
) -> None:
    text = HEADING + f"A-{maker.code},Ilsa,1,,{first.worked.answer.number_text}\n"
    by_record = marked(text)
    assert by_record.record.where.file == str(record_file)
    record_file.unlink()
    by_code = marked(text)
    assert "made again from its code" in by_code.record.where.file
    assert by_record.pupils[0].marks == by_code.pupils[0].marks == {1: first.marks}


def test_a_damaged_file_of_the_same_name_does_not_hide_the_record(
    marked: Callable[..., MarkedClass], maker: PaperMaker, first: Question, record_file: Path
) -> None:
    (record_file.parent / f"a-{maker.code}{SUFFIX}").write_text("no record\n", "utf-8")
    found = marked(HEADING + f"A-{maker.code},Ilsa,1,,{first.worked.answer.number_text}\n")
    assert found.record.where.file == str(record_file)


def test_the_record_says_all_that_marking_from_the_code_knows(
    maker: PaperMaker, record_file: Path, bank: Bank, plans: Plans
) -> None:
    from molewright.marking.lookup import rebuilt

    written, made = read_record(record_file), rebuilt([f"B-{maker.code}"], bank, plans)
    assert written.paper("B") == made.paper("B")


@pytest.mark.parametrize("seeds", [(77, 78), (78, 77)])
def test_codes_of_two_papers_are_not_marked_as_one(
    marked: Callable[..., MarkedClass], bank: Bank, plans: Plans, seeds: tuple[int, int]
) -> None:
    one, other = (PaperMaker(bank, Order(seed=seed, count=1, archetypes=("back-portions",)), plans) for seed in seeds)
    with pytest.raises(Mistake, match=rf"two papers, {one.code} and 'B-{other.code}'"):
        marked(HEADING + f"A-{one.code},Ilsa,1,,1\nB-{other.code},Bram,1,,1\n")
    both = marked(HEADING + f"A-{one.code},Ilsa,1,,1\nB-{one.code},Bram,1,,1\n")
    assert [pupil.version for pupil in both.pupils] == ["A", "B"]


def test_a_code_may_be_typed_carelessly_but_not_wrongly(
    marked: Callable[..., MarkedClass], maker: PaperMaker, record_file: Path
) -> None:
    careless = f" a {maker.code.lower().replace('-', ' ')}"
    assert marked(HEADING + f"{careless},Ilsa,1,,1\n", given=record_file).pupils[0].version == "A"
    wrong = maker.code[:-1] + ("X" if maker.code[-1] != "X" else "Y")
    with pytest.raises(Mistake, match=rf":2: the paper code 'A-{wrong}' is not in the record.*nearest: A-{maker.code}"):
        marked(HEADING + f"A-{wrong},Ilsa,1,,1\n", given=record_file)
    with pytest.raises(Mistake, match="does not fit these banks"):
        marked(HEADING + f"A-{wrong},Ilsa,1,,1\n")


def test_a_version_is_needed_where_a_paper_has_several(marked: Callable[..., MarkedClass], record_file: Path) -> None:
    with pytest.raises(Mistake, match=r"no version is known for 'Ilsa'.*2 versions"):
        marked("pupil,question,answer\nIlsa,1,2\n", given=record_file)
    found = marked("version,pupil,question,answer\nB,Ilsa,1,2\n,Ilsa,2,2\n", given=record_file)
    assert found.pupils[0].version == "B"
    with pytest.raises(Mistake, match=":3: Ilsa has version A here and version B on line 2"):
        marked("version,pupil,question,answer\nB,Ilsa,1,2\nA,Ilsa,2,2\n", given=record_file)


ILSA_AND_BRAM = (Pupil(name="Ilsa"), Pupil(name="Bram"))


def test_personal_papers_go_by_the_pupil_in_the_class_list(
    marked: Callable[..., MarkedClass], maker: PaperMaker, tmp_path: Path
) -> None:
    ilsa, bram = pupil_codes(ILSA_AND_BRAM)
    own = [record(maker.paper(Wanted(), version)) for version in (ilsa, bram)]
    path = write_record(maker, tmp_path, own, "own")
    found = marked("pupil,question,answer\nBram,1,2\n", given=path, class_list=ILSA_AND_BRAM)
    assert [(pupil.number, pupil.version) for pupil in found.pupils] == [(2, bram)]
    assert found.absent == ("Ilsa",)
    typed = marked(f"version,pupil,question,answer\n{int(bram)},Bram,1,2\n", given=path)  # a spreadsheet drops a nought
    assert typed.pupils[0].version == bram


REFUSED = {
    "A,Ilsa,9,,1": ":2: the paper has no question 9; expected questions 1 to 3; nearest: 3",
    "A,Ilsa,1,z,1": ":2: question 1 has no part 'z'; expected one of: a(, [b-f])*, ([b-f]); nearest: \\2$",
    "A,Ilsa,1,M9,1": ":2: question 1 has no part 'point 9'",
    "A,Ilsa,1,a,1\nA,ilsa,1a,,2": ":3: ilsa answers question 1.a. twice, here and on line 2",
    "C,Ilsa,1,,1": ":2: the paper code 'C' is not in the record",
}


@for_each("rows", REFUSED)
def test_a_row_that_does_not_fit_the_paper_is_refused_with_its_line(
    marked: Callable[..., MarkedClass], record_file: Path, rows: str
) -> None:
    with pytest.raises(Mistake) as caught:
        marked(HEADING + rows + "\n", given=record_file)
    assert re.search(REFUSED[rows], str(caught.value)), str(caught.value)


def test_a_final_answer_and_its_mark_point_are_one_place(
    marked: Callable[..., MarkedClass], record_file: Path, first: Question
) -> None:
    with pytest.raises(Mistake, match="twice"):
        marked(HEADING + f"A,Ilsa,1,,1\nA,Ilsa,1,M{len(first.points)},2\n", given=record_file)


def test_a_name_that_the_class_list_does_not_have_is_refused_with_the_nearest(
    marked: Callable[..., MarkedClass], record_file: Path
) -> None:
    with pytest.raises(Mistake, match=r":2: 'Ilsa Kwern' is not in the class list.*nearest: Ilsa Quern"):
        marked(
            HEADING + "A,Ilsa Kwern,1,,1\n",
            given=record_file,
            class_list=(Pupil(name="Ilsa Quern"), Pupil(name="Bram Tollo")),
        )


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"not json", "not JSON"), (b"[]", "not the record"), (b'{"paper code": "X", "versions": []}', "no version"),
     (b'{"paper code": "X", "versions": [{"version": "A", "code": "A-X", "questions": [{}]}]}', "damaged"),
     (b'{"paper code": "X", "versions": [{"version": "A", "code": "A-X", "title": "", "questions": []}]}', "damaged"),
     (b"[" * 100_000, "not JSON")],
)  # fmt: skip
def test_a_damaged_record_marks_nobody(
    marked: Callable[..., MarkedClass], tmp_path: Path, content: bytes, said: str
) -> None:
    path = tmp_path / "x-record.jsonl"
    path.write_bytes(content)
    with pytest.raises(Mistake, match=said):
        marked(HEADING + "A,Ilsa,1,,1\n", given=path)


@pytest.mark.parametrize(
    ("old", "new"),
    [('"exact":"', '"exact":"1e999999999'), ('"factor":"1/1000"', '"factor":"0"'), ('"form":"product"', '"form":"power"'),
     ('"mark point":1', '"mark point":2'), ('"question":1', '"question":-1'), ('"question":1', '"question":1' + "0" * 400),
     ('"loses":[', '"loses":[1000000000,'), ('"code":"A-', '"code":"A-../../'), ('"paper code":"', '"paper code":"../../'),
     ('"title":"', '"title":"\\ud800'), ('"gives":"', '"gives":"1E+999999'), ('"known":{', '"known":{"x":"1/0",')],
)  # fmt: skip
def test_a_tampered_record_is_refused_and_never_runs_away(
    marked: Callable[..., MarkedClass], record_file: Path, old: str, new: str
) -> None:
    text = record_file.read_text("utf-8")
    assert old in text
    record_file.write_text(text.replace(old, new), "utf-8")
    with pytest.raises(Mistake):
        marked(HEADING + "A,Ilsa,1,,1\n", given=record_file)


def test_a_record_of_other_banks_still_marks_and_says_so(
    bank: Bank, plans: Plans, answers_file: Write, record_file: Path, first: Question
) -> None:
    record_file.write_text(record_file.read_text("utf-8").replace(bank.fingerprint, "00000000"), "utf-8")
    path = answers_file(HEADING + f"A,Ilsa,1,,{first.worked.answer.number_text}\n")
    found, notes = mark_answers(path, bank, plans, record_file)
    assert found.pupils[0].marks == {1: first.marks}
    assert any("other banks (00000000)" in note for note in notes)


def test_a_text_of_the_record_is_printed_without_control_characters(
    marked: Callable[..., MarkedClass], record_file: Path
) -> None:
    text = record_file.read_text("utf-8").replace('"title":"', '"title":"\\u001b[31m\\u202e' + "x" * 5000)
    record_file.write_text(text, "utf-8")
    title = marked(HEADING + "A,Ilsa,1,,1\n", given=record_file).record.paper("A").title
    assert title.isprintable()
    assert len(title) < 1000


def test_a_code_that_fits_no_banks_is_told_with_the_line_it_stands_on(
    marked: Callable[..., MarkedClass],
) -> None:
    with pytest.raises(Mistake, match=r":2: the paper code 'A-0000-000' does not fit these banks"):
        marked(HEADING + "A-0000-000,Ilsa,1,,1\n")


def test_millions_of_empty_lines_before_the_heading_are_read_at_once(answers_file: Write) -> None:
    returned = read_returned(answers_file("\n" * 4_000_000 + "pupil,question,answer\nx,1,2\n"))
    assert returned.rows[0].line == 4_000_002


def test_a_cell_without_end_is_told_as_that(answers_file: Write) -> None:
    with pytest.raises(Mistake, match=r":2: a cell without end; expected a quotation mark that is opened to be closed"):
        read_returned(answers_file('pupil,question,answer\nx,1,"' + "9" * 200_000))


def test_the_answers_of_more_pupils_than_a_school_has_are_refused(answers_file: Write) -> None:
    rows = "".join(f"P{number},1,2\n" for number in range(3001))
    with pytest.raises(Mistake, match="answers of more than 3000 pupils"):
        read_returned(answers_file("pupil,question,answer\n" + rows))


def test_reading_keeps_rows_and_notes_apart(answers_file: Write) -> None:
    assert isinstance(read_returned(answers_file("pupil,question,answer\nx,1,2\n")), Returned)
