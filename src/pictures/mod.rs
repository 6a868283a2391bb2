//! Room to be furnished.
