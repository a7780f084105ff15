//! The report: one HTML page with pictures, tables and findings, readable without a network.

mod page;
mod words;

pub use words::{EvidenceWords, evidence, gates};

use crate::examine::{Examination, ViewImage};
use crate::output::Staged;
use crate::picture::{self, Mark, Subject};
use crate::recording::Recording;
use crate::words::Style;
use image::ImageFormat;
use miette::{IntoDiagnostic as _, Result};
use std::io::Cursor;

/// Name of the page in its folder.
pub const PAGE: &str = "report.html";

/// An examined recording.
pub type Case = (Recording, Examination);

/// Regions numbered in a picture and listed in its table, at most; the JSON has them all.
const SHOWN_REGIONS: usize = 40;

/// Writes `report.html` and its pictures.
///
/// # Errors
/// If the file system refuses.
pub(crate) fn write(staged: &Staged, title: &str, cases: &[Case], style: Style) -> Result<()> {
    for (i, (recording, examination)) in cases.iter().enumerate() {
        let subject = |image| subject(recording, image);
        // One scale for all views of a recording: they are there to be compared.
        let range = picture::range(&examination.views.iter().map(subject).collect::<Vec<_>>());
        for image in &examination.views {
            let shapes = examination.readings.iter().map(|r| r.place).filter(|place| place.view == image.view);
            let mut marks: Vec<Mark> =
                shapes.map(|place| Mark::Shape((style.words.label)(place.role).to_string(), place.shape)).collect();
            let regions = image.regions.iter().flat_map(|regions| &regions.rows).take(SHOWN_REGIONS);
            marks.extend(regions.enumerate().map(|(n, row)| Mark::Region(n + 1, row.region)));
            let mut png = Cursor::new(Vec::new());
            picture::draw(&subject(image), range, &marks, picture::Style::bench(style.unit))
                .write_to(&mut png, ImageFormat::Png)
                .into_diagnostic()?;
            staged.write(&page::picture_name(i, image.view), png.get_ref())?;
        }
    }
    staged.write(PAGE, page::render(title, cases, style)?.as_bytes())
}

fn subject<'a>(recording: &Recording, image: &'a ViewImage) -> Subject<'a> {
    Subject::of(recording, &image.counts, &image.equation)
}
