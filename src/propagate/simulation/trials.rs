//! Trials: sources and tape, prepared once, drawn and evaluated block by block.
//!
//! A block is up to [`BLOCK`] trials with streams of its own, so any thread can do any block. Within it
//! columns of trials are drawn source by source, sources in the order of their names: sums have a fixed
//! order whatever the order of the file.

use super::lanes::{Key, Lanes, Words};
use super::linked::Linked;
use super::shape::{Accumulate, Shape, fill};
use super::{Broken, Experiment, Law, Source};
use crate::evidence::Piece;
use crate::fault::{Fault, Origin};
use crate::model::block::{BlockTape, Column, WIDTH};
use pulp::Arch;
use std::collections::BTreeSet;

/// Trials of a block: the smallest number of trials of a sequence (JCGM 101:2008, 7.9.4).
pub(super) const BLOCK: u64 = 10_000;

/// An experiment ready to be run.
pub(super) struct Trials<'a> {
    experiment: &'a Experiment<'a>,
    pub(super) arch: Arch,
    tape: BlockTape,
    /// The leaf of each varied column.
    varied: Vec<usize>,
    sources: Vec<Prepared>,
    /// Columns that linked draws need at most.
    spare: usize,
}

/// A source ready to be drawn.
struct Prepared {
    key: Key,
    law: PreparedLaw,
}

/// Columns and the factors of what is added to them.
type Moves = Vec<(usize, f64)>;

enum PreparedLaw {
    /// Shape, number of draws, and where they go.
    Pieces(Vec<(Shape, usize, Moves)>),
    /// One target for each margin.
    Linked(Linked, Moves),
}

/// What one thread works in.
pub(super) struct Desk {
    columns: Vec<Column>,
    spare: Vec<Column>,
    draw: Column,
    words: [Words; 2],
    lanes: Vec<Lanes>,
}

impl<'a> Trials<'a> {
    /// Prepares an experiment.
    ///
    /// # Errors
    ///
    /// [`Broken::Source`] for a source that cannot be drawn or a name that is there twice.
    pub(super) fn new(experiment: &'a Experiment<'a>, seed: u64) -> Result<Trials<'a>, Broken> {
        let mut sorted: Vec<&Source> = experiment.sources.iter().collect();
        sorted.sort_by_key(|it| (&it.name, &it.place));
        let twice =
            sorted.windows(2).find(|it| (&it[0].name, &it[0].place) == (&it[1].name, &it[1].place));
        if let Some(pair) = twice {
            return Err(refused(pair[0], "another source has its name, and would have its draws"));
        }
        let leaves: BTreeSet<usize> =
            sorted.iter().flat_map(|it| &it.targets).map(|it| it.leaf).collect();
        let varied: Vec<usize> = leaves.into_iter().collect();
        let mut sources = Vec::new();
        for source in sorted {
            sources.push(prepared(source, &varied, experiment.leaves, seed)?);
        }
        let tape = BlockTape::new(experiment.tape, experiment.leaves, &varied);
        let spare = sources.iter().map(|it| match &it.law {
            PreparedLaw::Pieces(_) => 0,
            PreparedLaw::Linked(linked, _) => linked.columns(),
        });
        let spare = spare.max().unwrap_or(0);
        Ok(Trials { experiment, arch: Arch::new(), tape, varied, sources, spare })
    }

    pub(super) fn desk(&self) -> Desk {
        Desk {
            columns: self.tape.columns(),
            spare: vec![[0.0; WIDTH]; self.spare],
            draw: [0.0; WIDTH],
            words: [[0; WIDTH]; 2],
            lanes: Vec::new(),
        }
    }

    /// Runs the first `count` trials of block `block`; `take` gets each column of results with the
    /// number of them that count. Results beyond that number are of no meaning.
    pub(super) fn block(
        &self,
        desk: &mut Desk,
        block: u64,
        count: u64,
        mut take: impl FnMut(&mut Column, usize),
    ) {
        self.start(desk, block);
        let mut results = [0.0; WIDTH];
        let mut left = count as usize;
        while left > 0 {
            self.draw(desk);
            self.tape.run(self.arch, &mut desk.columns, &mut results);
            let here = left.min(WIDTH);
            take(&mut results, here);
            left -= here;
        }
    }

    /// Returns why trial `trial` (from 0) of a block has no value.
    pub(super) fn why(&self, block: u64, trial: u64) -> Fault {
        let mut desk = self.desk();
        self.start(&mut desk, block);
        for _ in 0..=trial / WIDTH as u64 {
            self.draw(&mut desk);
        }
        let mut leaves = self.experiment.leaves.to_vec();
        for (column, leaf) in self.varied.iter().enumerate() {
            if let Some(leaf) = leaves.get_mut(*leaf) {
                *leaf = desk.columns[column][trial as usize % WIDTH];
            }
        }
        let unexplained = || Fault::new(Origin::NONE, "the model has no finite value");
        self.experiment.tape.value(&leaves).err().unwrap_or_else(unexplained)
    }

    fn start(&self, desk: &mut Desk, block: u64) {
        desk.lanes.clear();
        desk.lanes.extend(self.sources.iter().map(|it| Lanes::new(it.key, block)));
    }

    /// Draws the next trials of all sources into the columns of the varied leaves.
    fn draw(&self, desk: &mut Desk) {
        let Desk { columns, spare, draw, words, lanes } = desk;
        for (column, leaf) in columns.iter_mut().zip(&self.varied) {
            column.fill(self.experiment.leaves.get(*leaf).copied().unwrap_or(f64::NAN));
        }
        let arch = self.arch;
        let mut add = |column: usize, factor: f64, draw: &Column| {
            arch.dispatch(Accumulate { factor, draw, sum: &mut columns[column] });
        };
        for (source, lanes) in self.sources.iter().zip(lanes) {
            match &source.law {
                PreparedLaw::Pieces(pieces) => {
                    for (shape, count, targets) in pieces {
                        for _ in 0..*count {
                            fill(arch, *shape, lanes, words, draw);
                            targets.iter().for_each(|it| add(it.0, it.1, draw));
                        }
                    }
                }
                PreparedLaw::Linked(linked, targets) => {
                    let spare = &mut spare[..linked.columns()];
                    linked.fill(arch, lanes, words, spare);
                    let first = spare.len() - targets.len();
                    targets
                        .iter()
                        .zip(&spare[first..])
                        .for_each(|(it, draw)| add(it.0, it.1, draw));
                }
            }
        }
    }
}

