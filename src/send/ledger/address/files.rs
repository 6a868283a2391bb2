//! The environment and the files that an address is read with: a service's section, a password's line.

use std::path::{Path, PathBuf};

/// What an address is read with: the environment and the files that it names.
pub trait Surroundings {
    fn variable(&self, name: &str) -> Option<String>;

    /// The text of a file, none where it can't be read. `secret`: not one that others may read.
    fn file(&self, path: &Path, secret: bool) -> Option<String>;
}

/// This process and this machine.
pub struct System;

impl Surroundings for System {
    fn variable(&self, name: &str) -> Option<String> {
        std::env::var(name).ok().filter(|value| !value.is_empty())
    }

    fn file(&self, path: &Path, secret: bool) -> Option<String> {
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // As every client does: a password file that others may read is none.
            if secret && std::fs::metadata(path).ok()?.permissions().mode() & 0o077 != 0 {
                return None;
            }
        }
        let _ = secret;
        std::fs::read_to_string(path).ok()
    }
}

/// What a section of a service file says: `[name]`, then `key=value` lines. None where no file has it.
pub(super) fn service(service: &str, around: &dyn Surroundings) -> Option<Vec<(String, String)>> {
    let own = around.variable("PGSERVICEFILE").map(PathBuf::from);
    let own = own.or_else(|| Some(PathBuf::from(around.variable("HOME")?).join(".pg_service.conf")));
    let all = PathBuf::from(around.variable("PGSYSCONFDIR").unwrap_or_else(|| "/etc/postgresql-common".to_owned()));
    let mut files = own.into_iter().chain([all.join("pg_service.conf")]);
    files.find_map(|path| {
        let text = around.file(&path, false)?;
        let mut lines = text.lines().map(str::trim).skip_while(|line| *line != format!("[{service}]"));
        lines.next()?;
        let section = lines.take_while(|line| !line.starts_with('[')).filter(|line| !line.starts_with('#'));
        let pair = |line: &str| line.split_once('=').map(|(key, value)| (key.trim().to_owned(), value.trim().to_owned()));
        Some(section.filter_map(pair).collect())
    })
}

/// The password of the first line `host:port:database:user:password` that fits; `*` fits all, `\` takes the next letter as it is.
pub(super) fn password(text: &str, wanted: [&str; 4]) -> Option<String> {
    text.lines().filter(|line| !line.starts_with('#')).find_map(|line| {
        let mut fields = vec![String::new()];
        let mut letters = line.chars();
        while let Some(letter) = letters.next() {
            match letter {
                '\\' => fields.last_mut()?.extend(letters.next()),
                ':' if fields.len() < 5 => fields.push(String::new()),
                _ => fields.last_mut()?.push(letter),
            }
        }
        let [host, port, database, user, password] = fields.as_slice() else { return None };
        let fits = [host, port, database, user].iter().zip(wanted).all(|(field, wanted)| *field == "*" || *field == wanted);
        (fits && !password.is_empty()).then(|| password.clone())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_file_that_others_may_read_is_none() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("pass");
        std::fs::write(&path, "*:*:*:*:x\n").expect("written");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).expect("set");
            assert_eq!(System.file(&path, true), None);
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o600)).expect("set");
        }
        assert!(System.file(&path, true).is_some());
    }
}
