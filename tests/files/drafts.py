"""Cases of the recomputation as a person might have left them: with words, times and what was not asked."""

import json
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "recompute"))
import cases  # noqa: E402

NASTY = [
    '=HYPERLINK("http://x","y")', "+1", "-1", "@SUM(A1)", "\t=1", "a,b", 'say "x"', "two\nlines", "cr\r\nlf", "cr\ralone",
    "'quoted", "1,5", "ß≥µ漢字🙂", "  lead", "a;b", "\x00nul", "\x07=1+1", "<script>alert(1)</script>", "\u2028", "=1\n+2", '"', '""', "",
]  # fmt: skip

WORDS = [
    "patient_reference", "second_identifier", "technician", "prescriber", "site", "order_note", "screening_note",
    "handed_to", "notes", "container_lot", "anticoagulant_lot", "container_expiry", "anticoagulant_expiry", "part_name_1",
]  # fmt: skip

# who did a stage, and what was noted of it: field and column
TOLD = {
    "who_before": "made_ready_by", "who_draw": "drawn_by", "who_product": "product_made_by", "who_hand_over": "handed_over_by",
    "draw_site": "drawn_from", "kept_until_given": "kept_until_given", "part_given_at_1": "part_1_given_at_as_typed",
}  # fmt: skip

MINUTE = 60_000


def draft(index):
    """A case of the recomputation with words, times and clumps of odd characters in it."""
    _, text = cases.make(3, index)
    case, chance = json.loads(text), random.Random(index)
    case["demo"] = chance.random() < 0.1
    case["begun"] = chance.randrange(1_600_000_000_000, 1_900_000_000_000)
    case["offset"] = chance.choice([-570, -300, 0, 60, 330])
    for field in WORDS:
        if chance.random() < 0.8:
            mark = f"mark{index}x" if chance.random() < 0.7 else ""
            case["texts"][field] = chance.choice(NASTY) + mark
    told = random.Random(f"told {index}")
    for field in TOLD:
        if told.random() < 0.6:
            case["texts"][field] = told.choice([*NASTY, "11:50", "MO"]) + (f"mark{index}x" if told.random() < 0.5 else "")
    if index % 2:
        case["texts"]["blood_count_method"] = ["analyser 2", "counting chamber"][index // 2 % 2]
    for stage in range(3):
        if told.random() < 0.5:
            case["texts"][f"who_spin_{stage + 1}"] = told.choice([*NASTY, "JT"])
            case["texts"][f"temperature_set_{stage + 1}"] = told.choice(["20", "22 °C", "cold"])
            case["choices"].setdefault("brakes", {})[str(stage)] = told.choice(["off", "on"])
    if told.random() < 0.6:
        case["texts"]["blood_count_time"] = told.choice([*NASTY, "08:30"])
    if chance.random() < 0.6:
        case["texts"]["blood_haemoglobin"] = "138 g/L"
    if chance.random() < 0.6:
        case["texts"]["blood_white"], case["texts"]["product_white"] = "6.2", "3.1"
        case["choices"]["cells_dilution"] = "undiluted"
    if chance.random() < 0.6:
        # everything entered, so that what is counted can be held against what was drawn
        high, comma = case["kit"]["container"]["fill_high"], case["conventions"]["numbers"] == "comma"
        case["texts"] |= {f"fill_actual_{n + 1}": f"{high:g}" for n in range(int(case["texts"]["containers"]))}
        case["texts"].setdefault("product_actual", "4,5" if comma else "4.5")
    case["choices"]["side"] = chance.choice(["left", "right", "no_side", None])
    if case["kit"]["container"]:
        case["kit"]["container"]["name"] = chance.choice(NASTY) or "Tube"
    steps = [case["begun"] + n * 5 * MINUTE for n in range(6)]
    names = ["needle_in", "needle_out", "spin_end", "collected", "counted", "handed_over"]
    done = chance.randrange(len(names) + 1)
    case["times"] |= dict(zip(names[:done], steps, strict=False))
    if done > 2:
        case["times"]["stages"] = {"0": steps[1]}
    if done == len(names):
        # given in the end, so that doses are told
        for n in range(max(1, case["rows"]["parts"])):
            case["texts"].setdefault(f"part_given_{n + 1}", "1")
    return json.dumps(case, ensure_ascii=False)
