"""The verbs as a shop calls them: what is printed where, and the exit status."""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from calling import run, started
from gatepost.cli import cli
from gatepost.writing import models
from gatepost.writing.plan_models import SpecOut

DEMO = Path(__file__).resolve().parents[1] / "data" / "demo"
FAULTY, SOUND = str(DEMO / "faulty" / "project.yaml"), str(DEMO / "sound" / "project.yaml")
PARTS = "part,material,thickness,width,exposure\npost,PT pine 4x4,,,ground\nslat,larch 25x100,,,weather\n"


# The other tests call the verbs in this process; that a process of its own says the same is asked here, of each verb that
# prints (each help's example below starts all of them).
ALIKE = [
    ["review", FAULTY, "--format", "csv", "--prose"], ["review", "-", "--format", "json"], ["review", FAULTY, "--fail-on", "stop"], ["movement", SOUND, "--units", "both"],
    ["site", "-33.9,18.4", "--format", "json"], ["site", "Madisn"], ["rules"], ["lookup", "sites", "US", "--format", "md"], ["choose", "-", "--format", "csv"], ["fasteners", SOUND],
    ["review", "no-such-file.csv"], ["spec", SOUND, "-o", "sheet.docx"],
]  # fmt: skip


@pytest.mark.parametrize("arguments", ALIKE, ids=lambda one: one[0])
def test_a_process_of_its_own_says_what_a_call_in_this_process_says(arguments, tmp_path):
    one, other = (how(*arguments, stdin=PARTS, cwd=tmp_path, COLUMNS="100") for how in (started, run))
    assert (one.returncode, one.stdout) == (other.returncode, other.stdout)
    assert one.stderr == other.stderr
    assert list(tmp_path.iterdir()) == []


