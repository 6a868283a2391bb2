//! Tests of the whole: the library as its users call it, the program as a person runs it.

mod commonmark;
