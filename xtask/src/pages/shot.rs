//! A case of a check: drawn, examined by the bench, and shown as the bench's report shows it, with what was found in
//! words.

use super::{INDEX, png};
use crate::bench;
use anyhow::{Result, anyhow};
use oddheat_core::checks::{Role, View};
use oddheat_core::finding::Finding;
use oddheat_core::wording::{ENGLISH, TemperatureUnit};
use oddheat_desk::examine::{Examination, ViewImage};
use oddheat_desk::picture::{self, Mark, Panel, Style, Subject};
use oddheat_desk::recording::Recording as Read;
use oddheat_desk::report::{EvidenceWords, evidence, gates};
use oddheat_scenes::case::{Case, SeedSet};
use oddheat_scenes::catalog::Check;
use oddheat_scenes::recording::Truth;
use oddheat_scenes::sensor::Sensor;
use serde::Serialize;

/// Unit of everything on a page.
pub(super) const UNIT: TemperatureUnit = TemperatureUnit::Celsius;
/// Steps of color: about as many as an eye tells apart along a bar, and noise in fewer steps makes smaller files.
const STEPS: u8 = 48;
/// Pictures that a page is about, and those in a column of a table.
const LARGE: Style = Style { least_width: 600, steps: STEPS, unit: UNIT };
const SMALL: Style = Style { least_width: 300, steps: STEPS, unit: UNIT };

/// Which marks a picture has.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Marks {
    /// None.
    Bare,
    /// What the operator placed, with roles.
    Placed,
    /// What was measured; the suspect with its role.
    Measured,
    /// The suspect with its role: in a small picture more would hide what it shows.
    Suspect,
}

/// A case as a page shows it.
#[derive(Serialize)]
pub(super) struct Shot {
    /// What the scene was meant to be.
    case: String,
    /// The same in words.
    title: String,
    /// What a decoy or a circumstance is.
    about: &'static str,
    /// What was simulated.
    truth: String,
    /// What is in the picture, for those who do not see it.
    alt: String,
    /// Its picture, relative to the page.
    picture: String,
    /// What is side by side in it.
    #[serde(skip)]
    pub(super) views: Vec<View>,
    /// What the bench found; none if it refused.
    found: Option<Found>,
    /// Why it refused.
    refusal: Option<String>,
}

/// A finding in words.
#[derive(Serialize)]
struct Found {
    grade: &'static str,
    grade_words: String,
    symptom: String,
    suspect: Option<String>,
    evidence: Vec<String>,
    gates: Vec<[String; 2]>,
    causes: Vec<String>,
}

/// A file of a page: name and content.
pub(super) type File = (String, Vec<u8>);

/// Draws and examines a case; gives it with its pictures. The one of a sound part is large, and there is one more that
/// says what is placed on it.
///
/// # Errors
/// If a file cannot be written or the bench refuses the sound part, which every page needs.
pub(super) fn take(check: &'static Check, case: Case) -> Result<(Shot, Vec<File>)> {
    let drawn = check.draw(case, SeedSet::Tuning.seed(INDEX), Some(&Sensor::medium()));
    let name = file_name(check.key, &case.to_string());
    let (mut files, mut views) = (Vec::new(), Vec::new());
    let (found, refusal) = match bench::examined(&drawn)? {
        Ok((read, examination)) => {
            let (marks, style) = match case {
                Case::Normal => (Marks::Bare, LARGE),
                Case::Decoy(_) | Case::Gated(_) => (Marks::Suspect, SMALL),
                Case::Fault { .. } | Case::Sweep { .. } | Case::Unresolvable => (Marks::Measured, LARGE),
            };
            files.push((name.clone(), drawing(&read, &examination, marks, style)?));
            if case == Case::Normal {
                files.push((file_name(check.key, "aim"), drawing(&read, &examination, Marks::Placed, LARGE)?));
            }
            views = examination.views.iter().map(|image| image.view).collect();
            (examination.finding.as_ref().map(found), None)
        }
        Err(refusal) if case == Case::Normal => return Err(anyhow!("{} {case}: {refusal}", check.key)),
        Err(refusal) => (None, Some(refusal)),
    };
    let title = words(case);
    let alt = format!("Simulated thermal picture, {}: {title}", check.key);
    let (case, about, truth) = (case.to_string(), about(case), truth(&drawn.truth));
    Ok((Shot { case, title, about, truth, alt, picture: name, views, found, refusal }, files))
}

