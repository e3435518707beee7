//! A tape over columns: the same operations on [`WIDTH`] trials at a time.
//!
//! [`BlockTape`] is a tape with the values of its fixed leaves put in: what depends on no varied leaf
//! is computed once, the rest reads and writes columns that are used again as soon as nothing needs
//! them. Arithmetic is vectorised by the compiler for the instructions that `pulp` finds; these are
//! the same IEEE operations in the same order for each trial, so the bits do not depend on them.
//! Transcendental functions come from `libm`, one number at a time.
//!
//! Where an operation has no value the result is NaN or infinite, never a number: what would turn an
//! infinite or missing operand into a number again (1/∞, a power, the arc tangent …) notes it.

use super::expr::Function;
use super::function;
use super::tape::{Step, Tape, double};
use pulp::{Arch, Simd, WithSimd};
use std::collections::BTreeMap;

/// Trials in a column: the columns of a common model stay in the first cache.
pub const WIDTH: usize = 256;

/// One value for each of [`WIDTH`] trials.
pub type Column = [f64; WIDTH];

/// An operand: a column, or a number that all trials share.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Operand {
    Column(usize),
    Fixed(f64),
}

/// An operation on operands.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Work {
    Add(Operand, Operand),
    Subtract(Operand, Operand),
    Multiply(Operand, Operand),
    Divide(Operand, Operand),
    IntegerPower(Operand, i32),
    Power(Operand, Operand),
    Single(Function, Operand),
    Double(Function, Operand, Operand),
}

/// A tape with fixed and varied leaves, ready to be evaluated on columns.
#[derive(Debug, Clone)]
pub struct BlockTape {
    /// Operations and the columns that take their results.
    work: Vec<(Work, usize)>,
    columns: usize,
    result: Operand,
}

impl BlockTape {
    /// Returns the tape with the values of `leaves` (SI) put in for all leaves but the `varied` ones;
    /// column i is the i-th of these.
    pub fn new(tape: &Tape, leaves: &[f64], varied: &[usize]) -> BlockTape {
        let place: BTreeMap<usize, usize> =
            varied.iter().enumerate().map(|(column, leaf)| (*leaf, column)).collect();
        let mut layout = Layout::new(tape, varied.len());
        for (index, op) in tape.ops.iter().enumerate() {
            let operand = match op.step {
                Step::Leaf(leaf) => place.get(&leaf).map_or_else(
                    || layout.fixed(leaves.get(leaf).copied().unwrap_or(f64::NAN)),
                    |column| Operand::Column(*column),
                ),
                Step::Constant(value, _) => layout.fixed(value),
                ref step => layout.put(work_of(step, &layout.at)),
            };
            layout.at.push(operand);
            layout.release(&op.step, index);
        }
        let last = layout.at.last().copied();
        let result = last.filter(|_| !layout.broken).unwrap_or(Operand::Fixed(f64::NAN));
        BlockTape { work: layout.work, columns: layout.columns, result }
    }

    /// Returns columns to work in; those of the varied leaves come first.
    pub fn columns(&self) -> Vec<Column> {
        // The last one holds the notes.
        vec![[0.0; WIDTH]; self.columns + 1]
    }

    /// Computes [`WIDTH`] trials. `columns` are those of [`BlockTape::columns`], the first of them
    /// filled with the varied leaves. A trial without a value gives NaN or an infinite number.
    pub fn run(&self, arch: Arch, columns: &mut [Column], result: &mut Column) {
        let Some((notes, columns)) = columns.split_last_mut() else { return };
        let mut noted = false;
        for (work, out) in &self.work {
            for operand in work.hidden().into_iter().flatten() {
                if !std::mem::replace(&mut noted, true) {
                    notes.fill(0.0);
                }
                arch.dispatch(Note { operand: &columns[operand], notes });
            }
            compute(arch, *work, columns, *out);
        }
        match self.result {
            Operand::Fixed(value) => result.fill(value),
            Operand::Column(column) => *result = columns[column],
        }
        if noted {
            let (left, right) = (Input::Column(&*notes), Input::Column(&result.clone()));
            arch.dispatch(Arithmetic { rule: Rule::Add, left, right, out: result });
        }
    }
}

