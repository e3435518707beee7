//! `judge --readings`: a file of readings of any length, judged as it is read.
//!
//! One thread reads and cuts blocks of whole instruments, the processors judge them, and this one puts
//! them in order and writes. So many blocks are under way and no more; their buffers are used again.

mod batch;
mod cut;
mod form;
mod out;
mod summary;

use super::simulation::Simulation;
use super::{DONE, Failure, NOT_PASSED, engine, output, place, watch};
use crate::advise;
use crate::budget::worksheet::Take;
use crate::decide::table::Table;
use crate::file::table::{Columns, Wrong};
use crate::propagate::Evaluation;
use crate::record::{Finding, Kind, Record};
use batch::{Batch, Bench, Said};
use cut::{Block, Cutter, Head};
use form::{Form, OWN};
use out::Out;
use std::collections::BTreeMap;
use std::io::{IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel, sync_channel};
use std::time::{Duration, Instant};
use summary::{SHOWN, Seen, Summary};

/// Blocks under way, for each worker.
const UNDER_WAY: usize = 3;

/// Time between two looks at Ctrl-C and the line of progress.
const PAUSE: Duration = Duration::from_millis(200);

/// How a file of readings is judged.
#[derive(Debug, clap::Args)]
pub(super) struct Stream {
    /// A table of readings, CSV with the columns instrument, at, and reading or error; - for standard input
    #[arg(long, value_name = "FILE.csv", conflicts_with_all = ["at", "reading", "compare", "plot", "regrade"])]
    pub(super) readings: Option<PathBuf>,
    /// Where the judged rows go: .csv or .jsonl; - for standard output
    #[arg(short = 'o', long = "out", value_name = "OUT")]
    out: Option<PathBuf>,
    /// The form of the judged rows, where the name does not say it
    #[arg(long, value_enum)]
    rows: Option<Form>,
    /// Which of several readings at a point is reported [default: worst]
    #[arg(long, value_enum)]
    take: Option<TakeWord>,
    /// The rows of an instrument need not stand together; all are kept in memory
    #[arg(long)]
    any_order: bool,
    /// Stop at the first row that cannot be read
    #[arg(long)]
    strict: bool,
    /// Write the rows that cannot be read, as they stand, into this file
    #[arg(long, value_name = "FILE.csv")]
    bad_rows: Option<PathBuf>,
}

/// Which of several readings at a point is reported.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum TakeWord {
    /// The nearest to a tolerance limit, or furthest beyond it
    Worst,
    /// Their mean
    Mean,
    /// The last one
    Last,
}

impl From<TakeWord> for Take {
    fn from(word: TakeWord) -> Take {
        match word {
            TakeWord::Worst => Take::Worst,
            TakeWord::Mean => Take::Mean,
            TakeWord::Last => Take::Last,
        }
    }
}

impl Stream {
    /// Refuses what is for files of readings alone, where none is given.
    ///
    /// # Errors
    ///
    /// [`Failure::Input`] that names the first such option.
    pub(super) fn refuse(&self, budget: &Path) -> Result<(), Failure> {
        let given = [
            ("-o", self.out.is_some()),
            ("--rows", self.rows.is_some()),
            ("--take", self.take.is_some()),
            ("--any-order", self.any_order),
            ("--strict", self.strict),
            ("--bad-rows", self.bad_rows.is_some()),
        ];
        let Some((option, _)) = given.iter().find(|it| it.1) else { return Ok(()) };
        let help = match *option {
            "-o" => format!("surebound report {} -o FILE.html", budget.display()),
            "--take" => "in a worksheet, `take: mean` stands beside `readings`".into(),
            _ => format!("surebound judge {} --readings FILE.csv {option}", budget.display()),
        };
        let what = "it is for a file of readings, and none is given";
        Err(Failure::Input(format!("{option}: {what}\nhelp: {help}")))
    }

    fn out(&self) -> &Path {
        self.out.as_deref().unwrap_or(Path::new("-"))
    }
}

