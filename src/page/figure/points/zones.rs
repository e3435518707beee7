//! The zones of a point between and beyond its limits, each with the hatching of what a reading there gets, and the
//! lines of the limits.

use super::super::{Hatch, Mark, Stroke};
use crate::record::{Acceptance, Decision, Point, Rule, Section};

/// Between acceptance limit and tolerance limit: the guard band.
pub(super) const GUARD: Hatch = Hatch::Rising;
/// Where a reading is undecided.
pub(super) const UNDECIDED: Hatch = Hatch::Crossed;
/// Beyond the tolerance, but not by the guard band.
pub(super) const CONDITIONAL_FAIL: Hatch = Hatch::FallingWide;
/// Beyond all limits.
pub(super) const BEYOND: Hatch = Hatch::Falling;

/// The line of a tolerance limit.
pub(super) const TOLERANCE: Stroke = Stroke::Thick;
/// The line of an acceptance limit.
pub(super) const ACCEPTANCE: Stroke = Stroke::Broken(0);
/// The line of a rejection limit.
pub(super) const REJECTION: Stroke = Stroke::Broken(1);

/// A lower and an upper limit.
pub(super) type Sides = [Option<f64>; 2];

/// The tolerance limits of a point.
pub(super) fn tolerance(point: &Point) -> Sides {
    point.tolerance.as_ref().map_or([None, None], |it| [it.lower, it.upper])
}

/// Its acceptance limits; none where nothing passes.
pub(super) fn acceptance(point: &Point) -> Sides {
    accepted(point).map_or([None, None], |it| [it.lower, it.upper])
}

fn accepted(point: &Point) -> Option<&Acceptance> {
    point.decision.as_ref().and_then(|it: &Decision| it.acceptance.as_ref())
}

/// Its rejection limits: beyond the tolerance by the guard band, under the rules that tell a sure fail from
/// another one.
pub(super) fn rejection(point: &Point) -> Sides {
    let [lower, upper] = tolerance(point);
    match &point.decision {
        Some(Decision { rule: Some(Rule::ThreeWay | Rule::FourWay), guard_band, .. }) => {
            [lower.map(|it| it - guard_band), upper.map(|it| it + guard_band)]
        }
        _ => [None, None],
    }
}

/// All limits of a point that there are.
pub(super) fn all_limits(point: &Point) -> impl Iterator<Item = f64> {
    [tolerance(point), acceptance(point), rejection(point)].into_iter().flatten().flatten()
}

/// Returns the hatching about a point from edge to edge of the picture.
pub(super) fn zones(x: f64, point: &Point, range: [f64; 2]) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut area = |one: f64, other: f64, hatch: Hatch| {
        let inside = |it: f64| it.clamp(range[0], range[1]);
        let (from, to) = (inside(one.min(other)), inside(one.max(other)));
        let outline = vec![[x - 0.5, from], [x + 0.5, from], [x + 0.5, to], [x - 0.5, to]];
        if from < to {
            marks.push(Mark::Area { outline, hatch, edge: false });
        }
    };
    let limits = tolerance(point);
    for side in 0..2 {
        let Some(limit) = limits[side] else { continue };
        let inner = inner(point, side).unwrap_or(range[1 - side]);
        let outer = rejection(point)[side];
        let rule = point.decision.as_ref().map(|it| it.rule);
        let last = match (rule, outer) {
            (Some(Some(Rule::ThreeWay)), Some(outer)) => {
                area(inner, outer, UNDECIDED);
                outer
            }
            (Some(Some(Rule::FourWay)), Some(outer)) => {
                area(inner, limit, GUARD);
                area(limit, outer, CONDITIONAL_FAIL);
                outer
            }
            (Some(None), _) => {
                area(inner, limit, UNDECIDED);
                limit
            }
            _ => {
                area(inner, limit, GUARD);
                if side == 0 { limit.min(inner) } else { limit.max(inner) }
            }
        };
        area(last, range[side], BEYOND);
    }
    marks
}

/// Where the readings that pass end on a side: where nothing passes, in the middle of the tolerance, or nowhere
/// where it has one side alone.
fn inner(point: &Point, side: usize) -> Option<f64> {
    match (&point.decision, accepted(point)) {
        (None, _) => tolerance(point)[side],
        (_, Some(_)) => acceptance(point)[side].or(tolerance(point)[side]),
        _ => match tolerance(point) {
            [Some(lower), Some(upper)] => Some(lower + 0.5 * (upper - lower)),
            _ => None,
        },
    }
}

