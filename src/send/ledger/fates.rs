//! What becomes of a strip: it is sent, the printer says what came of it, or a person does.

use super::database::values;
use super::entries::{self, Entry, find, find_key, mark_line, set_state};
use super::{Error, Facts, Ledger, Located, State, StripName, Todo, Verdict, benches};

impl Ledger {
    /// Before the first byte of a strip goes out. `false`: it is not this bench's to send any more, and nothing was entered.
    pub(crate) fn sending(&mut self, todo: &Todo, facts: &Facts, destination: &str) -> Result<bool, Error> {
        let gone = || Error::NoSuchStrip(todo.name.to_string());
        let row = todo.row.ok_or_else(gone)?;
        let unit = facts.units.get(todo.unit).ok_or_else(gone)?;
        let attempt = format!("{}:{}", self.me.bench, self.attempts.get(&row).map_or(1, |last| number_of(last) + 1));
        let me = self.me.clone();
        let entered = self.change(|base| {
            let lock = if base.shared() { "FOR UPDATE" } else { "" };
            let statement = format!("SELECT state, attempt, holder FROM strip WHERE strip = ?1 {lock}");
            let Some(now) = base.first(&statement, values![row])? else { return Ok(false) };
            let (state, holder) = (State::read(&now.text(0)), now.text(2));
            if state == State::Sending && now.text(1) == attempt {
                // It was entered; only the word of it was lost.
                return Ok(true);
            }
            let free = holder == me.bench || !benches::is_alive(base, &holder)?;
            if !matches!(state, State::Queued | State::Missing) || !free {
                return Ok(false);
            }
            if base.shared() {
                me.renew(base)?;
            }
            mark_line(base, destination, false)?;
            entries::describe(base, row, unit, &facts.printer)?;
            base.run("UPDATE strip SET holder = ?2, attempt = ?3 WHERE strip = ?1", values![row, &me.bench, &attempt])?;
            let entry = Entry { destination: Some(destination), ..Entry::new(State::Sending, destination, &me.bench) };
            set_state(base, row, &entry)?;
            Ok(true)
        })?;
        if entered {
            self.attempts.insert(row, attempt);
        }
        Ok(entered)
    }

    /// After the fact: returns the state in which the strip is now. `in_order`: nothing of the strip is left in the printer or half-way on
    /// the line. What a person or another bench has entered meanwhile stands, and the printer's word that comes after it is only remembered:
    /// but one that says "printed" of a strip that nobody has looked at yet is taken.
    pub(crate) fn settle(
        &mut self,
        todo: &Todo,
        state: State,
        note: &str,
        destination: &str,
        in_order: bool,
    ) -> Result<State, Error> {
        let row = todo.row.ok_or_else(|| Error::NoSuchStrip(todo.name.to_string()))?;
        let attempt = self.attempts.get(&row).cloned().unwrap_or_default();
        let me = self.me.bench.clone();
        self.change(|base| {
            mark_line(base, destination, in_order)?;
            let lock = if base.shared() { "FOR UPDATE" } else { "" };
            let statement = format!("SELECT state, attempt FROM strip WHERE strip = ?1 {lock}");
            let now = base.first(&statement, values![row])?;
            let before = now.as_ref().map_or(State::Unknown, |now| State::read(&now.text(0)));
            let ours = now.is_none_or(|now| now.text(1) == attempt);
            let entry = Entry { destination: Some(destination), ..Entry::new(state, note, &me) };
            match before {
                State::Sending if ours => {
                    set_state(base, row, &entry)?;
                    Ok(state)
                }
                State::Unknown if ours && state == State::Printed => {
                    set_state(base, row, &Entry { note: "the printer's word, late", ..entry })?;
                    Ok(state)
                }
                // The word of our own change was lost, not the change.
                before if ours && before == state => Ok(state),
                before => {
                    let note = format!("late, when it was called {} already: {} {note}", before.word(), state.word());
                    entries::remember(base, row, "late", &Entry { note: note.trim_end(), ..entry })?;
                    Ok(before)
                }
            }
        })
    }

    /// Enters what a person found: for `KEY` (all its copies that are unknown, or else all its copies), `KEY/2` (one copy), or
    /// `*` (every unknown strip), of one run. Strips that are unknown go first; where there are none, those of the last real run of
    /// each manual that has the key. Returns what was entered.
    ///
    /// # Errors
    /// No strip is called so, none is unknown, or strips of several runs are meant and `run` does not say which.
    pub fn resolve(&mut self, key: &str, verdict: Verdict, run: Option<i64>) -> Result<Vec<Located>, Error> {
        let state = match verdict {
            Verdict::Printed => State::Printed,
            Verdict::Missing => State::Missing,
        };
        let base = self.base.as_ref();
        let meant = if key == "*" { find(base, entries::UNKNOWN, None, run)? } else { find_key(base, key, run)? };
        if meant.is_empty() {
            return Err(if key == "*" { Error::NothingUnknown } else { Error::NoSuchStrip(key.to_owned()) });
        }
        let mut runs: Vec<&Located> = meant.iter().map(|(_, located)| located).collect();
        runs.dedup_by_key(|located| located.run);
        if runs.len() > 1 {
            return Err(Error::SeveralRuns { key: key.to_owned(), runs: runs.into_iter().map(Located::run_in_words).collect() });
        }
        self.settle_rows(&meant.iter().map(|(row, _)| *row).collect::<Vec<_>>(), state)?;
        Ok(meant.into_iter().map(|(_, located)| located).collect())
    }

    /// The same for strips by run and name. All or none.
    ///
    /// # Errors
    /// One of them is not there.
    pub fn resolve_strips(&mut self, strips: &[(i64, StripName)], verdict: Verdict) -> Result<(), Error> {
        let state = match verdict {
            Verdict::Printed => State::Printed,
            Verdict::Missing => State::Missing,
        };
        let mut rows = Vec::with_capacity(strips.len());
        for (run, name) in strips {
            let found = find(self.base.as_ref(), "1 = 1", Some((&name.unit, Some(name.copy))), Some(*run))?;
            rows.push(found.first().map(|(row, _)| *row).ok_or_else(|| Error::NoSuchStrip(name.to_string()))?);
        }
        self.settle_rows(&rows, state)
    }

    fn settle_rows(&mut self, rows: &[i64], state: State) -> Result<(), Error> {
        let me = self.me.bench.clone();
        self.change(|base| {
            for row in rows {
                if state == State::Missing {
                    // What did not come out may have left the printer in the middle of a command.
                    base.run(
                        "UPDATE line SET in_order = ?2 WHERE destination =
                         (SELECT destination FROM history WHERE strip = ?1 AND state = 'sending' ORDER BY entry DESC LIMIT 1)",
                        values![*row, false],
                    )?;
                    // And what is not there lies in no box.
                    base.run("UPDATE strip SET boxed = NULL, holder = '' WHERE strip = ?1 AND boxed IS NOT NULL", values![*row])?;
                }
                set_state(base, *row, &Entry::new(state, "entered by hand", &me))?;
            }
            Ok(())
        })
    }
}

/// The number at the end of an attempt's name.
fn number_of(attempt: &str) -> u64 {
    attempt.rsplit_once(':').and_then(|(_, number)| number.parse().ok()).unwrap_or(0)
}