/// Judges the readings, and returns the exit code.
pub(super) fn run(
    arguments: &Stream,
    budget: &Path,
    simulation: &Simulation,
    (force, json): (bool, bool),
) -> Result<u8, Failure> {
    let path = arguments.readings.clone().unwrap_or_default();
    let name =
        if path == Path::new("-") { "standard input".into() } else { path.display().to_string() };
    let form = form_of(arguments)?;
    for other in [Some(arguments.out()), arguments.bad_rows.as_deref()].into_iter().flatten() {
        refuse_same(other, &[&path, budget])?;
    }
    if arguments.bad_rows.as_deref().is_some_and(|it| place::is_same(it, arguments.out())) {
        let what = "--bad-rows: rows that cannot be read do not go to the others";
        return Err(Failure::Input(format!("{what}\nhelp: give another name than that of `-o`")));
    }
    // Before there is a file that would stay.
    watch::listen();
    let out = Out::new(arguments.out(), force, "-o", &["csv", "jsonl"])?;
    let bad = arguments.bad_rows.as_deref();
    let mut bad = bad.map(|it| Out::new(it, force, "--bad-rows", &["csv"])).transpose()?;
    engine::evaluated(budget, simulation, |evaluation, opened| {
        let (mut input, empty) = (open(&path)?, format!("{name}:1:1: the file is empty"));
        let head = cut::head(&mut *input).map_err(|it| unreadable(&name, &it))?;
        let help = "\nhelp: begin with the names of the columns: `instrument,at,reading`";
        let head = head.ok_or_else(|| Failure::Input(empty + help))?;
        let header = head.header.clone();
        let needs_at = evaluation.budget().points().unit.is_some();
        let columns =
            Columns::new(&header, needs_at, &OWN).map_err(|it| at_header(&name, &header, &it))?;
        let table = Table::new(
            evaluation,
            columns.are_errors,
            arguments.take.unwrap_or(TakeWord::Worst).into(),
        );
        let table = table.map_err(|it| opened.failure(it))?;
        if let Some(bad) = &mut bad {
            bad.write(&[&header[..], b"\n"].concat())?;
        }
        let work = Work { arguments, name: &name, table: &table, columns: &columns, form };
        let mut state = State {
            summary: Summary::default(),
            seen: Seen::default(),
            out,
            bad,
            shown: Line::new(),
            begun: false,
        };
        match work.all(input, head, &mut state)? {
            true => {
                let findings = findings(evaluation, opened, &table, &state.summary);
                state.end(&work, &findings, json)
            }
            false => Ok(state.code()),
        }
    })
}

/// Returns what is to be said of the budget and of how it fits these readings, each once.
fn findings(
    evaluation: &Evaluation,
    opened: &engine::Opened,
    table: &Table,
    summary: &Summary,
) -> Vec<Finding> {
    let mut record = Record::new(Kind::Judge);
    let mut findings = advise::of_evaluation(evaluation);
    findings.extend(table.findings(&summary.counts()));
    opened.note(&mut record, findings);
    engine::sort(&mut record);
    record.findings
}

/// Returns the form of the rows, by option or name.
fn form_of(arguments: &Stream) -> Result<Form, Failure> {
    let ending = arguments.out().extension().map(|it| it.to_string_lossy().to_lowercase());
    let named = match ending.as_deref() {
        Some("jsonl") => Some(Form::Jsonl),
        Some("csv") => Some(Form::Csv),
        _ => None,
    };
    match (named, arguments.rows) {
        (Some(named), Some(asked)) if named != asked => {
            let path = arguments.out().display();
            Err(Failure::Input(format!(
                "--rows: `{path}` says another form\nhelp: leave `--rows` out"
            )))
        }
        (named, asked) => Ok(asked.or(named).unwrap_or(Form::Csv)),
    }
}

fn refuse_same(out: &Path, inputs: &[&Path]) -> Result<(), Failure> {
    let same = |it: &&&Path| {
        out != Path::new("-")
            && out.canonicalize().ok().is_some_and(|at| it.canonicalize().is_ok_and(|it| it == at))
    };
    match inputs.iter().find(same) {
        None => Ok(()),
        Some(_) => {
            let path = out.display();
            Err(Failure::Input(format!(
                "`{path}` is what is read: it is not written over\nhelp: give another name"
            )))
        }
    }
}

fn open(path: &Path) -> Result<Box<dyn Read + Send>, Failure> {
    if path == Path::new("-") {
        return Ok(Box::new(std::io::stdin()));
    }
    let wrong = |what: &str, help: &str| {
        Failure::Input(format!("{}:1:1: {what}\nhelp: {help}", path.display()))
    };
    if path.is_dir() {
        return Err(wrong("this is a directory", "name the file in it"));
    }
    match std::fs::File::open(path) {
        Ok(file) => Ok(Box::new(file)),
        Err(it) if it.kind() == std::io::ErrorKind::NotFound => {
            Err(wrong("there is no such file", "check the path"))
        }
        Err(it) => {
            Err(wrong(&format!("the file cannot be read: {it}"), "make it readable for this user"))
        }
    }
}

