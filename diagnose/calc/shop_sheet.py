"""A sheet of readings of a whole engine: each cell judged by its own calculation, all of them put into one answer."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.calc.answer import Answer, Limit, Table, Value
from diagnose.calc.shop_cells import BY_NAME, COLUMNS, Bench, Column, Row, answer_of, columns_at, places, read, with_unit
from diagnose.problems import BadInput, did_you_mean

SCHEMA = "calc-shop/1"
VERDICTS = {"yes": "OUT", "no|yes": "AT THE LIMIT", "unknown": "NOT PROVEN", "no": "within"}  # worst first

KINDS = {"circuit": "plug", "cylinder": "cylinder", "side": "magneto"}

Cells = Mapping[str, Row]  # place -> column -> cell as written


@dataclass(frozen=True)
class Judged:
    """One cell with what its calculation made of it; `beside` is what other cells of the row add to it."""

    place: str
    column: Column
    cell: str
    answer: Answer
    beside: str = ""

    @property
    def verdict(self) -> str:
        """Return the worst of its grades in words."""
        grades = {result.rpartition("=")[2] for result in self.answer.results}
        return next(words for grade, words in VERDICTS.items() if grade in grades)

    @property
    def limit(self) -> Limit:
        """Return the limit it is beyond or nearest to; of a pair the upper one where it was judged too wide."""
        beyond = [r for r in self.answer.results if not r.endswith("=no")]
        return self.answer.limits[-1 if any("wide" in r for r in beyond) else 0]

    @property
    def why(self) -> str:
        """Return in words what the reading means."""
        return self.answer.says[0]


@dataclass(frozen=True)
class Fault:
    """A cell that cannot be used: where, why and how to mend it."""

    place: str
    column: str
    cell: str
    why: str


@dataclass(frozen=True)
class Sheet:
    """Every cell that was read, in the engine's order, and those that cannot be used; `empty` are the cells not looked at."""

    judged: tuple[Judged, ...]
    faults: tuple[Fault, ...]
    empty: tuple[tuple[str, Column], ...]


def judge(cells: Cells, bench: Bench) -> Sheet:
    """Judge every cell of a sheet; what is wrong with a cell is a fault, not an error."""
    judged, faults, empty = [], [], []
    for place in places(bench.layout):
        row = {name: text for name, text in cells.get(place, {}).items() if read(text)}
        faults += list(_misplaced(place, row))
        for column in columns_at(place):
            if column.name not in row:
                empty += [(place, column)] if column.judge else []
            elif column.judge:
                try:
                    answer = _answer(column, place, row, bench)
                    judged.append(Judged(place, column, with_unit(column.name, row[column.name], bench), answer, _beside(column, row)))
                except BadInput as error:
                    faults.append(Fault(place, column.name, row[column.name].strip(), str(error)))
    return Sheet(tuple(judged), tuple(faults), tuple(empty))


def _beside(column: Column, row: Row) -> str:
    return "".join(f", {c.words} {row[c.name].strip()}" for c in COLUMNS if c.of == column.name and c.name in row)


def _answer(column: Column, place: str, row: Row, bench: Bench) -> Answer:
    try:
        return answer_of(column, place, row, bench)
    except BadInput as error:  # the sheet names place and column itself
        raise BadInput(str(error).removeprefix("cylinder pressure: ").removeprefix("plug gap: ")) from None


def _misplaced(place: str, row: Row) -> Iterator[Fault]:
    """Yield cells filled in at a kind of place where that is not read, and those that need another one."""
    here = {column.name for column in columns_at(place)}
    for name, text in row.items():
        column = BY_NAME[name]
        if name not in here:
            yield Fault(place, name, text, f"{column.words} is not read here; write it in the row of a {KINDS[column.at]}")
        elif column.name == "air" and column.of not in row:
            yield Fault(place, name, text, f"there is no {column.of} beside it; write the {column.of}, or empty this cell")


def headline(sheet: Sheet) -> str:
    """Return how the sheet came out, in one line."""
    count = {words: sum(j.verdict == words for j in sheet.judged) for words in VERDICTS.values()}
    told = [
        f"{count['OUT']} OUT OF LIMITS" if count["OUT"] else "none out of limits",
        *([f"{count['AT THE LIMIT']} at a limit"] if count["AT THE LIMIT"] else []),
        *([f"{count['NOT PROVEN']} not proven"] if count["NOT PROVEN"] else []),
        f"{count['within']} within",
    ]
    return f"{', '.join(told)}; {len(sheet.empty)} not looked at" if sheet.judged else "nothing was read"


def whole(sheet: Sheet, bench: Bench) -> Answer:
    """Return the sheet as one answer: cells as written, every limit once, what is not within limits in words, every result."""
    answers = [j.answer for j in sheet.judged]
    limits: list[Limit] = [limit for answer in answers for limit in answer.limits]
    told = [j for j in sheet.judged if j.verdict != "within"]
    return Answer(
        schema=SCHEMA,
        title=f"Shop sheet: {headline(sheet)}",
        inputs=tuple(_inputs(sheet, bench)),
        limits=tuple(dict.fromkeys(limits)),
        tables=(_table(sheet),),
        says=tuple(f"{j.verdict}: {j.place} {j.column.words} {j.cell}: {j.why}" for j in told),
        cautions=tuple(dict.fromkeys(c for answer in answers for c in answer.cautions)),
        results=tuple(result for answer in answers for result in answer.results),
    )


def _inputs(sheet: Sheet, bench: Bench) -> Iterator[Value]:
    for column in COLUMNS:
        cells = [f"{j.place} {j.cell}{j.beside}" for j in sheet.judged if j.column == column]
        if cells:
            yield Value(column.words, "; ".join(cells))
        if cells and column.name == "compression":
            yield Value("engine at the compression test", "just run" if bench.hot else "not just run")
        if cells and column.name == "insulation" and bench.voltage:
            yield Value("test voltage", bench.voltage)


def _table(sheet: Sheet) -> Table:
    """Return the cells as written, a row a place: what a paper shows beside a result of that place."""
    columns = [c for c in COLUMNS if any(j.column == c for j in sheet.judged)]
    cells = {(j.place, j.column.name): j.cell for j in sheet.judged}
    rows = [(place, *(cells.get((place, c.name)) for c in columns)) for place in dict.fromkeys(j.place for j in sheet.judged)]
    return Table("As read", ("place", *(c.words for c in columns)), tuple(rows))


def named_column(text: str) -> tuple[str, str]:
    """Return a column by its head and the unit written behind it: `gap mm`, `continuity (ohm)`. Raises BadInput."""
    words = text.lower().replace("(", " ").replace(")", " ").replace("[", " ").replace("]", " ").split()
    for count in range(len(words), 0, -1):
        name = "_".join(words[:count])
        found = next((c for c in COLUMNS if name in (c.name, c.words.replace(" ", "_"))), None)
        if found is not None:
            unit = text.replace("(", " ").replace(")", " ").replace("[", " ").replace("]", " ").split()[count:]
            return found.name, " ".join(unit)
    raise BadInput(f"column '{text.strip()[:40]}' is not known; {did_you_mean(text.strip().lower(), [c.name for c in COLUMNS])}")
