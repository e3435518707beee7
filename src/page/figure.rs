//! A picture as data: curves over one axis, each with an interval; a renderer draws it.

use super::Text;

/// A picture of densities over a common axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it shows.
    pub title: Text,
    /// What a reader who cannot see it has to know.
    pub description: Text,
    /// The axis in words, with its unit.
    pub axis: Text,
    /// What the height is, with its unit.
    pub height: Text,
    /// Where the axis begins and ends.
    pub range: [f64; 2],
    /// The curves, the most important first.
    pub curves: Vec<Curve>,
}

/// A curve over equal cells of the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Its name.
    pub name: Text,
    /// The mean height in each cell, none below zero; empty where there is no curve.
    pub heights: Vec<f64>,
    /// The ends of its interval.
    pub interval: [f64; 2],
    /// The interval in a word.
    pub interval_name: Text,
}

impl Figure {
    /// Returns the largest height; 0 where there is no curve.
    pub fn top(&self) -> f64 {
        self.curves.iter().flat_map(|it| &it.heights).copied().fold(0.0, f64::max)
    }

    /// Returns round numbers on the axis, about `count` of them, with their texts.
    pub fn ticks(&self, count: usize) -> Vec<(f64, String)> {
        let [low, high] = self.range;
        let (step, decimals) = round_step((high - low) / count.max(1) as f64);
        let first = (low / step).ceil();
        let text = |value: f64| match decimals {
            0..=9 => super::numbers::minus(&format!("{:.decimals$}", value + 0.0)),
            _ => super::numbers::significant(value, 4),
        };
        (0..2 * count + 2)
            .map(|at| (first + at as f64) * step)
            .take_while(|it| *it <= high)
            .map(|it| if it.abs() < 1e-9 * step { (0.0, text(0.0)) } else { (it, text(it)) })
            .collect()
    }
}

/// Returns the smallest of 1, 2, 5 times a power of ten that is no smaller than `least`, and the decimals
/// that show it.
fn round_step(least: f64) -> (f64, usize) {
    let text = format!("{least:e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or(("1", "0"));
    let mantissa: f64 = mantissa.parse().unwrap_or(1.0);
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let (digit, exponent) = match mantissa {
        it if it <= 1.0 => (1, exponent),
        it if it <= 2.0 => (2, exponent),
        it if it <= 5.0 => (5, exponent),
        _ => (1, exponent + 1),
    };
    let step = format!("{digit}e{exponent}").parse().unwrap_or(1.0);
    (step, usize::try_from(-exponent).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(low: f64, high: f64) -> Figure {
        let text = Text::default;
        let range = [low, high];
        let curves = Vec::new();
        Figure { title: text(), description: text(), axis: text(), height: text(), range, curves }
    }

    #[test]
    fn ticks_are_round_and_within_the_range() {
        let texts = |low, high| -> Vec<String> {
            figure(low, high).ticks(5).into_iter().map(|it| it.1).collect()
        };
        assert_eq!(texts(-4.1, 4.1), ["−4", "−2", "0", "2", "4"]);
        assert_eq!(texts(0.03, 0.11), ["0.04", "0.06", "0.08", "0.10"]);
        assert_eq!(texts(745.0, 932.0), ["750", "800", "850", "900"]);
    }
}
