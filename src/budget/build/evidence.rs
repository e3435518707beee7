//! The nine kinds of evidence: texts to formulas, with their dimensions and ranges.

use super::context::Context;
use super::decision::positive;
use super::readings::{grouped, readings};
use super::tolerance::around;
use crate::budget::parts::{
    EvidenceParts, LimitsParts, ShapeParts, THERMAL_KEYS, Text, ThermalEvidence,
    ThermalPart as PartParts, ThermalParts,
};
use crate::budget::{
    BlockLength, Dof, Evidence, Factor, Formula, Grade, GradeTable, Shape, Thermal, ThermalPart,
};
use crate::fault::{Fault, Origin};
use crate::model::Expr;
use crate::quantity::{Dimension, Unit};

/// What the evidence has to fit.
pub(super) struct Fit<'a> {
    /// The first key of the contributor, or of the part of `thermal`: where a missing key is shown.
    pub(super) origin: Origin,
    /// Whether it is known what the contributor adds to.
    pub(super) known: bool,
    /// The dimension; `None` where a sensitivity decides it.
    pub(super) dimension: Option<Dimension>,
    /// What has that dimension, for messages: "`block`", "the measurand".
    pub(super) whose: &'a str,
    /// The input that it adds to, by word, for the default length of a block.
    pub(super) input: Option<&'a str>,
    /// The points' symbol, for the default length of `thermal`.
    pub(super) symbol: Option<&'a str>,
    /// Whether some point has a stack.
    pub(super) stacks: bool,
}

const TABLES: [(GradeTable, &str); 2] =
    [(GradeTable::Iso3650, "ISO 3650"), (GradeTable::AsmeB8919, "ASME B89.1.9")];

/// Reads evidence. Returns it with the unit in which its figures are shown.
pub(super) fn evidence(
    context: &mut Context,
    parts: &(Origin, EvidenceParts),
    fit: &Fit,
) -> Option<(Evidence, Unit)> {
    let (origin, parts) = (parts.0, &parts.1);
    match parts {
        EvidenceParts::Readings { values, unit, usage } => {
            readings(context, origin, values, unit.as_ref(), usage.as_ref(), fit)
        }
        EvidenceParts::GroupedReadings { .. } => grouped(context, origin, parts, fit),
        EvidenceParts::Scatter { s, mean_of } => {
            let formula = spread_formula(context, s, fit, "a standard deviation")?;
            let mean_of = mean_of.as_ref().map_or(Some(1), |it| context.whole(it, 1))?;
            with_unit(context, formula, |s| Evidence::Scatter { s, mean_of })
        }
        EvidenceParts::Limits { limits, shape } => limits_evidence(context, limits, shape, fit),
        EvidenceParts::FullRange { range, shape } => {
            let shape = self::shape(context, shape, fit.origin);
            let formula = spread_formula(context, range, fit, "a full range")?;
            let shape = shape?;
            with_unit(context, formula, |range| Evidence::FullRange { range, shape })
        }
        EvidenceParts::Certificate { uncertainty, k, coverage, length } => certificate(
            context,
            origin,
            uncertainty,
            (k.as_ref(), coverage.as_ref()),
            length.as_ref(),
            fit,
        ),
        EvidenceParts::StandardUncertainty(text) => {
            let formula = spread_formula(context, text, fit, "a standard uncertainty")?;
            with_unit(context, formula, Evidence::StandardUncertainty)
        }
        EvidenceParts::Step(text) => {
            let formula = spread_formula(context, text, fit, "a step")?;
            with_unit(context, formula, Evidence::Step)
        }
        EvidenceParts::BlockGrade { .. } => block_grade(context, origin, parts, fit),
        EvidenceParts::Thermal(parts) => thermal(context, origin, parts, fit),
    }
}

fn with_unit(
    context: &Context,
    formula: Formula,
    make: impl FnOnce(Formula) -> Evidence,
) -> Option<(Evidence, Unit)> {
    let unit = shown_unit(context, &formula);
    Some((make(formula), unit))
}

/// Returns the unit in which a formula's figures are shown: that of its first literal of the same
/// dimension, else one that the budget uses, else the SI one.
pub(super) fn shown_unit(context: &Context, formula: &Formula) -> Unit {
    let dimension = &formula.kind().dimension;
    formula.literal_unit().or_else(|| context.unit_for(dimension)).unwrap_or_else(Unit::one)
}

