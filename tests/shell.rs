//! The example program as a shell runs it: a complete stored case in, every result out; unusable input gives
//! code 2 and a sentence that names the field and its range.

#![allow(clippy::expect_used, clippy::indexing_slicing, reason = "tests")]

use serde_json::Value;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;
use strawline::draft::{CheckSign, Draft, Field};
use strawline::quantity::time::Instant;
use strawline::quantity::unit::Conventions;

/// 25 Nov 2026, 09:00 UTC.
const AT: i64 = 1_795_597_200_000;
const CASE: &str = include_str!("shell/demo_case.json");

/// The example, built once: a run of this test alone does not build it by itself.
fn program() -> &'static PathBuf {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| example("assess"))
}

fn example(name: &str) -> PathBuf {
    let built = Command::new(env!("CARGO")).args(["build", "--quiet", "--example", name]).status();
    assert!(built.expect("cargo runs").success());
    let mut path = std::env::current_exe().expect("this test's own path");
    path.pop();
    path.pop();
    path.join("examples").join(format!("{name}{}", std::env::consts::EXE_SUFFIX))
}

fn run(input: &[u8]) -> Output {
    run_with(&[], input)
}

fn run_with(options: &[&str], input: &[u8]) -> Output {
    let at = AT.to_string();
    let all: Vec<&str> = ["--at", &at].into_iter().chain(options.iter().copied()).collect();
    run_program(program(), &all, input)
}

fn run_program(program: &Path, options: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(program)
        .args(options)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the example is built with the tests");
    // A program that refuses early may close its input before all of it is written.
    let written = child.stdin.take().expect("a pipe").write_all(input);
    assert!(written.is_ok() || written.is_err_and(|e| e.kind() == std::io::ErrorKind::BrokenPipe));
    child.wait_with_output().expect("it ends")
}

#[test]
fn the_committed_case_is_the_demo_as_stored() {
    let stored = Draft::from_json(CASE).expect("a case");
    let sign = CheckSign::try_from("7K".to_owned()).expect("a sign");
    assert_eq!(stored, Draft::demo("demo".to_owned(), sign, Instant(AT), Conventions::default()));
}

#[test]
fn ten_numbers_of_the_demo() {
    let out = run(CASE.as_bytes());
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let report: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let result = |what: &str| {
        let all = report["results"].as_array().expect("a list");
        let found = all.iter().find(|r| r["what"] == what);
        found.unwrap_or_else(|| panic!("no {what}")).clone()
    };
    for (what, unit, value) in [
        ("anticoagulant_before_rounding", "mL", 15.0 * 0.15 / 1.15),
        ("anticoagulant_each", "mL", 2.0),
        ("blood_each", "mL", 13.0),
        ("fill_mark", "mL", 15.0),
        ("anticoagulant_per_blood", "mL/mL", 2.0 / 13.0),
        ("blood_in_all", "mL", 26.0),
        ("mixture_haematocrit", "L/L", 26.0 * 0.42 / 30.0),
        ("ceiling", "", 6.5),
        ("platelets_drawn", "×10⁹", 5.46),
        ("left_over", "mL", 0.5),
    ] {
        let found = result(what);
        assert_eq!(found["unit"], unit, "{what}");
        let got = found["value"].as_f64().expect("a number");
        assert!((got - value).abs() < 1e-9, "{what}: {got}, not {value}");
    }
    let fold = result("fold_predicted");
    assert_eq!(fold["standing"], "predicted");
    assert!(fold["low"].as_f64() < fold["value"].as_f64() && fold["value"].as_f64() < fold["high"].as_f64());
    assert!(!fold["working"].as_array().expect("lines").is_empty());
    for source in fold["sources"].as_array().expect("sources") {
        let key = source.as_str().expect("a key");
        assert!(report["sources"][key]["citation"].is_string(), "{key} has no citation");
    }
    let findings = report["findings"].as_array().expect("findings");
    let asked =
        findings.iter().any(|f| f["key"] == "screening_yes.anti_inflammatory" && f["level"] == "caution");
    assert!(asked, "{findings:?}");
}

