//! Honest printing from outside: a printer that misbehaves in every way, and a person who looks at what came out.

mod faults;
mod kill;
mod ledgers;
mod mechanism;
pub mod person;
mod ports;
pub mod printer;
mod queue;
mod rules;
mod serial;
