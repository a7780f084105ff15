//! Headings and connecting words.

use crate::checks::Use;
use crate::codes::codes;

codes! {
    /// A heading or connecting word; each says in its description what it is in English.
    pub enum Phrase {
        /// Measured (± is the expanded uncertainty, k = 2):
        Evidence = 1, "evidence";
        /// Gates that failed:
        Gates = 2, "gates";
        /// Suspected causes, most likely first:
        Causes = 3, "causes";
        /// Test next:
        Tests = 4, "tests";
        /// Caution:
        Cautions = 5, "cautions";
        /// Note:
        Notes = 6, "notes";
        /// Limits:
        Limits = 7, "limits";
        /// possible
        Possible = 8, "possible";
        /// probable
        Probable = 9, "probable";
        /// major
        Major = 10, "major";
        /// State, and see that it holds:
        Conditions = 11, "conditions";
        /// Pictures:
        Pictures = 12, "pictures";
        /// ; if wanted:
        FurtherPictures = 13, "further-pictures";
        /// Aim at and place:
        AimAt = 14, "aim-at";
        /// needed
        Required = 15, "required";
        /// if visible
        Optional = 16, "optional";
        /// area to search; one of these is needed, unless the spot is placed by hand
        Searched = 17, "searched";
        /// at least
        AtLeast = 18, "at-least";
        /// at most
        AtMost = 19, "at-most";
        /// must be so
        MustBeYes = 20, "must-be-yes";
        /// must not be so
        MustBeNo = 21, "must-be-no";
        /// , unless
        Unless = 22, "unless";
        /// either this or
        OrElse = 23, "or-else";
        /// if known
        IfKnown = 24, "if-known";
        /// must be stated
        Stated = 25, "stated";
        /// , otherwise not assessable
        ElseNotAssessable = 26, "else-not-assessable";
        /// , otherwise graded \"possible\" at most
        ElseWeaker = 27, "else-weaker";
    }
}

impl Phrase {
    /// What a shape is for.
    #[must_use]
    pub const fn usage(usage: Use) -> Self {
        match usage {
            Use::Required(_) => Self::Required,
            Use::Optional(_) => Self::Optional,
            Use::Searched(_) => Self::Searched,
        }
    }
}