#[test]
fn an_order_that_names_platelets_is_planned_for() {
    let case = CASE.replacen("\"order_volume\"", "\"order_platelets\": \"2\", \"order_volume\"", 1);
    assert_ne!(case, CASE);
    let out = run(case.as_bytes());
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let report: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    // the order it names: how likely it is, why not surer, and what to draw for it
    let chance = report["order"][0]["chance"]["value"].as_f64().expect("a chance");
    assert!((0.8..1.0).contains(&chance), "{chance}");
    let shares = report["sure"]["doubt"]["shares_of_variance"].as_array().expect("shares");
    assert_eq!(report["sure"]["doubt"]["largest"], "method");
    let sum: f64 = shares.iter().filter_map(|s| s["share"].as_f64()).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    let plan = &report["plan"];
    assert_eq!((&plan["verdict"], &plan["way"]["containers"]), (&"met".into(), &2.into()));
    assert!(plan["way"]["chance"].as_f64() >= Some(0.8));
    assert!(plan["way"]["blood_in_all"].as_f64() < Some(26.0));
    assert!(plan["picture"]["points"].as_array().is_some_and(|p| p.len() > 10));
    assert!(plan["others"].as_array().is_some());
}

#[test]
fn the_case_in_the_guide_is_answered() {
    let guide = include_str!("../DEVELOPERS.md");
    let case = guide
        .split("```json\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("a case in the guide");
    let out = run(case.as_bytes());
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let report: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let results = report["results"].as_array().expect("a list");
    let value = |what: &str| results.iter().find(|r| r["what"] == what).and_then(|r| r["value"].as_f64());
    assert_eq!(value("anticoagulant_each"), Some(2.0));
    assert_eq!(value("blood_in_all"), Some(26.0));
    assert!(report["plan"].is_null());
}

#[test]
fn a_counted_case_gives_recipe_and_classes_with_their_sources() {
    let mut draft = Draft::from_json(CASE).expect("a case");
    draft.choices.mixed_no_clumps = Some(true);
    for (field, text) in [(Field::ProductActual, "4"), (Field::Dilution, "20"), (Field::Reading(0), "78")] {
        draft.write(field, text);
    }
    let out = run(draft.to_json().as_bytes());
    let report: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let recipe = &report["count_recipe"];
    assert_eq!((recipe["dilution"].as_f64(), &recipe["linear"]), (Some(20.0), &"not_known".into()));
    assert!((recipe["diluent_ul"].as_f64().expect("a volume") - 950.0).abs() < 1e-9);
    // 1560·4/5460 is more than all: four checks in order, the first with two ways
    let checks = report["checks"].as_array().expect("a list");
    assert_eq!(checks.len(), 5);
    assert!(checks[0].as_str().expect("words").contains("from the filled container"), "{checks:?}");
    // and no class rests on such a count
    let platelets = &report["classes"][0]["parts"][0]["is"];
    assert_eq!(platelets, "not determinable without a count of the product that may be relied on");
    // 47·20 is 940, less than was drawn and above 750
    draft.write(Field::Reading(0), "47");
    let out = run(draft.to_json().as_bytes());
    let report: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let classes = report["classes"].as_array().expect("a list");
    assert_eq!(classes.len(), 5);
    assert_eq!(classes[0]["parts"][0]["is"], "P3");
    assert_eq!(
        classes[0]["parts"][2]["is"],
        "not determinable without the product’s white cells and the blood’s white cells"
    );
    for part in classes.iter().flat_map(|c| c["parts"].as_array().expect("a list")) {
        let source = part["source"].as_str().expect("a source");
        assert!(report["sources"][source]["citation"].is_string(), "{part}");
    }
    assert!(report["sources"]["no-classification-validated"].is_object());
}

#[test]
fn unusable_input_is_refused_with_a_sentence() {
    let with = |from: &str, to: &str| {
        assert!(CASE.contains(from), "{from}");
        CASE.replacen(from, to, 1).into_bytes()
    };
    let cases: Vec<(Vec<u8>, &[&str])> = vec![
        (Vec::new(), &["not a stored case"]),
        (vec![0xff, 0xfe, 0x00], &["UTF-8"]),
        (b"null".to_vec(), &["not a stored case"]),
        (b"[1, 2".to_vec(), &["not a stored case"]),
        (CASE.as_bytes()[..CASE.len() / 2].to_vec(), &["not a stored case"]),
        (with("\"blood_count\"", "\"blod_count\""), &["blod_count"]),
        (with("\"schema\": 1", "\"schema\": 99"), &["99", "newer"]),
        (with("\"7K\"", "\"0O\""), &["check sign"]),
        (with("\"fill_volume\": \"15\"", "\"fill_volume\": \"1500\""), &["fill_volume", "0.5", "500"]),
        (with("\"containers\": \"2\"", "\"containers\": \"two\""), &["containers", "1", "12"]),
        (with("\"blood_count\": \"210\"", "\"blood_count\": \"25\""), &["blood_count"]),
        (with("\"capacity\": 17.0", "\"capacity\": -5"), &["capacity", "-5", "0 to 10000 mL"]),
        (with("\"demo\": true", "\"demo\": \"yes\""), &["demo", "boolean"]),
    ];
    // bytes that follow from one another (a linear congruence): nothing a case begins with
    let bytes = |seed: u32| {
        std::iter::successors(Some(seed), |x| Some(x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223)))
    };
    let random = (1..20).map(|seed| bytes(seed).take(64).map(|x| x.to_be_bytes()[0]).collect::<Vec<u8>>());
    for (input, words) in cases.into_iter().chain(random.map(|bytes| (bytes, &["case"][..]))) {
        let out = run(&input);
        let said = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{said}");
        assert!(out.stdout.is_empty());
        for word in words {
            assert!(said.contains(word), "{word:?} is not in {said:?}");
        }
    }
}

