//! `surebound crosscheck` and the options of simulations as a person meets them: exit codes, streams,
//! bits, messages, files.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use surebound::record::{Record, Simulation};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(arguments)
        .current_dir(ROOT)
        .output()
        .expect("the command is built with the tests")
}

#[track_caller]
fn done(arguments: &[&str], code: i32) -> String {
    let output = run(arguments);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(code), "{arguments:?}: {told}");
    assert_eq!(told, "", "{arguments:?}: standard error is silent where it is no terminal");
    String::from_utf8(output.stdout).unwrap()
}

#[track_caller]
fn refused(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    assert!(output.stdout.is_empty(), "{arguments:?}");
    String::from_utf8(output.stderr).unwrap()
}

fn record(json: &str) -> Record {
    serde_json::from_str(json).unwrap()
}

/// A budget of its own in a folder of its own.
struct Written {
    folder: tempfile::TempDir,
}

impl Written {
    fn new(text: &str) -> Written {
        let folder = tempfile::tempdir().unwrap();
        let head =
            "surebound: 1\ntitle: Of a test\nmeasurand: {symbol: Y, name: Result, unit: mm}\n";
        std::fs::write(folder.path().join("b.yaml"), format!("{head}{text}\n")).unwrap();
        Written { folder }
    }

    fn path(&self) -> String {
        self.file("b.yaml").to_str().unwrap().to_owned()
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}

const NORMAL: &str = "contributors: [{name: A, standard_uncertainty: 1 mm}]";
const T: &str = "contributors: [{name: A, standard_uncertainty: 1 mm, dof: 9}, {name: B, limits: ±2 mm}]\n\
                 coverage: {method: monte_carlo}";

fn show(written: &Written, options: &[&str]) -> Record {
    let path = written.path();
    record(&done(&[&["show", &path, "--format", "json"], options].concat(), 0))
}

fn simulation(record: &Record) -> &Simulation {
    record.sections[0].points[0].simulation.as_ref().unwrap()
}

/// Normal contributors on a linear model: the law is exact (JCGM 101:2008, 9.2.2).
#[test]
fn a_linear_normal_budget_is_validated_with_exit_code_0() {
    let written = Written::new(NORMAL);
    let text = done(&["crosscheck", &written.path()], 0);
    let expected = "=====  VALIDATED  =====\nthe law of propagation gives the simulated interval to two digits of u\n";
    assert!(text.starts_with(expected), "{text}");
    assert!(text.lines().all(|it| it.chars().count() <= 100), "{text}");
    assert!(text.contains("Monte Carlo, symmetric") && text.contains("law, normal"), "{text}");
    assert!(text.contains('█') && text.contains("├──"), "{text}");
}

/// One rectangle: half-width of 95.45 % is 0.9545 of 2 mm by hand, by the law two standard deviations.
#[test]
fn a_rectangle_is_not_validated_with_exit_code_1() {
    let written = Written::new("contributors: [{name: A, limits: ±2 mm}]");
    let text = done(&["crosscheck", &written.path()], 1);
    assert!(text.starts_with("=====  NOT VALIDATED  =====\n"), "{text}");
    let json = done(&["crosscheck", &written.path(), "--format", "json"], 1);
    let record = record(&json);
    let it = record.sections[0].points[0].crosscheck.as_ref().unwrap();
    assert!((it.monte_carlo[1] - 1.909).abs() < 0.01, "{it:?}");
    assert!((it.d_high - (2.309 - 1.909)).abs() < 0.01, "{it:?}");
    assert_eq!([it.checks[0].validated, it.checks[1].validated], [Some(true), Some(false)]);
    // At one digit, δ = 0.5 mm, it is: `--digits` says which digit decides.
    let text = done(&["crosscheck", &written.path(), "--digits", "1"], 0);
    assert!(text.starts_with("=====  VALIDATED  =====\n"), "{text}");
}

/// Too few trials to tell: exit code 1, and the page says what to do.
#[test]
fn what_the_trials_do_not_tell_is_not_validated() {
    let written = Written::new(NORMAL);
    let text = done(&["crosscheck", &written.path(), "--trials-max", "2e5"], 1);
    assert!(text.starts_with("=====  NOT SETTLED  =====\n"), "{text}");
    assert!(text.contains("help: --trials-max 2e6"), "{text}");
    let text = done(&["crosscheck", &written.path(), "--trials", "2e5"], 1);
    assert!(text.starts_with("=====  NOT SETTLED  =====\n"), "{text}");
}

#[test]
fn the_same_bytes_with_any_number_of_threads() {
    let written = Written::new(T);
    for verb in ["show", "crosscheck"] {
        let of = |threads: &str| {
            run(&[verb, &written.path(), "--format", "json", "--threads", threads]).stdout
        };
        let one = of("1");
        assert!(!one.is_empty());
        assert_eq!(one, of("2"));
        assert_eq!(one, of("8"));
        assert_eq!(one, run(&[verb, &written.path(), "--format", "json"]).stdout);
    }
}

#[test]
fn the_same_figures_whatever_the_order_of_the_contributors() {
    let swapped = T.replace(
        "{name: A, standard_uncertainty: 1 mm, dof: 9}, {name: B, limits: ±2 mm}",
        "{name: B, limits: ±2 mm}, {name: A, standard_uncertainty: 1 mm, dof: 9}",
    );
    assert_ne!(swapped, T);
    let (a, b) = (Written::new(T), Written::new(&swapped));
    let (a, b) = (show(&a, &["--trials", "1e5"]), show(&b, &["--trials", "1e5"]));
    let (a, b) = (&a.sections[0].points[0], &b.sections[0].points[0]);
    assert_eq!(a.simulation, b.simulation);
    assert_eq!(a.interval, b.interval);
    assert_eq!(a.contributors[0], b.contributors[1]);
}

#[test]
fn the_record_holds_the_simulation_and_its_interval() {
    let written = Written::new(T);
    let record = show(&written, &["--seed", "7", "--digits", "1"]);
    let point = &record.sections[0].points[0];
    let it = simulation(&record);
    assert_eq!((it.seed, it.digits, it.stabilised), (7, Some(1), Some(true)));
    assert_eq!((record.options.seed, record.options.digits), (Some(7), Some(1)));
    assert_eq!((record.options.trials, record.options.trials_max), (None, None));
    for end in [0, 1] {
        assert!((point.interval[end] - it.symmetric[end]).abs() < 1e-12);
    }
    // By the definitions in docs/record.md.
    let half = 0.5 * (point.interval[1] - point.interval[0]);
    assert!((point.expanded_uncertainty - half).abs() < 1e-12);
    let factor = half / point.standard_uncertainty;
    assert!((point.coverage_factor - factor).abs() < 1e-12);
    let other = show(&written, &["--seed", "8", "--digits", "1"]);
    assert_ne!(simulation(&other).symmetric, it.symmetric);
    let fixed = show(&written, &["--trials", "1e5"]);
    let it = simulation(&fixed);
    assert_eq!((it.trials, it.digits, it.stabilised, it.tolerance), (100_000, None, None, None));
}

#[test]
fn refuses_options_out_of_their_ranges() {
    let written = Written::new(T);
    let cases = [
        ("--trials", "9999", "a number of trials is a whole number from 1e4 to 4e9"),
        ("--trials-max", "5e9", "a number of trials is a whole number from 1e4 to 4e9"),
        ("--trials", "1.5", "a number of trials is a whole number"),
        ("--seed", "-1", ""),
        ("--digits", "3", "u has 1 or 2 significant digits here"),
        ("--threads", "0", "a number of threads is a whole number from 1 to 64"),
    ];
    for verb in ["show", "judge", "card", "crosscheck"] {
        for (option, value, rule) in cases {
            let message = refused(&[verb, &written.path(), option, value]);
            assert!(message.contains(rule), "{verb} {option} {value}: {message}");
        }
        refused(&[verb, &written.path(), "--trials", "1e5", "--digits", "1"]);
        refused(&[verb, &written.path(), "--trials", "1e5", "--trials-max", "1e6"]);
    }
}

/// An option that nothing would be done with is refused; the number of threads alters nothing.
#[test]
fn refuses_options_of_a_simulation_where_nothing_is_simulated() {
    let written = Written::new(NORMAL);
    for option in [["--trials", "1e5"], ["--trials-max", "1e6"], ["--seed", "2"], ["--digits", "1"]]
    {
        let message = refused(&["show", &written.path(), option[0], option[1]]);
        let expected = format!("{}: nothing is simulated: the budget's coverage", option[0]);
        assert!(message.starts_with(&expected), "{message}");
        assert!(message.contains("surebound crosscheck "), "{message}");
    }
    done(&["show", &written.path(), "--threads", "2"], 0);
    let worksheet = "budgets/M-118.yaml";
    let message = refused(&["judge", worksheet, "--seed", "2"]);
    assert!(message.starts_with("--seed: nothing is simulated"), "{message}");
}

/// x in the denominator is below zero in some trials, and its root then has no value there.
#[test]
fn a_model_without_value_in_some_trials_names_operator_and_share() {
    let model = "model: sqrt(x) * 1 mm\nestimates: {x: 1}\n\
                 contributors: [{name: A, adds_to: x, standard_uncertainty: 0.4}]\n";
    let written = Written::new(&format!("{model}coverage: {{method: monte_carlo}}"));
    for verb in ["show", "crosscheck"] {
        let message = refused(&[verb, &written.path()]);
        assert!(message.contains("the model has no value in "), "{message}");
        assert!(message.contains(" of 10000 trials: `sqrt` of -0."), "{message}");
        assert_eq!(message.matches("no root of a negative number").count(), 1, "{message}");
        assert!(message.contains("b.yaml:4:"), "{message}");
    }
}

/// u = 0 to first order: k = U/u has no value, and the message says what to write.
#[test]
fn a_coverage_factor_of_a_zero_u_is_refused() {
    let model = "model: x^2 * 1 mm\nestimates: {x: 0}\norder: first\n\
                 contributors: [{name: A, adds_to: x, standard_uncertainty: 0.4}]\n";
    let written = Written::new(&format!("{model}coverage: {{method: monte_carlo}}"));
    let message = refused(&["show", &written.path()]);
    assert!(message.contains("k = U/u has no value"), "{message}");
    assert!(message.contains("order: auto"), "{message}");
    assert!(done(&["crosscheck", &written.path()], 1).contains("(no density: u is 0)"));
}

#[test]
fn a_single_point_is_compared_alone() {
    let path = "budgets/torque-wrench.yaml";
    let json = done(&["crosscheck", path, "--at", "60 N·m", "--format", "json"], 1);
    let one = record(&json);
    assert_eq!(one.sections[0].points.len(), 1);
    assert_eq!(one.options.at.as_deref(), Some("60 N·m"));
    let all = record(&done(&["crosscheck", path, "--format", "json"], 1));
    assert_eq!(all.sections[0].points.len(), 3);
    assert_eq!(all.sections[0].points[1], one.sections[0].points[0]);
    assert!(refused(&["crosscheck", path, "--at", "7 N·m"]).starts_with("--at: "));
}

#[test]
fn a_plot_is_written_whole_and_never_over_another_file() {
    let written = Written::new(NORMAL);
    let (budget, plot) = (written.path(), written.file("y.svg"));
    let plot_text = plot.to_str().unwrap();
    let text = done(&["crosscheck", &budget, "--plot", plot_text], 0);
    assert!(text.starts_with("=====  VALIDATED"), "{text}");
    let picture = std::fs::read_to_string(&plot).unwrap();
    assert!(picture.starts_with("<svg ") && picture.ends_with("</svg>\n"), "{picture}");
    assert!(picture.contains("<desc id=") && picture.contains("Y in mm"), "{picture}");
    let only: Vec<_> = std::fs::read_dir(written.folder.path()).unwrap().collect();
    assert_eq!(only.len(), 2, "nothing else is left in the folder: {only:?}");
    std::fs::write(&plot, "mine").unwrap();
    let message = refused(&["crosscheck", &budget, "--plot", plot_text]);
    assert!(message.contains("is there already: it is not overwritten"), "{message}");
    assert_eq!(std::fs::read(&plot).unwrap(), b"mine");
    done(&["crosscheck", &budget, "--plot", plot_text, "--force"], 0);
    assert_eq!(std::fs::read_to_string(&plot).unwrap(), picture);
    let nowhere = written.file("none/y.svg");
    let message = refused(&["crosscheck", &budget, "--plot", nowhere.to_str().unwrap()]);
    assert!(message.contains("folder"), "{message}");
    let message = refused(&["crosscheck", &budget, "--plot", "y.png"]);
    assert!(message.contains("help: --plot y.svg"), "{message}");
}

/// Ctrl-C: how far it came on standard error, nothing on standard output, nothing half written.
#[cfg(unix)]
#[test]
fn ctrl_c_stops_cleanly_and_says_how_far_it_came() {
    use std::process::Stdio;
    let written = Written::new(T);
    let plot = written.file("y.svg");
    let options = ["--trials", "4e9", "--threads", "1", "--plot", plot.to_str().unwrap()];
    let child = Command::new(env!("CARGO_BIN_EXE_surebound"))
        .args(["crosscheck", &written.path()])
        .args(options)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // 4·10⁹ trials take minutes; half a second is enough to have begun.
    std::thread::sleep(std::time::Duration::from_millis(500));
    let kill = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(kill.success());
    let output = child.wait_with_output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(3), "{told}");
    assert!(output.stdout.is_empty());
    assert!(told.starts_with("stopped ") && told.ends_with("; nothing was written\n"), "{told}");
    assert!(told.contains(" trials"), "{told}");
    assert_eq!(std::fs::read_dir(written.folder.path()).unwrap().count(), 1);
}

