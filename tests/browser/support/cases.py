"""Random cases for the codes on cards, one a line: the stored case, what a code in clear holds of it, and words that
none may. Nothing here is read from the crate: what may stand in clear is written out once more."""

import copy
import json
import random
import sys
from pathlib import Path

TESTS = Path(__file__).parent.parent.parent
sys.path.insert(0, str(TESTS / "files"))
from drafts import MINUTE, TOLD, WORDS, draft  # noqa: E402

NOW = 1_773_307_860_123
"""The scenario's minute, and no whole second."""
DEMO = json.loads((TESTS / "shell" / "demo_case.json").read_text())
TYPED = [*WORDS, *TOLD, "blood_count_time", "blood_count_method", "no_product", "why_changed", "session", "adverse_event"]
LOTS = ["container_lot", "anticoagulant_lot", "addition_lot_1", "addition_lot_2", "addition_lot_3"]
EXPIRIES = ["container_expiry", "anticoagulant_expiry", "addition_expiry_1", "addition_expiry_2", "addition_expiry_3"]
OF_THE_PERSON = ["weight", "height", "age", "previous_blood"]
AGAINST = ["identity_differs", "anticoagulant_unsound", "containers_unsound"]
CHECKS = ["identity", "anticoagulant", "anticoagulant_sound", "containers_sound", "balance", "hand_over", *AGAINST]


def made(index):
    """A case with what the page itself would have stored on the way."""
    case, d = json.loads(draft(index)), random.Random(f"code {index}")
    texts, choices, times = case["texts"], case["choices"], case["times"]
    mark = f"mark{index}x"

    def some(share):
        return d.random() < share

    if some(0.8):
        # of today, so that not each is past its use-by
        later = NOW - d.randrange(40, 110) * MINUTE - case["begun"]
        case["begun"] += later
        for name, at in times.items():
            times[name] = {n: t + later for n, t in at.items()} if name == "stages" else at and at + later

    def lot():
        return f"{d.choice(['K', 'AC', 'QZ'])}-{''.join(d.choices('23456789', k=5))}"

    def moment():
        return case["begun"] + d.randrange(120 * MINUTE)

    case["id"] = f"code-{index}"
    case["sign"] = d.choice("34679") + d.choice("ACDEFGHJKMNPQRTUVWXY")
    case["schema"] = 6
    case["kit"] |= {"limits": DEMO["kit"]["limits"], "clock": DEMO["kit"]["clock"]}
    case["stage"] = d.choice(["order", "before_needle", "spinning", "product", "later"])
    texts["patient_reference"] = f"HL-{d.randrange(1000, 10000)}"
    texts["second_identifier"] = d.choice(["4 Aug 1982", "1982-08-04", "04081982", f"{mark} street"])
    texts["technician"], texts["prescriber"] = d.choice(["MO", mark]), f"Dr {mark}"
    if some(0.7):
        texts["age"] = str(d.randrange(18, 90))
    for field in [*LOTS, *EXPIRIES, "part_given_at_1"]:
        texts.pop(field, None)
    there = {}
    for n, field in enumerate(LOTS):
        if n < 2 + case["rows"]["additions"] and some(0.8):
            # a name or an identifier in the wrong field is no lot
            wrong = [texts["patient_reference"], texts["second_identifier"], f"Dr {mark}", mark]
            texts[field] = d.choice(wrong) if some(0.2) else there.setdefault(field, lot())
    for n, field in enumerate(EXPIRIES):
        if n < 2 + case["rows"]["additions"] and some(0.8):
            texts[field] = mark if some(0.1) else there.setdefault(field, d.choice(["2027-03-31", "31 Aug 2027", "2028-01"]))
    if case["rows"]["parts"] and some(0.5):
        texts["part_given_at_1"] = mark if some(0.3) else there.setdefault("part_given_at_1", "11:50")
    # most are done as planned: a card full of findings has no room for its code
    if some(0.7):
        for field in [field for field in texts if field.startswith("speed_actual_")]:
            del texts[field]
    if times.get("needle_out") and some(0.7):
        high = case["kit"]["container"]["fill_high"]
        texts |= {f"fill_actual_{n + 1}": f"{high:g}" for n in range(int(texts["containers"]))}
    case["checks"] = {
        kind: {"by": d.choice(["MO", mark]), "at": moment(), "of": mark if some(0.2) else ""}
        for kind in CHECKS
        if some(0.1 if kind in AGAINST else 0.8)
    }
    if some(0.7):
        choices["screening"] = {question: some(0.05) for question in DEMO["choices"]["screening"]}
    choices |= {"one_container": some(0.2), "count_later": False}
    choices["first_draw"] = d.choice([None, True, False])
    if some(0.3):
        case["corrections"] = [{"what": "needle_in", "was": moment(), "now": moment(), "by": mark, "at": moment()}]
    if some(0.3):
        case["discards"] = [
            {"kind": "opened_unused", "count": d.randrange(1, 4), "lot": lot(), "why": mark, "by": "MO", "at": moment()},
            {"kind": "left_over", "volume": d.randrange(1, 40) / 4, "what": mark, "why": mark, "by": "MO", "at": moment()},
        ]
    if some(0.4) and times.get("needle_in"):
        case["corrected_lots"] = {"container_lot": lot()}
    if some(0.4) and times.get("needle_in"):
        case["drawn_to"] = {"containers": 2, "anticoagulant": 2.5, "fill": 15.5, "container": "c"}
    if some(0.3):
        case["decisions"] = {"screening_pregnancy": {"by": mark, "reason": mark, "at": moment()}}
    if times.get("needle_in"):
        case["placed"] = {"side": choices["side"], "site": texts.get("site", "")}
        case["identified"] = [mark, mark]
    if times.get("handed_over"):
        case["checks"]["hand_over"] = {"by": mark, "at": moment(), "of": ""}
        stood = {"texts": texts, "choices": choices, "kit": case["kit"]}
        case["hand_overs"] = [copy.deepcopy({"at": times["handed_over"], **stood})]
        if some(0.5):
            choices["count_later"] = True
            for field in [field for field in texts if field.startswith("reading_")]:
                del texts[field]
    elif times.get("needle_in") and some(0.4):
        texts["no_product"] = f"{mark} clotted"
    return case, there


