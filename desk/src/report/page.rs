//! Fills the page's template.

use super::words::{EvidenceWords, evidence_in, gates_in, place};
use super::{Case, SHOWN_REGIONS};
use crate::budget::input_unit;
use crate::examine::{COVERAGE_FACTOR, Examination, PlaceReading, repair_lines, variance_share};
use crate::words::{Style, Words};
use miette::{IntoDiagnostic as _, Result};
use minijinja::{AutoEscape, Environment, context};
use oddheat_core::checks::{Condition, Unit, View};
use oddheat_core::finding::Finding;
use oddheat_core::wording::{TemperatureUnit, Text};
use serde::Serialize;

/// Where a case's picture of a view lies, relative to the page.
pub(super) fn picture_name(case: usize, view: View) -> String {
    format!("pictures/{:02}-{}.png", case + 1, view.key())
}

#[derive(Serialize)]
struct CaseText {
    number: usize,
    title: String,
    path: String,
    check: Option<String>,
    grade: &'static str,
    grade_word: String,
    grade_words: String,
    symptom: String,
    note: Option<String>,
    pictures: Vec<PictureText>,
    conditions: Vec<(String, String)>,
    readings: Vec<[String; 6]>,
    budgets: Vec<BudgetText>,
    sensor: Vec<String>,
    evidence: Vec<[String; 4]>,
    gates: Vec<[String; 2]>,
    causes: Vec<String>,
    tests: Vec<String>,
    cautions: Vec<String>,
    notes: Vec<String>,
}

/// The parts of one temperature's uncertainty.
#[derive(Serialize)]
struct BudgetText {
    title: String,
    rows: Vec<[String; 5]>,
}

#[derive(Serialize)]
struct PictureText {
    file: String,
    caption: String,
    found: Option<String>,
    regions: Vec<[String; 7]>,
}

/// The page as HTML.
pub(super) fn render(title: &str, cases: &[Case], style: Style) -> Result<String> {
    let mut environment = Environment::new();
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    environment.add_template("report", include_str!("template.html")).into_diagnostic()?;
    let cases: Vec<CaseText> = cases.iter().enumerate().map(|(i, case)| case_text(i, case, style)).collect();
    let version = env!("CARGO_PKG_VERSION");
    let template = environment.get_template("report").into_diagnostic()?;
    let cases = minijinja::Value::from(minijinja::value::Serde(cases));
    let language = style.words.language.key;
    let words = minijinja::Value::from(minijinja::value::Serde(&style.words.headings));
    template.render(context! { title, version, language, words, cases }).into_diagnostic()
}

fn case_text(index: usize, (recording, examination): &Case, style: Style) -> CaseText {
    let (finding, words, language) = (examination.finding.as_ref(), style.words, style.words.language);
    fn all<T: Copy>(codes: Option<&[T]>, words: fn(T) -> Text) -> Vec<String> {
        codes.unwrap_or_default().iter().map(|&code| words(code).to_string()).collect()
    }
    CaseText {
        number: index + 1,
        title: recording.title.clone(),
        path: recording.path.display().to_string(),
        check: examination.kind.map(|kind| (language.kind)(kind).to_string()),
        grade: finding.map_or("unjudged", |finding| finding.grade.key()),
        grade_word: finding
            .map_or_else(|| words.unjudged.to_owned(), |finding| (words.grade)(finding.grade).to_string()),
        grade_words: finding
            .map_or_else(|| words.no_check_asked.to_owned(), |finding| (language.grade)(finding.grade).to_string()),
        symptom: finding
            .map_or_else(|| regions_found(examination, words), |f| (language.symptom)(f.symptom).to_string()),
        note: recording.note.clone(),
        pictures: pictures(index, examination, style),
        conditions: recording
            .conditions
            .iter()
            .map(|&(c, value)| ((language.condition)(c).to_string(), stated(c, value, style)))
            .collect(),
        readings: examination.readings.iter().map(|reading| reading_row(reading, style)).collect(),
        budgets: examination.readings.iter().filter_map(|reading| budget(reading, style)).collect(),
        sensor: repair_lines(recording, words),
        evidence: finding.map_or_else(Vec::new, |finding| evidence_rows(finding, style)),
        gates: finding.map_or_else(Vec::new, |finding| gates_in(finding, words)),
        causes: all(finding.map(|f| f.causes.as_slice()), language.cause),
        tests: all(finding.map(|f| f.tests.as_slice()), language.test),
        cautions: all(finding.map(|f| f.cautions.as_slice()), language.caution),
        notes: all(finding.map(|f| f.notes.as_slice()), language.note),
    }
}

/// What stands for a symptom where no check was asked for.
fn regions_found(examination: &Examination, words: &Words) -> String {
    let regions = examination.views.iter().filter_map(|view| view.regions.as_ref());
    (words.regions)(regions.map(|regions| regions.rows.len()).sum())
}

fn stated(condition: Condition, value: f64, Style { unit, words }: Style) -> String {
    match condition.unit() {
        Unit::YesNo => if value == 0.0 { words.no } else { words.yes }.to_owned(),
        Unit::Temperature => absolute(value, unit),
        Unit::KelvinDifference => difference(value, unit),
        // The library keeps thousandths; more digits would not be what was used.
        other => format!("{} {}", (value * 1000.0).round() / 1000.0, (words.language.unit)(other)),
    }
}

