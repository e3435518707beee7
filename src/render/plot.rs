//! A figure as an SVG picture that stands on any page: lines and text take the colour of the page, curves
//! are told apart by line style and label, and a reader that cannot see it is told what it shows.

use crate::page::Figure;
use plotters::chart::{ChartBuilder, ChartContext};
use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::{
    AreaSeries, BLACK, Cartesian2d, Color, DashedLineSeries, DrawingArea, IntoDrawingArea,
    IntoFont, LineSeries, PathElement, SVGBackend, Text, TextStyle,
};
use plotters::style::ShapeStyle;

/// Size that is drawn, in units of the picture: large, because places are whole numbers.
const DRAWN: (u32, u32) = (3200, 1800);
/// Size that is shown, in pixels.
const SHOWN: (u32, u32) = (800, 450);
/// Size of letters.
const LETTERS: i32 = 64;
/// Width of lines.
const LINE: u32 = 8;
/// Dash and gap of the second curve.
const DASH: (u32, u32) = (36, 24);

/// The picture could not be drawn.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the picture cannot be drawn: {0}")]
pub struct NotDrawn(String);

type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// Returns a figure as an SVG document.
///
/// # Errors
///
/// [`NotDrawn`], where the drawing library refuses; a figure of finite numbers is drawn.
pub fn svg(figure: &Figure) -> Result<String, NotDrawn> {
    named(figure, "")
}

/// Returns a figure as an SVG document whose names of parts begin with `prefix`, so that several may
/// stand on one page.
///
/// # Errors
///
/// As [`svg`].
pub fn named(figure: &Figure, prefix: &str) -> Result<String, NotDrawn> {
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, DRAWN).into_drawing_area();
        drawn(figure, &area).map_err(NotDrawn)?;
        area.present().map_err(|it| NotDrawn(it.to_string()))?;
    }
    Ok(dressed(&text, figure, prefix))
}

fn drawn(figure: &Figure, area: &DrawingArea<SVGBackend, Shift>) -> Result<(), String> {
    let told = |it: &dyn std::fmt::Display| it.to_string();
    let [low, high] = figure.range;
    let top = figure.top();
    let top = if top > 0.0 { 1.2 * top } else { 1.0 };
    let font = ("sans-serif", LETTERS).into_font();
    let title = ("sans-serif", LETTERS * 5 / 4).into_font();
    let mut chart = ChartBuilder::on(area)
        .margin(60)
        .caption(figure.title.as_str(), title)
        .x_label_area_size(180)
        .y_label_area_size(240)
        .build_cartesian_2d(low..high, 0.0..top)
        .map_err(|it| told(&it))?;
    let texts = figure.ticks(6);
    let label = |value: &f64| {
        let near = |it: &&(f64, String)| (it.0 - value).abs() < 1e-6 * (high - low);
        texts.iter().find(near).map_or(crate::page::numbers::short(*value), |it| it.1.clone())
    };
    chart
        .configure_mesh()
        .disable_mesh()
        .x_labels(7)
        .y_labels(5)
        .x_label_formatter(&label)
        .y_label_formatter(&|value| crate::page::numbers::short(*value))
        .x_desc(figure.axis.as_str())
        .y_desc(figure.height.as_str())
        .axis_style(BLACK.stroke_width(LINE / 2))
        .label_style(font.clone())
        .axis_desc_style(font)
        .draw()
        .map_err(|it| told(&it))?;
    for index in 0..figure.curves.len() {
        curve(figure, index, top, &mut chart).map_err(|it| told(&it))?;
    }
    Ok(())
}

/// Draws a curve, the ends of its interval, and its label with a sample of its line.
fn curve(figure: &Figure, index: usize, top: f64, chart: &mut Chart) -> Result<(), String> {
    let it = &figure.curves[index];
    let [low, high] = figure.range;
    let width = (high - low) / it.heights.len().max(1) as f64;
    let at = |(cell, height): (usize, &f64)| (low + (cell as f64 + 0.5) * width, *height);
    let points: Vec<(f64, f64)> = it.heights.iter().enumerate().map(at).collect();
    let style = BLACK.stroke_width(LINE);
    let told = |it: &dyn std::fmt::Display| it.to_string();
    if index == 0 {
        let area = AreaSeries::new(points.iter().copied(), 0.0, BLACK.mix(0.12));
        chart.draw_series(area).map_err(|it| told(&it))?;
    }
    line(chart, index, points, style)?;
    for end in it.interval {
        line(chart, index, vec![(end, 0.0), (end, 0.45 * top)], style)?;
    }
    let height = top * (0.97 - 0.08 * index as f64);
    let along = |share: f64| low + share * (high - low);
    line(chart, index, vec![(along(0.01), height), (along(0.09), height)], style)?;
    let text = format!("{} ({})", it.name.as_str(), it.interval_name.as_str());
    let letters = TextStyle::from(("sans-serif", LETTERS).into_font());
    let label = Text::new(text, (along(0.1), height + 0.02 * top), letters);
    chart.draw_series(std::iter::once(label)).map(drop).map_err(|it| told(&it))
}

