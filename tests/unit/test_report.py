"""Reports: the answer first, true where there is little to say, every word escaped, nothing from outside."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.unit.test_figures_player import Reader
from toolkit.cli import report as verb
from toolkit.errors import StudyError
from toolkit.findings import apply_limits
from toolkit.findings.operability import invented_record
from toolkit.quantities import Outcome
from toolkit.report import USERS, consultant, content, port_authority, report_page, researcher, write_report
from toolkit.report.cases import telling_cases
from toolkit.report.content import Picture
from toolkit.report.evidence import evidence
from toolkit.report.for_researcher import read_tables
from toolkit.report.page import SCRIPTS, ReportOptions

pytestmark = pytest.mark.whole

KNOT = synthetic.KNOT
RENDER = content.picture_of
AXES: dict[str, Any] = {
    "bollard_pull": np.array([10.0, 30.0, 60.0]) * synthetic.TONNE_FORCE,
    "displacement": np.array([400e3, 1500e3]),
    "wind_speed": np.array([0.0, 10.0, 20.0]) * KNOT,
    "wind_from": np.array([60.0, 240.0]),
    "manoeuvre": np.array(["swing_pull", "swing_push"]),
}
EVIL = "</script><script>alert(1)</script><!-- <b>&amp;\"' \u2028 {{ 7 * 7 }} $title"

each_user = pytest.mark.parametrize("user", USERS)


@pytest.fixture(autouse=True, scope="module")
def _sketched() -> Iterator[None]:
    """Figures are made and not rendered: what they look like is for the tests of figures."""

    def sketch(figure: Any, title: str, words: Any = ()) -> Picture:
        return Picture(title=title, words=" ".join((f"{title}.", *words)), source="data:image/svg+xml;base64,AAAA")

    with pytest.MonkeyPatch.context() as patch:
        for module in ("content", "for_consultant", "cases"):
            patch.setattr(f"toolkit.report.{module}.picture_of", sketch)
        yield


@pytest.fixture(scope="module")
def results() -> xr.Dataset:
    return synthetic.results(AXES, limits={"time_to_steady": 500.0, "peak_heel_fraction": 0.9})


@pytest.fixture(scope="module")
def pages(results: xr.Dataset) -> dict[str, str]:
    return {user: report_page(results, user) for user in USERS}


class Words(HTMLParser):
    """Words of a page in their order, without script and style."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.inside, self.found = "", []
        self.feed(page)
        self.text = " ".join(" ".join(self.found).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.inside = tag

    def handle_endtag(self, tag: str) -> None:
        self.inside = ""

    def handle_data(self, data: str) -> None:
        if self.inside not in ("script", "style"):
            self.found.append(data)


def cells_of(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="cells">(.*?)</script>', page, re.DOTALL)
    assert found
    return json.loads(found[1])


@each_user
def test_page_is_well_formed_and_refers_to_nothing_outside(pages: dict[str, str], user: str) -> None:
    page = pages[user]
    reader = Reader(page)
    assert reader.open == []
    identifiers = [attributes["id"] for _, attributes in reader.attributes if "id" in attributes]
    assert len(set(identifiers)) == len(identifiers)
    for tag, attributes in reader.attributes:
        assert not {"srcset", "action", "style"} & set(attributes), tag
        assert not [name for name in attributes if name.startswith("on")], tag
        assert str(attributes.get("src") or "data:image/").startswith("data:image/"), tag
        target = str(attributes.get("href") or "#answer")
        assert target.startswith("#") and target[1:] in identifiers, target
        if tag == "img":
            assert attributes["alt"]
    assert not re.findall(r"https?://", page)
    assert "url(" not in page and "@import" not in page and "fetch(" not in page


@each_user
def test_policy_allows_this_script_and_style_and_pictures_of_the_page_alone(pages: dict[str, str], user: str) -> None:
    page = pages[user]
    policy = next(a["content"] for tag, a in Reader(page).attributes if tag == "meta" and "http-equiv" in a)
    assert policy is not None and policy.startswith("default-src 'none'; img-src data:;") and "unsafe" not in policy
    for tag in ("style", "script"):
        (body,) = re.findall(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        assert f"{tag}-src 'sha256-{base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()}'" in policy


@each_user
def test_the_answer_stands_first_with_the_runs_it_rests_on_and_cautions(pages: dict[str, str], user: str) -> None:
    words = Words(pages[user]).text
    answer = words.index("Answer")
    assert words.index("Question.") < answer < words.index("cases run") < words.rindex("Move through the envelope")
    for told in ("Girting", "Snap-back", "Screening aid only", "Local rules", "Assumptions", "Limits of use",
                 "How to make this page again", f"towage report RESULTS --user {user}", "study 0123456789abcdef",
                 "Wind comes FROM", "time to steady ≤ 8.333 min"):  # fmt: skip
        assert told in words, told


@each_user
def test_words_of_results_are_never_markup(results: xr.Dataset, user: str) -> None:
    evil = results.isel(wind_from=slice(0, 1), displacement=slice(0, 1)).assign_attrs(
        title=EVIL, cautions=EVIL, directions=EVIL, commit=EVIL
    )
    page = report_page(evil, user, options=ReportOptions(source=EVIL, command=EVIL))
    reader = Reader(page)
    assert sum(tag == "script" for tag, _ in reader.attributes) == 2
    assert not any(tag == "b" for tag, _ in reader.attributes)
    assert reader.words().count(EVIL) >= 5
    assert cells_of(page)["source"] == EVIL
    start = page.index('id="cells">') + len('id="cells">')
    assert not set("<>&\u2028") & set(page[start : page.index("</script>", start)])


def test_port_authority_is_told_pull_by_band_the_static_rule_and_what_is_not_known(results: xr.Dataset) -> None:
    found = port_authority(results)
    assert "bands of barge displacement" in found.answer[0] and "passes in all cases" in found.answer[0]
    assert any("strongest wind speed permitted" in words for words in found.answer)
    assert any("beam wind force times 1.25" in words and "too lax" in words for words in found.answer)
    headings = [section.heading for section in found.sections]
    assert any(heading.startswith("Requirement: ") for heading in headings)
    told = " ".join(words for section in found.sections for words in section.paragraphs)
    assert (
        "Power setting is not swept" in told and "No failure is swept" in told and "does not mean none is due" in told
    )


def test_port_authority_is_told_of_power_and_standby_where_they_are_swept() -> None:
    axes = {
        **{k: AXES[k] for k in ("bollard_pull", "displacement", "wind_speed")},
        "power_setting": np.array([0.5, 1.0]),
        "failure": np.array(["none", "drive_stops"]),
    }
    found = port_authority(synthetic.results(axes))
    by = {section.heading: section for section in found.sections}
    assert by["Power: too little and too much"].pictures
    assert by["When a standby tug is needed"].pictures and by["When a standby tug is needed"].lines


def test_consultant_is_told_the_limit_of_the_best_way_and_the_worst_direction(results: xr.Dataset) -> None:
    found = consultant(results)
    judged = apply_limits(results).isel(bollard_pull=1, displacement=0)["passes"]
    holds = judged.all("wind_from").cumprod("wind_speed").sum("wind_speed").values
    best = int(holds.max())
    assert f"holds up to {[0, 10, 20][best - 1]} kn from every direction" in found.answer[0]
    assert "bollard pull 30 t" in found.answer[0]
    headings = {section.heading: section for section in found.sections}
    assert headings["Go / caution / no-go card"].pictures
    assert "No record of the wind was given" in headings["How much of the time that is"].paragraphs[0]


def test_consultant_is_told_how_much_time_a_record_leaves(results: xr.Dataset) -> None:
    record = invented_record(1, seed=3, current=False)
    found = consultant(results, record=record)
    section = next(one for one in found.sections if one.heading.startswith("How much"))
    assert re.search(r"can be kept in \d+\.\d %", section.paragraphs[0]) and len(section.pictures) >= 3
    assert any("INVENTED" in words for _, words in section.lines)
    assert section.paragraphs[0] == found.answer[1]


def test_researcher_is_told_the_difference_its_interval_and_the_failed(results: xr.Dataset, tmp_path: Path) -> None:
    table = tmp_path / "sensitivity.csv"
    table.write_text("# Indices <b>\n# of 64 samples\nname,total [1]\nwind,0.5\npull,\n", encoding="utf-8")
    found = researcher(results, sensitivity=read_tables([table]))
    assert "time to steady" in found.answer[0] and "95 % interval" in found.answer[0]
    assert "pairs run both completed" in found.answer[0]
    by = {section.heading: section for section in found.sections}
    assert by["What moves the outcomes"].tables[0].rows[0] == ("wind", 0.5)
    assert len(by["Where each does better"].pictures) >= 2
    assert any("censored" in words for words in by["Differences, pair by pair"].paragraphs)


def test_tables_that_are_none_are_refused_together(tmp_path: Path) -> None:
    (tmp_path / "ragged.csv").write_text("a,b\n1\n", encoding="utf-8")
    with pytest.raises(StudyError) as refused:
        read_tables([tmp_path / "ragged.csv", tmp_path / "missing.csv"])
    assert len(refused.value.problems) == 2


@each_user
@pytest.mark.parametrize("kind", ["nothing ran", "all failed", "empty", "samples", "one case"])
def test_little_or_nothing_is_told_as_that(results: xr.Dataset, user: str, kind: str) -> None:
    axes = {**AXES, "manoeuvre": AXES["manoeuvre"][: 2 if user == "researcher" else 1], "wind_from": [60.0]}
    cases = 36 if user == "researcher" else 18
    made = {
        "nothing ran": lambda: synthetic.results(axes, outcome=int(Outcome.not_run)),
        "all failed": lambda: synthetic.results(axes, outcome=int(Outcome.collided)),
        "empty": lambda: results.isel(displacement=slice(0, 0)),
        "samples": lambda: synthetic.samples(30),
        "one case": lambda: results.isel(bollard_pull=0, displacement=0, wind_speed=0, wind_from=0, manoeuvre=0),
    }[kind]()
    words = Words(page := report_page(made, user)).text
    answer = words[words.index("Answer") : words.index("Cautions.")]
    if kind == "nothing ran":
        assert f"none of {cases} cases has been run" in answer
    elif kind == "all failed":
        assert f"collided {cases}" in answer and "0.0 % pass" in answer
        assert {"port_authority": "No tug that was run can be asked for", "consultant": "passes from no direction",
                "researcher": "no pair completed both ways"}[user] in answer  # fmt: skip
    elif kind == "empty":
        assert "no case" in answer.lower() or "Nothing can be compared" in answer
    else:
        assert re.search(r"No smallest tug|No wind limit|Nothing can be compared", answer)
        assert "Nothing can be moved along" in json.dumps(cells_of(page))


def test_cuts_hold_for_the_findings_and_are_said(results: xr.Dataset) -> None:
    options = ReportOptions(at={"manoeuvre": "swing_push", "displacement": "1500 t"})
    page = report_page(results, "port_authority", options=options)
    assert "Cut for the findings: manoeuvre swing push, barge displacement" in page
    assert len(cells_of(page)["axes"]) == 5
    with pytest.raises(StudyError, match="manoeuvre"):
        report_page(results, "researcher", options=ReportOptions(at={"manoeuvre": "sideways"}))


def test_a_reader_unknown_is_refused_and_the_command_knows_the_same_ones(results: xr.Dataset, tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="is no reader"):
        write_report(results, tmp_path / "page.html", "captain")
    assert not (tmp_path / "page.html").exists()
    assert verb.USERS == USERS


def test_cases_drawn_are_those_at_the_edge(results: xr.Dataset) -> None:
    judged = apply_limits(results)
    cases = telling_cases(judged)
    used, passes = judged["utilisation"].values.ravel(), judged["passes"].values.ravel()
    numbers = {why: number for number, why in cases.items()}
    assert used[numbers["passes closest to a limit"]] == np.nanmax(np.where(passes, used, np.nan))
    assert 1.0 < used[numbers["breaks a limit by the least"]] <= np.nanmin(np.where(used > 1.0, used, np.nan))
    asked: list[int] = []

    def history(number: int) -> xr.Dataset:
        asked.append(number)
        if len(asked) == 2:
            raise StudyError([])
        return synthetic.history(count=20)

    page = report_page(results, "consultant", options=ReportOptions(history=history, histories=3))
    assert asked == list(cases) and page.count('class="one-case"') == len(cases) - 1
    assert f"Case {asked[1]} could not be run again" in page
    assert telling_cases(apply_limits(results.isel(displacement=slice(0, 0)))) == {}


def test_the_reference_result_makes_every_page() -> None:
    place = Path(__file__).parents[2] / "results" / "reference" / "marrowby_basin.nc"
    with xr.open_dataset(place) as opened:
        part = opened.isel(bollard_pull=[0, 5], displacement=[2], wind_speed=[0, 2], line_length=0, wind_from=[4],
                           tug_attitude=0).load()  # fmt: skip
    for user in USERS:
        page = report_page(part, user)
        assert Reader(page).open == [] and "8 of 8 cases run" in page


def test_a_figure_becomes_a_drawing_inside_the_page_or_dots_where_that_is_smaller(monkeypatch: Any) -> None:
    from matplotlib.figure import Figure

    monkeypatch.undo()
    kinds = []
    for most in (10**9, 1):
        monkeypatch.setattr(content, "LARGEST_DRAWING", most)
        figure = Figure(figsize=(2.0, 2.0), dpi=40)
        axes = figure.subplots()
        axes.scatter(*np.random.default_rng(1).random((2, 2000)))
        kinds.append(RENDER(figure, "a title", ("a caption",)))
    assert [one.source[:20] for one in kinds] == ["data:image/svg+xml;b", "data:image/png;base6"]
    assert base64.b64decode(kinds[1].source.partition(",")[2]).startswith(b"\x89PNG")
    assert kinds[0].words == "a title. a caption"


def test_the_same_results_give_the_same_page(results: xr.Dataset) -> None:
    part = results.isel(wind_from=[0], displacement=[0, 1], bollard_pull=[0, 2], manoeuvre=0)
    assert report_page(part, "consultant") == report_page(part, "consultant")


def test_the_script_uses_no_name_that_would_let_text_become_markup_or_code() -> None:
    folder = Path(verb.__file__).parents[1] / "report" / "report_page"
    assert {path.name for path in folder.iterdir()} == {"page.html", "page.css", *SCRIPTS}
    for name in SCRIPTS:
        text = (folder / name).read_text(encoding="utf-8")
        for forbidden in ("innerHTML", "outerHTML", "insertAdjacent", "document.write", "eval(", "Function(", "http"):
            assert forbidden not in text, (name, forbidden)


@each_user
def test_page_tells_what_it_is_checked_against(user: str, results: xr.Dataset) -> None:
    page = report_page(results, user)
    part = page[page.index('<section aria-labelledby="evidence">') :].split("</section>")[0]
    told = evidence()
    assert "No measured swing of a barge by a tug was found" in part
    assert "wash of a tug on a barge on a short line" in part
    assert part.count("<tr>") == sum(len(table.rows) + 1 for table in (told.by_kind, told.rows, told.sources))
    assert part.index("<details>") > part.index("Checks by kind")  # the summary stands open, the rows are folded away
    for word in ("ours", "theirs", "difference", "verdict", "kind"):
        assert f">{word}</th>" in part
