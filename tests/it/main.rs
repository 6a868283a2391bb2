//! The rooms from outside, one file a room.

mod send;