/// Draws a line: the first curve's unbroken, the others' dashed.
fn line(
    chart: &mut Chart,
    index: usize,
    points: Vec<(f64, f64)>,
    style: ShapeStyle,
) -> Result<(), String> {
    let done = match (index, points.len()) {
        (0, 2) => chart.draw_series(std::iter::once(PathElement::new(points, style))).map(drop),
        (0, _) => chart.draw_series(LineSeries::new(points, style)).map(drop),
        _ => {
            let dashed = DashedLineSeries::new(points, DASH.0, DASH.1, style);
            chart.draw_series(dashed).map(drop)
        }
    };
    done.map_err(|it| it.to_string())
}

/// Gives the picture its size, its words and the colour of the page.
fn dressed(text: &str, figure: &Figure, prefix: &str) -> String {
    let start = text.find("<svg").unwrap_or(0);
    let body = text[start..].find('>').map_or("", |it| &text[start + it + 1..]);
    let head = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}\" height=\"{}\" viewBox=\"0 0 {} {}\" \
         role=\"img\" aria-labelledby=\"{prefix}title {prefix}description\">\n\
         <title id=\"{prefix}title\">{}</title>\n<desc id=\"{prefix}description\">{}</desc>",
        SHOWN.0,
        SHOWN.1,
        DRAWN.0,
        DRAWN.1,
        escaped(figure.title.as_str()),
        escaped(figure.description.as_str()),
    );
    let mut picture = head + &body.replace("#000000", "currentColor");
    if !picture.ends_with('\n') {
        picture.push('\n');
    }
    picture
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::figure::Curve;

    fn sample() -> Figure {
        let curve = |name: &str, heights: &[f64]| Curve {
            name: name.into(),
            heights: heights.to_vec(),
            interval: [-2.0, 2.0],
            interval_name: "95 %".into(),
        };
        Figure {
            title: "Where E may lie".into(),
            description: "Two densities".into(),
            axis: "E in µm".into(),
            height: "density in 1/µm".into(),
            range: [-3.0, 3.0],
            curves: vec![
                curve("Monte Carlo", &[0.0, 0.1, 0.4, 0.4, 0.1, 0.0]),
                curve("law, normal", &[0.0, 0.2, 0.3, 0.3, 0.2, 0.0]),
            ],
        }
    }

    #[test]
    fn says_what_it_shows_and_takes_the_colour_of_the_page() {
        let picture = svg(&sample()).unwrap();
        assert!(picture.starts_with("<svg xmlns"), "{picture}");
        assert!(picture.contains("role=\"img\"") && picture.contains("<title id="));
        assert!(picture.contains("currentColor") && !picture.contains("#000000"));
        assert!(!picture.contains("#FFFFFF"), "no background");
        for text in
            ["E in µm", "density in 1/µm", "Monte Carlo", "law, normal (95 %)", "Two densities"]
        {
            assert!(picture.contains(text), "{text}");
        }
        assert!(picture.trim_end().ends_with("</svg>"));
        assert_eq!(svg(&sample()).unwrap(), picture);
    }

    #[test]
    fn keeps_markup_in_names_as_text() {
        let mut figure = sample();
        figure.title = "<script>a()</script> & b".into();
        figure.axis = "<b>E</b>".into();
        let picture = svg(&figure).unwrap();
        assert!(!picture.contains("<script>") && !picture.contains("<b>"), "{picture}");
    }

    #[test]
    fn draws_a_figure_without_a_second_curve() {
        let mut figure = sample();
        figure.curves[1].heights.clear();
        assert!(svg(&figure).is_ok());
    }
}
