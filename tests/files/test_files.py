"""What leaves, read by others' readers: CSV by Python's own module, FHIR by two validators that know nothing of each
other, UCUM by a third party's grammar. Every number is held against the record it was made of."""

import copy
import csv
import io
import json
import os
import re
import subprocess
import sys
import unicodedata
from pathlib import Path
from xml.etree import ElementTree

import pytest
from fhir.resources.R4B.bundle import Bundle
from pydantic import ValidationError
from ucumvert import PintUcumRegistry

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "recompute"))
import recompute  # noqa: E402
from drafts import TOLD, WORDS, draft  # noqa: E402

COUNT = 3000 if os.environ.get("STRAWLINE_LONG") else 300


@pytest.fixture(scope="session")
def program():
    return recompute.binary("export")


@pytest.fixture(scope="session")
def drafts():
    return "".join(draft(i) + "\n" for i in range(COUNT))


def run(program, form, text):
    # bytes: a carriage return in a cell must come through as it is
    done = subprocess.run([program, form], input=text.encode(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


@pytest.fixture(scope="session")
def records(program, drafts):
    return [json.loads(line) for line in run(program, "records", drafts).split("\n") if line]


@pytest.fixture(scope="session")
def bundles(program, drafts):
    return [json.loads(line) for line in run(program, "fhir", drafts).split("\n") if line]


def latest(record):
    return record["amendments"][-1]["entry"] if record["amendments"] else record["signed"]


def figures(record):
    return {(f["what"], f["standing"]): f for f in latest(record)["shown"]}


def table(text):
    """Cells by column; read strictly, and written again to the same bytes."""
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    again = io.StringIO(newline="")
    csv.writer(again, lineterminator="\r\n").writerows(rows)
    assert again.getvalue() == text
    head = rows[0]
    assert len(set(head)) == len(head)
    assert all(len(row) == len(head) for row in rows)
    return [dict(zip(head, row)) for row in rows[1:]]


def as_cell(typed):
    """What the guide says of a typed text."""
    kept = "".join(c for c in typed.strip() if c in "\t\r\n" or unicodedata.category(c) != "Cc")
    return "'" + kept if kept[:1] and kept[0] in "=+-@\t\r" else kept


UNITS = {"×10⁹/L": "1e9_per_L", "×10¹²/L": "1e12_per_L", "×10⁹": "1e9", "mL": "mL", "": "ratio", "L/L": "ratio"}
ALONE = {"anticoagulant_each": "planned", "fill_mark": "planned", "blood_count": "counted", "replicate_cv": "counted", "concentration_not_confirmed": "counted"}
WHOLE = ("blood_in_all", "anticoagulant_in_all", "drawn_today", "platelets_drawn", "product_volume", "volume_after_additions", "left_over")


def column(what, standing, unit):
    """The column of a figure that stands so; none if it has none."""
    if what.startswith("part_") and what.endswith("_volume"):
        said = {"ordered": "_ordered", "measured": "_given"}.get(standing)
        return said and f"{what}{said}_mL"
    if what.endswith(("_predicted", "_counted")):
        return f"{what}_{unit}" if what.endswith(standing) else None
    if what in ALONE:
        return f"{what}_{unit}" if ALONE[what] == standing else None
    return f"{what}_{standing}_{unit}" if what in WHOLE else None


def test_the_table_of_records(program, drafts, records):
    rows = table(run(program, "csv", drafts))
    assert len(rows) == len(records) == COUNT
    compared = kept = 0
    for row, record in zip(rows, records):
        entry = latest(record)
        assert row["standing"] == "sound"
        for field in [*WORDS, *TOLD]:
            name = TOLD | {"container_expiry": "container_expiry_as_typed", "anticoagulant_expiry": "anticoagulant_expiry_as_typed"}
            name = name.get(field, field)
            if field != "part_name_1":
                assert row[name] == as_cell(entry["draft"]["texts"].get(field, "")), (name, record["id"])
        texts, standing = entry["draft"]["texts"], entry["draft"]["choices"]["count"]
        assert row["blood_count_standing"] == standing
        sampled = as_cell(texts.get("blood_count_time", "")) if standing == "today" else ""
        assert row["blood_sampled_as_typed"] == sampled, record["id"]
        age = texts.get("count_age", "") if standing == "older" else ""
        assert row["blood_count_age_days"] == age, record["id"]
        wanted = {}
        for f in entry["shown"]:
            unit = UNITS.get(f["unit"])
            name = unit and column(f["what"], f["standing"], unit)
            if name and name in row:
                wanted[name] = f["value"]
                if f["standing"] == "predicted":
                    stem = name.removesuffix(f"_{unit}")
                    wanted |= {f"{stem}_low_{unit}": f["low"], f"{stem}_high_{unit}": f["high"]}
        numbers = [n for n in row if n.endswith(("_1e9_per_L", "_1e12_per_L", "_1e9", "_mL", "_ratio"))]
        for name in numbers:
            if name.startswith(("blood_haem", "blood_white", "dilution", "addition_")):
                continue
            if name not in wanted and name.endswith("_volume_ordered_mL") and name.replace("ordered", "given") in wanted:
                # given since: what was ordered stays beside it, as typed
                typed = entry["draft"]["texts"].get(f"part_volume_{name.split('_')[1]}", "")
                assert (row[name] == "") == (typed.strip() == ""), (name, record["id"])
                kept += row[name] != ""
            elif name in wanted:
                assert float(row[name]) == pytest.approx(wanted[name], rel=1e-8), (name, record["id"])
                compared += 1
            else:
                assert row[name] == "", (name, record["id"])
        for name, cell in row.items():
            assert name in numbers or cell[:1] not in tuple("=+-@\t\r"), (name, cell)
    assert compared > 10 * COUNT and kept > COUNT / 20


def test_quality_data_tell_nobody(program, drafts, records):
    text = run(program, "quality", drafts)
    rows = table(text)
    assert len(rows) == sum(not latest(r)["draft"]["demo"] for r in records) > COUNT * 0.8
    assert "mark" not in text
    for record in records:
        assert f",{record['id']}," not in text
    assert all(len(row["prepared"]) == 10 for row in rows)
    assert sum(row["recovery_counted_ratio"] != "" for row in rows) > COUNT / 20
    assert not any(":" in cell for row in rows for cell in row.values())


def errors(bundle):
    try:
        Bundle.model_validate(bundle)
    except ValidationError as error:
        return error.errors(include_url=False)
    return []


def observations(bundle):
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Observation"]


def test_fhir_by_the_first_validator(bundles):
    for number, bundle in enumerate(bundles):
        assert not errors(bundle), (number, errors(bundle)[:3])
    assert len(bundles) == COUNT
    kinds = {e["resource"]["resourceType"] for b in bundles for e in b["entry"]}
    assert kinds == {
        "Patient", "Specimen", "Observation", "Procedure", "BiologicallyDerivedProduct", "Device", "Provenance",
        "Substance",
    }  # fmt: skip


def node(bundles):
    text = "".join(json.dumps(b) + "\n" for b in bundles)
    return subprocess.run(["node", "validate.mjs"], cwd=HERE, input=text, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)


def test_fhir_by_the_second_validator(bundles):
    done = node(bundles)
    assert done.returncode == 0, done.stdout[:3000]
    assert f"{COUNT} bundles, 0 invalid" in done.stdout


def spoilt(bundle, kind, change):
    bundle = copy.deepcopy(bundle)
    change(next(e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == kind))
    return bundle


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("Observation", lambda r: r.pop("code")),
        ("Procedure", lambda r: r.update(status=["completed"])),
        ("Provenance", lambda r: r.pop("agent")),
        ("Patient", lambda r: r.update(reference="HL-0417")),
    ],
)
def test_each_validator_refuses_what_is_wrong(bundles, kind, change):
    whole = next(b for b in bundles if observations(b))
    bad = spoilt(whole, kind, change)
    assert errors(bad) and not errors(whole)
    assert node([bad]).returncode == 1 and node([whole]).returncode == 0


