package models

import (
	"time"

	"overhang/analytics/units"
)

// AuditEntry is one change of one record: who, when, and what it was before.
type AuditEntry struct {
	ID       int64     `gorm:"primaryKey" json:"id"`
	At       time.Time `json:"at"`
	PersonID *int64    `json:"person_id"` // nil for a job at night or the command line
	By       string    `gorm:"column:by_name" json:"by"`
	Record   string    `json:"record"` // the record's kind
	RecordID int64     `json:"record_id"`
	Action   string    `json:"action"`  // added, changed, ended
	Changes  string    `json:"changes"` // JSON: field to [before, after]
}

// JobRun is one run of a nightly job for one day.
type JobRun struct {
	ID         int64      `gorm:"primaryKey" json:"id"`
	Job        string     `json:"job"`
	Day        units.Date `json:"day"`
	StartedAt  time.Time  `json:"started_at"`
	FinishedAt *time.Time `json:"finished_at"`
	Outcome    string     `json:"outcome"` // running, done, failed
	Detail     string     `json:"detail"`
}

// Import is one file that was read in.
type Import struct {
	ID        int64     `gorm:"primaryKey" json:"id"`
	At        time.Time `json:"at"`
	PersonID  *int64    `json:"person_id"`
	By        string    `gorm:"column:by_name" json:"by"`
	Kind      string    `json:"kind"` // the kind of file
	FileName  string    `json:"file_name"`
	SHA256    string    `gorm:"column:sha256" json:"sha256"`
	New       int       `gorm:"column:new_rows" json:"new"`
	Changed   int       `gorm:"column:changed_rows" json:"changed"`
	Unchanged int       `gorm:"column:unchanged_rows" json:"unchanged"`
}
