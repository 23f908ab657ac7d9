package store

import "overhang/models"

// History reads the changes of one record, newest first.
func (q Query) History(record string, id int64, page Page) ([]models.AuditEntry, error) {
	offset, limit := page.Bounds()
	return Rows[models.AuditEntry](q, "SELECT * FROM audit_entries WHERE record = ? AND record_id = ? ORDER BY id DESC LIMIT ? OFFSET ?",
		record, id, limit, offset)
}

// Trail reads the changes of every record of a kind, or of all when it is empty,
// newest first, and counts them.
func (q Query) Trail(record string, page Page) ([]models.AuditEntry, int, error) {
	offset, limit := page.Bounds()
	where, args := "1 = 1", []any{}
	if record != "" {
		where, args = "record = ?", append(args, record)
	}
	total, err := Count[models.AuditEntry](q, where, args...)
	if err != nil {
		return nil, 0, err
	}
	// The plus keeps the index on the record away: the newest stand at the end of
	// the table, and sorting all changes of a kind takes longer than passing over
	// those of others.
	if record != "" {
		where = "+record = ?"
	}
	entries, err := Rows[models.AuditEntry](q, "SELECT * FROM audit_entries WHERE "+where+" ORDER BY id DESC LIMIT ? OFFSET ?",
		append(args, limit, offset)...)
	return entries, total, err
}
