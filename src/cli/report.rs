//! The verb `report`: everything about a budget or a worksheet, in the form that the file's ending asks for.

use super::forms::{Form, Look, Paper, Picture};
use super::place::Place;
use super::simulation::Simulation;
use super::{DONE, Failure, engine, forms, place};
use crate::record::Record;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

const EXAMPLES: &str = "Examples:
  surebound report budgets/M-118.yaml -o M-118.html -o M-118.pdf
  surebound report budgets/outside-micrometer-0-25.yaml -o budget.xlsx
  surebound report budgets/M-118.yaml -o points.svg --figure points
  surebound report worksheets/*.yaml --out-dir reports --form html";

/// Write a report: the verdict, the budget, the evidence and the record, as HTML, PDF, spreadsheet, picture, …
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Arguments {
    /// A budget or a worksheet: a YAML file; several with --out-dir
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// The file to write: .html, .pdf, .md, .txt, .json, .csv, .xlsx, .svg or .png; may be given several times;
    /// `-` is standard output
    #[arg(short, long, value_name = "FILE", conflicts_with = "out_dir")]
    output: Vec<PathBuf>,
    /// The folder for one report per file
    #[arg(long, value_name = "DIR")]
    out_dir: Option<PathBuf>,
    /// The form with --out-dir, and for `-o -` [default: html]
    #[arg(long, value_enum)]
    form: Option<Form>,
    /// Which picture .svg and .png hold [default: points]
    #[arg(long, value_enum)]
    figure: Option<Picture>,
    /// The paper of a PDF [default: a4]
    #[arg(long, value_enum)]
    paper: Option<Paper>,
    /// Of a budget: the point, with its unit or by its label
    #[arg(long, value_name = "POINT", allow_hyphen_values = true)]
    at: Option<String>,
    /// Of a budget: what the instrument reads there, with its unit
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    reading: Option<String>,
    /// Set the same readings beside all other rules and guard bands
    #[arg(long)]
    compare: bool,
    /// Write over files that are there
    #[arg(long)]
    force: bool,
    #[command(flatten)]
    simulation: Simulation,
}

/// Writes the reports and returns the exit code.
pub(super) fn run(arguments: &Arguments) -> Result<u8, Failure> {
    match &arguments.out_dir {
        Some(folder) => many(arguments, folder),
        None => one(arguments),
    }
}

impl Arguments {
    fn look(&self) -> Look {
        Look { figure: self.figure.unwrap_or_default(), paper: self.paper.unwrap_or_default() }
    }

    fn form(&self) -> Form {
        self.form.unwrap_or_default()
    }

    /// Refuses options that none of the files to be written makes use of.
    fn refuse_idle(&self, forms: &[Form]) -> Result<(), Failure> {
        let named = |it: &PathBuf| it != Path::new("-");
        let idle = [
            (
                "--form",
                "the ending of the file says its form",
                "leave `--form` out, or write `-o -`",
                self.form.is_some() && self.out_dir.is_none() && self.output.iter().all(named),
            ),
            (
                "--figure",
                "it is for a picture, and none is asked for",
                "-o FILE.svg",
                self.figure.is_some() && !forms.iter().any(|it| it.is_picture()),
            ),
            (
                "--paper",
                "it is for a PDF, and none is asked for",
                "-o FILE.pdf",
                self.paper.is_some() && !forms.iter().any(|it| it.is_paper()),
            ),
        ];
        match idle.iter().find(|it| it.3) {
            None => Ok(()),
            Some((option, what, help, _)) => {
                Err(Failure::Input(format!("{option}: {what}\nhelp: {help}")))
            }
        }
    }

    fn record(&self, file: &Path) -> Result<Record, Failure> {
        let asked = engine::Asked {
            at: self.at.as_deref(),
            simulation: &self.simulation,
            compare: self.compare,
            pictures: engine::Pictures::OfReport,
            regrade: None,
        };
        engine::report(file, self.reading.as_deref(), &asked)
    }
}

/// One file in, in as many forms as are asked for.
fn one(arguments: &Arguments) -> Result<u8, Failure> {
    let [file] = arguments.files.as_slice() else {
        let help = "give a folder: --out-dir reports";
        return Err(Failure::Input(format!("-o: several files do not fit into one\nhelp: {help}")));
    };
    if arguments.output.is_empty() {
        let stem = file.file_stem().map(|it| it.to_string_lossy().into_owned()).unwrap_or_default();
        let help = format!("surebound report {} -o {stem}.html", file.display());
        return Err(Failure::Input(format!("-o: the file to write is not said\nhelp: {help}")));
    }
    for path in &arguments.output {
        place_of(path, arguments).check(&forms::endings())?;
    }
    for (index, path) in arguments.output.iter().enumerate() {
        if arguments.output[..index].iter().any(|it| place::is_same(it, path)) {
            let what = format!("`{}` is there twice", path.display());
            return Err(Failure::Input(format!(
                "-o: {what}\nhelp: give each form a name of its own"
            )));
        }
    }
    let forms: Vec<Form> = arguments.output.iter().map(|it| form_of(it, arguments)).collect();
    arguments.refuse_idle(&forms)?;
    let record = arguments.record(file)?;
    // All forms are made before the first is written, so that a fault writes none.
    let mut made = Vec::new();
    for form in forms {
        made.push(forms::made(&record, form, &arguments.look())?);
    }
    for (path, bytes) in arguments.output.iter().zip(made) {
        place_of(path, arguments).write(&bytes)?;
    }
    Ok(DONE)
}

/// Returns the form of a path: that of its ending, or for standard output the one that is asked for.
fn form_of(path: &Path, arguments: &Arguments) -> Form {
    let named = Form::of_ending(&place_of(path, arguments).ending());
    named.unwrap_or_else(|| arguments.form())
}

fn place_of<'a>(path: &'a Path, arguments: &Arguments) -> Place<'a> {
    Place { path, force: arguments.force, option: "-o" }
}

/// Many files in, one report each into a folder, on as many threads as are allowed.
fn many(arguments: &Arguments, folder: &Path) -> Result<u8, Failure> {
    arguments.refuse_idle(&[arguments.form()])?;
    let targets = targets(arguments, folder)?;
    for (_, target) in &targets {
        let place = Place { path: target, force: arguments.force, option: "--out-dir" };
        place.check(&forms::endings())?;
    }
    let (next, failures) = (AtomicUsize::new(0), Mutex::new(BTreeMap::new()));
    let work = || {
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some((file, target)) = targets.get(index) else { break };
            if let Err(failure) = written(arguments, file, target)
                && let Ok(mut failures) = failures.lock()
            {
                failures.insert(index, failure);
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..arguments.simulation.threads() {
            scope.spawn(work);
        }
    });
    let failures = failures.into_inner().unwrap_or_default();
    joined(failures.into_values().collect(), targets.len())
}

fn written(arguments: &Arguments, file: &Path, target: &Path) -> Result<(), Failure> {
    let record = arguments.record(file)?;
    let bytes = forms::made(&record, arguments.form(), &arguments.look())?;
    Place { path: target, force: arguments.force, option: "--out-dir" }.write(&bytes)
}

/// Returns which file goes where; two files of one name are refused.
fn targets(arguments: &Arguments, folder: &Path) -> Result<Vec<(PathBuf, PathBuf)>, Failure> {
    if !folder.is_dir() {
        let shown = folder.display();
        let help = "make the folder first";
        return Err(Failure::Input(format!("--out-dir: `{shown}` is no folder\nhelp: {help}")));
    }
    let mut seen: BTreeMap<PathBuf, &Path> = BTreeMap::new();
    let mut targets = Vec::new();
    for file in &arguments.files {
        let name = Path::new(file.file_stem().unwrap_or_default());
        let target = folder.join(format!("{}.{}", name.display(), arguments.form().ending()));
        if let Some(first) = seen.insert(target.clone(), file) {
            let (first, second) = (first.display(), file.display());
            let what = format!("`{first}` and `{second}` would be written to one file");
            return Err(Failure::Input(format!("--out-dir: {what}\nhelp: two runs, two folders")));
        }
        targets.push((file.clone(), target));
    }
    Ok(targets)
}

/// Returns the failures as one: what went wrong with which file; the others are written.
fn joined(failures: Vec<Failure>, count: usize) -> Result<u8, Failure> {
    if failures.is_empty() {
        return Ok(DONE);
    }
    let failed = failures.len();
    let mut texts = Vec::new();
    for failure in failures {
        match failure {
            Failure::Machine(_) | Failure::Stopped(_) => return Err(failure),
            Failure::Input(text) => texts.push(text),
        }
    }
    texts.push(format!("{failed} of {count} reports are not written, the others are"));
    Err(Failure::Input(texts.join("\n\n")))
}
