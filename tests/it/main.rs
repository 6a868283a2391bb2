//! Integration tests, one binary, a module a room.

mod pictures;