def test_observations_are_measured_or_counted(records, bundles):
    times = {"%": 100}
    figure_of = {
        "product-platelets": "concentration_counted", "product-white-cells": "white_cells_counted",
        "product-red-cells": "red_cells_counted", "product-haematocrit": "product_haematocrit_counted",
        "product-neutrophils": "neutrophils_counted", "platelets-in-product": "platelets_in_product_counted",
        "platelets-drawn": "platelets_drawn", "fold": "fold_counted", "recovery": "recovery_counted",
        "dose-in-all": "dose_counted",
    }  # fmt: skip
    seen = set()
    for record, bundle in zip(records, bundles):
        shown = figures(record)
        by_eye = "chamber" in latest(record)["draft"]["texts"].get("blood_count_method", "")
        local = figure_of | {"26515-7" if by_eye else "777-3": "blood_count"}
        parts = {"volume-given": [], "dose-of-part": []}
        for o in observations(bundle):
            code, value = o["code"]["coding"][0]["code"], o.get("valueQuantity")
            seen.add(code)
            if value is None:
                # When it was given, and nobody said how much.
                assert code == "volume-given" and "effectiveDateTime" in o, o
                assert o["dataAbsentReason"]["coding"][0]["code"] == "unknown"
                continue
            if code in parts:
                parts[code].append(value["value"])
            elif code in local:
                figure = shown[local[code], "counted"]
                assert value["value"] == pytest.approx(figure["value"] * times.get(value["code"], 1), rel=1e-8)
            else:
                assert code in {"6690-2", "4544-3", "718-7"}, code
        # the other way round: nothing that was counted is missing
        codes = {o["code"]["coding"][0]["code"] for o in observations(bundle)}
        assert {c for c, what in local.items() if (what, "counted") in shown} == codes & local.keys()
        for code, end, standing in [("volume-given", "_volume", "measured"), ("dose-of-part", "_dose_counted", "counted")]:
            given = [f["value"] for (what, s), f in shown.items() if what.startswith("part_") and what.endswith(end) and s == standing]
            assert sorted(parts[code]) == pytest.approx(sorted(given), rel=1e-8)
    assert seen >= (figure_of.keys() | {"777-3", "26515-7"}) - {"product-red-cells", "product-haematocrit", "product-neutrophils"} | {"6690-2", "4544-3", "718-7"}