/// Each finding about simulations is provoked once; none of them stands beside a plain budget.
#[test]
fn findings_say_what_a_simulation_took_or_lacks() {
    let method = "coverage: {method: monte_carlo}";
    let codes = |text: &str, options: &[&str]| -> Vec<String> {
        let written = Written::new(&format!("{text}\n{method}"));
        show(&written, options).findings.into_iter().map(|it| it.code).collect()
    };
    let has = |codes: &[String], code: &str| codes.iter().any(|it| it == code);
    let of_simulations = [
        "not-settled",
        "few-trials",
        "ends-alone",
        "no-standard-uncertainty",
        "gaussian-copula",
        "linked-sum-as-normal",
        "mean-shifted",
        "far-values",
    ];
    let plain = codes(NORMAL, &[]);
    assert!(of_simulations.iter().all(|it| !has(&plain, it)), "{plain:?}");
    let t =
        |dof: &str| format!("contributors: [{{name: A, standard_uncertainty: 1 mm, dof: {dof}}}]");
    let linked = "contributors: [{name: A, limits: ±1 mm}, {name: B, limits: ±1 mm}]\n\
                  linked: [{between: [A, B], r: 0.5}]";
    let curved = "model: x^2 * 1 mm\nestimates: {x: 1}\n\
                  contributors: [{name: A, adds_to: x, standard_uncertainty: 0.4}]";
    let cases: [(&str, String, &[&str]); 6] = [
        ("not-settled", NORMAL.into(), &["--trials-max", "2e4"]),
        ("few-trials", NORMAL.into(), &["--trials", "1e5"]),
        ("ends-alone", t("3"), &["--digits", "1"]),
        ("no-standard-uncertainty", t("1.5"), &["--digits", "1"]),
        ("gaussian-copula", linked.into(), &["--digits", "1"]),
        ("mean-shifted", curved.into(), &[]),
    ];
    for (code, text, options) in cases {
        let found = codes(&text, options);
        assert!(has(&found, code), "{code}: {found:?}");
    }
    let found = codes(&t("1.5"), &["--digits", "1"]);
    assert!(!has(&found, "ends-alone"), "{found:?}");
    let sum = linked.replace("A, limits: ±1 mm", "A, limits: ±1 mm, times: 3");
    let found = codes(&sum, &["--digits", "1"]);
    assert!(has(&found, "linked-sum-as-normal") && has(&found, "gaussian-copula"), "{found:?}");
    // u of a t with ν ≤ 2 is null, and a reason says why.
    let written = Written::new(&format!("{}\n{method}", t("1.5")));
    let record = show(&written, &["--digits", "1"]);
    assert_eq!(simulation(&record).standard_uncertainty, None);
    let reasons = &record.sections[0].points[0].reasons;
    assert!(reasons.iter().any(|it| it.field == "simulation.standard_uncertainty"), "{reasons:?}");
}