fn unreadable(name: &str, reason: &std::io::Error) -> Failure {
    Failure::Machine(format!("{name}: cannot be read: {reason}"))
}

fn at_header(name: &str, header: &[u8], wrong: &Wrong) -> Failure {
    let before = &header[..wrong.at.min(header.len())];
    let column = String::from_utf8_lossy(before).chars().count() + 1;
    Failure::Input(format!("{name}:1:{column}: {}\nhelp: {}", wrong.what, wrong.help))
}

/// What does not change while the rows go by.
struct Work<'a> {
    arguments: &'a Stream,
    name: &'a str,
    table: &'a Table<'a>,
    columns: &'a Columns,
    form: Form,
}

/// What does.
struct State {
    summary: Summary,
    seen: Seen,
    out: Out,
    bad: Option<Out>,
    shown: Line,
    /// Whether the header is written.
    begun: bool,
}

/// A block to be filled or judged, or why there is none.
type Cut = std::io::Result<Block>;

impl Work<'_> {
    /// Judges all rows; `false` where nobody reads what is written any more.
    fn all(
        &self,
        input: Box<dyn Read + Send>,
        head: Head,
        state: &mut State,
    ) -> Result<bool, Failure> {
        let workers = std::thread::available_parallelism().map_or(2, usize::from).clamp(1, 8);
        let (free, empty) = channel::<(Block, Vec<u8>)>();
        for _ in 0..workers * UNDER_WAY {
            let _open = free.send((Block::default(), Vec::new()));
        }
        let (give, blocks) = sync_channel::<(Cut, Vec<u8>)>(workers);
        let cutter = Cutter::new(input, head, self.columns, self.arguments.any_order);
        // Not waited for: it may wait for input that never comes.
        std::thread::spawn(move || feed(cutter, &empty, &give));
        let (blocks, over) = (Mutex::new(blocks), AtomicBool::new(false));
        let (done, batches) = channel();
        std::thread::scope(|scope| {
            for _ in 0..workers {
                let (blocks, over, done) = (&blocks, &over, done.clone());
                scope.spawn(move || self.judge(blocks, over, &done));
            }
            drop(done);
            let ended = self.put_together(&batches, free, state);
            // Workers that wait for a block end, too.
            over.store(true, Ordering::Relaxed);
            drop(batches);
            ended
        })
    }

    fn judge(
        &self,
        blocks: &Mutex<Receiver<(Cut, Vec<u8>)>>,
        over: &AtomicBool,
        done: &Sender<std::io::Result<Batch>>,
    ) {
        let mut bench = Bench::new(self.table, self.columns, &self.form, self.arguments.any_order);
        loop {
            let Ok(next) = blocks.lock().map(|it| it.recv_timeout(PAUSE)) else { return };
            let batch = match next {
                Ok((Ok(block), out)) => Ok(bench.judge(block, out)),
                Ok((Err(reason), _)) => Err(reason),
                Err(RecvTimeoutError::Timeout) if !over.load(Ordering::Relaxed) => continue,
                Err(_) => return,
            };
            if done.send(batch).is_err() {
                return;
            }
        }
    }

    fn put_together(
        &self,
        batches: &Receiver<std::io::Result<Batch>>,
        free: Sender<(Block, Vec<u8>)>,
        state: &mut State,
    ) -> Result<bool, Failure> {
        let mut early: BTreeMap<u64, Batch> = BTreeMap::new();
        let mut next = 0;
        loop {
            let batch = batches.recv_timeout(PAUSE);
            if watch::is_stopped() {
                state.shown.erase();
                let rows = watch::spaced(state.summary.rows);
                return Err(Failure::Stopped(format!(
                    "stopped after {rows} rows; no file was written"
                )));
            }
            match batch {
                Ok(batch) => {
                    let batch = batch.map_err(|it| unreadable(self.name, &it))?;
                    early.insert(batch.block.number, batch);
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return Ok(true),
            }
            while let Some(mut batch) = early.remove(&next) {
                next += 1;
                if !self.take(&mut batch, state)? {
                    return Ok(false);
                }
                let _done = free.send((batch.block, batch.out));
            }
            state.shown.show(state.summary.rows);
        }
    }

    /// Takes a batch in; `false` where nobody reads any more.
    fn take(&self, batch: &mut Batch, state: &mut State) -> Result<bool, Failure> {
        let returns = match self.arguments.any_order {
            true => None,
            false => batch
                .instruments
                .iter()
                .find_map(|it| Some((it, state.seen.note(&it.name, it.last)?))),
        };
        // What comes first in the file is said first.
        let before =
            |it: &&Said| returns.as_ref().is_none_or(|(instrument, _)| it.line < instrument.line);
        for it in batch.bad.iter().filter(before) {
            self.bad_row(it, state)?;
        }
        if let Some((it, last)) = returns {
            let (name, line) = (String::from_utf8_lossy(&it.name), it.line);
            state.shown.erase();
            return Err(Failure::Input(format!(
                "{}:{line}:1: the instrument `{name}` returns: its rows ended at line {last}\n\
                 help: sort the rows by instrument, or add `--any-order`",
                self.name
            )));
        }
        state.summary.add(batch);
        if !std::mem::replace(&mut state.begun, true) {
            state.out.write(&self.form.header(&self.columns.names))?;
        }
        state.out.write(&batch.out)
    }

    fn bad_row(&self, it: &Said, state: &mut State) -> Result<(), Failure> {
        let help = if it.help.is_empty() { String::new() } else { format!("\nhelp: {}", it.help) };
        let text = format!("{}:{}:{}: {}{help}", self.name, it.line, it.column, it.what);
        state.shown.erase();
        if self.arguments.strict {
            return Err(Failure::Input(text));
        }
        state.summary.bad += 1;
        if state.summary.bad <= SHOWN {
            // Where standard error is gone, the count is in the summary.
            let _gone = writeln!(std::io::stderr(), "{}", super::failure::harmless(&text));
        }
        // Of a line that is too long, not all is there.
        if let Some(bad) = state.bad.as_mut().filter(|_| !it.row.is_empty()) {
            bad.write(&it.row)?;
            bad.write(b"\n")?;
        }
        Ok(())
    }
}