/// Where a picture lies, relative to the page.
pub(super) fn file_name(check: &str, picture: &str) -> String {
    format!("pictures/{check}/{}.png", picture.replace(' ', "-"))
}

fn drawing(read: &Read, examination: &Examination, wanted: Marks, style: Style) -> Result<Vec<u8>> {
    let suspect = examination.finding.as_ref().and_then(|finding| finding.suspect);
    let marks_in = |view: View| -> Vec<Mark> {
        let placed = read.places.iter().filter(|place| place.view == view);
        let measured = examination.readings.iter().map(|reading| reading.place).filter(|place| place.view == view);
        match wanted {
            Marks::Bare => Vec::new(),
            Marks::Placed => placed.map(|place| Mark::Shape(place.role.key().to_owned(), place.shape)).collect(),
            Marks::Measured | Marks::Suspect => measured
                .filter_map(|place| {
                    let named = suspect == Some((place.role, place.view));
                    let outline = (wanted == Marks::Measured).then_some(Mark::Outline(place.shape));
                    if named { Some(Mark::Shape(place.role.key().to_owned(), place.shape)) } else { outline }
                })
                .collect(),
        }
    };
    let marks: Vec<Vec<Mark>> = examination.views.iter().map(|image| marks_in(image.view)).collect();
    let name = |image: &ViewImage| match image.view {
        View::Single => String::new(),
        view => (ENGLISH.view)(view).to_string(),
    };
    let names: Vec<String> = examination.views.iter().map(name).collect();
    let panels: Vec<Panel<'_>> = examination
        .views
        .iter()
        .zip(&names)
        .zip(&marks)
        .map(|((image, name), marks)| Panel { subject: Subject::of(read, &image.counts, &image.equation), name, marks })
        .collect();
    let subjects: Vec<Subject<'_>> = panels.iter().map(|panel| panel.subject).collect();
    png::encode(&picture::draw_panels(&panels, picture::range(&subjects), style))
}

fn words(case: Case) -> String {
    match case {
        Case::Normal => "sound".to_owned(),
        Case::Unresolvable => "too slight to show".to_owned(),
        Case::Fault { fault, .. } | Case::Sweep { fault } => plain(fault),
        Case::Decoy(decoy) => plain(decoy.key()),
        Case::Gated(gate) => plain(gate.key()),
    }
}

/// A key as words.
fn plain(key: &str) -> String {
    key.replace('-', " ")
}

const fn about(case: Case) -> &'static str {
    match case {
        Case::Decoy(decoy) => decoy.about(),
        Case::Gated(gate) => gate.about(),
        Case::Normal | Case::Unresolvable | Case::Fault { .. } | Case::Sweep { .. } => "",
    }
}

fn truth(truth: &Truth) -> String {
    if truth.fault == "none" {
        return "nothing is wrong".to_owned();
    }
    let digits = if truth.severity.abs() < 0.95 { 2 } else { usize::from(truth.severity.abs() < 99.5) };
    format!("{}, {:.digits$} {}", plain(truth.fault), truth.severity, truth.severity_unit)
}

fn found(finding: &Finding) -> Found {
    Found {
        grade: finding.grade.key(),
        grade_words: (ENGLISH.grade)(finding.grade).to_string(),
        symptom: (ENGLISH.symptom)(finding.symptom).to_string(),
        suspect: finding.suspect.map(place),
        evidence: evidence(finding, UNIT).into_iter().map(line).collect(),
        gates: gates(finding),
        causes: finding.causes.iter().map(|&cause| (ENGLISH.cause)(cause).to_string()).collect(),
    }
}

fn place((role, view): (Role, View)) -> String {
    let side = if view == View::Single { String::new() } else { format!(", {}", (ENGLISH.view)(view)) };
    format!("{}{side}", (ENGLISH.role)(role))
}

/// The limits have a table of their own, so a line has only the grade that its number supports.
fn line(words: EvidenceWords) -> String {
    let at = if words.place.is_empty() { String::new() } else { format!(", {}", words.place) };
    let grade = match (words.grade, words.reaches) {
        (None, None) => String::new(),
        (Some(grade), None) => format!(" → {grade}"),
        (grade, Some(reaches)) => format!(" → {}, perhaps {reaches}", grade.as_deref().unwrap_or("none")),
    };
    format!("{}{at}: {}{grade}", words.what, words.value)
}
