//! The command line.

use crate::budget::{self, BudgetArgs};
use crate::calibrate::{self, CalibrateArgs};
use crate::demo;
use crate::examine::{Examination, examine, repair_lines, ring_lines, to_json};
use crate::output::Staged;
use crate::practice::{self, AirArgs, EmissivityArgs, ReflectedArgs, SpotArgs};
use crate::recording::{
    Connectivity, Recording, RegionLimit, RegionRules, Scale, StatedScale, TemperatureUnit as Pixels,
};
use crate::report::{self, Case};
use crate::simulate::{self, SimulateArgs};
use crate::words::{Style, Tongue};
use clap::{Args, Parser, Subcommand};
use miette::IntoDiagnostic as _;
use miette::{Result, miette};
use oddheat_core::checks::{Kind, View};
use oddheat_core::finding::{Grade, Symptom};
use oddheat_core::wording::{TemperatureUnit, brief_text};
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

#[derive(Debug, Parser)]
#[command(
    name = "oddheat",
    version,
    about = "Finds heat that is where it should not be, in recordings of a thermal sensor"
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Simulate an invented depot's morning, examine it, and write a report
    Demo {
        /// Folder for recordings, findings and report
        #[arg(long, default_value = "out/demo")]
        out: PathBuf,
        /// Seed of the simulation
        #[arg(long, default_value_t = 1)]
        seed: u64,
        #[command(flatten)]
        text: TextArgs,
    },
    /// Examine recordings: folders with a recording.toml, or bare images with a stated scale
    Examine(ExamineArgs),
    /// Simulate recordings with ground truth
    Simulate(SimulateArgs),
    /// Fit a calibration curve to blackbody points
    Calibrate(CalibrateArgs),
    /// Print the uncertainty budget of a temperature in a stated scene
    Budget(BudgetArgs),
    /// Work out an emissivity from a patch or a contact thermometer
    Emissivity(EmissivityArgs),
    /// Work out the reflected apparent temperature from a reading of crumpled foil
    Reflected(ReflectedArgs),
    /// Say whether a part is large enough to be measured
    Spot(SpotArgs),
    /// Work out the transmittance of the air at workshop distances
    Air(AirArgs),
    /// List emissivities of vehicle surfaces with their sources
    Surfaces {
        /// A word of the key or name; without one, all are listed
        word: Option<String>,
    },
    /// Say what a check needs: set-up, conditions, what to aim at, cautions
    Brief {
        /// Key of the check; without one, all checks are listed
        check: Option<String>,
        /// Add its limits with their sources
        #[arg(long)]
        limits: bool,
        #[command(flatten)]
        text: TextArgs,
    },
}

#[derive(Debug, Args)]
struct ExamineArgs {
    /// Recordings
    #[arg(required = true, value_name = "RECORDING")]
    recordings: Vec<PathBuf>,
    /// Print one JSON object per recording instead of a summary
    #[arg(long)]
    json: bool,
    /// Write a report with pictures into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    text: TextArgs,
    #[command(flatten)]
    image: ImageArgs,
    #[command(flatten)]
    regions: RegionArgs,
}

/// How findings, briefs and reports are written. JSON, errors and help are the same in every language.
#[derive(Debug, Args)]
struct TextArgs {
    /// Write temperatures in °F
    #[arg(long)]
    fahrenheit: bool,
    /// Language of findings, briefs and reports
    #[arg(long, value_name = "LANGUAGE", value_enum, default_value_t)]
    language: Tongue,
}

impl TextArgs {
    const fn style(&self) -> Style {
        let unit = if self.fahrenheit { TemperatureUnit::Fahrenheit } else { TemperatureUnit::Celsius };
        Style { unit, words: self.language.words() }
    }
}

/// For bare images.
#[derive(Debug, Args)]
struct ImageArgs {
    /// Bare images: counts per kelvin and the temperature of count 0 in °C
    #[arg(long, value_name = "CPK,ZERO_C", value_parser = linear, allow_hyphen_values = true, group = "meaning")]
    scale: Option<Scale>,
    /// Bare images: the calibration curve as A [µm], B [µm K], C, offset [counts] and, if not 1, shape
    #[arg(long, value_name = "A,B,C,OFFSET[,SHAPE]", value_parser = curve, allow_hyphen_values = true, group = "meaning")]
    curve: Option<Scale>,
    /// Bare images: floating-point pixels are temperatures in °C
    #[arg(long, group = "meaning")]
    celsius: bool,
    /// Bare images: floating-point pixels are temperatures in K
    #[arg(long, group = "meaning")]
    kelvin: bool,
}

/// Region rules; they replace those of a recording.
#[derive(Debug, Args)]
struct RegionArgs {
    /// Regions hotter than the median of their picture by this many kelvin
    #[arg(long, value_name = "K", allow_negative_numbers = true)]
    hot: Option<f64>,
    /// Regions colder than the median of their picture by this many kelvin
    #[arg(long, value_name = "K", allow_negative_numbers = true)]
    cold: Option<f64>,
    /// Smallest region in pixels
    #[arg(long, value_name = "PIXELS", default_value_t = 1)]
    min_area: u32,
    /// Neighbors that belong together: 4 or 8
    #[arg(long, default_value_t = 8, value_parser = clap::value_parser!(u8).range(4..=8))]
    connectivity: u8,
}