impl State {
    /// Puts the files into their places, and says what it came to.
    fn end(mut self, work: &Work, findings: &[Finding], json: bool) -> Result<u8, Failure> {
        self.shown.erase();
        let more = self.summary.bad.saturating_sub(SHOWN);
        if more > 0 {
            let help =
                if self.bad.is_some() { "" } else { "; `--bad-rows FILE.csv` keeps them all" };
            let _gone =
                writeln!(std::io::stderr(), "and {more} more rows that cannot be read{help}");
        }
        if self.summary.rows + self.summary.bad == 0 {
            let help = "give each reading a row: `M-118,2.5,2.500`";
            return Err(Failure::Input(format!(
                "{}:2:1: there are no rows below the header\nhelp: {help}",
                work.name
            )));
        }
        let (code, to_output) = (self.code(), self.out.is_output());
        self.out.finish()?;
        self.bad.map(Out::finish).transpose()?;
        let text = if json {
            self.summary
                .json(work.table, findings)
                .map_err(|it| Failure::Machine(it.to_string()))?
        } else {
            self.summary.text(work.table, work.name, work.arguments.any_order, findings)
        };
        if to_output {
            let _gone = std::io::stderr().write_all(text.as_bytes());
        } else {
            output::write(&text)?;
        }
        Ok(code)
    }

    fn code(&self) -> u8 {
        if self.summary.all_pass() { DONE } else { NOT_PASSED }
    }
}

/// Fills the blocks that are free until nothing is left.
fn feed(
    mut cutter: Cutter,
    empty: &Receiver<(Block, Vec<u8>)>,
    give: &std::sync::mpsc::SyncSender<(Cut, Vec<u8>)>,
) {
    while let Ok((mut block, out)) = empty.recv() {
        let cut = match cutter.fill(&mut block) {
            Ok(false) => return,
            Ok(true) => Ok(block),
            Err(reason) => Err(reason),
        };
        let failed = cut.is_err();
        if give.send((cut, out)).is_err() || failed {
            return;
        }
    }
}

/// The line of progress, on standard error where that is a terminal.
struct Line {
    is_seen: bool,
    is_there: bool,
    at: Instant,
}

impl Line {
    fn new() -> Line {
        let dumb = std::env::var_os("TERM").is_some_and(|it| it == "dumb");
        Line {
            is_seen: std::io::stderr().is_terminal() && !dumb,
            is_there: false,
            at: Instant::now(),
        }
    }

    fn show(&mut self, rows: u64) {
        if self.is_seen && self.at.elapsed() >= PAUSE {
            (self.at, self.is_there) = (Instant::now(), true);
            let _gone = write!(std::io::stderr(), "\r\u{1b}[2K{} rows", watch::spaced(rows));
        }
    }

    fn erase(&mut self) {
        if self.is_there {
            self.is_there = false;
            let _gone = write!(std::io::stderr(), "\r\u{1b}[2K");
        }
    }
}
