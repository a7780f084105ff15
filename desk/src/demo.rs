//! The demonstration: an invented depot's morning, simulated, examined, reported.

use crate::cli::{self, summary};
use crate::examine::examine;
use crate::output::Staged;
use crate::recording::Recording;
use crate::report::{self, Case};
use crate::words::Style;
use indicatif::{ProgressBar, ProgressStyle};
use miette::{IntoDiagnostic as _, Result};
use std::path::Path;

/// Simulates the recordings, reads them back as a user's would be, examines them and writes the report.
///
/// # Errors
/// If the file system refuses.
pub(crate) fn run(out: &Path, seed: u64, style: Style) -> Result<()> {
    let staged = Staged::new(out)?;
    let morning = oddheat_scenes::depot::morning(seed);
    let bar_style = ProgressStyle::with_template("{bar:30} {pos}/{len} {msg}").into_diagnostic()?;
    let bar = ProgressBar::new(morning.len() as u64).with_style(bar_style);
    let mut cases: Vec<Case> = Vec::new();
    for (i, simulated) in morning.iter().enumerate() {
        bar.set_message(simulated.title.clone());
        let name = format!("recordings/{:02}-{}", i + 1, simulated.slug());
        simulated.write(&staged.path(&name)).into_diagnostic()?;
        let mut recording = Recording::open(&staged.path(&name))?;
        // The report must name the place where the recording will lie.
        recording.path = Path::new(&name).to_owned();
        let examination = examine(&recording)?;
        cases.push((recording, examination));
        bar.inc(1);
    }
    bar.finish_and_clear();
    report::write(&staged, style.words.morning, &cases, style)?;
    staged.write("findings.json", cli::json_lines(&cases).as_bytes())?;
    staged.publish()?;
    let (summary, report) = (summary(&cases, style), style.words.headings.report);
    cli::print(&format!("{summary}\n{report}: {}\n", out.join(report::PAGE).display()))
}