impl ImageArgs {
    fn stated(&self) -> Option<StatedScale> {
        let temperatures = match (self.celsius, self.kelvin) {
            (true, _) => Some(StatedScale::Temperatures(Pixels::Celsius)),
            (false, true) => Some(StatedScale::Temperatures(Pixels::Kelvin)),
            (false, false) => None,
        };
        self.scale.or(self.curve).map(StatedScale::Counts).or(temperatures)
    }
}

/// Numbers of a comma-separated list.
pub(crate) fn numbers(text: &str) -> Result<Vec<f64>, String> {
    let number = |part: &str| part.trim().parse().map_err(|_| format!("expected a number, found \"{part}\""));
    text.split(',').map(number).collect()
}

fn linear(text: &str) -> Result<Scale, String> {
    match numbers(text)?[..] {
        [counts_per_kelvin, zero_c] => Ok(Scale::Linear { counts_per_kelvin, zero_c }),
        ref other => Err(format!("expected 2 numbers, found {}", other.len())),
    }
}

pub(crate) fn curve(text: &str) -> Result<Scale, String> {
    match numbers(text)?[..] {
        [a_um, b_um_k, c_counts, offset_counts] => {
            Ok(Scale::Curve { a_um, b_um_k, c_counts, offset_counts, shape: 1.0 })
        }
        [a_um, b_um_k, c_counts, offset_counts, shape] => {
            Ok(Scale::Curve { a_um, b_um_k, c_counts, offset_counts, shape })
        }
        ref other => Err(format!("expected 4 or 5 numbers, found {}", other.len())),
    }
}

impl RegionArgs {
    /// The rules, or `None` if none were asked for.
    fn rules(&self) -> Result<Option<RegionRules>> {
        let limit = |name: &str, kelvin: Option<f64>| match kelvin {
            Some(k) if !(k > 0.0 && k <= 1_700.0) => {
                Err(miette!("--{name}: expected kelvin above 0 and at most 1700, found {k}"))
            }
            other => Ok(other.map(RegionLimit::FromMedianK)),
        };
        let (hot, cold) = (limit("hot", self.hot)?, limit("cold", self.cold)?);
        let connectivity = match self.connectivity {
            4 => Connectivity::Four,
            8 => Connectivity::Eight,
            other => return Err(miette!("--connectivity: expected 4 or 8, found {other}")),
        };
        // As many as the table takes: a desktop need not be sparing.
        let capacity = 32_766;
        let wanted = hot.is_some() || cold.is_some();
        Ok(wanted.then(|| RegionRules::new(hot, cold, self.min_area.max(1), connectivity, capacity)))
    }
}

/// Runs the program.
///
/// # Errors
/// A report for the person at the terminal; the program then ends with a status other than 0.
pub fn run() -> Result<()> {
    match Cli::parse().command {
        Command::Demo { out, seed, text } => demo::run(&out, seed, text.style()),
        Command::Examine(args) => run_examine(&args),
        Command::Simulate(args) => print(&simulate::run(&args)?),
        Command::Calibrate(args) => print(&calibrate::run(&args)?),
        Command::Budget(args) => print(&budget::run(&args)?),
        Command::Emissivity(args) => print(&practice::emissivity(&args)?),
        Command::Reflected(args) => print(&practice::reflected(&args)?),
        Command::Spot(args) => print(&practice::spot(&args)?),
        Command::Air(args) => print(&practice::air(&args)?),
        Command::Surfaces { word } => print(&practice::surfaces(word.as_deref())?),
        Command::Brief { check, limits, text } => brief(check.as_deref(), limits, text.style()),
    }
}

/// Writes to standard output. A reader that stops early, such as `head`, is not an error.
pub(crate) fn print(text: &str) -> Result<()> {
    match std::io::stdout().write_all(text.as_bytes()) {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => other.into_diagnostic(),
    }
}

/// Reads and examines everything before anything is written or printed.
fn run_examine(args: &ExamineArgs) -> Result<()> {
    let (rules, style) = (args.regions.rules()?, args.text.style());
    let mut cases: Vec<Case> = Vec::new();
    for path in &args.recordings {
        let mut recording = open(path, &args.image)?;
        if rules.is_some() {
            recording.regions = rules;
        }
        let examination = examine(&recording)?;
        cases.push((recording, examination));
    }
    if let Some(out) = &args.out {
        let staged = Staged::new(out)?;
        report::write(&staged, style.words.examination, &cases, style)?;
        staged.write("findings.json", json_lines(&cases).as_bytes())?;
        staged.publish()?;
    }
    if args.json {
        return print(&json_lines(&cases));
    }
    let mut text = format!("{}\n", summary(&cases, style));
    for (recording, examination) in &cases {
        if let Some(finding) = &examination.finding {
            let words = finding_words(finding, style);
            // Writing to a string cannot fail.
            let _ = write!(text, "\n{}\n{words}\n", recording.title);
        }
        for line in ring_lines(&examination.rings, style.words) {
            let _ = writeln!(text, "{line}.");
        }
        for line in repair_lines(recording, style.words) {
            let _ = writeln!(text, "{}: {line}.", style.words.headings.sensor);
        }
    }
    if let Some(out) = &args.out {
        let _ = writeln!(text, "\n{}: {}", style.words.headings.report, out.join(report::PAGE).display());
    }
    print(&text)
}