/// The tape while its columns are given out.
struct Layout {
    work: Vec<(Work, usize)>,
    /// Where the result of each operation so far is.
    at: Vec<Operand>,
    /// The last operation that needs each operation.
    last: Vec<usize>,
    varied: usize,
    columns: usize,
    free: Vec<usize>,
    /// Whether a number that all trials share is missing or not finite.
    broken: bool,
}

impl Layout {
    fn new(tape: &Tape, varied: usize) -> Layout {
        let mut last: Vec<usize> = (0..tape.ops.len()).collect();
        for (index, op) in tape.ops.iter().enumerate() {
            op.step.operands().for_each(|operand| last[operand] = index);
        }
        let (work, at, free) = (Vec::new(), Vec::new(), Vec::new());
        Layout { work, at, last, varied, columns: varied, free, broken: false }
    }

    fn fixed(&mut self, value: f64) -> Operand {
        self.broken |= !value.is_finite();
        Operand::Fixed(value)
    }

    fn put(&mut self, work: Work) -> Operand {
        if let Some(value) = work.shared() {
            return self.fixed(value);
        }
        let out = self.free.pop().unwrap_or_else(|| {
            self.columns += 1;
            self.columns - 1
        });
        self.work.push((work, out));
        Operand::Column(out)
    }

    /// Frees the columns that only operation `index` still needed.
    fn release(&mut self, step: &Step, index: usize) {
        for operand in step.operands().filter(|it| self.last[*it] == index) {
            if let Operand::Column(column) = self.at[operand]
                && column >= self.varied
                && !self.free.contains(&column)
            {
                self.free.push(column);
            }
        }
    }
}

impl Work {
    /// Returns the two operands, the same twice where there is one.
    fn operands(self) -> (Operand, Operand) {
        match self {
            Work::Add(a, b) | Work::Subtract(a, b) | Work::Multiply(a, b) => (a, b),
            Work::Divide(a, b) | Work::Power(a, b) | Work::Double(_, a, b) => (a, b),
            Work::IntegerPower(a, _) | Work::Single(_, a) => (a, a),
        }
    }

    /// Returns the value where all trials share the operands.
    fn shared(self) -> Option<f64> {
        match self.operands() {
            (Operand::Fixed(a), Operand::Fixed(b)) => Some(self.of(a, b)),
            _ => None,
        }
    }

    fn of(self, a: f64, b: f64) -> f64 {
        match self {
            Work::Add(..) => a + b,
            Work::Subtract(..) => a - b,
            Work::Multiply(..) => a * b,
            Work::Divide(..) => a / b,
            Work::IntegerPower(_, exponent) => function::integer_power(a, exponent),
            Work::Power(..) => function::power(a, b).unwrap_or(f64::NAN),
            Work::Single(function, _) => function::value(function, a).unwrap_or(f64::NAN),
            Work::Double(function, ..) => double(function, a, b),
        }
    }

    /// Returns the columns in which a missing or infinite number would be hidden by the operation.
    fn hidden(self) -> [Option<usize>; 2] {
        let column = |operand| match operand {
            Operand::Column(column) => Some(column),
            Operand::Fixed(_) => None,
        };
        match self {
            Work::Divide(_, b) => [None, column(b)],
            Work::IntegerPower(a, exponent) if exponent <= 0 => [column(a), None],
            Work::Single(Function::Exp | Function::Atan | Function::Tanh, a) => [column(a), None],
            Work::Power(a, b) | Work::Double(_, a, b) => [column(a), column(b)],
            _ => [None, None],
        }
    }
}

