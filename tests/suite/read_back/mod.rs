//! `read`: files of others told in plain words, made into job material, or refused; our own files
//! written, read back, and equal to the plan.

mod carried;
mod good;
mod hostile;
mod letters;
mod round_trip;
mod shapes;
mod xml;