/// Reads a value that is 0 or more and fits.
fn spread_formula(context: &mut Context, text: &Text, fit: &Fit, what: &str) -> Option<Formula> {
    let expr = if text.text.contains(['±']) || text.text.trim_start().starts_with("+-") {
        let shown = text.text.trim();
        let help = shown.trim_start_matches(['±', '+', '-', '/', ' ']).to_string();
        context.fault(
            Fault::new(text.origin, format!("`{shown}` has a ±"))
                .rule(format!("{what} is written without"))
                .help(help),
        );
        return None;
    } else {
        context.expr(text)?
    };
    let formula = fitting(context, expr, text, fit, "")?;
    context.not_negative(&formula, text, what, true).then_some(formula)
}

/// Compiles an expression that has to fit.
fn fitting(
    context: &mut Context,
    expr: Expr,
    text: &Text,
    fit: &Fit,
    sign: &str,
) -> Option<Formula> {
    match &fit.dimension {
        Some(dimension) => context.checked(expr, text, dimension, fit.whose, sign),
        None => context.compile(expr),
    }
}

fn limits_evidence(
    context: &mut Context,
    limits: &LimitsParts,
    shape: &ShapeParts,
    fit: &Fit,
) -> Option<(Evidence, Unit)> {
    let shape = self::shape(context, shape, fit.origin);
    match limits {
        LimitsParts::PlusMinus(text) => {
            let formula = half_width(context, text, fit)?;
            let shape = shape?;
            with_unit(context, formula, |half_width| Evidence::Limits { half_width, shape })
        }
        LimitsParts::Between(origin, items) => {
            let [low, high] = items.as_slice() else {
                let what = format!("the limits have {} values", items.len());
                context
                    .fault(Fault::new(*origin, what).rule("`[lo, hi]` has two").help(outer(items)));
                return None;
            };
            let (low_expr, high_expr) = (context.expr(low), context.expr(high));
            let (low_expr, high_expr) = (low_expr?, high_expr?);
            let low_formula = fitting(context, low_expr, low, fit, "");
            let high_formula = fitting(context, high_expr, high, fit, "");
            let (low_formula, high_formula) = (low_formula?, high_formula?);
            if low_formula.kind().dimension != high_formula.kind().dimension {
                let (a, b) =
                    (low_formula.kind().dimension.phrase(), high_formula.kind().dimension.phrase());
                context.fault(Fault::new(
                    *origin,
                    format!("the lower limit is {a}, the upper limit is {b}"),
                ));
                return None;
            }
            if let (Some(a), Some(b)) = (low_formula.constant(), high_formula.constant())
                && a > b
            {
                let (a, b) = (low.text.trim(), high.text.trim());
                let fault = Fault::new(
                    *origin,
                    format!("the lower limit `{a}` is above the upper limit `{b}`"),
                );
                context.fault(fault.help(format!("[{b}, {a}]")));
                return None;
            }
            let shape = shape?;
            let unit = shown_unit(context, &low_formula);
            Some((Evidence::Between { low: low_formula, high: high_formula, shape }, unit))
        }
    }
}

/// Returns the outermost of several limits as what to type; `±a` where there is one.
pub(super) fn outer(items: &[Text]) -> String {
    match items {
        [] => "[-1 µm, 3 µm]".to_string(),
        [only] => format!("±{}", only.text.trim().trim_start_matches(['-', '−'])),
        [first, .., last] => format!("[{}, {}]", first.text.trim(), last.text.trim()),
    }
}

/// Reads `±a` with a ≥ 0.
fn half_width(context: &mut Context, text: &Text, fit: &Fit) -> Option<Formula> {
    let found = context.plus_minus(text)?;
    let shown = text.text.trim().to_string();
    let half = match (found.centre, found.half) {
        (None, Some(half)) => half,
        (Some(_), None) => {
            let fault = Fault::new(text.origin, format!("`{shown}` does not say what it limits"));
            context.fault(fault.rule("`limits` is `±a` or `[lo, hi]`").help(format!("±{shown}")));
            return None;
        }
        (Some(centre), Some(half)) => {
            let fault = Fault::new(text.origin, format!("`{shown}` has a value before ±"));
            let (low, high) = around(&centre, &half);
            let help = format!("[{low}, {high}]");
            context.fault(fault.rule("`limits` is `±a` or `[lo, hi]`").help(help));
            return None;
        }
        (None, None) => return None,
    };
    let formula = fitting(context, half, text, fit, "±")?;
    context.not_negative(&formula, text, "a half-width", true).then_some(formula)
}