/// By hand: t with ν = 3 has t₉₅ = 3.182, so for u = 0.6 mm the half-width is 1.909 mm, that of a normal u
/// of 0.974 mm: δ = 0.005 mm at two digits. The standard deviation is 0.6·√3 = 1.039 mm: δ would be 0.05 mm.
///
/// Method: M82.
#[test]
fn the_tolerance_of_few_degrees_of_freedom_is_that_of_the_width() {
    let contributor = "contributors: [{name: A, standard_uncertainty: 0.6 mm, dof: 3}]";
    let written = Written::new(&format!("{contributor}\ncoverage: {{probability: 95 %}}"));
    let path = written.path();
    let json = done(&["crosscheck", &path, "--digits", "1", "--format", "json"], 0);
    let record = record(&json);
    let it = record.sections[0].points[0].crosscheck.as_ref().unwrap();
    assert_eq!(it.checks.map(|it| it.tolerance), [Some(0.5), Some(0.005)]);
    assert_eq!(it.validated, Some(true));
}

/// By hand: E x² = 1² + 0.4², and u = 2·0.4 to first order and √(0.8² + 2·0.16²) = 0.831 to second; the
/// mean lies 0.16 mm, 19 % of u, off the estimate.
///
/// Method: M83.
#[test]
fn a_curved_model_shifts_the_mean_by_half_its_curvature() {
    let curved = "model: x^2 * 1 mm\nestimates: {x: 1}\n\
                  contributors: [{name: A, adds_to: x, standard_uncertainty: 0.4}]";
    let written = Written::new(&format!("{curved}\ncoverage: {{method: monte_carlo}}"));
    let record = show(&written, &[]);
    let it = simulation(&record);
    let error = it.standard_errors.as_ref().unwrap().mean.unwrap();
    assert!((it.mean.unwrap() - 1.16).abs() < 4.0 * error);
    let finding = record.findings.iter().find(|it| it.code == "mean-shifted").unwrap();
    assert!(finding.message.contains("lies 19 % of u off the estimate"), "{finding:?}");
}

