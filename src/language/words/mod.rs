//! The words themselves, one table a language, each word with where it comes from and how sure it is.
//!
//! Marks of quotation are Unicode's CLDR 48 for the languages from Romanian on; those of the others are from memory.

pub mod central;
pub mod eastern;
pub mod further;
pub mod northern;
pub mod western;

/// Where a word comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WordSource {
    /// In texts of the language's own writers that anybody can read.
    Seen,
    /// In a standard: ANSI Z535.6 gives the English signal words.
    Standard,
    /// Nowhere but in the memory of who wrote the table.
    Memory,
}

/// A fixed word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word {
    pub text: &'static str,
    pub source: WordSource,
    /// How sure it is that a native technical writer would write it so, in percent.
    pub sure: u8,
}

/// Where the number of a thing stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Numbered {
    /// `Fig. 1`
    After,
    /// `図1`
    Joined,
    /// `1 pav.`
    Before,
    /// `1. ábra`
    BeforeWithPoint,
}

/// The names of the words that the program writes: what `[words]` in a header calls them.
pub const WORD_NAMES: [&str; 20] = [
    "danger",
    "warning",
    "caution",
    "notice",
    "note",
    "tip",
    "important",
    "figure",
    "revision",
    "responsible",
    "importer",
    "durable_copy",
    "contents",
    "skip",
    "strip",
    "red",
    "yellow",
    "green",
    "blue",
    "white",
];

pub struct Words {
    /// BCP 47.
    pub tag: &'static str,
    pub step: Word,
    pub fig: Word,
    pub figures: Numbered,
    pub notes: Word,
    pub page: Word,
    pub revision: Word,
    pub revisions: Numbered,
    pub issued: Word,
    pub document: Word,
    pub made_by: Word,
    /// Who answers for the product in a market, and who brings it in: (EU) 2019/1020 and the laws on products use these words
    /// (memory).
    pub responsible: Word,
    pub importer: Word,
    /// The European Union, in short.
    pub union: &'static str,
    pub lasting_copy: Word,
    /// Said where something goes on that began before.
    pub continued: Word,
    /// Said where something goes on overleaf.
    pub continues: Word,
    pub quotes: (&'static str, &'static str),
    /// Of lamps: red, yellow, green, blue, white.
    pub colours: [Word; 5],
    /// Danger, warning, caution, notice. The first spelling of each grade is the one the program uses; the others are understood.
    pub signal: [&'static [Word]; 4],
    /// Headings of asides: note, tip, important.
    pub asides: [Word; 3],
    /// The lasting copy: what heads a list of the sections, a link past that list, where a unit's own value is found.
    pub contents: Word,
    pub skip: Word,
    pub see_your_strip: Word,
}

impl Words {
    /// Every word that the program writes, with what it is.
    pub fn written(&self) -> Vec<(&'static str, Word)> {
        let [red, yellow, green, blue, white] = self.colours;
        let [danger, warning, caution, notice] = self.signal.map(|spellings| spellings[0]);
        let [note, tip, important] = self.asides;
        let words = [
            danger,
            warning,
            caution,
            notice,
            note,
            tip,
            important,
            self.fig,
            self.revision,
            self.responsible,
            self.importer,
            self.lasting_copy,
            self.contents,
            self.skip,
            self.see_your_strip,
            red,
            yellow,
            green,
            blue,
            white,
        ];
        WORD_NAMES.into_iter().zip(words).collect()
    }

    /// Words that nothing prints yet; they are kept right all the same.
    #[cfg(test)]
    pub fn kept(&self) -> [Word; 8] {
        [self.step, self.notes, self.page, self.issued, self.document, self.made_by, self.continued, self.continues]
    }
}

const fn seen(text: &'static str, sure: u8) -> Word {
    Word { text, source: WordSource::Seen, sure }
}

const fn standard(text: &'static str, sure: u8) -> Word {
    Word { text, source: WordSource::Standard, sure }
}

const fn memory(text: &'static str, sure: u8) -> Word {
    Word { text, source: WordSource::Memory, sure }
}