def second(at):
    return at - at % 1000


def in_clear(case, there):
    """What a code in clear holds: quantities, lots, dates of expiry and times to the second, and who is nowhere."""
    bare = copy.deepcopy(case)
    for name in ["hand_overs", "decisions", "checks", "placed", "identified"]:
        bare.pop(name, None)
    words = [*TYPED, *OF_THE_PERSON, *LOTS, *EXPIRIES]
    words += [field for field in case["texts"] if field.startswith("who_")]
    words += [field for field in case["texts"] if field.startswith("addition_name_")]
    numbers = {field: text.strip() for field, text in case["texts"].items() if field not in words and text != "cold"}
    bare["texts"] = numbers | there
    for name in ["side", "sex", "first_draw", "screening"]:
        bare["choices"].pop(name, None)
    for name in ["container", "protocol", "rotor"]:
        if bare["kit"].get(name):
            del bare["kit"][name]["name"], bare["kit"][name]["id"]
    for stage in bare["kit"]["protocol"]["programme"]:
        if "handling" in stage:
            del stage["handling"]["what"]
    bare["checks"] = {kind: {"at": check["at"]} for kind, check in case["checks"].items() if kind in AGAINST}
    bare.get("drawn_to", {}).pop("container", None)
    rows = [*bare["checks"].values(), *bare["troubles"], *bare.get("corrections", []), *bare.get("discards", [])]
    for row in rows:
        for name in ["by", "what", "why"]:
            if row is not None and not (name == "what" and "was" in row):
                row.pop(name, None)
        for name in ["at", "was", "now"]:
            if name in row:
                row[name] = second(row[name])
    bare["begun"] = second(bare["begun"])
    stages = {n: second(at) for n, at in bare["times"].pop("stages", {}).items()}
    bare["times"] = {name: at and second(at) for name, at in bare["times"].items()} | {"stages": stages}
    return bare


def telling(case):
    """Whoever and whatever is named in it, in words long enough that no number or lot holds them by chance."""
    words = {case["texts"][field] for field in ["patient_reference", "second_identifier", "prescriber"]}
    return sorted({f"{case['id'].replace('code-', 'mark')}x", *words})


for index in range(int(sys.argv[1])):
    case, there = made(index)
    print(json.dumps({"case": case, "clear": in_clear(case, there), "telling": telling(case)}))