fn shape(context: &mut Context, parts: &ShapeParts, origin: Origin) -> Option<Shape> {
    let words =
        [(0, "rectangular"), (1, "triangular"), (2, "trapezoidal"), (3, "arcsine"), (4, "normal")];
    let index = parts.shape.as_ref().map_or(Some(0), |it| context.word(it, "shape", &words))?;
    match index {
        0 => {
            parts.known_within.as_ref().map_or(Some(Shape::Rectangular), |it| doubtful(context, it))
        }
        1 => Some(Shape::Triangular),
        2 => {
            let Some(text) = &parts.top else {
                let fault = Fault::new(origin, "`top` is missing beside `shape: trapezoidal`");
                context.fault(
                    fault.rule("`top` is the top's share of the base, 0 to 1").help("top: 0.5"),
                );
                return None;
            };
            let top = context.ratio(text)?;
            if (0.0..=1.0).contains(&top) {
                return Some(Shape::Trapezoidal(top));
            }
            let what = format!("`{}` is not between 0 and 1", text.text.trim());
            context
                .fault(Fault::new(text.origin, what).rule("`top` is the top's share of the base"));
            None
        }
        3 => Some(Shape::Arcsine),
        _ => {
            let Some(text) = &parts.coverage else {
                let fault = Fault::new(origin, "`coverage` is missing beside `shape: normal`");
                context.fault(
                    fault
                        .rule("`coverage` is the probability that the limits hold")
                        .help("coverage: 95 %"),
                );
                return None;
            };
            context.probability(text).map(Shape::Normal)
        }
    }
}

/// Reads how far a half-width may be off, relative to it.
fn doubtful(context: &mut Context, text: &Text) -> Option<Shape> {
    let ratio = context.ratio(text)?;
    if ratio > 0.0 && ratio <= 1.0 {
        return Some(Shape::Curvilinear(ratio));
    }
    let fault =
        Fault::new(text.origin, format!("`{}` is not above 0 % and up to 100 %", text.text.trim()));
    let rule = "`limits_known_within` is the share of the half-width by which it may be off";
    context.fault(
        fault.rule(rule).help("leave `limits_known_within` out where the limits are known exactly"),
    );
    None
}

fn certificate(
    context: &mut Context,
    origin: Origin,
    uncertainty: &Text,
    (k, coverage): (Option<&Text>, Option<&Text>),
    length: Option<&Text>,
    fit: &Fit,
) -> Option<(Evidence, Unit)> {
    let formula = spread_formula(context, uncertainty, fit, "an expanded uncertainty");
    let factor = match (k, coverage) {
        (Some(text), None) => positive(context, text, "a coverage factor").map(Factor::K),
        (None, Some(text)) => context.probability(text).map(Factor::Coverage),
        (None, None) => {
            let fault = Fault::new(origin, "a certificate's U without `k` or `coverage`");
            context.fault(fault.rule("one of them turns U into u").help("k: 2"));
            None
        }
        (Some(_), Some(text)) => {
            context.fault(
                Fault::new(text.origin, "`coverage` beside `k`").rule("one of them turns U into u"),
            );
            None
        }
    };
    let per_block = match length {
        None => false,
        Some(text) => {
            context.word(text, "length", &[((), "stack")])?;
            needs_stack(context, text.origin, fit)?;
            true
        }
    };
    let (formula, factor) = (formula?, factor?);
    with_unit(context, formula, |uncertainty| Evidence::Certificate {
        uncertainty,
        factor,
        per_block,
    })
}

fn needs_stack(context: &mut Context, origin: Origin, fit: &Fit) -> Option<()> {
    if fit.stacks {
        return Some(());
    }
    let fault = Fault::new(origin, "`length: stack`, but no point has a stack");
    context
        .fault(fault.help("give the points their blocks: `{at: 9.005, stack: [1.005 mm, 8 mm]}`"));
    None
}