#[test]
fn one_case_a_line() {
    let compact = Draft::from_json(CASE).expect("a case").to_json();
    let input = format!("{compact}\n{{}}\n{compact}\n");
    let out = run_with(&["--lines"], input.as_bytes());
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!((out.status.code(), said.contains("1 of 3")), (Some(2), true), "{said}");
    let answers: Vec<Value> = String::from_utf8_lossy(&out.stdout)
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON a line"))
        .collect();
    assert_eq!(answers.len(), 3);
    assert!(answers[1]["error"].as_str().expect("a sentence").contains("schema"));
    let alone: Value = serde_json::from_slice(&run(CASE.as_bytes()).stdout).expect("JSON");
    assert_eq!((&answers[0], &answers[2]), (&alone, &alone));
}

/// The example that learns, built once.
fn learn(options: &[&str], counts: &str) -> Output {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    run_program(PROGRAM.get_or_init(|| example("learn")), options, counts.as_bytes())
}

/// The counts in the guide.
fn counts_in_the_guide() -> &'static str {
    let guide = include_str!("../DEVELOPERS.md");
    guide.split("```csv\n").nth(1).and_then(|rest| rest.split("```").next()).expect("counts in the guide")
}

#[test]
fn the_counts_in_the_guide_are_learned_from() {
    let out = learn(&[], counts_in_the_guide());
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let found: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert_eq!(found["says"], "from literature and 2 of your counts");
    let recovery = found["accepted"][0]["value"].as_f64().expect("a number");
    assert!((recovery - 938.0 * 4.0 / (210.0 * 26.0)).abs() < 1e-12);
    assert_eq!(found["left_out"][0]["id"], "c");
    let why = found["left_out"][0]["why"][0].as_str().expect("a sentence");
    assert!(why.starts_with("Nobody said whether the sample was well mixed"), "{why}");
    // w = ½·ln(1 + (0.12/0.7)²), v = 2·ln(1 + 0.03²): weight 1 + v/w and two counts, freedom 4 + 2(1 + v/w)² and two
    let w = 0.5 * (1.0 + (0.12_f64 / 0.7).powi(2)).ln();
    let times = 1.0 + 2.0 * 1.0009_f64.ln() / w;
    let posterior = |name: &str| found["posterior"][name].as_f64().expect("a number");
    assert!((posterior("weight") - (2.0 + times)).abs() < 1e-9);
    assert!((posterior("freedom") - (6.0 + 2.0 * times * times)).abs() < 1e-9);
    assert!(found["true_content"]["scale"].as_f64() < found["next_count"]["scale"].as_f64());
    assert_eq!(found["chart"]["counts_to_go"], 18);
    for (key, source) in found["sources"].as_object().expect("sources") {
        assert!(source["citation"].is_string(), "{key}");
    }
    let alone: Value =
        serde_json::from_slice(&learn(&["--no-prior"], counts_in_the_guide()).stdout).expect("JSON");
    assert_eq!(alone["says"], "nothing to go by yet: 1 more count");
}

