//! What a file of readings came to, and whether an instrument returns.

use super::batch::{AtPoint, Batch, Said};
use crate::cli::failure::harmless;
use crate::decide::Verdict;
use crate::decide::global::share::clopper_pearson;
use crate::decide::table::Table;
use crate::page::Text;
use crate::record::Finding;
use std::fmt::Write;

/// Bad rows that are shown.
pub(super) const SHOWN: u64 = 20;

/// Points that are named.
const WORST: usize = 3;

/// What all blocks came to.
#[derive(Default)]
pub(super) struct Summary {
    pub(super) rows: u64,
    pub(super) bad: u64,
    /// Bad rows that name no instrument.
    nameless: u64,
    within: u64,
    instruments: [u64; 5],
    /// Instruments with a reading at every point, and those all within tolerance.
    complete: (u64, u64),
    points: Vec<AtPoint>,
    off_grid: (u64, Vec<Said>),
    far_off: (u64, Vec<Said>),
}

impl Summary {
    pub(super) fn add(&mut self, batch: &mut Batch) {
        self.rows += batch.rows;
        self.within += batch.within;
        self.nameless += batch.nameless;
        self.points.resize(batch.points.len(), AtPoint::default());
        for (sum, more) in self.points.iter_mut().zip(&batch.points) {
            sum.join(more);
        }
        for it in &batch.instruments {
            self.instruments[it.verdict as usize] += 1;
            self.complete.0 += u64::from(it.within.is_some());
            self.complete.1 += u64::from(it.within == Some(true));
        }
        for (sum, more) in
            [(&mut self.off_grid, &mut batch.off_grid), (&mut self.far_off, &mut batch.far_off)]
        {
            sum.0 += more.0;
            let free = 3_usize.saturating_sub(sum.1.len());
            sum.1.extend(more.1.drain(..).take(free));
        }
    }

    /// Returns the points with a reading, and how many the instruments with the fewest and with the most have.
    pub(super) fn counts(&self) -> Vec<(usize, [usize; 2])> {
        self.points.iter().enumerate().filter_map(|it| Some((it.0, it.1.readings?))).collect()
    }

    /// Whether every instrument passes and every row could be read.
    pub(super) fn all_pass(&self) -> bool {
        self.bad == 0 && self.instruments[1..].iter().all(|it| *it == 0) && self.instruments[0] > 0
    }

    /// Returns the summary as text.
    pub(super) fn text(
        &self,
        table: &Table,
        name: &str,
        any_order: bool,
        findings: &[Finding],
    ) -> String {
        let mut out = String::new();
        let all: u64 = self.instruments.iter().sum();
        let mut line = |head: &str, text: String| {
            let _never = writeln!(out, "{head:<12} {text}");
        };
        let words = Verdict::ALL.iter().map(|it| (self.instruments[*it as usize], it.word()));
        let counts: Vec<String> = words
            .filter(|it| it.0 > 0 || !it.1.contains("conditional"))
            .map(|(count, word)| format!("{count} {word}"))
            .collect();
        line("Instruments", format!("{all}: {}", counts.join(", ")));
        let bad = match self.bad {
            0 => String::new(),
            bad => format!(", {bad} not read: their instruments are at best undecided"),
        };
        line("Rows", format!("{} judged{bad}", self.rows));
        if self.nameless > 0 {
            let held = if any_order { "all instruments" } else { "those before and after" };
            let text = format!("{} of these without its instrument: {held}", self.nameless);
            line("", format!("{text} are at best undecided"));
        }
        line(
            "In tolerance",
            format!("{} of complete instruments", share(self.complete.1, self.complete.0)),
        );
        line("", format!("{} of readings", share(self.within, self.rows)));
        for (place, (title, at)) in self.worst(table).iter().take(WORST).enumerate() {
            let head = if place == 0 { "Worst points" } else { "" };
            let of = counted(at.count, "instrument");
            line(head, format!("{title}: {} of {of} not passed", at.not_passed));
        }
        for (what, found) in [
            ("that the display cannot show", &self.off_grid),
            ("over a hundred times the tolerance: the right point and unit?", &self.far_off),
        ] {
            if found.0 > 0 {
                let list = found
                    .1
                    .iter()
                    .map(|it| format!("{} at {name}:{}", Text::from(it.what.as_str()), it.line));
                let more = if found.0 > found.1.len() as u64 { ", …" } else { "" };
                let list = list.collect::<Vec<_>>().join(", ");
                line("Finding", format!("{} {what} ({list}{more})", counted(found.0, "reading")));
            }
        }
        findings.iter().for_each(|it| said(it, &mut line));
        out
    }

    /// Returns the points where instruments are not passed, by their share, with what each is called.
    fn worst(&self, table: &Table) -> Vec<(String, &AtPoint)> {
        let mut worst: Vec<_> =
            self.points.iter().enumerate().filter(|it| it.1.not_passed > 0).collect();
        let share = |it: &AtPoint, other: &AtPoint| it.not_passed * other.count;
        worst.sort_by(|(_, a), (_, b)| share(b, a).cmp(&share(a, b)));
        worst.into_iter().map(|(index, it)| (title(table, index), it)).collect()
    }