def test_a_demo_names_nobody(records, bundles):
    demos = 0
    for record, bundle in zip(records, bundles):
        patient = next(e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient")
        demo = latest(record)["draft"]["demo"]
        demos += demo
        assert patient.keys() <= ({"resourceType", "id", "meta"} if demo else {"resourceType", "id", "identifier"})
    assert demos > 5


def test_units_are_ucum(bundles):
    registry = PintUcumRegistry()
    quantities = []

    def walk(value):
        if isinstance(value, dict):
            if value.get("system") == "http://unitsofmeasure.org":
                quantities.append(value)
            value = list(value.values())
        if isinstance(value, list):
            for inner in value:
                walk(inner)

    walk(bundles)
    codes = {q["code"] for q in quantities}
    assert codes >= {"10*9/L", "mL", "%", "g/dL", "10*9", "{fold}"}
    size = {"10*9/L": ("1e12/m**3", 1), "10*12/L": ("1e15/m**3", 1), "mL": ("cm**3", 1), "g/dL": ("kg/m**3", 10), "%": ("", 0.01), "10*9": ("", 1e9), "{fold}": ("", 1)}
    for code in codes:
        unit, is_ = size[code]
        parsed = registry.from_ucum(code)
        # an annotation alone is read as such, and stands for 1
        found = registry.Quantity(1) if getattr(parsed, "type", "") == "ANNOTATION" else (1 * parsed).to_base_units()
        wanted = (is_ * registry(unit or "dimensionless")).to_base_units()
        assert found.dimensionality == wanted.dimensionality, code
        assert found.magnitude == pytest.approx(wanted.magnitude, rel=1e-9), code
    with pytest.raises(Exception):  # noqa: B017
        registry.from_ucum("×10⁹/L")


def test_the_chart_marks_what_was_predicted(program, drafts, records):
    texts = run(program, "chart", drafts)
    assert texts.count("Platelets in product: ") > COUNT / 4
    for line in texts.split("\n"):
        if line.startswith(("Platelets in product: ", "Concentration: ", "Recovery: ", "Fold, ceiling")):
            for part in line.split(": ", 1)[1].split("; "):
                # What rests on an older blood count says that it does, behind how it stands.
                standing = re.sub(r", over a blood count (of an earlier day|\d+ days? old)$", "", part)
                assert standing.endswith((" counted", " not counted", " not confirmed")), line


OFFICE = "urn:oasis:names:tc:opendocument:xmlns:"


def opened_by_a_spreadsheet(folder, text):
    """The rows a spreadsheet makes of a table when it is opened there, and the formulas it takes cells for."""
    (folder / "table.csv").write_text(text, encoding="utf-8", newline="")
    # comma, quotation mark, UTF-8, from row 1, quoted fields are no exception, numbers are recognised
    reader = "--infilter=CSV:44,34,76,1,,1033,false,true"
    profile = f"-env:UserInstallation=file://{folder}/profile"
    where = ["--outdir", str(folder), str(folder / "table.csv")]
    subprocess.run(["soffice", profile, "--headless", reader, "--convert-to", "fods", *where], check=True, timeout=300)
    rows, formulas = [], []
    for row in ElementTree.parse(folder / "table.fods").getroot().iter(f"{{{OFFICE}table:1.0}}table-row"):
        cells = []
        for cell in row.iter(f"{{{OFFICE}table:1.0}}table-cell"):
            formulas += [cell.get(f"{{{OFFICE}table:1.0}}formula")] if cell.get(f"{{{OFFICE}table:1.0}}formula") else []
            often = int(cell.get(f"{{{OFFICE}table:1.0}}number-columns-repeated", 1))
            value = cell.get(f"{{{OFFICE}office:1.0}}value")
            cells += [value if value is not None else bool(len(cell))] * min(often, 1000)
        rows.append(cells)
    return rows, formulas


@pytest.mark.skipif(not os.environ.get("STRAWLINE_LONG"), reason="a spreadsheet is installed for the long run only")
@pytest.mark.parametrize("form", ["csv", "quality"])
def test_a_spreadsheet_finds_no_formula_and_every_number(program, drafts, tmp_path, form):
    text = run(program, form, drafts)
    rows, formulas = opened_by_a_spreadsheet(tmp_path, text)
    assert formulas == []
    wanted = list(csv.reader(io.StringIO(text, newline="")))
    rows = rows[: len(wanted)]
    assert len(rows) == len(wanted)
    numbers = 0
    for got, want in zip(rows[1:], wanted[1:], strict=True):
        for name, g, w in zip(wanted[0], got + [False] * (len(want) - len(got)), want, strict=False):
            if name.endswith(("_mL", "_ratio", "_per_L", "_1e9")) and w:
                assert float(g) == pytest.approx(float(w), rel=1e-9), (name, g, w)
                numbers += 1
    assert numbers > 1000
    # Control: a cell that is not made safe is taken for a formula.
    assert opened_by_a_spreadsheet(tmp_path, "a,b\r\n=1+1,2\r\n")[1] != []