#[test]
fn the_bloods_own_count_is_corrected_for_its_sample() {
    let recovery = |sample: &str, more: &str| {
        let cells = more.split_once(' ').unwrap_or(("", ""));
        let counts = format!(
            "id,day,baseline,reading,dilution,blood,kept,mixed,sample,citrate_factor,ratio\n\
             a,2026-03-02,210,938,1,26,4,yes,{sample},{},{}\n",
            cells.0, cells.1
        );
        let out = learn(&[], &counts);
        let found: Result<Value, _> = serde_json::from_slice(&out.stdout);
        found
            .ok()
            .and_then(|f| f["accepted"][0]["value"].as_f64())
            .ok_or(String::from_utf8_lossy(&out.stderr).into_owned())
    };
    let plain = 938.0 * 4.0 / (210.0 * 26.0);
    let near = |found: Result<f64, String>, expected: f64| {
        assert!(found.as_ref().is_ok_and(|f| (f - expected).abs() < 1e-12), "{found:?} is not {expected}");
    };
    near(recovery("laboratory_edta", " "), plain);
    // CAP Today, December 2023: × 1.1, or the laboratory’s own factor
    near(recovery("liquid_citrate", " "), plain / 1.1);
    near(recovery("liquid_citrate", "1.12 "), plain / 1.12);
    // 2 mL onto 13: × (1 + 2/13)
    near(recovery("filled_container", " 0.15384615384615385"), plain / (1.0 + 2.0 / 13.0));
    let refused = recovery("filled_container", " ").expect_err("without the ratio it is not known");
    assert!(refused.contains("row 2, ratio"), "{refused}");
}

#[test]
fn counts_that_cannot_be_used_are_refused_with_row_field_and_range() {
    let counts = counts_in_the_guide();
    let with = |from: &str, to: &str| {
        assert!(counts.contains(from), "{from}");
        counts.replacen(from, to, 1)
    };
    for (input, words) in [
        (String::new(), &["header"][..]),
        (with("938", "-3"), &["row 2", "reading", "0 to 100000"]),
        (with("210", "0"), &["row 2", "baseline", "1 to 5000"]),
        (with("2026-03-05", "2026-13-05"), &["row 3", "day", "2026-03-12"]),
        (with(",mixed", ",mixt"), &["row 1", "mixt"]),
        (with("\nb,", "\na,"), &["row 3", "id", "once"]),
        (with("0.44", "44"), &["row 4", "haematocrit", "0 to 1"]),
        (with(",20,", ",0.2,"), &["row 3", "dilution", "1 to 1000"]),
        (with("yes", "maybe"), &["row 2", "mixed", "yes or no"]),
        (with("laboratory_edta", "tube"), &["row 2", "sample", "laboratory_edta"]),
        (with("26,4,yes", "26,\"4,yes"), &["quotation mark"]),
        (with("26,4,yes", "26,yes"), &["row 2", "10 cells"]),
        (with("id,day", "day"), &["row 1", "id", "wanted"]),
    ] {
        let out = learn(&[], &input);
        let said = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{said}");
        assert!(out.stdout.is_empty());
        for word in words {
            assert!(said.contains(word), "{word:?} is not in {said:?}");
        }
    }
    for options in
        [&["--mean", "0.7"][..], &["--kind", "jelly"], &["--sd"], &["--mean", "-1", "--sd", "1"], &["--loud"]]
    {
        assert_eq!(learn(options, counts).status.code(), Some(2), "{options:?}");
    }
}

