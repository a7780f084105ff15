//! The tables of one check, as they are printed and committed.

use super::stats::{Logistic, Share, monotone};
use super::tally::{Errors, Tally, is_plain, may_not_judge};
use super::trial::Outcome;
use oddheat_core::finding::Grade;
use oddheat_scenes::case::Case;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Wrong outcomes listed of each case.
const LISTED: usize = 5;
/// Level below which a curve does not fit.
const MISFIT: f64 = 0.01;

/// Writes everything; `seeds` says what was drawn.
pub(super) fn text(tally: &Tally, seeds: &str) -> String {
    let key = tally.key;
    let mut text = format!(
        "# Proving ground: {key}\n\nMade by `cargo xtask prove {key}`; do not edit. How to read it is in README.md. \
         Simulated recordings: what holds here holds for the physics and the nuisances of `scenes/`, not yet for \
         vehicles.\n\n{seeds}\n",
    );
    outcomes(&mut text, tally);
    finds(&mut text, tally);
    false_alarms(&mut text, tally);
    must_not_judge(&mut text, tally);
    severities(&mut text, tally);
    errors(&mut text, tally);
    locations(&mut text, tally);
    wrong(&mut text, tally);
    text
}

fn line(text: &mut String, cells: &[String]) {
    // Writing to a string cannot fail.
    let _ = writeln!(text, "| {} |", cells.join(" | "));
}

fn percent(share: Share) -> String {
    if share.of == 0 {
        return "–".to_owned();
    }
    let (low, high) = share.interval();
    let [value, low, high] = [share.value(), low, high].map(|part| 100.0 * part);
    format!("{}/{} = {value:.0} % ({low:.1}…{high:.1})", share.hits, share.of)
}

fn outcomes(text: &mut String, tally: &Tally) {
    text.push_str(
        "\n## What it said\n\n| case | recordings | none | possible | probable | major | not assessable | refused \
         |\n|---|---:|---:|---:|---:|---:|---:|---:|\n",
    );
    let grades = [Grade::None, Grade::Possible, Grade::Probable, Grade::Major, Grade::NotAssessable];
    for case in tally.cases() {
        let count = |grade: Option<Grade>| tally.share(|c| c == case, |o| o.grade == grade);
        let mut cells = vec![case.to_string(), count(None).of.to_string()];
        let shown = |share: Share| if share.hits == 0 { "·".to_owned() } else { share.hits.to_string() };
        cells.extend(grades.map(|grade| shown(count(Some(grade)))));
        cells.push(shown(count(None)));
        line(text, &cells);
    }
}

fn finds(text: &mut String, tally: &Tally) {
    text.push_str(
        "\n## Sensitivity\n\nExact 95 % intervals in brackets.\n\n| fault | severity | possible or worse | probable or \
         worse |\n|---|---|---:|---:|\n",
    );
    for case in tally.cases() {
        let Case::Fault { fault, severity } = case else { continue };
        let share = |so: fn(&Outcome) -> bool| percent(tally.share(|c| c == case, so));
        let cells = [fault.to_owned(), severity.key().to_owned(), share(Outcome::seen), share(Outcome::called)];
        line(text, &cells);
    }
}

fn false_alarms(text: &mut String, tally: &Tally) {
    text.push_str(
        "\n## False alarms\n\nSound parts. `probable` or worse is a false alarm; `possible` asks for a second look.\n\n\
         | case | probable or worse | possible | not assessable |\n|---|---:|---:|---:|\n",
    );
    let mut row = |name: String, of: &dyn Fn(Case) -> bool| {
        let graded = |grade| percent(tally.share(of, |o| o.grade == Some(grade)));
        let called = percent(tally.share(of, Outcome::called));
        line(text, &[name, called, graded(Grade::Possible), graded(Grade::NotAssessable)]);
    };
    for case in tally.cases().into_iter().filter(|case| case.is_sound()) {
        row(case.to_string(), &|c| c == case);
    }
    row("all decoys".to_owned(), &|c| matches!(c, Case::Decoy(_)));
}

fn must_not_judge(text: &mut String, tally: &Tally) {
    text.push_str(
        "\n## What must not be judged\n\n| case | \"not assessable\" or \"no thermal indication\" | of these not \
         assessable | sound parts of which something was said |\n|---|---:|---:|---:|\n",
    );
    for case in tally.cases().into_iter().filter(|case| may_not_judge(*case)) {
        let silent = tally.share(|c| c == case, Outcome::silent);
        let stopped = tally.share(|c| c == case, |o| o.grade == Some(Grade::NotAssessable));
        let sound = tally.outcomes().iter().filter(|o| o.case == case && !o.faulty);
        let said = sound.clone().filter(|o| !o.silent()).count();
        let said = format!("{said} of {}", sound.count());
        line(text, &[case.to_string(), percent(silent), stopped.hits.to_string(), said]);
    }
}

