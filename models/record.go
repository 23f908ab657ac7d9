package models

import "time"

// Row is what every record has: its number, its version and its moments. A
// change names the version it was read at; a change to a version that is no
// longer the newest is refused, so that nobody's edit is lost silently.
type Row struct {
	ID        int64     `gorm:"primaryKey" json:"id"`
	Version   int64     `json:"version"`
	CreatedAt time.Time `json:"created_at"`
	UpdatedAt time.Time `json:"updated_at"`
}

// Base gives the row itself, for the store.
func (r *Row) Base() *Row { return r }

// Record is one row of one table, as the store writes it.
type Record interface {
	Base() *Row
	Noun() string // as the audit trail names it: "roof"
	Validate() error
}

// Ref: files that are read in name a record by Ref, the company's own number for it
// ("R-0142"). It is unique within its kind, and given by the program when a
// record is made on a page.
