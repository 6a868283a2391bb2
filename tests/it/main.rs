//! Tests through the library's doors and through the program, one module a room.

mod printer;
mod program;
mod rooms;
