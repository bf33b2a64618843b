//! What a reader asks of a file: every key with what it takes, and how keys go together.
//!
//! The list is made by the reader itself, which goes through a file of which every key counts as given and none
//! has a value. The schema of the file and the starter scenario are written from it.

use super::diagnostics::Expected;
use super::notes::{Notes, join};
use super::section::Section;
use std::fmt;

/// A way of a choice: number of the choice, number of the way in it.
pub(crate) type WayId = (usize, usize);

/// What stands behind a key.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Takes {
    /// A value.
    Value(Expected),
    /// A section whose keys are asked for by name.
    Section,
    /// Any number of such sections.
    Sections,
    /// A section whose keys are free, such as names of fuels, with values of one sort.
    Entries(Expected),
}

/// A value that holds when its key is left out.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Usual {
    /// A number, in the unit of the key.
    Number(f64),
    /// Numbers of a list.
    Numbers(Vec<f64>),
    /// A word.
    Word(&'static str),
}

impl fmt::Display for Usual {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number:?}"),
            Self::Numbers(numbers) => write!(f, "{numbers:?}"),
            Self::Word(word) => write!(f, "{word:?}"),
        }
    }
}

/// What holds when a key is left out.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum WhenLeftOut {
    /// It is missed, where its section and its way are.
    Missing,
    /// Nothing, or what other keys say.
    Nothing,
    /// This value.
    Usual(Usual),
}

impl WhenLeftOut {
    /// Of a key that must be given, or may be left out.
    pub fn of(required: bool) -> Self {
        if required { Self::Missing } else { Self::Nothing }
    }
}

/// One key that the reader asks for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Question {
    /// Dotted path of the section; empty for the whole file.
    pub section: String,
    pub key: &'static str,
    pub takes: Takes,
    /// What holds when it is left out.
    pub asked: WhenLeftOut,
    /// The ways it belongs to within its section, the innermost last.
    pub within: Vec<WayId>,
}

impl Question {
    /// Whether it must be given, where its section and its way are.
    pub fn is_required(&self) -> bool {
        self.asked == WhenLeftOut::Missing
    }

    /// The value that holds when it is left out, where that is one value.
    pub fn usual(&self) -> Option<&Usual> {
        match &self.asked {
            WhenLeftOut::Usual(usual) => Some(usual),
            WhenLeftOut::Missing | WhenLeftOut::Nothing => None,
        }
    }

    /// Dotted path of the key.
    pub fn path(&self) -> String {
        join(&self.section, self.key)
    }
}

/// Several ways to give the same thing, of which at most one is taken.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct KeyChoice {
    pub section: String,
    /// What each way is called.
    pub ways: Vec<&'static str>,
    /// The key that is missed, and what is said, when one of them must be taken.
    pub missing: Option<(&'static str, Expected)>,
    /// The ways that the choice itself belongs to.
    pub within: Vec<WayId>,
}

/// A key that cannot stand without another of its section.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Need {
    pub section: String,
    pub key: &'static str,
    pub other: &'static str,
    /// What is said of the other when it is missed; a contradiction of the key is told when there is none.
    pub missing: Option<Expected>,
}

/// Keys of which at least one must be given.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Either {
    pub section: String,
    pub keys: Vec<&'static str>,
    /// The ways that they belong to.
    pub within: Vec<WayId>,
}

/// Everything that is asked.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Asked {
    pub questions: Vec<Question>,
    pub choices: Vec<KeyChoice>,
    pub needs: Vec<Need>,
    pub either: Vec<Either>,
}

impl Asked {
    /// All that `read` asks of a file.
    pub fn by<T>(read: impl FnOnce(&mut Section<'_, '_>) -> T) -> Self {
        let mut notes = Notes::new("", "");
        Section::of_any(&mut notes, read);
        notes.into_asked()
    }

    /// The questions of a section, in the order they are asked.
    pub fn of_section<'a>(&'a self, section: &'a str) -> impl Iterator<Item = &'a Question> {
        self.questions.iter().filter(move |question| question.section == section)
    }

    /// The question of a dotted path.
    pub fn find(&self, path: &str) -> Option<&Question> {
        self.questions.iter().find(|question| question.path() == path)
    }
}
