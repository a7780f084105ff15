//! One trial: a case is drawn, written as a recording, read and examined by the bench, and held against the truth.

use super::truth;
use crate::bench;
use anyhow::Result;
use oddheat_core::finding::{Effect, Finding, Grade};
use oddheat_scenes::case::{Case, SeedSet};
use oddheat_scenes::catalog::Check;
use oddheat_scenes::recording::Recording;
use std::time::Instant;

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub(super) struct Trial {
    pub(super) check: &'static Check,
    pub(super) case: Case,
    pub(super) index: u32,
}

/// A number against the truth.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Compared {
    /// Role of a shape or metric of the evidence.
    pub(super) what: String,
    /// Measured minus true.
    pub(super) error: f64,
    /// Stated standard uncertainty.
    pub(super) uncertainty: f64,
}

/// Where the finding puts the fault.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Located {
    /// In the picture that has it, this many pixels from it.
    Near(f64),
    /// In another picture: on the other side, or before instead of after.
    OtherView,
}

/// What came of a trial.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Outcome {
    pub(super) case: Case,
    pub(super) index: u32,
    /// True if there is a fault.
    pub(super) faulty: bool,
    /// Size of the fault and its unit; 0 without one.
    pub(super) severity: (f64, &'static str),
    /// None if the bench refused the recording.
    pub(super) grade: Option<Grade>,
    /// One line: symptom, suspect, deciding number, gates; or the refusal.
    pub(super) says: String,
    pub(super) located: Option<Located>,
    /// Temperatures of the placed shapes, °C.
    pub(super) temperatures: Vec<Compared>,
    /// Numbers of the evidence that the truth has too.
    pub(super) evidence: Vec<Compared>,
    /// Time to draw, and to write, read and examine, s.
    pub(super) took: (f64, f64),
}

impl Outcome {
    /// `possible` or worse: somebody will look.
    pub(super) fn seen(&self) -> bool {
        self.at_least(Grade::Possible)
    }

    /// `probable` or worse: somebody will repair.
    pub(super) fn called(&self) -> bool {
        self.at_least(Grade::Probable)
    }

    fn at_least(&self, least: Grade) -> bool {
        self.grade.is_some_and(|grade| grade != Grade::NotAssessable && grade >= least)
    }

    /// "Not assessable" or "no thermal indication".
    pub(super) fn silent(&self) -> bool {
        matches!(self.grade, Some(Grade::None | Grade::NotAssessable))
    }

    /// Sound and called `possible`, or sound or faulty and not assessable.
    pub(super) fn is_in_vain(&self) -> bool {
        let stopped = self.grade == Some(Grade::NotAssessable);
        match self.case {
            Case::Normal | Case::Decoy(_) => stopped || self.grade == Some(Grade::Possible),
            Case::Fault { .. } => stopped,
            _ => false,
        }
    }

    /// The wrong way, for this case: a false alarm, a fault not seen, a word about what must not be judged.
    pub(super) fn is_wrong(&self) -> bool {
        match self.case {
            Case::Normal | Case::Decoy(_) => self.called() || self.grade.is_none(),
            Case::Fault { .. } => !self.seen(),
            Case::Unresolvable | Case::Gated(_) => !self.silent(),
            Case::Sweep { .. } => self.grade.is_none(),
        }
    }
}

impl Trial {
    /// Runs it. Draws from the reporting seeds. A recording that the bench refuses is an outcome, not an error.
    ///
    /// # Errors
    /// If the temporary folder cannot be written.
    pub(super) fn run(&self) -> Result<Outcome> {
        let start = Instant::now();
        let drawn = self.check.draw(self.case, SeedSet::Reporting.seed(self.index), None);
        let draw_s = start.elapsed().as_secs_f64();
        let examined = bench::examined(&drawn)?;
        let took = (draw_s, start.elapsed().as_secs_f64() - draw_s);
        let severity = (drawn.truth.severity, drawn.truth.severity_unit);
        let base = Outcome {
            case: self.case,
            index: self.index,
            faulty: drawn.truth.fault != "none",
            severity,
            grade: None,
            says: String::new(),
            located: None,
            temperatures: Vec::new(),
            evidence: Vec::new(),
            took,
        };
        let found = examined.map(|(_, examination)| (examination.finding, examination.readings));
        Ok(match found {
            Ok((Some(finding), readings)) => Outcome {
                grade: Some(finding.grade),
                says: says(&finding),
                located: truth::located(&drawn, &finding, &readings),
                temperatures: truth::temperatures(&drawn, &readings),
                evidence: truth::evidence(&drawn, &finding, &readings),
                ..base
            },
            Ok((None, _)) => Outcome { says: "no check ran".to_owned(), ..base },
            Err(refusal) => Outcome { says: refusal, ..base },
        })
    }
}

fn says(finding: &Finding) -> String {
    let mut words = vec![finding.symptom.key().to_owned()];
    if let Some((role, view)) = finding.suspect {
        words.push(format!("at {} {}", role.key(), view.key()));
    }
    if let Some(first) = finding.evidence.first() {
        words.push(format!(
            "{} {:.2} ± {:.2}",
            first.metric.key(),
            first.value.to_num::<f64>() - truth::zero(first.metric),
            2.0 * first.uncertainty.to_num::<f64>()
        ));
    }
    for failed in &finding.gates {
        let effect = if failed.effect == Effect::Stops { "stopped" } else { "weakened" };
        words.push(format!("{effect} by {}", failed.gate.key()));
    }
    words.join(", ")
}

/// Time to draw, then to examine, a recording of 60 frames of 160 × 120 pixels, on one thread, in s: a leak search.
///
/// # Errors
/// If the temporary folder cannot be written.
pub(super) fn sixty_frames() -> Result<(f64, f64)> {
    use oddheat_scenes::{sensor::Sensor, tire_leak};
    let params = tire_leak::Params { hole_mm: Some(0.1), frames: 60, ..tire_leak::Params::default() };
    let start = Instant::now();
    let recording: Recording = tire_leak::simulate(&params, &Sensor::medium(), SeedSet::Tuning.seed(0));
    let draw_s = start.elapsed().as_secs_f64();
    anyhow::ensure!(recording.frames.len() == 60 && recording.sensor.pixels() == 160 * 120, "another recording");
    bench::examined(&recording)?.map_err(anyhow::Error::msg)?;
    Ok((draw_s, start.elapsed().as_secs_f64() - draw_s))
}