/// The budgets that ship, each compared at all points: the exit code is that of the verdicts.
#[test]
fn shipped_budgets_are_crosschecked() {
    let folder = Path::new(ROOT).join("budgets");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        if !text.lines().any(|it| it.starts_with("surebound:")) {
            continue;
        }
        seen += 1;
        let path = path.to_str().unwrap();
        let output = run(&["crosscheck", path, "--digits", "1", "--format", "json"]);
        let record = record(&String::from_utf8(output.stdout).unwrap());
        let points = &record.sections[0].points;
        let all = points.iter().all(|it| it.crosscheck.as_ref().unwrap().validated == Some(true));
        assert_eq!(output.status.code(), Some(i32::from(!all)), "{path}");
        for point in points {
            let it = point.crosscheck.as_ref().unwrap();
            let simulated = point.simulation.as_ref().unwrap();
            assert_eq!(simulated.stabilised, Some(true), "{path}");
            // To one digit the law is good enough for all of them, but for the chance of the run.
            let errors = simulated.standard_errors.as_ref().unwrap().symmetric;
            let bound = it.checks[0].tolerance.unwrap() + 4.0 * errors[0].max(errors[1]);
            assert!(it.d_low <= bound && it.d_high <= bound, "{path}: {it:?}");
        }
    }
    assert_eq!(seen, 5);
}