fn work_of(step: &Step, at: &[Operand]) -> Work {
    match *step {
        // Met before; a leaf or constant is no work.
        Step::Leaf(_) | Step::Constant(..) => {
            Work::Add(Operand::Fixed(f64::NAN), Operand::Fixed(f64::NAN))
        }
        // -1·x is -x to the bit.
        Step::Negate(a) => Work::Multiply(Operand::Fixed(-1.0), at[a]),
        Step::Add(a, b) => Work::Add(at[a], at[b]),
        Step::Subtract(a, b) => Work::Subtract(at[a], at[b]),
        Step::Multiply(a, b) => Work::Multiply(at[a], at[b]),
        Step::Divide(a, b) => Work::Divide(at[a], at[b]),
        // As `integer_power` has it.
        Step::IntegerPower(a, 2) => Work::Multiply(at[a], at[a]),
        Step::IntegerPower(a, exponent) => Work::IntegerPower(at[a], exponent),
        Step::Power(a, b) => Work::Power(at[a], at[b]),
        Step::Single(function, a) => Work::Single(function, at[a]),
        Step::Double(function, a, b) => Work::Double(function, at[a], at[b]),
    }
}

fn compute(arch: Arch, work: Work, columns: &mut [Column], out: usize) {
    let (left, right) = work.operands();
    let mut numbers = None;
    match (left, right) {
        (Operand::Column(a), Operand::Column(b)) if a == b => {
            numbers = columns.get_disjoint_mut([out, a]).ok().map(|[out, a]| {
                let a = Input::Column(&*a);
                (a, a, out)
            });
        }
        (Operand::Column(a), Operand::Column(b)) => {
            numbers = columns
                .get_disjoint_mut([out, a, b])
                .ok()
                .map(|[out, a, b]| (Input::Column(&*a), Input::Column(&*b), out));
        }
        (Operand::Column(a), Operand::Fixed(b)) => {
            numbers = columns
                .get_disjoint_mut([out, a])
                .ok()
                .map(|[out, a]| (Input::Column(&*a), Input::Fixed(b), out));
        }
        (Operand::Fixed(a), Operand::Column(b)) => {
            numbers = columns
                .get_disjoint_mut([out, b])
                .ok()
                .map(|[out, b]| (Input::Fixed(a), Input::Column(&*b), out));
        }
        (Operand::Fixed(_), Operand::Fixed(_)) => {}
    }
    let (left, right, out) = numbers
        .expect("an operation with a varied operand writes to a column that it does not read");
    let rule = match work {
        Work::Add(..) => Rule::Add,
        Work::Subtract(..) => Rule::Subtract,
        Work::Multiply(..) => Rule::Multiply,
        Work::Divide(..) => Rule::Divide,
        Work::Single(Function::Sqrt, _) => Rule::Root,
        Work::Single(Function::Abs, _) => Rule::Size,
        _ => return each(left, right, out, |a, b| work.of(a, b)),
    };
    arch.dispatch(Arithmetic { rule, left, right, out });
}

/// An operand's numbers.
#[derive(Clone, Copy)]
enum Input<'a> {
    Column(&'a Column),
    Fixed(f64),
}

/// What the compiler vectorises.
#[derive(Clone, Copy)]
enum Rule {
    Add,
    Subtract,
    Multiply,
    Divide,
    Root,
    Size,
}

struct Arithmetic<'a> {
    rule: Rule,
    left: Input<'a>,
    right: Input<'a>,
    out: &'a mut Column,
}

impl WithSimd for Arithmetic<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Arithmetic { rule, left, right, out } = self;
        match rule {
            Rule::Add => each(left, right, out, |a, b| a + b),
            Rule::Subtract => each(left, right, out, |a, b| a - b),
            Rule::Multiply => each(left, right, out, |a, b| a * b),
            Rule::Divide => each(left, right, out, |a, b| a / b),
            Rule::Root => each(left, right, out, |a, _| a.sqrt()),
            Rule::Size => each(left, right, out, |a, _| a.abs()),
        }
    }
}