/// The example that draws a spin's column, built once.
fn spin(options: &[&str], setup: &str) -> Output {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    run_program(PROGRAM.get_or_init(|| example("spin")), options, setup.as_bytes())
}

const SPIN: &str = include_str!("shell/demo_spin.json");

/// The spin in the guide.
fn spin_in_the_guide() -> &'static str {
    let guide = include_str!("../DEVELOPERS.md");
    let found = guide.split("```json\n").nth(2).and_then(|rest| rest.split("```").next());
    found.expect("a spin in the guide")
}

#[test]
fn a_double_spin_comes_out_as_a_picture() {
    let out = spin(&["--no-bands"], SPIN);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let found: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let f = |v: &Value| v.as_f64().expect("a number");
    let [first, second] = [&found["spins"][0], &found["spins"][1]];
    // 15 mL in a tube 15 mm wide with half a sphere below: 2/3·π·7.5³ mm³ and a cylinder
    let height =
        7.5 + (15_000.0 - 2.0 / 3.0 * std::f64::consts::PI * 421.875) / (std::f64::consts::PI * 56.25);
    assert!((f(&first["column_height_mm"]["value"]) - height).abs() < 1e-9);
    // up in 30 s, 600 s at 1020 rpm (180 ×g is 1019.2), down in 60: ∫RCF dt at 155 mm
    let squared = 1020.0_f64 * 1020.0 * (30.0 / 3.0 + 600.0 + 60.0 / 3.0);
    let wanted = (std::f64::consts::PI / 30.0).powi(2) * 0.155 / 9.806_65 * squared;
    assert!((f(&first["force_over_time_at_the_maximum_radius_g_s"]) / wanted - 1.0).abs() < 1e-12);
    let moments = first["series"]["moments"].as_array().expect("moments");
    assert_eq!(moments.len(), 61);
    assert!(
        moments
            .windows(2)
            .all(|m| f(&m[1]["interface_height_mm"]["value"])
                <= f(&m[0]["interface_height_mm"]["value"]) + 1e-6)
    );
    let times: Vec<f64> =
        first["profiles"].as_array().expect("profiles").iter().map(|p| f(&p["time_s"])).collect();
    assert_eq!(times, [0.0, 120.0, 330.0, 690.0]);
    // what the first line leaves above it is what the second parts
    let share = |spin: &Value, side: &str| {
        f(&spin["collection"][format!("share_of_first_tube_platelets_{side}")]["value"])
    };
    let carried = share(second, "above") + share(second, "below");
    assert!((carried - share(first, "above")).abs() < 1e-12);
    assert!((share(first, "above") + share(first, "below") - 1.0).abs() < 1e-12);
    let volume =
        f(&second["collection"]["above_mL"]["value"]) + f(&second["collection"]["below_mL"]["value"]);
    assert!((volume - f(&first["collection"]["above_mL"]["value"])).abs() < 1e-9);
    assert!(f(&found["check"]["mass_error"]) <= 1e-10);
    for assumed in found["assumptions"].as_array().expect("assumptions") {
        let source = assumed["source"].as_str().expect("a key");
        assert!(found["sources"][source]["citation"].is_string(), "{source} has no citation");
    }
}

