//! Running the programs in turn and collecting what they print.

use super::cases::{self, Case};
use super::prepare::Programs;
use anyhow::{Context, Result, ensure};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The group of frames that are measured over and over.
const REPEATED: &str = "repeated";

/// A line as all programs print it.
#[derive(Deserialize)]
struct Line {
    case: String,
    task: String,
    peer: String,
    /// Not there if the peer refused the case.
    ns: Option<f64>,
    n: Option<u64>,
    /// Ours only: regions that a full table lost.
    dropped: Option<u64>,
}

/// Times of one program, round by round, and the regions it found in the first frame.
#[derive(Default)]
pub(super) struct Times {
    pub(super) ns: Vec<f64>,
    pub(super) found: Option<u64>,
    pub(super) dropped: u64,
}

/// By case and task, then by program.
pub(super) type Results = BTreeMap<(String, String), BTreeMap<String, Times>>;

/// A program with its arguments, and where it runs.
struct Turn {
    /// Makes the program's clock count its own time only; see `thread_time.c`.
    clock: PathBuf,
    program: PathBuf,
    arguments: Vec<String>,
    folder: PathBuf,
}

impl Turn {
    fn new(programs: &Programs, program: &Path, arguments: &[&str], folder: &Path) -> Self {
        let arguments = arguments.iter().map(|&argument| argument.to_owned()).collect();
        // A path within the peers folder, or one of ours, which is absolute and stays so.
        let (clock, program) = (programs.folder.join("thread_time.so"), programs.folder.join(program));
        Self { clock, program, arguments, folder: folder.to_owned() }
    }

    /// On one core, with a heap that never goes back to the kernel: the peers' best case (their README).
    fn run(&self) -> Result<Vec<Line>> {
        let mut command = Command::new("taskset");
        command.args(["-c", "1"]).arg(&self.program).args(&self.arguments).current_dir(&self.folder);
        command.env("LD_PRELOAD", &self.clock);
        command.env("OMP_NUM_THREADS", "1").env("MALLOC_TOP_PAD_", "67108864");
        command.envs(["MALLOC_TRIM_THRESHOLD_", "MALLOC_MMAP_THRESHOLD_"].map(|name| (name, "1073741824")));
        let output = command.output().with_context(|| format!("{command:?}"))?;
        ensure!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
        let text = String::from_utf8(output.stdout)?;
        text.lines().map(|line| serde_json::from_str(line).with_context(|| line.to_owned())).collect()
    }
}

const PEERS_RS: &str = "peers_rs/target/release/peers_rs";
const PEERS_RS_NATIVE: &str = "peers_rs/target-native/release/peers_rs";
const PYTHON: &str = "venv/bin/python";

fn turns_of_case(programs: &Programs, case: &Case) -> Vec<Turn> {
    let turn = |program: &Path, arguments: &[&str]| Turn::new(programs, program, arguments, &case.folder);
    vec![
        turn(&programs.ours, &["rot", ".", "default"]),
        turn(Path::new(PEERS_RS), &[".", "base", "rot"]),
        turn(&programs.ours_native, &["rot", ".", "native"]),
        turn(Path::new("peers_c/ocv_rot"), &["."]),
        turn(Path::new(PEERS_RS_NATIVE), &[".", "native", "rot"]),
    ]
}

/// Conversion and statistics of one frame; there are no rotating frames, since nothing in them depends on the frame but
/// the use of the table.
fn turns_of_single(programs: &Programs) -> Vec<Turn> {
    const FRAME: &str = "frames/blobs_640x512.u16";
    let turn = |program: &Path, arguments: &[&str]| Turn::new(programs, program, arguments, &programs.folder);
    let c = |build: &str| turn(Path::new(&format!("peers_c/conv_{build}")), &[FRAME, build]);
    vec![
        turn(&programs.ours, &["single", FRAME, "default"]),
        c("native"),
        turn(&programs.ours_native, &["single", FRAME, "native"]),
        c("base"),
        c("fast"),
        c("gather"),
        turn(Path::new(PYTHON), &["peers.py", "conv"]),
        turn(Path::new(PYTHON), &["peers.py", "stats"]),
    ]
}

/// Array libraries and the slower crates, on a few frames.
fn turns_of_repeated(programs: &Programs) -> Result<Vec<Turn>> {
    let folder = cases::repeated(&programs.folder)?;
    let turn = |program: &Path, arguments: &[&str]| Turn::new(programs, program, arguments, &folder);
    Ok(vec![
        turn(&programs.ours, &["rot", "frames", "default"]),
        turn(Path::new(PEERS_RS), &["frames", "base"]),
        turn(Path::new("peers_c/ocv"), &["frames"]),
        turn(&programs.ours_native, &["rot", "frames", "native"]),
        turn(Path::new(PYTHON), &["peers.py", "label"]),
    ])
}

/// Runs everything that is wanted.
pub(super) fn all(programs: &Programs, rounds: u32, wanted: impl Fn(&str) -> bool) -> Result<Results> {
    let mut groups = Vec::new();
    for case in cases::split(&programs.folder)?.iter().filter(|case| wanted(&case.name)) {
        groups.push((case.name.clone(), turns_of_case(programs, case)));
    }
    if wanted("single") {
        groups.push(("single".to_owned(), turns_of_single(programs)));
    }
    if wanted(REPEATED) {
        groups.push((REPEATED.to_owned(), turns_of_repeated(programs)?));
    }
    ensure!(!groups.is_empty(), "no case has such a name");
    let mut results = Results::new();
    for round in 1..=rounds {
        // Orders of magnitude need no second round.
        for (name, turns) in groups.iter().filter(|(name, _)| round == 1 || name != REPEATED) {
            eprintln!("round {round} of {rounds}: {name}");
            for turn in turns {
                for Line { case, task, peer, ns, n, dropped } in turn.run()? {
                    let Some(ns) = ns else { continue };
                    let times = results.entry((case, task)).or_default().entry(peer).or_default();
                    times.ns.push(ns);
                    (times.found, times.dropped) = (n, dropped.unwrap_or(0));
                }
            }
        }
    }
    Ok(results)
}