    /// Returns the summary for programs.
    ///
    /// # Errors
    ///
    /// A finding that cannot be written, which does not occur.
    pub(super) fn json(&self, table: &Table, findings: &[Finding]) -> serde_json::Result<String> {
        let counts = Verdict::ALL.iter().map(|it| (it.word(), self.instruments[*it as usize]));
        let instruments: serde_json::Map<String, serde_json::Value> =
            counts.map(|it| (it.0.to_owned(), it.1.into())).collect();
        let points: Vec<serde_json::Value> = table
            .points()
            .filter(|it| it.1)
            .filter_map(|it| self.points.get(it.0).map(|counts| (it.0, counts)))
            .map(|(index, it)| {
                serde_json::json!({
                    "point": title(table, index), "instruments": it.count, "not_passed": it.not_passed,
                })
            })
            .collect();
        let share = |k: u64, n: u64| {
            let ends = clopper_pearson(k, n, 0.95);
            serde_json::json!({"count": k, "of": n, "interval_95": ends.map(|it| [it.0, it.1])})
        };
        let all = serde_json::json!({
            "instruments": instruments, "rows": self.rows, "bad_rows": self.bad,
            "bad_rows_without_instrument": self.nameless,
            "in_tolerance": {"instruments": share(self.complete.1, self.complete.0), "readings": share(self.within, self.rows)},
            "points": points, "off_grid": self.off_grid.0, "far_off": self.far_off.0,
            "findings": serde_json::to_value(findings)?,
        });
        Ok(format!("{all}\n"))
    }
}

/// Says a finding with its help.
fn said(it: &Finding, line: &mut dyn FnMut(&str, String)) {
    let word = it.severity.word();
    let head = format!("{}{}", word[..1].to_uppercase(), &word[1..]);
    let about = it.about.as_ref().map_or(String::new(), |it| format!("{it}: "));
    line(&head, harmless(&format!("{about}{}", it.message)));
    if let Some(help) = &it.help {
        line("", format!("help: {}", harmless(help).replace('\n', "\n             ")));
    }
}

/// Returns what a point is called; a single result has no name of its own.
fn title(table: &Table, index: usize) -> String {
    Some(table.title(index)).filter(|it| !it.is_empty()).unwrap_or_else(|| "result".into())
}

/// Returns a number with what it counts.
fn counted(number: u64, of: &str) -> String {
    format!("{number} {of}{}", if number == 1 { "" } else { "s" })
}

fn share(k: u64, n: u64) -> String {
    match clopper_pearson(k, n, 0.95) {
        None => "no share".into(),
        Some((low, high)) => {
            let percent = |it: f64| format!("{:.3} %", 100.0 * it);
            let rounded = (percent(k as f64 / n as f64), percent(low), percent(high));
            format!("{} ({k} of {n}; 95 % interval {} to {})", rounded.0, rounded.1, rounded.2)
        }
    }
}

/// Which instruments were seen, 16 bytes each: 88 bits of a hash and the line. Two names meet in these with
/// a chance below 1e-12 for ten million instruments.
#[derive(Default)]
pub(super) struct Seen {
    slots: Vec<(u64, u64)>,
    count: usize,
}

/// Lines are kept with so many bits.
const LINE: u32 = 40;

impl Seen {
    /// Notes an instrument with the line where its rows end; returns that line where it was there already.
    pub(super) fn note(&mut self, name: &[u8], line: u64) -> Option<u64> {
        if self.count * 4 >= self.slots.len() * 3 {
            let wider = (self.slots.len() * 2).max(1024);
            let old = std::mem::replace(&mut self.slots, vec![(0, 0); wider]);
            for it in old.into_iter().filter(|it| it.1 != 0) {
                let free = self.find(it.0, it.1 >> LINE);
                self.slots[free] = it;
            }
        }
        let (first, second) =
            (hash(name, 0x9e37_79b9_7f4a_7c15), hash(name, 0xd1b5_4a32_d192_ed03) >> LINE);
        let place = self.find(first, second);
        if self.slots[place].1 != 0 {
            return Some(self.slots[place].1 & ((1 << LINE) - 1));
        }
        self.slots[place] = (first, second << LINE | line & ((1 << LINE) - 1));
        self.count += 1;
        None
    }

    fn find(&self, first: u64, second: u64) -> usize {
        let mask = self.slots.len() - 1;
        let mut place = first as usize & mask;
        while self.slots[place].1 != 0
            && (self.slots[place].0, self.slots[place].1 >> LINE) != (first, second)
        {
            place = (place + 1) & mask;
        }
        place
    }
}

/// Returns a hash of some bytes: 128-bit products folded, eight bytes at a time.
fn hash(bytes: &[u8], seed: u64) -> u64 {
    let fold = |a: u64, b: u64| {
        let product = u128::from(a) * u128::from(b);
        (product as u64) ^ ((product >> 64) as u64)
    };
    let mut state = fold(seed ^ bytes.len() as u64, 0xa076_1d64_78bd_642f);
    for part in bytes.chunks(8) {
        let mut word = [0; 8];
        word[..part.len()].copy_from_slice(part);
        state =
            fold(state ^ u64::from_le_bytes(word), seed | 1).wrapping_add(0x8bb8_4b93_962e_acc9);
    }
    fold(state ^ 0x2d35_8dcc_aa6c_78a5, seed | 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instrument_that_returns_is_seen_and_no_other() {
        let mut seen = Seen::default();
        for round in 0..200_000_u64 {
            assert_eq!(seen.note(format!("M-{round}").as_bytes(), round + 2), None);
        }
        for round in [0, 1, 77_777, 199_999] {
            assert_eq!(seen.note(format!("M-{round}").as_bytes(), 9), Some(round + 2));
        }
    }
}