/// What the page does not tell the shell does not: a share at a line within 2 mm of the cells, of that tube and of what
/// went on from it, and the height of a pellet lower than that. Each is null, with the reason.
#[test]
fn what_the_picture_cannot_tell_is_null_with_its_reason() {
    let near = SPIN.replace("\"left_behind\": 0.5", "\"left_behind\": 0.2");
    let out = spin(&["--no-bands"], &near);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let found: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let untold = |v: &Value, why: &str| {
        assert!(v["value"].is_null() && v["why"].as_str().is_some_and(|w| w.contains(why)), "{v}");
    };
    for spin in found["spins"].as_array().expect("spins") {
        for side in ["above", "below"] {
            let share = &spin["collection"][format!("share_of_first_tube_platelets_{side}")];
            untold(share, "within 2\u{a0}mm of the cells");
        }
    }
    let changes = &found["first_share_above_the_line_changes_with"];
    assert!(changes["assumptions"].is_null() && changes["why"].is_string(), "{changes}");
    // Nor what gathers within 2 mm of the cells: how many platelets or white cells lie there follows the grid.
    let layers = |out: &Value, profile: usize| {
        out["spins"][0]["profiles"][profile]["layers"].as_array().expect("layers").clone()
    };
    let top =
        found["spins"][0]["series"]["moments"][60]["interface_height_mm"]["value"].as_f64().expect("mm");
    let ended = layers(&found, 3);
    let near = |layer: &&Value| (layer["height_mm"].as_f64().expect("mm") - top).abs() < 1.9;
    assert!(ended.iter().filter(near).count() > 2);
    for layer in ended.iter().filter(near) {
        assert!(
            layer["platelets_over_start"].is_null() && layer["white_cells_over_start"].is_null(),
            "{layer}"
        );
        assert!(layer["why"].as_str().is_some_and(|why| why.contains("gathers here")), "{layer}");
    }
    let clear = ended.iter().filter(|l| l["height_mm"].as_f64().expect("mm") > top + 2.1);
    assert!(clear.clone().count() > 20 && clear.clone().all(|l| l["platelets_over_start"].is_f64()));
    assert!(layers(&found, 0).iter().all(|l| l["platelets_over_start"].is_f64()));
    let all = spin(&["--no-bands", "--as-reckoned"], SPIN);
    let all: Value = serde_json::from_slice(&all.stdout).expect("JSON");
    assert!(layers(&all, 3).iter().all(|l| l["platelets_over_start"].is_f64()));
    untold(&found["spins"][1]["series"]["moments"][60]["interface_height_mm"], "lower than this picture");
    assert!(found["spins"][0]["series"]["moments"][60]["interface_height_mm"]["value"].is_f64());
}

/// Each part of the picture says what it is, and no part speaks of what it is not.
#[test]
fn a_picture_is_labelled_and_says_no_more() {
    let out = spin(&[], spin_in_the_guide());
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let found: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let label = Value::from("picture, not a prediction");
    let mut parts = vec![&found, &found["first_share_above_the_line_changes_with"]];
    for spin in found["spins"].as_array().expect("spins") {
        parts.extend([&spin["series"], &spin["collection"]]);
        parts.extend(spin["profiles"].as_array().expect("profiles"));
    }
    assert!(parts.iter().all(|part| part["standing"] == label));
    // what was fitted is among the assumptions, and named by the source that says to what
    for key in found["fitted_to_published_spins"].as_array().expect("keys") {
        let assumptions = found["assumptions"].as_array().expect("assumptions");
        let assumed = assumptions.iter().find(|a| a["key"] == *key).expect("an assumption");
        assert_eq!(assumed["source"], "published-spins");
    }
    let last = &found["spins"][0]["series"]["moments"][60]["interface_height_mm"];
    assert!(last["low"].as_f64() < last["value"].as_f64() && last["value"].as_f64() < last["high"].as_f64());
    let collection = &found["spins"][0]["collection"];
    let volume = &found["spins"][0]["series"]["moments"][60]["fluid_above_mL"];
    for figure in [&collection["above_mL"], &collection["below_mL"], &collection["line_height_mm"], volume] {
        assert!(figure["low"].as_f64() < figure["high"].as_f64(), "{figure}");
    }
    // what was filled hangs on nothing assumed
    let filled = &found["spins"][0]["column_height_mm"];
    assert!(filled["value"].is_f64() && filled.get("low").is_none(), "{filled}");
    fn keys(value: &Value, all: &mut Vec<String>) {
        match value {
            Value::Object(entries) => entries.iter().for_each(|(key, value)| {
                all.push(key.clone());
                keys(value, all);
            }),
            Value::Array(items) => items.iter().for_each(|item| keys(item, all)),
            _ => {}
        }
    }
    let mut all = Vec::new();
    keys(&found["spins"], &mut all);
    for word in ["dose", "chance", "order", "recover", "recommend", "leuk", "optimum", "best"] {
        assert!(all.iter().all(|key| !key.contains(word)), "{word} in {all:?}");
    }
    // nor the white and red cells of what is drawn off
    let collection = found["spins"][0]["collection"].as_object().expect("an object");
    assert!(collection.keys().all(|key| !key.contains("white") && !key.contains("red")));
}