/// A temperature given in °C.
fn absolute(celsius: f64, unit: TemperatureUnit) -> String {
    match unit {
        TemperatureUnit::Celsius => format!("{celsius:.1} °C"),
        TemperatureUnit::Fahrenheit => format!("{:.1} °F", celsius * 1.8 + 32.0),
    }
}

/// A difference given in K.
fn difference(kelvin: f64, unit: TemperatureUnit) -> String {
    match unit {
        TemperatureUnit::Celsius => format!("{kelvin:.1} K"),
        TemperatureUnit::Fahrenheit => format!("{:.1} °F", kelvin * 1.8),
    }
}

fn pictures(index: usize, examination: &Examination, style: Style) -> Vec<PictureText> {
    let words = style.words;
    let scale = if examination.views.len() > 1 { words.one_scale } else { "" };
    let picture = |image: &crate::examine::ViewImage| {
        let (frames, emissivity) = ((words.frames)(image.frames), words.scene_emissivity);
        let side = (words.language.view)(image.view);
        let view = if image.view == View::Single { String::new() } else { format!("{side}, ") };
        let found = image.regions.as_ref().map(|regions| {
            let shown = regions.rows.len().min(SHOWN_REGIONS);
            let all = regions.rows.len();
            let more = if shown < all { (words.strongest_shown)(shown) } else { String::new() };
            let dropped = if regions.dropped > 0 { (words.weaker_dropped)(regions.dropped) } else { String::new() };
            format!("{}{more}{dropped}", (words.regions)(all))
        });
        let rows = image.regions.iter().flat_map(|regions| &regions.rows).take(SHOWN_REGIONS);
        PictureText {
            file: picture_name(index, image.view),
            caption: format!("{view}{frames}{emissivity}{scale}"),
            found,
            regions: rows.enumerate().map(|(n, row)| region_row(n + 1, row, style)).collect(),
        }
    };
    examination.views.iter().map(picture).collect()
}

fn region_row(number: usize, row: &crate::examine::RegionRow, Style { unit, words }: Style) -> [String; 7] {
    let r = &row.region;
    let or_none = |celsius: Option<f64>| celsius.map_or_else(|| words.none.to_owned(), |c| absolute(c, unit));
    [
        number.to_string(),
        (words.sign)(r.sign).to_owned(),
        format!("{}{}", r.area, if r.incomplete { "+" } else { "" }),
        format!("{}–{}, {}–{}", r.x0, r.x1, r.y0, r.y1),
        format!("{:.1}, {:.1}", r.centroid_x.to_num::<f64>(), r.centroid_y.to_num::<f64>()),
        (words.at)(&or_none(row.peak_c), r.peak_x, r.peak_y),
        or_none(row.mean_c),
    ]
}

fn reading_row(reading: &PlaceReading, Style { unit, words }: Style) -> [String; 6] {
    let (temperature, expanded) = match reading.temperature {
        Some((celsius, u)) => (absolute(celsius, unit), difference(COVERAGE_FACTOR * u, unit)),
        None if reading.drift_unknown => (words.drift_unknown.to_owned(), "–".to_owned()),
        None => (words.none.to_owned(), "–".to_owned()),
    };
    let emissivity = reading.place.emissivity.map_or_else(String::new, |(e, u)| {
        if u > 0.0 { format!("{:.2} ± {:.2}", e.get(), 2.0 * u) } else { format!("{:.2}", e.get()) }
    });
    [
        (words.language.role)(reading.place.role).to_string(),
        (words.language.view)(reading.place.view).to_string(),
        temperature,
        expanded,
        emissivity,
        format!("{} × {}", reading.pixels, reading.frames),
    ]
}

/// The parts that are not 0, their sum and the expanded uncertainty; in K whatever the unit, as the coefficients are.
fn budget(reading: &PlaceReading, Style { unit, words }: Style) -> Option<BudgetText> {
    let (celsius, combined) = reading.temperature?;
    let parts = reading.budget.iter().filter(|part| part.input > 0.0);
    let mut rows: Vec<[String; 5]> = parts
        .map(|part| {
            let unit = input_unit(part.component);
            [
                (words.component)(part.component).to_owned(),
                format!("{:.4} {unit}", part.input).trim_end().to_owned(),
                format!("{:.4}", part.coefficient),
                format!("{:.4} K", part.kelvin().abs()),
                format!("{:.1} %", 100.0 * variance_share(part, combined)),
            ]
        })
        .collect();
    let sum = |name: &str, kelvin: f64| {
        [name.to_owned(), String::new(), String::new(), format!("{kelvin:.4} K"), String::new()]
    };
    rows.push(sum(words.combined, combined));
    rows.push(sum(words.expanded, COVERAGE_FACTOR * combined));
    let title = format!("{}: {}", place(reading.place.role, reading.place.view, words), absolute(celsius, unit));
    Some(BudgetText { title, rows })
}

fn evidence_rows(finding: &Finding, style: Style) -> Vec<[String; 4]> {
    let row = |words: EvidenceWords| {
        let grade = match (words.grade, words.reaches) {
            (None, None) => String::new(),
            (Some(grade), None) => format!(" → {grade}"),
            (grade, Some(reaches)) => format!(" → {}…{reaches}", grade.as_deref().unwrap_or("–")),
        };
        [words.what, words.place, words.value, format!("{}{grade}", words.limit)]
    };
    evidence_in(finding, style).into_iter().map(row).collect()
}
