//! What can be wrong with a recording, said so that the person who made it can mend it.

use std::path::Path;

use miette::{Diagnostic, NamedSource, SourceSpan};
use thiserror::Error;

/// Why a recording was refused. Every message names the file, the key or the position in the file, what was expected
/// and what was found instead. Indices of frames, rows, columns and list entries start at 0.
#[derive(Debug, Error, Diagnostic)]
#[non_exhaustive]
pub enum RecordingError {
    /// A path does not lead to what is needed there.
    #[error("{path}: expected {expected}, found {found}")]
    Path {
        /// The path as it was given or joined.
        path: String,
        /// What was expected there.
        expected: String,
        /// What is there.
        found: String,
    },
    /// The system refused to hand over a file that is there.
    #[error("{path}: expected a readable file, found that reading it failed")]
    Unreadable {
        /// The file.
        path: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// Something in `recording.toml`.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Key(Box<KeyProblem>),
    /// Something in a frame file.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Frame(Box<FrameProblem>),
}

/// A key of `recording.toml` that cannot stay as it is; the diagnostic shows the line.
#[derive(Debug, Error, Diagnostic)]
#[error("{file}: {at}: {trouble}")]
pub struct KeyProblem {
    /// The file.
    pub file: String,
    /// The key with its path, such as `` `place[2].ring` ``, or line and column if the file is not TOML at all.
    pub at: String,
    /// What was expected and what was found.
    pub trouble: String,
    #[source_code]
    pub(super) text: NamedSource<String>,
    #[label("here")]
    pub(super) span: Option<SourceSpan>,
}

/// A frame file that cannot be read as it is.
#[derive(Debug, Error, Diagnostic)]
#[error("{file}: {at}: expected {expected}, found {found}")]
pub struct FrameProblem {
    /// The file.
    pub file: String,
    /// Where in the file: header, byte, frame, row, column.
    pub at: String,
    /// What was expected there.
    pub expected: String,
    /// What is there.
    pub found: String,
}

impl RecordingError {
    pub(super) fn path(path: &Path, expected: impl Into<String>, found: impl Into<String>) -> Self {
        Self::Path { path: path.display().to_string(), expected: expected.into(), found: found.into() }
    }

    pub(super) fn unreadable(path: &Path, source: std::io::Error) -> Self {
        Self::Unreadable { path: path.display().to_string(), source }
    }

    pub(super) fn frame(
        path: &Path,
        at: impl Into<String>,
        expected: impl Into<String>,
        found: impl Into<String>,
    ) -> Self {
        let file = path.display().to_string();
        Self::Frame(Box::new(FrameProblem { file, at: at.into(), expected: expected.into(), found: found.into() }))
    }
}