#[test]
fn a_spin_that_cannot_be_drawn_is_refused_with_field_and_range() {
    let with = |from: &str, to: &str| {
        assert!(SPIN.contains(from), "{from}");
        SPIN.replacen(from, to, 1)
    };
    for (input, words) in [
        (String::new(), &["not a spin"][..]),
        ("{}".to_owned(), &["not a spin", "rotor"]),
        (with("\"maximum\": 155", "\"maximum\": 5"), &["rotor.maximum", "5", "10 to 500 mm"]),
        (with("\"maximum\": 155", "\"maximum\": null"), &["rotor.maximum", "10 to 500 mm"]),
        (with("swing_out", "fixed_angle"), &["rotor.kind", "swings out"]),
        (with("\"haematocrit\": 0.42", "\"haematocrit\": 42"), &["blood.haematocrit", "42", "0 to 1 L/L"]),
        (
            with("\"haematocrit\": 0.42", "\"haematocrit\": 0.9"),
            &["blood.haematocrit", "0.9", "0 to 0.75 L/L"],
        ),
        (with("\"anticoagulant\": 2", "\"anticoagulant\": 20"), &["blood.anticoagulant", "20", "0 to 13 mL"]),
        (with("\"platelets\": 210", "\"platelet\": 210"), &["platelet"]),
        (with("\"platelets\": 210, ", ""), &["platelets"]),
        (
            with("\"inner_diameter\": 15", "\"inner_diameter\": 1"),
            &["spins.0.tube.inner_diameter", "3 to 100 mm"],
        ),
        (with("\"inner_diameter\": 15", "\"inner_diameter\": 6"), &["spins.0.tube", "200 mm"]),
        (with("\"tip\": 3", "\"tip\": 15"), &["spins.1.tube.end.cone.tip", "0 to 13.5 mm"]),
        (with("\"g\": 900", "\"g\": 9000"), &["spins.1.programme", "0 to 5000 ×g"]),
        (with("\"time\": 600", "\"time\": 7200"), &["spins.0.programme", "1 to 7200 s"]),
        (with("\"time\": 600", "\"time\": -1"), &["time -1 s", "0 to 604800 s"]),
        (with("330]", "6000]"), &["spins.0.profiles_at", "6000", "0 to 690 s"]),
        (with("\"left_behind\": 0.5", "\"left_behind\": 15"), &["spins.0.parting", "0.05 mL"]),
        (with("\"disturbed\": 1", "\"disturbed\": 100"), &["spins.0.parting.disturbed", "0 to 20 mm"]),
    ] {
        let out = spin(&["--no-bands"], &input);
        let said = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{said}");
        assert!(out.stdout.is_empty());
        for word in words {
            assert!(said.contains(word), "{word:?} is not in {said:?}");
        }
    }
    assert_eq!(spin(&["--loud"], SPIN).status.code(), Some(2));
}
