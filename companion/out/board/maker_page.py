"""The plan maker's questions as a form, with the faults beside the fields."""

from collections.abc import Iterator, Mapping
from html import escape
from itertools import count, groupby
from pathlib import Path

from companion.base.errors import CompanionError
from companion.base.files import write_new
from companion.maker.plan_writer import make
from companion.maker.question import Answers, Question, several
from companion.maker.questions import BY_KEY, QUESTIONS, read_all
from companion.out.board.assets import read_page
from companion.record.store import slug


def blank() -> str:
    """Return the form as it is first shown."""
    return _form({}, {})


def filled(typed: Answers, folder: Path) -> tuple[str, bool]:
    """Return the page that answers a filled form, and whether a plan was written in the folder."""
    answers, faults = read_all(typed)
    if faults:
        return _form(typed, faults), False
    made = make(answers)
    if made.faults:
        return _form(typed, made.faults), False
    path = free_path(folder, answers["title"])
    try:
        write_new(path, made.text)
    except CompanionError as error:
        return _form(typed, {"title": str(error)}), False
    return _written(path, made.text), True


def _written(path: Path, text: str) -> str:
    name = escape(path.name)
    return _page(
        "Plan written",
        "Plan written",
        f'<p role="status">{name} is written in {escape(str(path.parent))}.</p>'
        f"<p>To dress the loom with it: <kbd>companion thread {name}</kbd></p>"
        f'<h2>What it says</h2>\n<pre tabindex="0">{escape(text)}</pre>'
        '<p><a href="">Make another plan</a></p>',
    )


def _form(typed: Answers, faults: Mapping[str, str]) -> str:
    title = "Errors in the new plan" if faults else "A new plan"
    shown: dict[str, str] = {}
    rows: list[str] = []
    for section, questions in groupby(_by_section(), key=lambda each: each.section):
        rows.append(f"<fieldset><legend>{escape(section)}</legend>")
        for question in questions:
            shown[question.key] = typed.get(question.key, "") or question.default(shown)
            rows.append(_field(question, shown, faults.get(question.key, "")))
        rows.append("</fieldset>")
    form = [
        *_summary(faults),
        '<form method="post" novalidate>',
        *rows,
        '<div class="keys"><button class="first">Write the plan</button></div>',
        "</form>\n",
    ]
    return _page(title, "A new plan", "\n".join(form))


def _page(title: str, heading: str, body: str) -> str:
    page = read_page("new.html").replace("{title}", title).replace("{heading}", heading)
    return page.replace("{body}", body)


def _by_section() -> list[Question]:
    """Return the questions, those of one section together, in the order of the sections."""
    order = list(dict.fromkeys(question.section for question in QUESTIONS))
    return sorted(QUESTIONS, key=lambda question: order.index(question.section))


def _summary(faults: Mapping[str, str]) -> Iterator[str]:
    """Yield the list of what is wrong, which takes the focus when the page opens."""
    if not faults:
        return
    number = "1 answer needs" if len(faults) == 1 else f"{len(faults)} answers need"
    yield '<div id="errors" class="fault" tabindex="-1" role="group" aria-labelledby="wrong">'
    yield f'<h2 id="wrong">{number} another look</h2><ul>'
    for key, fault in faults.items():
        yield (f'<li><a href="#{key}">{escape(BY_KEY[key].ask)}</a> {escape(fault)}</li>')
    yield "</ul></div>"


def _field(question: Question, shown: Answers, fault: str) -> str:
    key = question.key
    about = [f"{key}-hint"] * bool(question.hint) + [f"{key}-fault"] * bool(fault)
    marks = f' aria-describedby="{" ".join(about)}"' if about else ""
    marks += ' aria-invalid="true"' if fault and not question.takes_several else ""
    conditions = " ".join(
        f"{when.key}{'!' if when.is_not else '='}{'|'.join(when.answers)}" for when in question.when
    )
    return "\n".join(
        [
            f'<div class="field" data-when="{escape(conditions)}">',
            "" if question.takes_several else f'<label for="{key}">{escape(question.ask)}</label>',
            f'<p id="{key}-hint" class="hint">{escape(question.hint)}</p>' if question.hint else "",
            f'<p id="{key}-fault" class="fault">{escape(fault)}</p>' if fault else "",
            _control(question, shown, marks),
            "</div>",
        ]
    )


def _control(question: Question, shown: Answers, marks: str) -> str:
    key, value = question.key, shown[question.key]
    if question.takes_several:
        boxes = "<br>".join(
            f'<label><input type="checkbox" name="{key}" value="{escape(each.answer)}"'
            f"{' checked' * (each.answer in several(value))}> {escape(each.label)}</label>"
            for each in question.choices[1:]  # without any of them it is the first
        )
        legend = f"<legend>{escape(question.ask)}</legend>"
        return f'<fieldset id="{key}" tabindex="-1"{marks}>{legend}{boxes}</fieldset>'
    if question.choices:
        rows = "".join(
            f'<option value="{escape(each.answer)}"{" selected" * (each.answer == value)}>'
            f"{escape(each.label)}</option>"
            for each in question.choices
        )
        return f'<select id="{key}" name="{key}"{marks}>{rows}</select>'
    listed = ""
    if question.offers is not None:
        names = "".join(f'<option value="{escape(each)}">' for each in question.offers({}))
        listed = f'<datalist id="{key}-offers">{names}</datalist>'
        marks += f' list="{key}-offers"'
    return (
        f'<input id="{key}" name="{key}" value="{escape(value)}" autocomplete="off"'
        f' maxlength="500"{marks}>{listed}'
    )


def free_path(folder: Path, title: str) -> Path:
    """Return a path in the folder that is not taken, named after a plan's title."""
    name = slug(title)
    names = (name if number == 1 else f"{name}-{number}" for number in count(1))
    return next(path for each in names if not (path := folder / f"{each}.toml").exists())