def test_review_of_the_faulty_demo_finds_faults_of_many_topics():
    done = run("review", FAULTY, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert done.returncode == 0
    assert list(rows[0]) == ["row", "kind", "name", "rule", "topic", "severity"]
    assert len(rows) >= 12
    assert len({row["topic"] for row in rows}) >= 8


def test_review_of_the_sound_demo_has_no_stop_no_fix_and_few_questions():
    found = models.ReviewOut.model_validate_json(run("review", SOUND, "--format", "json").stdout)
    assert (found.counts.stop, found.counts.fix) == (0, 0)
    every = [f for p in [*found.parts, *found.joints] for f in p.findings] + found.project_findings
    assert len([f for f in every if f.topic == "input"]) <= 6


def test_json_csv_and_table_count_alike():
    found = json.loads(run("review", FAULTY, "--format", "json").stdout)
    rows = list(csv.DictReader(io.StringIO(run("review", FAULTY, "--format", "csv").stdout)))
    for severity, count in found["counts"].items():
        assert len([row for row in rows if row["severity"] == severity]) == count
    counts = ", ".join(f"{found['counts'][name]} {name}" for name in ("stop", "fix", "note"))
    assert counts in " ".join(run("review", FAULTY).stdout.split())


def test_rows_given_are_rows_read_and_set_aside():
    rows = json.loads(run("review", FAULTY, "--format", "json").stdout)["rows"]
    assert rows["given"] == rows["read"] + rows["set_aside"]
    assert rows["set_aside"] == 2


@pytest.mark.parametrize(
    ("project", "level", "status"),
    [(FAULTY, "stop", 1), (FAULTY, "note", 1), (SOUND, "fix", 0), (SOUND, "note", 1), (FAULTY, None, 0)],
)
def test_exit_status_one_only_when_asked_and_reached(project, level, status):
    assert run("review", project, *(["--fail-on", level] if level else [])).returncode == status


def test_standard_input():
    done = run("review", "-", "--format", "json", stdin=PARTS)
    assert done.returncode == 0
    assert [part["part"] for part in json.loads(done.stdout)["parts"]] == ["post", "slat"]


def test_every_unreadable_cell_is_located_at_once(tmp_path):
    path = tmp_path / "parts.csv"
    path.write_text("part,material,thickness,width,qty\npost,oak,3/4in x,-3,1\nrail,oak,1,2,two\n")
    done = run("review", path)
    assert done.returncode == 2
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert len(lines) == 3
    assert [line.removeprefix(f"{path}:").split(": ")[:2] for line in lines] == [
        ["2", "thickness"],
        ["2", "width"],
        ["3", "qty"],
    ]


def test_problems_of_both_lists_and_the_place_come_together(tmp_path):
    (tmp_path / "parts.csv").write_text("part,material,width\npost,oak,wide\n")
    (tmp_path / "joints.csv").write_text("joint,part_a,part_b,count\na,post,post,some\n")
    (tmp_path / "project.yaml").write_text("site: Nowhere at all\nparts: parts.csv\njoints: joints.csv\n")
    lines = run("review", tmp_path / "project.yaml").stderr.splitlines()
    assert len(lines) == 3
    assert all(word in " ".join(lines) for word in ("Nowhere", "width", "count"))


def test_a_closed_pipe_is_no_error():
    for command in (f"review {SOUND}", f"review {FAULTY} --format json", "rules", "lookup species"):
        done = subprocess.run(
            f"{sys.executable} -m gatepost {command} | head -1", shell=True, capture_output=True, text=True, check=False
        )
        assert done.stderr == ""
        assert done.stdout


@pytest.mark.parametrize(
    "arguments",
    [
        ["reviw", FAULTY], ["review"], ["review", "no-such-file.csv"], ["review", FAULTY, "--format", "xml"], ["review", FAULTY, "--scheme", "uk"],
        ["site", "Madisn"], ["site", "91,0"], ["rules", "no-such-rule"], ["rules", "--check", "no-such-file.yaml"], ["lookup", "no-such-table"],
        ["movement", "-"], ["movement", SOUND, "--built", "Maj"], ["spec", SOUND, "-o", "sheet.docx"], ["spec", SOUND, "-o", "/no/such/folder/sheet.html"],
        ["spec", SOUND, "-o", "x.html", "--date", "tomorrow"], ["review", SOUND, "--rules", "no-such-file.yaml"], ["review", "."],
    ],
)  # fmt: skip
def test_wrong_calls_say_why_on_standard_error_and_exit_with_two(arguments, tmp_path):
    done = run(*arguments, cwd=tmp_path, stdin=PARTS)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.strip()
    assert list(tmp_path.iterdir()) == []


def test_place_by_name_gives_twelve_months_and_the_nearest_spellings():
    page = models.SitePage.model_validate_json(run("site", "Madison, WI", "--format", "json").stdout)
    assert [month.month for month in page.months] == list(range(1, 13))
    assert page.site.startswith("Madison")
    assert "Madison, Wisconsin" in run("site", "Madisn").stderr


def test_a_negative_latitude_works_as_typed():
    done = run("site", "-33.9,18.4", "--format", "json")
    assert done.returncode == 0
    page = json.loads(done.stdout)
    assert page["lat"] == -33.9
    assert any("km away" in text for text in page["said"])


@pytest.mark.parametrize("verb", sorted(cli.commands))
def test_each_help_holds_an_example_that_runs(verb, tmp_path):
    done = run(verb, "--help")
    assert done.returncode == 0
    example = " ".join(done.stdout.split("Example:")[1].split())
    assert example.startswith(f"gatepost {verb}")
    shutil.copytree(DEMO / "sound", tmp_path, dirs_exist_ok=True)
    (tmp_path / "our_rules.yaml").write_text("[]\n")
    done = subprocess.run(
        example.replace("gatepost", f"{sys.executable} -m gatepost", 1),
        shell=True,
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in (0, 1), done.stderr


def test_version_is_the_package_version():
    from gatepost import __version__

    assert run("--version").stdout.strip().endswith(__version__)


def test_units_and_scheme_change_what_is_printed():
    assert '1-1/2"' in run("review", FAULTY).stdout + run("movement", FAULTY).stdout
    assert "mm" in run("movement", FAULTY, "--units", "mm").stdout
    both = run("movement", FAULTY, "--units", "both").stdout
    assert "mm)" in both
    assert "scheme eu" in run("review", FAULTY, "--scheme", "eu").stdout


def test_movement_json_is_a_band_around_the_likely_value():
    out = models.MovementOut.model_validate_json(run("movement", SOUND, "--built", "July", "--format", "json").stdout)
    moving = [part for part in out.parts if part.swing_mm is not None]
    assert len(moving) > 30
    for part in moving:
        assert 0 <= part.swing_mm_low <= part.swing_mm <= part.swing_mm_high
        assert part.mc_low_pct <= part.mc_high_pct


@pytest.mark.parametrize("suffix", ["html", "md", "json"])
def test_spec_has_the_same_bytes_for_the_same_day_and_escapes_what_shops_write(suffix, tmp_path):
    (tmp_path / "parts.csv").write_text('part,material,exposure\n"<script>alert(1)</script> | `x`",oak,weather\n')
    sheets = []
    for name in ("a", "b"):
        path = tmp_path / f"{name}.{suffix}"
        assert run("spec", tmp_path / "parts.csv", "-o", path, SOURCE_DATE_EPOCH="1700000000").returncode == 0
        sheets.append(path.read_bytes())
    assert sheets[0] == sheets[1]
    assert b"2023-11-14" in sheets[0]
    if suffix != "json":
        assert b"<script>" not in sheets[0]


def test_spec_numbers_are_those_of_the_json(tmp_path):
    run("spec", SOUND, "-o", tmp_path / "sheet.json", "--date", "2026-05-01")
    sheet = SpecOut.model_validate_json((tmp_path / "sheet.json").read_text())
    plain = json.loads(run("review", SOUND, "--format", "json", "--way-out").stdout)
    assert sheet.review.model_dump(by_alias=True) == plain
    parts = next(b for b in sheet.blocks if b.header and b.header[0] == "part" and "use category" in b.header)
    at = parts.header.index("use category")
    asked = [p["use_category"] if p["facts"]["is_wood"] == "yes" else "" for p in plain["parts"]]
    assert [row[at] for row in parts.rows] == asked


def test_new_writes_a_project_that_reviews_and_never_writes_over_one(tmp_path):
    for demo in ([], ["--demo", "faulty"], ["--demo", "sound"]):
        folder = tmp_path / "-".join(["p", *demo])
        assert run("new", folder, *demo).returncode == 0
        assert run("review", folder / "project.yaml").returncode == 0
        before = {path: path.read_bytes() for path in folder.iterdir()}
        assert run("new", folder, *demo).returncode == 2
        assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_rules_check_reports_all_four_problems_with_their_lines(tmp_path):
    path = tmp_path / "ours.yaml"
    path.write_text(
        "- rule: bare-end-grain-in-ground\n  topic: detail\n  severity: high\n  over: parts\n  when:\n    - end_grian == 'open'\n"
        "  message: x\n  remedy: y\n  why: z\n  source: practice\n  example: {end_grain: open}\n  near_miss: [{end_grain: sealed}]\n"
        "- rule: other-thing-gone-wrong\n  topic: detail\n  topic: glue\n  severity: fix\n  over: parts\n  when:\n    - role == 'post'\n    - width_mm < 60\n"
        "  message: x\n  remedy: y\n  why: z\n  source: practice\n  example: {role: post, width_mm: 50}\n  near_miss: [{role: rail}]\n"
    )
    done = run("rules", "--check", path)
    assert done.returncode == 2
    lines = [line.removeprefix(f"{path}:") for line in done.stderr.splitlines()]
    assert [line.split(":")[0] for line in lines] == ["3", "6", "15", "20"]
    for line, word in zip(lines, ("severity", "end_grain", "twice", "near_miss"), strict=True):
        assert word in line


def test_a_rule_of_the_shop_speaks_like_any_other(tmp_path):
    path = tmp_path / "ours.yaml"
    path.write_text(
        "- rule: larch-slat-too-thin-here\n  topic: detail\n  severity: fix\n  over: parts\n  when:\n    - thickness_mm < 30\n  message: 'Only {thickness_mm} thick.'\n"
        "  remedy: y\n  why: z\n  source: practice\n  example: {thickness_mm: 25}\n  near_miss: [{thickness_mm: 40}]\n"
    )
    done = run("review", "-", "--format", "md", "--rules", path, stdin=PARTS)
    assert "larch-slat-too-thin-here" in done.stdout
    assert "25 mm" in run("review", "-", "--format", "md", "--units", "mm", "--rules", path, stdin=PARTS).stdout


def test_accepted_findings_are_listed_apart_and_stale_ones_are_notes(tmp_path):
    (tmp_path / "parts.csv").write_text("part,material,exposure,thickness,width\npost,red pine 4x4,ground,,\n")
    text = "life: 20\nparts: parts.csv\naccepted:\n  - {rule: non-durable-wood-in-ground, part: post, reason: it stands one summer}\n  - {rule: no-such-rule-here, reason: nothing}\n"
    (tmp_path / "project.yaml").write_text(text)
    found = json.loads(run("review", tmp_path / "project.yaml", "--format", "json").stdout)
    assert found["counts"]["stop"] == 0
    assert [one["finding"]["rule"] for one in found["accepted"]] == ["non-durable-wood-in-ground"]
    assert "accepted-finding-not-found" in [f["rule"] for f in found["project_findings"]]
    printed = run("review", tmp_path / "project.yaml").stdout
    assert "it stands one summer" in printed
    assert "Caution" in printed


def test_an_old_sheet_stays_whole_when_the_new_one_cannot_be_written(tmp_path):
    target = tmp_path / "sheet.html"
    target.mkdir()
    done = run("spec", SOUND, "-o", target)
    assert done.returncode == 2
    assert target.is_dir()
    assert list(tmp_path.iterdir()) == [target]


def test_deposits_give_each_metal_its_class_and_the_reason():
    done = run("site", "Boston, MA", "--so2", "5", "--chloride", "120", "--format", "json")
    page = json.loads(done.stdout)
    assert page["corrosivity_from"] == "ISO 9223 dose-response from the deposits given"
    assert {one["metal"]: one["unit"] for one in page["metals"]} == {
        **dict.fromkeys(("steel", "zinc", "copper"), "µm"),
        "aluminium": "g/m²",
    }
    assert all(one["first_year"] > 0 and one["corrosivity"] for one in page["metals"])
    plain = json.loads(run("site", "Boston, MA", "--format", "json").stdout)
    assert plain["corrosivity_from"] == "the distance to the sea alone"
    assert {one["first_year"] for one in plain["metals"]} == {None}
    assert "recalled" in run("site", "Boston, MA", "--so2", "5", "--chloride", "120").stdout
    assert "does not hold" in " ".join(run("site", "Boston, MA", "--so2", "0", "--chloride", "9").stdout.split())


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--so2", "5"), ["--so2: goes with --chloride"]),
        (("--so2", "-1", "--chloride", "nan"), ["--so2: must lie between", "--chloride: must lie between"]),
        (("--so2", "much", "--chloride", "1"), ["'much' is not a valid"]),
    ],
)
def test_bad_deposits_of_the_call_are_refused(options, said):
    done = run("site", "Boston, MA", *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert all(text in done.stderr for text in said)


SALT = "site: {{place: 'Boston, MA', so2_mg_m2_d: {so2}, chloride_mg_m2_d: {chloride}}}\nscheme: eu\nparts: [{{part: rail, material: oak, exposure: weather}}]\n"


@pytest.mark.parametrize(
    ("so2", "chloride", "said"),
    [
        ("-3", "4", ["project.yaml:1: site.so2_mg_m2_d: must lie between 0 and 5000, not -3"]),
        ("salty", "6000", ["site.so2_mg_m2_d: must be a number", "site.chloride_mg_m2_d: must lie between"]),
        ("5", "", ["project.yaml:1: site.so2_mg_m2_d: needs chloride_mg_m2_d beside it"]),
        ("", ".nan", ["site.chloride_mg_m2_d: must be a number"]),
    ],
)
def test_bad_deposits_of_a_project_are_located(so2, chloride, said, tmp_path):
    (tmp_path / "project.yaml").write_text(SALT.format(so2=so2, chloride=chloride))
    done = run("review", "project.yaml", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert all(text in done.stderr for text in said), done.stderr


def test_deposits_outside_the_formula_are_noted_and_nothing_is_guessed(tmp_path):
    (tmp_path / "project.yaml").write_text(SALT.format(so2="0.1", chloride="900"))
    found = json.loads(run("review", "project.yaml", "--format", "json", cwd=tmp_path).stdout)["project_findings"]
    assert [one["rule"] for one in found if one["rule"].startswith("deposits")] == ["deposits-outside-the-formula"]
    assert run("spec", "project.yaml", "-o", "sheet.md", cwd=tmp_path).returncode == 0
    assert "corrosivity class of the air for zinc | not known" in (tmp_path / "sheet.md").read_text()


def test_first_choices_and_ways_out_applied_to_the_faulty_demo_leave_no_stop_and_no_fix(tmp_path):
    run("new", tmp_path / "demo", "--demo", "faulty")
    before = (tmp_path / "demo" / "parts.csv").read_bytes()
    done = run("choose", tmp_path / "demo" / "project.yaml", "--apply", tmp_path / "right")
    assert done.returncode == 0, done.stderr
    counts = json.loads(run("review", tmp_path / "right" / "project.yaml", "--format", "json").stdout)["counts"]
    assert (counts["stop"], counts["fix"]) == (0, 0)
    assert (tmp_path / "demo" / "parts.csv").read_bytes() == before
    head = (tmp_path / "right" / "parts.csv").read_text(encoding="utf-8").splitlines()[0]
    assert head.startswith(before.decode().splitlines()[0])
    again = run("choose", tmp_path / "demo" / "project.yaml", "--apply", tmp_path / "right")
    assert again.returncode == 2
    assert "already" in again.stderr


def test_choosing_by_cost_asks_for_prices_and_why_for_a_part(tmp_path):
    run("new", tmp_path / "blank")
    project = tmp_path / "blank" / "project.yaml"
    cheap = run("choose", project, "--by", "cost")
    assert cheap.returncode == 2
    assert "--prices" in cheap.stderr
    assert run("choose", project, "--why", "oak").returncode == 2


def test_why_names_the_rules_that_keep_a_material_out():
    told = run("choose", FAULTY, "--part", "board post", "--why", "Norway spruce").stdout
    assert "non-durable-wood-in-ground" in told
    assert len(told.strip().splitlines()) == 1
    assert "did you mean" in run("choose", FAULTY, "--part", "bord post").stderr


def test_way_out_stands_under_each_stop_and_fix():
    text = run("review", FAULTY, "--way-out").stdout
    found = json.loads(run("review", FAULTY, "--way-out", "--format", "json").stdout)
    grave = [
        row for row in [*found["parts"], *found["joints"]] if any(f["severity"] != "note" for f in row["findings"])
    ]
    assert text.count("Way out") >= 12
    told = [row for row in grave if row["way_out"] or row["blocked_by"]]
    assert len(told) >= 25
    assert all(change["to"].strip() for row in told for change in row["way_out"] or [])


def test_lookup_without_a_table_lists_the_tables():
    done = run("lookup", "--format", "json")
    assert done.returncode == 0
    names = {row["table"] for row in json.loads(done.stdout)["rows"]}
    assert {"species", "retentions", "sites", "sources"} <= names


def test_lookup_finds_words_from_their_beginning():
    rows = json.loads(run("lookup", "sites", "US", "--format", "json").stdout)["rows"]
    assert {row["country"] for row in rows} == {"US"}
    assert json.loads(run("lookup", "species", "larch", "--format", "json").stdout)["rows"]


def test_a_country_is_printed_once_where_the_region_is_the_whole_of_it():
    assert json.loads(run("site", "Halmstad, SE", "--format", "json").stdout)["site"] == "Halmstad, Sweden"
    assert json.loads(run("site", "Madison, WI", "--format", "json").stdout)["site"] == "Madison, Wisconsin, US"


def test_the_road_in_python_is_a_function_a_stage(tmp_path):
    import gatepost

    facts = gatepost.derive(gatepost.read(SOUND))
    assert gatepost.judge(facts).counts["stop"] == 0
    made = gatepost.choose(facts)
    assert len(made.ranked) == (facts.parts["is_wood"] != "no").sum()
    gatepost.write(gatepost.judge(facts), tmp_path / "sheet.md")
    assert (tmp_path / "sheet.md").stat().st_size > 1000
