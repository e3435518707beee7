//! What a point's u² is made of: a bar for each contributor, the largest first, with bars of their own for
//! correlation and second order, which may be negative.

use super::{Axis, Figure, Hatch, Key, Mark, Sample, Side, Stroke, place, short, ticks};
use crate::page::{Text, numbers};
use crate::record::{Owner, Point, Section};

/// So many contributors have a bar of their own; with more, the small ones share one.
const BARS: usize = 10;

/// A bar.
struct Bar {
    name: Text,
    share: f64,
    hatch: Hatch,
}

/// Returns the picture of a point; `None` where u is 0.
pub fn shares(section: &Section, point: &Point) -> Option<Figure> {
    if point.standard_uncertainty <= 0.0 {
        return None;
    }
    let bars = bars(point);
    let ends = bars
        .iter()
        .fold([0.0_f64, 0.0_f64], |it, bar| [it[0].min(bar.share), it[1].max(bar.share)]);
    let left = if ends[0] < 0.0 { ends[0] - 0.16 * (ends[1] - ends[0]) } else { 0.0 };
    let range = [left, ends[1] + 0.12 * (ends[1] - ends[0])];
    let last = bars.len() as f64 - 1.0;
    let mut marks = Vec::new();
    for (index, bar) in bars.iter().enumerate() {
        let y = last - index as f64;
        let outline =
            vec![[0.0, y - 0.3], [bar.share, y - 0.3], [bar.share, y + 0.3], [0.0, y + 0.3]];
        marks.push(Mark::Area { outline, hatch: bar.hatch, edge: true });
        let side = if bar.share < 0.0 { Side::Left } else { Side::Right };
        let text = numbers::share(bar.share).into();
        marks.push(Mark::Label { at: [bar.share, y], text, side });
    }
    let zero = vec![[0.0, -0.5], [0.0, last + 0.5]];
    marks.push(Mark::Line { points: zero, stroke: Stroke::Solid });
    let mut up = Axis::names("", bars.iter().rev().map(|it| it.name.clone()));
    up.ticks.reverse();
    let per_cent = ticks(range.map(|it| 100.0 * it), 6).into_iter();
    let per_cent = per_cent.map(|(at, text)| super::Tick { at: at / 100.0, text: text.into() });
    let title = "share of u² in %".into();
    let across = Axis { title, range, ticks: per_cent.collect(), names: false };
    Some(Figure {
        name: "shares",
        title: format!("What the uncertainty is made of{}", place(point)).into(),
        description: description(section, point, &bars).into(),
        across,
        up,
        height: 52.0 * bars.len() as f64,
        marks,
        key: key(&bars),
        hills: None,
    })
}

/// The bars from the largest down; what is no contributor stands last.
fn bars(point: &Point) -> Vec<Bar> {
    let mut kept: Vec<_> = point.contributors.iter().filter(|it| it.kept).collect();
    kept.sort_by(|a, b| b.share.total_cmp(&a.share));
    let shown = if kept.len() > BARS { BARS - 1 } else { kept.len() };
    let hatch = |owner: Owner| match owner {
        Owner::Laboratory => Hatch::Falling,
        Owner::Instrument => Hatch::Open,
    };
    let (large, small) = kept.split_at(shown);
    let bar = |name: Text, share: f64, hatch: Hatch| Bar { name, share, hatch };
    let mut bars: Vec<Bar> =
        large.iter().map(|it| bar(Text::from(&it.name), it.share, hatch(it.owner))).collect();
    if !small.is_empty() {
        let of = |owner: Owner| small.iter().all(|it| it.owner == owner);
        let whose = [Owner::Laboratory, Owner::Instrument].into_iter().find(|it| of(*it));
        let share = small.iter().map(|it| it.share).sum();
        let name = format!("{} others", small.len()).into();
        bars.push(bar(name, share, whose.map_or(Hatch::Rising, hatch)));
    }
    let beside =
        [("correlation", point.correlation_share), ("second order", point.second_order_share)];
    let beside = beside.into_iter().filter(|it| it.1 != 0.0);
    bars.extend(beside.map(|(name, share)| bar(name.into(), share, Hatch::Crossed)));
    bars
}

fn key(bars: &[Bar]) -> Vec<Key> {
    let all = [
        (Hatch::Falling, "the laboratory's"),
        (Hatch::Open, "the instrument's"),
        (Hatch::Rising, "of both"),
        (Hatch::Crossed, "no contributor of its own"),
    ];
    let used = all.into_iter().filter(|it| bars.iter().any(|bar| bar.hatch == it.0));
    used.map(|(hatch, text)| Key { sample: Sample::Area(hatch), text: text.into() }).collect()
}

fn description(section: &Section, point: &Point, bars: &[Bar]) -> String {
    let unit = &section.budget.measurand.unit;
    let each = bars.iter().map(|it| format!("{} {}", it.name, numbers::share(it.share)));
    format!(
        "u = {}{}; shares of u²: {}.",
        short(point.standard_uncertainty, unit),
        place(point),
        each.collect::<Vec<_>>().join("; ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::sample;

    #[test]
    fn bars_are_the_shares_of_the_record_and_add_up() {
        let section = &sample::shown().sections[0];
        let point = &section.points[8];
        let all = bars(point);
        let kept = point.contributors.iter().filter(|it| it.kept);
        let whole: f64 = kept.map(|it| it.share).sum::<f64>()
            + point.correlation_share
            + point.second_order_share;
        assert!((all.iter().map(|it| it.share).sum::<f64>() - whole).abs() < 1e-12);
        let named: Vec<&str> = all.iter().map(|it| it.name.as_str()).collect();
        assert!(named.contains(&"correlation") && named.contains(&"second order"), "{named:?}");
        let at = |name: &str| all.iter().find(|it| it.name.as_str() == name).unwrap().share;
        assert_eq!(at("correlation"), point.correlation_share);
        assert!(at("correlation") < 0.0, "the sample's is negative");
    }

    #[test]
    fn small_ones_beyond_ten_share_a_bar() {
        let mut section = sample::shown().sections[0].clone();
        let point = &mut section.points[0];
        let one = point.contributors[0].clone();
        point.contributors = (0..13)
            .map(|index| {
                let share = if index < 9 { 0.1 } else { 0.025 };
                let name = format!("c{index}");
                crate::record::Contributor { share, kept: true, name, ..one.clone() }
            })
            .collect();
        let all = bars(&section.points[0]);
        // Nine of their own, one for the other four (4·0.025), and the correlation.
        assert_eq!(all[9].name.as_str(), "4 others");
        assert!((all[9].share - 0.1).abs() < 1e-15);
        assert_eq!(all.len(), 11);
        let figure = shares(&section, &section.points[0]).unwrap();
        assert_eq!(figure.up.ticks.len(), 11);
        assert_eq!(figure.up.ticks[0].text.as_str(), "c0");
        assert_eq!(figure.up.ticks[0].at, 10.0, "the largest stands at the top");
        assert!(figure.across.range[0] < point_share(&section));
    }

    fn point_share(section: &Section) -> f64 {
        section.points[0].correlation_share
    }

    #[test]
    fn nothing_is_drawn_without_uncertainty() {
        let mut section = sample::shown().sections[0].clone();
        section.points[0].standard_uncertainty = 0.0;
        assert_eq!(shares(&section, &section.points[0]), None);
    }
}
