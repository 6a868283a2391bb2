//! The printers of a bench, as its machine sees them: free, printing a unit, or stopped.

use super::screen::PrinterShown;

#[derive(Clone, Debug, PartialEq, Eq)]
enum State {
    Free,
    Printing(usize),
    Stopped(String),
}

#[derive(Clone, Debug)]
pub(super) struct Printers(Vec<(String, State)>);

impl Printers {
    pub(super) fn new(names: Vec<String>) -> Printers {
        Printers(names.into_iter().map(|name| (name, State::Free)).collect())
    }

    fn set(&mut self, printer: usize, state: State) {
        if let Some((_, known)) = self.0.get_mut(printer) {
            *known = state;
        }
    }

    pub(super) fn free(&mut self, printer: usize) {
        self.set(printer, State::Free);
    }

    pub(super) fn begin(&mut self, printer: usize, unit: usize) {
        self.set(printer, State::Printing(unit));
    }

    pub(super) fn stop(&mut self, printer: usize, why: &str) {
        self.set(printer, State::Stopped(why.to_owned()));
    }

    pub(super) fn first_free(&self) -> Option<usize> {
        self.0.iter().position(|(_, state)| *state == State::Free)
    }

    pub(super) fn prints(&self, unit: usize) -> bool {
        self.0.iter().any(|(_, state)| *state == State::Printing(unit))
    }

    pub(super) fn any_printing(&self) -> bool {
        self.0.iter().any(|(_, state)| matches!(state, State::Printing(_)))
    }

    /// One is free or will be.
    pub(super) fn any_works(&self) -> bool {
        self.0.iter().any(|(_, state)| !matches!(state, State::Stopped(_)))
    }

    /// What is wrong with the first that is stopped: the kind of trouble, as far as its words tell, and the words.
    pub(super) fn why(&self) -> (String, String) {
        let stopped = self.0.iter().enumerate().find_map(|(index, (_, state))| match state {
            State::Stopped(why) => Some((why.clone(), format!("printer {}: {why}", index + 1))),
            State::Free | State::Printing(_) => None,
        });
        let (why, words) = stopped.unwrap_or_default();
        let kind = ["paper end", "cover open", "cutter", "too hot"].into_iter().find(|kind| why.starts_with(kind));
        (kind.unwrap_or("no connection").to_owned(), words)
    }

    pub(super) fn shown(&self, key: &dyn Fn(usize) -> String) -> Vec<PrinterShown> {
        let shown = |(name, state): &(String, State)| {
            let (state, words) = match state {
                State::Free => ("free", String::new()),
                State::Printing(unit) => ("printing", key(*unit)),
                State::Stopped(why) => ("stopped", why.clone()),
            };
            PrinterShown { name: name.clone(), state, words }
        };
        self.0.iter().map(shown).collect()
    }
}