fn block_grade(
    context: &mut Context,
    origin: Origin,
    parts: &EvidenceParts,
    fit: &Fit,
) -> Option<(Evidence, Unit)> {
    let EvidenceParts::BlockGrade { grade, table, length, calibrated_with } = parts else {
        return None;
    };
    let found = match table {
        Some(text) => context.word(text, "table", &TABLES),
        None => {
            let fault = Fault::new(origin, "a block grade without `table`");
            context.fault(fault.rule("grades differ between standards").help("table: ISO 3650"));
            None
        }
    };
    let grade = found.and_then(|table| self::grade(context, table, grade));
    let metre = Dimension::length();
    if let Some(dimension) = fit.dimension.as_ref().filter(|it| **it != metre) {
        let what = format!("a block grade is a length, {} is {}", fit.whose, dimension.phrase());
        context.fault(Fault::new(origin, what).help("let it add to an input that is a length"));
        return None;
    }
    let length = if length.is_some() || fit.known {
        block_length(context, origin, length.as_ref(), fit)
    } else {
        None
    };
    let calibrated_with = match calibrated_with {
        None => None,
        Some(text) => Some(spread_formula(context, text, fit, "an expanded uncertainty")?),
    };
    let unit = context.unit_for(&metre)?;
    Some((Evidence::BlockGrade { grade: grade?, length: length?, calibrated_with }, unit))
}

fn block_length(
    context: &mut Context,
    origin: Origin,
    text: Option<&Text>,
    fit: &Fit,
) -> Option<BlockLength> {
    let metre = Dimension::length();
    match (text, fit.input) {
        (Some(text), _) if text.text.trim() == "stack" => {
            needs_stack(context, text.origin, fit)?;
            Some(BlockLength::Stack)
        }
        (Some(text), _) => {
            context.formula(text, &metre, "a block's length").map(BlockLength::Length)
        }
        (None, Some(input)) => {
            let expr = Expr::name(input, origin);
            context.compile(expr).map(BlockLength::Length)
        }
        (None, None) => {
            let fault = Fault::new(fit.origin, "`length` is missing beside `block_grade`");
            let symbol = fit.symbol.map_or("25 mm".to_string(), str::to_string);
            let rule = "the limit deviation depends on the nominal length; with `adds_to` it is that input's estimate";
            context.fault(fault.rule(rule).help(format!("length: {symbol}")));
            None
        }
    }
}

fn grade(context: &mut Context, table: GradeTable, text: &Text) -> Option<Grade> {
    let word = text.text.trim();
    if let Some(grade) = table.grades().iter().find(|it| it.eq_ignore_ascii_case(word)) {
        return Some(Grade { table, grade: grade.to_string() });
    }
    let list: Vec<String> = table.grades().iter().map(|it| format!("`{it}`")).collect();
    let fault = Fault::new(text.origin, format!("no grade `{word}` in {}", table.word()));
    context
        .fault(fault.rule(format!("its grades are {}", list.join(", "))).help(table.grades()[0]));
    None
}

fn thermal(
    context: &mut Context,
    origin: Origin,
    parts: &ThermalParts,
    fit: &Fit,
) -> Option<(Evidence, Unit)> {
    let dimension = context.measurand_unit.as_ref()?.dimension().clone();
    let length = match (&parts.length, fit.symbol) {
        (Some(text), _) => context.formula(text, &dimension, "the measurand"),
        (None, Some(symbol)) => {
            let text = Text::new(symbol, origin);
            context.formula(&text, &dimension, "the measurand")
        }
        (None, None) => {
            let fault = Fault::new(origin, "`thermal` without a length");
            context.fault(fault.rule("without points there is no default").help("length: 25 mm"));
            None
        }
    };
    let kelvin = Dimension::temperature();
    let per_kelvin = Dimension::none().over(&kelvin);
    let mut found = Vec::new();
    for (name, part) in THERMAL_KEYS.iter().zip(&parts.parts) {
        let dimension = if name.starts_with("alpha") { &per_kelvin } else { &kelvin };
        let Some(part) = part else {
            let example = if name.starts_with("alpha") { "±1 µm/m/K" } else { "±0.5 K" };
            let fault = Fault::new(origin, format!("`thermal` without `{name}`"));
            context.fault(
                fault
                    .rule("all four of alpha, alpha_difference, difference, from_20 are given")
                    .help(format!("{name}: {example}")),
            );
            continue;
        };
        found.extend(thermal_part(context, part, dimension, name));
    }
    let parts = <[ThermalPart; 4]>::try_from(found).ok()?;
    let unit = context.measurand_unit.clone()?;
    Some((Evidence::Thermal(Box::new(Thermal { length: length?, parts })), unit))
}