#[inline(always)]
fn each(left: Input, right: Input, out: &mut Column, of: impl Fn(f64, f64) -> f64) {
    match (left, right) {
        (Input::Column(a), Input::Column(b)) => {
            (0..WIDTH).for_each(|i| out[i] = of(a[i], b[i]));
        }
        (Input::Column(a), Input::Fixed(b)) => (0..WIDTH).for_each(|i| out[i] = of(a[i], b)),
        (Input::Fixed(a), Input::Column(b)) => (0..WIDTH).for_each(|i| out[i] = of(a, b[i])),
        (Input::Fixed(a), Input::Fixed(b)) => out.fill(of(a, b)),
    }
}

/// Adds 0 for a finite number and NaN for any other.
struct Note<'a> {
    operand: &'a Column,
    notes: &'a mut Column,
}

impl WithSimd for Note<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for i in 0..WIDTH {
            self.notes[i] += 0.0 * self.operand[i];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample::tape;
    use super::*;

    /// Values around zero, at kinks and poles included.
    fn value(i: usize, leaf: usize) -> f64 {
        let step = (i * (2 * leaf + 3)) % 33;
        (step as f64 - 16.0) / 8.0
    }

    /// Every trial has the bits of the tape on numbers, or no value where that has none.
    #[track_caller]
    fn agrees(text: &str, varied: &[usize]) {
        let tape = tape(text);
        let fixed = [0.75, -1.5, 2.0, 0.5];
        let block = BlockTape::new(&tape, &fixed, varied);
        let mut columns = block.columns();
        for (column, leaf) in varied.iter().enumerate() {
            columns[column] = std::array::from_fn(|i| value(i, *leaf));
        }
        let mut result = [0.0; WIDTH];
        for _ in 0..2 {
            block.run(Arch::new(), &mut columns, &mut result);
        }
        for (i, got) in result.iter().enumerate() {
            let mut leaves = fixed;
            varied.iter().for_each(|leaf| leaves[*leaf] = value(i, *leaf));
            match tape.value(&leaves) {
                Ok(expected) => assert_eq!(*got, expected, "{text} at {leaves:?}"),
                Err(_) => assert!(!got.is_finite(), "{text} at {leaves:?}: {got}"),
            }
        }
    }

    #[test]
    fn a_column_has_the_values_of_the_tape() {
        let models = [
            "x + y - 2*x*y",
            "-x^2 + x^3 - x^-1 + x^0",
            "x/y + y/x",
            "1/(1/x) + 1/(1/(x*y))",
            "sqrt(x) + abs(y)",
            "exp(x) + ln(y) - log10(x + 3)",
            "sin(x)*cos(y) + tan(x)",
            "asin(x) + acos(y) + atan(x/y)",
            "sinh(x) + cosh(y) + tanh(1/x)",
            "x^y",
            "atan2(x, y) + min(x, y) + max(1/x, y, 0.5)",
            "exp(-1/abs(x))",
            "min(y, ln(x))",
            "(x + y)*(x - y)/((x + 2*y)*(x - 2*y) + (x*y)^2 + 1)",
            "x*x + x/x",
            "pi*y + 2",
            "x",
        ];
        for text in models {
            for varied in [&[0, 1][..], &[1], &[0], &[1, 0]] {
                agrees(text, varied);
            }
        }
    }

    /// Long models do not need long memories.
    #[test]
    fn columns_are_used_again() {
        let text = vec!["(x + 1)*(y - 2)"; 50].join(" + ");
        let block = BlockTape::new(&tape(&text), &[0.0; 4], &[0, 1]);
        assert_eq!(block.work.len(), 4 * 50 - 1);
        assert!(block.columns().len() <= 7, "{} columns", block.columns().len());
        agrees(&text, &[0, 1]);
    }

    #[test]
    fn a_fixed_number_without_a_value_leaves_no_trial_a_value() {
        let block = BlockTape::new(&tape("x + 1/(1/(y - y))"), &[1.0, 1.0], &[0]);
        let mut result = [0.0; WIDTH];
        block.run(Arch::new(), &mut block.columns(), &mut result);
        assert!(result.iter().all(|it| it.is_nan()));
    }
}
