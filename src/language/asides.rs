//! Headings of asides: note, tip, important, in every language. From memory.

use super::Language;

/// What an aside calls itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum AsideWord {
    Note,
    Tip,
    Important,
}

impl Language {
    /// The word that heads such an aside.
    pub fn aside(self, word: AsideWord) -> &'static str {
        let [note, tip, important] = match self {
            Language::English => ["Note", "Tip", "Important"],
            Language::German => ["Anmerkung", "Tipp", "Wichtig"],
            Language::French => ["Remarque", "Astuce", "Important"],
            Language::Spanish => ["Nota", "Consejo", "Importante"],
            Language::Italian => ["Nota", "Suggerimento", "Importante"],
            Language::Dutch => ["Opmerking", "Tip", "Belangrijk"],
            Language::Portuguese | Language::BrazilianPortuguese => ["Nota", "Dica", "Importante"],
            Language::Polish => ["Uwaga", "Wskazówka", "Ważne"],
            Language::Czech => ["Poznámka", "Tip", "Důležité"],
            Language::Swedish => ["Anmärkning", "Tips", "Viktigt"],
            Language::Danish => ["Note", "Tip", "Vigtigt"],
            Language::Finnish => ["Huomautus", "Vinkki", "Tärkeää"],
            Language::NorwegianBokmal => ["Merknad", "Tips", "Viktig"],
            Language::Hungarian => ["Megjegyzés", "Tipp", "Fontos"],
            Language::Greek => ["Σημείωση", "Συμβουλή", "Σημαντικό"],
            Language::Russian => ["Примечание", "Совет", "Важно"],
            Language::Ukrainian => ["Примітка", "Порада", "Важливо"],
            Language::Turkish => ["Not", "İpucu", "Önemli"],
            Language::Japanese => ["メモ", "ヒント", "重要"],
            Language::SimplifiedChinese => ["注", "提示", "重要"],
            Language::Korean => ["참고", "팁", "중요"],
            Language::Arabic => ["ملاحظة", "نصيحة", "مهم"],
            Language::Hebrew => ["הערה", "טיפ", "חשוב"],
        };
        match word {
            AsideWord::Note => note,
            AsideWord::Tip => tip,
            AsideWord::Important => important,
        }
    }
}
