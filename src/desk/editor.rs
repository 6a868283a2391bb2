//! The command that opens the writer's editor at a line. It is split once, by the person's own spelling, and run without a shell.

use std::ffi::OsString;
use std::path::Path;
use std::process::{Command, Stdio};

/// Program and arguments, with `{file}` and `{line}` where they belong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Editor {
    words: Vec<String>,
}

impl Editor {
    /// Reads `"pen --goto {file}:{line}"`; words are parted as a POSIX shell parts them, without variables and patterns. Without `{file}`, file goes last.
    ///
    /// # Errors
    /// In words, when there is no program in it or a quote stays open.
    pub fn read(text: &str) -> Result<Editor, String> {
        let mut words = shell_words::split(text).map_err(|_| "the editor command has a quote that is not closed".to_string())?;
        match words.first().map(String::as_str) {
            None | Some("") => Err("the editor command names no program".into()),
            Some(_) if words.iter().any(|word| word.contains("{file}")) => Ok(Editor { words }),
            Some(_) => {
                words.push("{file}".into());
                Ok(Editor { words })
            }
        }
    }

    /// Starts it and goes on; its own output is not ours.
    ///
    /// # Errors
    /// In words, when the program cannot be started.
    pub fn open(&self, file: &Path, line: u32) -> Result<(), String> {
        let mut words = self.words.iter().map(|word| filled(word, file, line));
        let program = words.next().unwrap_or_default();
        let mut child = Command::new(&program)
            .args(words)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| format!("the editor “{}” cannot be started: {error}", program.to_string_lossy()))?;
        // Someone has to wait for it, or it stays in the process table when it ends.
        let _ = std::thread::Builder::new().name("editor".into()).spawn(move || child.wait());
        Ok(())
    }
}

fn filled(word: &str, file: &Path, line: u32) -> OsString {
    let line = line.to_string();
    let mut filled = OsString::new();
    for (index, part) in word.split("{file}").enumerate() {
        if index > 0 {
            filled.push(file);
        }
        filled.push(part.replace("{line}", &line));
    }
    filled
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Result<Vec<String>, String> {
        let editor = Editor::read(text)?;
        let filled = editor.words.iter().map(|word| filled(word, Path::new("/a b/{line}.md"), 7));
        Ok(filled.map(|word| word.to_string_lossy().into_owned()).collect())
    }

    #[test]
    fn a_command_is_split_by_its_own_spelling_and_file_and_line_stay_whole() {
        assert_eq!(words("pen --goto {file}:{line}"), Ok(vec!["pen".into(), "--goto".into(), "/a b/{line}.md:7".into()]));
        assert_eq!(words("'/opt/my pen' +{line}"), Ok(vec!["/opt/my pen".into(), "+7".into(), "/a b/{line}.md".into()]));
        assert_eq!(words("pen \"\" {file}"), Ok(vec!["pen".into(), String::new(), "/a b/{line}.md".into()]));
        assert_eq!(words("pen a\\ b"), Ok(vec!["pen".into(), "a b".into(), "/a b/{line}.md".into()]));
        assert!(words("   ").is_err());
        assert!(words("pen 'open").is_err());
    }

    #[test]
    fn a_program_that_is_not_there_is_said_in_words() {
        let editor = Editor::read("/no/such/pen {file}").expect("a command");
        let said = editor.open(Path::new("a.md"), 1).expect_err("not there");
        assert!(said.contains("/no/such/pen"), "{said}");
    }
}