/// Returns the lines of limits: one line over neighbours with the same limit; `joined`, in steps over all neighbours
/// that have one, so that a broken line over many points has room for its gaps.
pub(super) fn lines(
    section: &Section,
    stroke: Stroke,
    of: &dyn Fn(&Point) -> Sides,
    joined: bool,
) -> Vec<Mark> {
    let mut all: Vec<Vec<[f64; 2]>> = Vec::new();
    for side in 0..2 {
        let mut before: Option<f64> = None;
        for (index, point) in section.points.iter().enumerate() {
            let limit = of(point)[side];
            let (from, to) = (index as f64 - 0.5, index as f64 + 0.5);
            match (limit, before, all.last_mut()) {
                (Some(limit), Some(last), Some(line)) if last == limit => {
                    line.pop();
                    line.push([to, limit]);
                }
                (Some(limit), Some(_), Some(line)) if joined => {
                    line.extend([[from, limit], [to, limit]]);
                }
                (Some(limit), ..) => all.push(vec![[from, limit], [to, limit]]),
                (None, ..) => {}
            }
            before = limit;
        }
    }
    all.into_iter().map(|points| Mark::Line { points, stroke }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    /// The sample's point with a tolerance of ±4, by another rule, guard band and acceptance limits.
    fn point(rule: Option<Rule>, band: f64, limits: Option<f64>) -> Point {
        let mut point = sample::shown().sections[0].points[0].clone();
        let decision = point.decision.as_mut().unwrap();
        decision.rule = rule;
        decision.guard_band = band;
        decision.acceptance = limits.map(|it| Acceptance { lower: Some(-it), upper: Some(it) });
        point
    }

    /// From where to where, upwards from the middle, with the hatching.
    fn above(point: &Point) -> Vec<(f64, f64, Hatch)> {
        let of = |it: Mark| match it {
            Mark::Area { outline, hatch, .. } => Some((outline[0][1], outline[2][1], hatch)),
            _ => None,
        };
        let all = zones(0.0, point, [-9.0, 9.0]).into_iter().filter_map(of);
        all.filter(|it| it.0 >= 0.0).collect()
    }

    /// Zones as in docs/decision-rules.md: T = 4, w = 1. From T to T + w the verdict is undecided or a
    /// conditional fail; it had been hatched as what fails.
    #[test]
    fn each_rule_has_the_hatching_of_its_verdicts() {
        let cases = [
            (Some(Rule::Simple), 0.0, Some(4.0), vec![(4.0, 9.0, BEYOND)]),
            (Some(Rule::Guarded), 1.0, Some(3.0), vec![(3.0, 4.0, GUARD), (4.0, 9.0, BEYOND)]),
            (Some(Rule::Relaxed), 1.0, Some(5.0), vec![(4.0, 5.0, GUARD), (5.0, 9.0, BEYOND)]),
            (Some(Rule::ThreeWay), 1.0, Some(3.0), vec![(3.0, 5.0, UNDECIDED), (5.0, 9.0, BEYOND)]),
            (
                Some(Rule::FourWay),
                1.0,
                Some(3.0),
                vec![(3.0, 4.0, GUARD), (4.0, 5.0, CONDITIONAL_FAIL), (5.0, 9.0, BEYOND)],
            ),
            // The requirement is not met, or the guard band is wider than the tolerance: nothing passes.
            (None, 0.0, None, vec![(0.0, 4.0, UNDECIDED), (4.0, 9.0, BEYOND)]),
            (Some(Rule::Guarded), 5.0, None, vec![(0.0, 4.0, GUARD), (4.0, 9.0, BEYOND)]),
            (Some(Rule::ThreeWay), 4.5, None, vec![(0.0, 8.5, UNDECIDED), (8.5, 9.0, BEYOND)]),
        ];
        for (rule, band, limits, expected) in cases {
            assert_eq!(above(&point(rule, band, limits)), expected, "{rule:?}");
        }
    }

    #[test]
    fn rejection_limits_are_those_of_the_rules_that_have_some() {
        let of = |rule| rejection(&point(Some(rule), 1.5, Some(2.5)));
        assert_eq!(of(Rule::ThreeWay), [Some(-5.5), Some(5.5)]);
        assert_eq!(of(Rule::FourWay), [Some(-5.5), Some(5.5)]);
        for rule in [Rule::Simple, Rule::Guarded, Rule::Relaxed] {
            assert_eq!(of(rule), [None, None]);
        }
    }

    #[test]
    fn a_zone_beyond_the_edge_is_not_drawn() {
        let wide = point(Some(Rule::FourWay), 20.0, None);
        assert_eq!(above(&wide), [(0.0, 4.0, GUARD), (4.0, 9.0, CONDITIONAL_FAIL)]);
    }

    #[test]
    fn limits_of_many_points_are_joined_in_steps() {
        let mut section = sample::shown().sections[0].clone();
        section.points.truncate(4);
        for (point, limit) in section.points.iter_mut().zip([1.0, 1.0, 2.0, 0.0]) {
            let upper = (limit > 0.0).then_some(limit);
            *point.tolerance.as_mut().unwrap() =
                crate::record::Tolerance { lower: None, upper, text: String::new() };
        }
        let found = |joined| {
            let of = |it: Mark| match it {
                Mark::Line { points, .. } => points,
                _ => Vec::new(),
            };
            lines(&section, TOLERANCE, &tolerance, joined).into_iter().map(of).collect::<Vec<_>>()
        };
        assert_eq!(found(false), [[[-0.5, 1.0], [1.5, 1.0]], [[1.5, 2.0], [2.5, 2.0]]]);
        assert_eq!(found(true), [[[-0.5, 1.0], [1.5, 1.0], [1.5, 2.0], [2.5, 2.0]]]);
    }
}
