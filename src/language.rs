//! Fixed words of each language: signal words, "Step", "Fig.". Knows nothing of how they are set.

/// A language the program knows words for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Language {
    #[default]
    English,
}

/// The grades of a safety message (ANSI Z535.6, ISO 3864-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SignalWord {
    Danger,
    Warning,
    Caution,
    Notice,
}
