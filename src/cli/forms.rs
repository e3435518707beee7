//! The forms of a report: from a record to the bytes of a file.

use super::{Failure, output};
use crate::page::{self, Page, figure};
use crate::record::Record;
use crate::render;
use clap::ValueEnum;

/// Sheets that a report is to fit onto, where that can be.
#[cfg(feature = "pdf")]
const SHEETS: usize = 2;

/// The width of a PNG picture, in pixels.
#[cfg(feature = "png")]
const PIXELS: u32 = 1600;

/// The form of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(super) enum Form {
    /// One page for a browser, in one file
    #[default]
    Html,
    /// For paper
    #[cfg(feature = "pdf")]
    Pdf,
    /// Markdown
    Md,
    /// Plain text, 100 columns wide
    Txt,
    /// The whole record, for programs
    Json,
    /// A row per point and contributor
    Csv,
    /// The budget with live formulas, for a spreadsheet
    Xlsx,
    /// One picture, crisp at any size
    Svg,
    /// One picture in pixels
    #[cfg(feature = "png")]
    Png,
}

/// The paper of a PDF.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(super) enum Paper {
    /// 210 mm × 297 mm
    #[default]
    A4,
    /// 8.5 in × 11 in
    Letter,
}

/// A picture of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(super) enum Picture {
    /// All points between their limits
    #[default]
    Points,
    /// What u² is made of at the decisive point
    Shares,
    /// Where the true value may lie at the decisive point
    Density,
    /// The probability of acceptance over the true error
    OperatingCurve,
    /// U at all points under a straight line
    Uncertainty,
    /// How the points hang together
    Correlation,
}

/// What a form leaves open.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look {
    pub(super) figure: Picture,
    pub(super) paper: Paper,
}

impl Form {
    /// Returns the ending of its files.
    pub(super) fn ending(self) -> String {
        self.to_possible_value().map_or(String::new(), |it| it.get_name().to_owned())
    }

    /// Whether it is one picture.
    pub(super) fn is_picture(self) -> bool {
        match self {
            Form::Svg => true,
            #[cfg(feature = "png")]
            Form::Png => true,
            _ => false,
        }
    }

    /// Whether it has sheets of paper.
    pub(super) fn is_paper(self) -> bool {
        match self {
            #[cfg(feature = "pdf")]
            Form::Pdf => true,
            _ => false,
        }
    }

    /// Returns the form of an ending in lower case.
    pub(super) fn of_ending(ending: &str) -> Option<Form> {
        let ending = if ending == "htm" { "html" } else { ending };
        Form::value_variants().iter().copied().find(|it| it.ending() == ending)
    }
}

impl Picture {
    /// Returns the name that pages know.
    fn name(self) -> String {
        self.to_possible_value().map_or(String::new(), |it| it.get_name().to_owned())
    }
}

/// Returns the endings that a report may have, the usual one first.
pub(super) fn endings() -> Vec<&'static str> {
    let mut endings = vec!["html", "md", "txt", "json", "csv", "xlsx", "svg"];
    if cfg!(feature = "pdf") {
        endings.push("pdf");
    }
    if cfg!(feature = "png") {
        endings.push("png");
    }
    endings
}

/// Returns the bytes of a report.
///
/// # Errors
///
/// [`Failure::Input`] for a picture that the record has nothing for; [`Failure::Machine`] where a form cannot
/// be made.
pub(super) fn made(record: &Record, form: Form, look: &Look) -> Result<Vec<u8>, Failure> {
    let page = || page::report::page(record);
    Ok(match form {
        Form::Html => render::html::render(&page()).into_bytes(),
        #[cfg(feature = "pdf")]
        Form::Pdf => pdf(&page::report::paper(record), look.paper)?,
        Form::Md => render::markdown::render(&page()).into_bytes(),
        Form::Txt => output::plain(&page()).into_bytes(),
        Form::Json => render::json::render(record).map_err(broken)?.into_bytes(),
        Form::Csv => render::csv::render(&page::rows::of(record)).map_err(broken)?.into_bytes(),
        Form::Xlsx => render::xlsx::render(&page::workbook::of(record)).map_err(broken)?,
        Form::Svg => render::plot::svg(&picture(record, look)?).map_err(broken)?.into_bytes(),
        #[cfg(feature = "png")]
        Form::Png => render::png(&picture(record, look)?, PIXELS).map_err(broken)?,
    })
}

#[cfg(feature = "pdf")]
fn pdf(page: &Page, paper: Paper) -> Result<Vec<u8>, Failure> {
    let paper = match paper {
        Paper::A4 => render::pdf::Paper::A4,
        Paper::Letter => render::pdf::Paper::Letter,
    };
    render::pdf::render_within(page, paper, SHEETS).map_err(broken)
}

fn picture(record: &Record, look: &Look) -> Result<figure::Figure, Failure> {
    let name = look.figure.name();
    let found = record.sections.iter().find_map(|section| {
        let point = page::report::decisive(section)?;
        figure::by_name(&name, section, point)
    });
    found.ok_or_else(|| {
        let help = match look.figure {
            Picture::Density | Picture::OperatingCurve => {
                "a reading is needed: a worksheet, or --at and --reading"
            }
            // The record of a worksheet has no correlations of its budget.
            Picture::Correlation if record.worksheet.is_some() => {
                "give the budget of several points, not a worksheet"
            }
            Picture::Correlation => "a budget with several points is needed",
            _ => "--figure points",
        };
        Failure::Input(format!("--figure: there is nothing to draw for `{name}`\nhelp: {help}"))
    })
}

fn broken(reason: impl std::fmt::Display) -> Failure {
    Failure::Machine(reason.to_string())
}
