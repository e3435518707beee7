//! What the vertical axis of the points has to show.

use super::super::around;
use super::errors;
use super::zones::{all_limits, tolerance};
use crate::record::{Point, Section};

/// How many spans beyond the limits a reading or the end of an interval is still shown at its place.
const FAR: f64 = 2.0;
/// How far the axis goes on, in spans, for what lies still further out and stands at the edge.
const EDGE: f64 = 0.25;
/// So many times as far from zero as the readings are from it, a limit stands for a size and not for an error, and
/// zero is not shown.
const SIZE: f64 = 20.0;

/// Returns the range: all limits; with a single one on a side the readings about it, and zero if that lies
/// within reach; readings and intervals up to [`FAR`] spans of these away.
pub(super) fn range(section: &Section) -> [f64; 2] {
    let measured: Vec<f64> = section
        .points
        .iter()
        .flat_map(|it| errors(it).into_iter().chain(it.interval).chain([it.estimate]))
        .collect();
    let limits = section.points.iter().flat_map(all_limits);
    let core: Vec<f64> = limits.chain(homes(section)).collect();
    let ends = around(core.iter().copied(), 0.0);
    let span = ends[1] - ends[0];
    if core.is_empty() {
        return around(measured, 0.12);
    }
    let near = |it: f64| match it {
        it if it < ends[0] - FAR * span => ends[0] - EDGE * span,
        it if it > ends[1] + FAR * span => ends[1] + EDGE * span,
        it => it,
    };
    around(core.iter().copied().chain(measured.into_iter().map(near)), 0.12)
}

/// The single limits of one-sided tolerances, with the direction of what is allowed.
fn single(point: &Point) -> Option<(f64, f64)> {
    match tolerance(point) {
        [Some(limit), None] => Some((limit, 1.0)),
        [None, Some(limit)] => Some((limit, -1.0)),
        _ => None,
    }
}

/// What is shown of the allowed side where it has no other end.
fn homes(section: &Section) -> Vec<f64> {
    let single: Vec<_> = section.points.iter().filter_map(|it| Some((single(it)?, it))).collect();
    // A reading beyond the limit says nothing of how far the allowed side has to be shown.
    let away = |((limit, way), point): &((f64, f64), &Point)| -> Vec<f64> {
        errors(point).into_iter().map(|it| way * (it - limit)).filter(|it| *it >= 0.0).collect()
    };
    let mut distances: Vec<f64> = single.iter().flat_map(away).collect();
    distances.sort_by(f64::total_cmp);
    let middle = distances.get(distances.len() / 2).copied().unwrap_or(0.0);
    let widths = single.iter().map(|(_, it)| it.interval[1] - it.interval[0]);
    let bands = single.iter().filter_map(|(_, it)| Some(it.decision.as_ref()?.guard_band));
    let reach = widths.chain(bands).fold(middle, f64::max);
    let about = |(limit, way): (f64, f64)| {
        let zero = (limit.abs() <= SIZE * reach).then_some(0.0);
        [Some(limit + way * reach), zero].into_iter().flatten()
    };
    single.into_iter().flat_map(|(it, _)| about(it)).collect()
}
