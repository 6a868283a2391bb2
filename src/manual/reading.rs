//! From bytes to a source file: UTF-8, not too long. A control character is read as a space, and said when the manual is parsed.

use std::sync::Arc;

use super::Error;
use super::folder::Folder;
use super::literal;
use super::source::{SourceFile, Spot};

/// The longest file of a manual, in bytes; also the longest text after its fields are filled.
pub const LONGEST: u64 = 8 << 20;

/// Reads a text file of the folder. `asked_at` is the include that wants it.
///
/// # Errors
/// When it cannot be read, is not UTF-8, or holds characters that no text holds.
pub(super) fn read(folder: &Folder, name: &str, asked_at: Option<Box<Spot>>) -> Result<Arc<SourceFile>, Error> {
    let bytes = folder.read(name, LONGEST).map_err(|reason| Error::Unreadable { file: name.to_owned(), reason, at: asked_at })?;
    text(name, &bytes)
}

/// # Errors
/// When it is not UTF-8, or holds characters that no text holds.
pub(super) fn text(name: &str, bytes: &[u8]) -> Result<Arc<SourceFile>, Error> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let good = error.valid_up_to();
            let wide = matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]);
            let file = Arc::new(SourceFile::new(name, String::from_utf8_lossy(bytes)));
            let byte = bytes.get(good).copied().unwrap_or_default();
            return Err(Error::NotUtf8 { byte, wide, at: Error::at(&file, good, 1) });
        }
    };
    let file = Arc::new(SourceFile::of_writer(name, text));
    match text.char_indices().find(|(_, character)| forbidden(*character)) {
        None => Ok(file),
        Some((at, character)) => {
            Err(Error::ForbiddenCharacter { code: character.into(), at: Error::at(&file, at, character.len_utf8()) })
        }
    }
}

fn forbidden(character: char) -> bool {
    // A form feed is a slip of the hand; where there is a NUL there is no text.
    character == '\0' || literal::is_noncharacter(character)
}