fn refused(source: &Source, reason: &'static str) -> Broken {
    Broken::Source { name: source.name.clone(), reason }
}

fn prepared(
    source: &Source,
    varied: &[usize],
    leaves: &[f64],
    seed: u64,
) -> Result<Prepared, Broken> {
    let refuse = |reason| refused(source, reason);
    let known = |leaf: usize| leaves.get(leaf).is_some_and(|it| it.is_finite());
    if !source.targets.iter().all(|it| it.factor.is_finite() && known(it.leaf)) {
        return Err(refuse("a target is unknown or its factor not finite"));
    }
    let column = |leaf: usize| varied.partition_point(|it| *it < leaf);
    let targets = |u: f64| -> Moves {
        source.targets.iter().map(|it| (column(it.leaf), it.factor * u)).collect()
    };
    let law = match &source.law {
        Law::Pieces(pieces) => {
            let mut list = Vec::new();
            for piece in pieces {
                let shape = Shape::of(piece).map_err(refuse)?;
                let u = piece.standard_uncertainty;
                list.push(match shape {
                    // A sum of independent normals is one.
                    Shape::Normal => (shape, 1, targets(u * (piece.count as f64).sqrt())),
                    _ => (shape, piece.count, targets(u)),
                });
            }
            PreparedLaw::Pieces(list)
        }
        Law::Linked { factor, margins, joint_t } => {
            if margins.len() != source.targets.len() {
                return Err(refuse("it does not have one margin for each target"));
            }
            let linked = Linked::new(factor, margins, *joint_t).map_err(refuse)?;
            let scaled =
                |(it, margin): (&(usize, f64), &Piece)| (it.0, it.1 * margin.standard_uncertainty);
            PreparedLaw::Linked(linked, targets(1.0).iter().zip(margins).map(scaled).collect())
        }
    };
    Ok(Prepared { key: Key::new(seed, &source.name, source.place.as_deref()), law })
}