fn severities(text: &mut String, tally: &Tally) {
    let _ = write!(
        text,
        "\n## Detection limit\n\nSeverity at which half and 95 % are seen, from a logistic curve over the logarithm of \
         the severity (over the severity where it can be 0), with 95 % intervals; \"not reached\" if the curve does not \
         get there within what was tried. Where the curve does not fit (Hosmer and Lemeshow, level 1 %), a monotone fit \
         stands instead, marked \"m\", without interval. The plot has the logistic curves with shares of sixths of the \
         recordings.\n\n\
         ![detection against severity]({}.svg)\n\n| fault | unit | tried | possible or worse: 50 % | 95 % | probable or \
         worse: 50 % | 95 % |\n|---|---|---|---:|---:|---:|---:|\n",
        tally.key
    );
    for fault in tally.faults {
        let points = tally.points(fault, Outcome::seen);
        let low = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let high = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        let mut cells = vec![(*fault).to_owned(), tally.unit(fault).to_owned(), format!("{low:.3}…{high:.3}")];
        for so in [Outcome::seen, Outcome::called] {
            let points = tally.points(fault, so);
            cells.extend([0.5, 0.95].map(|chance| limit(&points, chance)));
        }
        line(text, &cells);
    }
}

/// Severity with a chance of detection, in words.
fn limit(points: &[(f64, bool)], chance: f64) -> String {
    let curve = Logistic::fit(points);
    let at = curve.and_then(|curve| {
        if curve.chance_of_misfit(points) < MISFIT {
            return monotone(points, curve.rises(), chance).map(|at| format!("{at:.3} m"));
        }
        curve.severity(chance).map(|(at, a, b)| format!("{at:.3} ({:.3}…{:.3})", a.min(b), a.max(b)))
    });
    at.unwrap_or_else(|| "not reached".to_owned())
}

fn errors(text: &mut String, tally: &Tally) {
    text.push_str(
        "\n## Temperatures and evidence against the truth\n\nMeasured minus true, in K (ratios: 1, sizes: mm). \
         *Plain*: normal, fault and unresolvable cases; *decoys*: something lies over the part. Coverage: truth within two \
         stated standard uncertainties, which should be near 95 %. First value of a kind in each recording. \"Shape\": \
         mean under the shape as placed, wrong hand, mixed surfaces and all.\n\n| what | cases | n | mean error | spread \
         | worst | mean stated u | covered |\n|---|---|---:|---:|---:|---:|---:|---:|\n",
    );
    let mut rows = |kind: &str, cases: &str, all: BTreeMap<String, Errors>| {
        for (name, e) in all {
            let numbers = [e.mean, e.spread, e.worst, e.uncertainty].map(|value| format!("{value:.3}"));
            let mut cells = vec![format!("{kind} {name}"), cases.to_owned(), e.of.to_string()];
            cells.extend(numbers);
            cells.push(percent(e.covered));
            line(text, &cells);
        }
    };
    let decoy = |case: Case| matches!(case, Case::Decoy(_));
    rows("shape", "plain", tally.errors(is_plain, |o| &o.temperatures));
    rows("shape", "decoys", tally.errors(decoy, |o| &o.temperatures));
    rows("evidence:", "plain", tally.errors(is_plain, |o| &o.evidence));
    rows("evidence:", "decoys", tally.errors(decoy, |o| &o.evidence));
}

fn locations(text: &mut String, tally: &Tally) {
    let (distances, other) = tally.locations();
    if other.of == 0 {
        text.push_str("\n## Location\n\nNo finding of a fault named a place.\n");
        return;
    }
    let _ = writeln!(text, "\n## Location\n\nSuspect in another picture than the fault: {}.", percent(other));
    if let (Some(middle), Some(late)) = (distances.get(distances.len() / 2), distances.get(distances.len() * 95 / 100))
    {
        let _ = writeln!(
            text,
            "In the same picture: middle of the suspected shape {middle:.1} px from the fault (median), {late:.1} px \
             (95th percentile), {} findings.",
            distances.len()
        );
    }
}

fn wrong(text: &mut String, tally: &Tally) {
    let _ = writeln!(
        text,
        "\n## Outcomes to look at\n\nUp to {LISTED} of each case; draw one again with `oddheat simulate {} --reporting \
         --case CASE --seed INDEX`. Wrong: false alarms, faults not seen, words about what must not be judged.\n",
        tally.key
    );
    list(text, tally, Outcome::is_wrong);
    text.push_str(
        "\nNot wrong, but somebody will look in vain, or again: sound parts called `possible`, and sound or faulty \
         ones not assessable.\n\n",
    );
    list(text, tally, Outcome::is_in_vain);
}

fn list(text: &mut String, tally: &Tally, so: fn(&Outcome) -> bool) {
    let mut any = false;
    for case in tally.cases() {
        let wrong: Vec<&Outcome> = tally.outcomes().iter().filter(|o| o.case == case && so(o)).collect();
        if wrong.is_empty() {
            continue;
        }
        any = true;
        let _ = writeln!(text, "- **{case}**: {}", wrong.len());
        for o in wrong.iter().take(LISTED) {
            let grade = o.grade.map_or("refused", Grade::key);
            let (size, unit) = o.severity;
            let of = if o.faulty { format!(" ({size:.3} {unit})") } else { String::new() };
            let _ = writeln!(text, "  - {}{of}: {grade}: {}", o.index, o.says);
        }
    }
    if !any {
        text.push_str("None.\n");
    }
}