fn open(path: &Path, image: &ImageArgs) -> Result<Recording> {
    let described = path.is_dir() || path.extension().is_some_and(|extension| extension == "toml");
    match image.stated() {
        Some(scale) if !described => Ok(Recording::from_image(path, scale)?),
        // A recording states its own scale; a bare image without one is refused by the reader, which says so.
        _ => Ok(Recording::open(path)?),
    }
}

/// One JSON object a line.
pub(crate) fn json_lines(cases: &[Case]) -> String {
    cases.iter().map(|(recording, examination)| format!("{}\n", to_json(recording, examination))).collect()
}

/// A finding in words.
fn finding_words(finding: &oddheat_core::finding::Finding, Style { unit, words }: Style) -> String {
    let needed = oddheat_core::wording::finding_text(words.language, finding, unit, &mut []);
    let mut text = vec![0; needed];
    oddheat_core::wording::finding_text(words.language, finding, unit, &mut text);
    String::from_utf8_lossy(&text).into_owned()
}

/// A table: recording, check, grade, the deciding number or what stopped the check.
pub(crate) fn summary(cases: &[Case], style: Style) -> String {
    let rows: Vec<[String; 4]> =
        cases.iter().map(|(recording, examination)| summary_row(recording, examination, style)).collect();
    let headings = &style.words.headings;
    let head = [headings.recording, headings.check, headings.finding, headings.because].map(str::to_owned);
    let widths: Vec<usize> = (0..3)
        .map(|column| rows.iter().chain([&head]).map(|row| row[column].chars().count()).max().unwrap_or(0))
        .collect();
    let mut out = String::new();
    for row in [&head].into_iter().chain(&rows) {
        for (cell, width) in row.iter().zip(&widths) {
            // Writing to a string cannot fail.
            let _ = write!(out, "{cell:width$}  ");
        }
        out.push_str(&row[3]);
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out
}

fn summary_row(recording: &Recording, examination: &Examination, Style { unit, words }: Style) -> [String; 4] {
    let language = words.language;
    let regions: usize = examination.views.iter().filter_map(|view| view.regions.as_ref()).map(|r| r.rows.len()).sum();
    let check = examination.kind.map_or("–", |kind| kind.key()).to_owned();
    let Some(finding) = &examination.finding else {
        return [recording.title.clone(), check, "–".to_owned(), (words.regions)(regions)];
    };
    let because = match (finding.gates.first(), finding.evidence.first()) {
        (Some(failed), _) => (language.gate)(failed.gate).to_string(),
        // Something was seen and found harmless: the first number would belie the grade.
        (None, _) if finding.grade == Grade::None && finding.symptom != Symptom::NothingSeen => {
            (language.symptom)(finding.symptom).to_string()
        }
        (None, Some(evidence)) => {
            let mut buffer = [0u8; 64];
            let mut writer = oddheat_core::wording::Writer::new(&mut buffer);
            writer.value(evidence, unit);
            let written = writer.written();
            let side = match evidence.view {
                Some(view) if view != View::Single => (words.side)(&(language.view)(view).to_string()),
                _ => String::new(),
            };
            let value = String::from_utf8_lossy(&buffer[..written]);
            format!("{} {value}{side}", (language.metric)(evidence.metric))
        }
        (None, None) => (language.symptom)(finding.symptom).to_string(),
    };
    [recording.title.clone(), check, (words.grade)(finding.grade).to_string(), because]
}

fn brief(key: Option<&str>, limits: bool, Style { unit, words }: Style) -> Result<()> {
    let Some(key) = key else {
        let line = |kind: &Kind| format!("{:12} {}\n", kind.key(), (words.about)(*kind));
        return print(&Kind::ALL.iter().map(line).collect::<String>());
    };
    let kind = Kind::from_key(key).ok_or_else(|| {
        let known: Vec<&str> = Kind::ALL.iter().map(|kind| kind.key()).collect();
        miette!("brief: expected one of {}, found \"{key}\"", known.join(", "))
    })?;
    let mut text = vec![0; brief_text(words.language, kind, unit, limits, &mut [])];
    brief_text(words.language, kind, unit, limits, &mut text);
    print(&format!("{}\n", String::from_utf8_lossy(&text)))
}
