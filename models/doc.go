// Package models holds the records that overhang keeps, one file a noun, each
// with the rules that hold for it whoever writes it: a page, a file that is
// read in, or a job at night.
//
// A record is a plain struct. Its columns are named after its fields
// (CoveringID is covering_id). Unknown is not zero: an unknown number is nil,
// an unknown text is empty and an unknown day is the zero units.Date. A roof
// needs an address and a year; all else may be unknown.
//
// Nothing that a promise rests on is deleted; such rows are ended on a day.
//
// Quantities are SI in the database: metres, square metres, pitch as rise over
// run. Money is whole cents. Days are YYYY-MM-DD. Moments are UTC.
package models