fn thermal_part(
    context: &mut Context,
    part: &PartParts,
    dimension: &Dimension,
    name: &str,
) -> Option<ThermalPart> {
    let whose = format!("`{name}`");
    match part {
        PartParts::Text(text) => thermal_text(context, text, dimension, &whose),
        PartParts::Evidence(parts) => thermal_map(context, parts, dimension, &whose),
    }
}

/// Reads `±a`, `x ± a` or `x`.
fn thermal_text(
    context: &mut Context,
    text: &Text,
    dimension: &Dimension,
    whose: &str,
) -> Option<ThermalPart> {
    let found = context.plus_minus(text)?;
    let estimate = match found.centre {
        None => None,
        Some(centre) => Some(context.checked(centre, text, dimension, whose, "")?),
    };
    let evidence = match found.half {
        None => None,
        Some(half) => {
            let half_width = context.checked(half, text, dimension, whose, "±")?;
            if !context.not_negative(&half_width, text, "a half-width", true) {
                return None;
            }
            Some(Evidence::Limits { half_width, shape: Shape::Rectangular })
        }
    };
    let unit = match (&evidence, &estimate) {
        (Some(Evidence::Limits { half_width, .. }), _) => shown_unit(context, half_width),
        (_, Some(estimate)) => shown_unit(context, estimate),
        _ => Unit::one(),
    };
    Some(ThermalPart { origin: text.origin, estimate, evidence, dof: None, unit })
}

/// Reads a map with its own evidence.
fn thermal_map(
    context: &mut Context,
    parts: &ThermalEvidence,
    dimension: &Dimension,
    whose: &str,
) -> Option<ThermalPart> {
    let origin = parts.origin;
    let fit = Fit {
        origin,
        known: true,
        dimension: Some(dimension.clone()),
        whose,
        input: None,
        symbol: None,
        stacks: false,
    };
    let (evidence, unit) = self::evidence(context, &parts.evidence, &fit)?;
    let estimate = match &parts.estimate {
        None => None,
        Some(text) => Some(context.formula(text, dimension, whose)?),
    };
    let dof = given_dof(context, parts.dof.as_ref(), parts.u_known_within.as_ref())?;
    Some(ThermalPart { origin, estimate, evidence: Some(evidence), dof, unit })
}

/// Reads `dof` or `u_known_within`; `None` where they are faulty.
///
/// Method: M10.
pub(super) fn given_dof(
    context: &mut Context,
    dof: Option<&Text>,
    within: Option<&Text>,
) -> Option<Option<Dof>> {
    match (dof, within) {
        (None, None) => Some(None),
        (Some(_), Some(text)) => {
            let fault = Fault::new(text.origin, "`u_known_within` beside `dof`");
            context.fault(fault.rule("one of them gives the degrees of freedom"));
            None
        }
        (Some(text), None) if text.text.trim() == "infinite" => Some(Some(Dof::INFINITE)),
        (Some(text), None) => {
            let value = context.number(text)?;
            at_least_one(context, Dof::new(value), text, "degrees of freedom are 1 or more")
        }
        (None, Some(text)) => {
            let ratio = context.ratio(text)?;
            if ratio <= 0.0 {
                let what = format!("`{}` is not above 0", text.text.trim());
                context.fault(Fault::new(text.origin, what).help("25 %"));
                return None;
            }
            let rule = "ν = 1/(2r²) is 1 or more (JCGM 100, G.4.2), so r is at most 70.7 %";
            at_least_one(context, Dof::new(0.5 / (ratio * ratio)), text, rule)
        }
    }
}

fn at_least_one(
    context: &mut Context,
    dof: Option<Dof>,
    text: &Text,
    rule: &str,
) -> Option<Option<Dof>> {
    if dof.is_none() {
        let what = format!("`{}` gives too few degrees of freedom", text.text.trim());
        context.fault(Fault::new(text.origin, what).rule(rule));
    }
    dof.map(Some)
}
